"""Uncertain inputs of the uptake model, each with its range, its distribution and the source of the range."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from handbook.base.ranges import Range
from handbook.salt.diffusivity import HIGHEST, LOWEST, Diffusivity
from handbook.salt.uptake_records import Piece, Stage
from handbook.uncertainty.sampling import AS_STATED, EVEN, LOG_NORMAL, UncertainInput

#: Name on the page -> field of Stage.
STAGE_INPUTS = {
    "time": "duration",
    "temperature": "temperature",
    "bath water": "bath_water",
    "salt amount": "bath_salt",
    "weight gain": "weight_gain",
    "drawn water": "drawn_water",
    "loss in the cure": "cured_loss",
    "water loss": "water_loss",
    "dripped juice": "drip",
    "pumped amount": "pump",
    "pumped brine's salt": "pump_salt_fraction",
    "sugar amount": "bath_sugar",
    "pumped brine's sugar": "pump_sugar_fraction",
}
_AMOUNTS = ("bath water", "salt amount", "sugar amount")
#: Inputs with a lower limit of 0.
_POSITIVE = (
    *_AMOUNTS,
    "time",
    "drawn water",
    "loss in the cure",
    "water loss",
    "dripped juice",
    "pumped amount",
    "pumped brine's salt",
    "pumped brine's sugar",
)


def uncertain_inputs(piece: Piece, stages: Sequence[Stage]) -> Iterator[UncertainInput]:
    """All inputs of a run, including those without a spread; the rate of sugar only where there is sugar.

    D_sample = D(T) f^position

    Parameters
    ----------
    piece : Piece
    stages : sequence of Stage

    Returns
    -------
    iterator of UncertainInput

    Raises
    ------
    RangeError  temperature outside -5 to 80 degC

    Notes
    -----
    Source: each input's own. Valid as handbook.salt.uptake.run.

    Examples
    --------
    >>> from handbook.salt.salt_example import CHOP, SOAK
    >>> [each.name for each in uncertain_inputs(CHOP, [SOAK])][:4]
    ['thickness', 'diffusivity', 'food water', 'native salt']
    """
    yield _of_piece("thickness", piece.thickness)
    yield _rate("diffusivity", piece.salt_diffusivity, stages)
    yield _of_piece("food water", piece.water_fraction)
    yield _of_piece("native salt", piece.native_salt_fraction)
    yield UncertainInput(name="kept after trimming", range=piece.kept, distribution=EVEN, source=AS_STATED)
    yield UncertainInput(name="water lost before", range=piece.water_lost, distribution=EVEN, source=AS_STATED)
    for index, stage in enumerate(stages):
        for name, field in STAGE_INPUTS.items():
            values = getattr(stage, field)
            is_drawn = stage.kind == "dry cure" and (stage.cured_loss is None or stage.is_airy)
            if values is not None and (name != "drawn water" or is_drawn):
                yield _of_stage(name, index, values)
    if any(each.bath_sugar.high or each.pump_sugar_fraction.high for each in stages):
        yield _rate("sugar diffusivity", piece.sugar_diffusivity, stages)


def _of_piece(name: str, values: Range) -> UncertainInput:
    return UncertainInput(name=name, range=values, distribution=_sized(values), source=AS_STATED, least=0.0)


def _of_stage(name: str, index: int, values: Range) -> UncertainInput:
    limits = {"least": LOWEST, "most": HIGHEST} if name == "temperature" else {}
    if name in _POSITIVE:
        limits = {"least": 0.0}
    return UncertainInput(
        name=name,
        stage=index,
        range=values,
        distribution=_sized(values) if name in _AMOUNTS else EVEN,
        source="drawn-brine" if name == "drawn water" and values.is_wide else AS_STATED,
        **limits,
    )


def _rate(name: str, rate: Diffusivity, stages: Sequence[Stage]) -> UncertainInput:
    """Factor on the diffusivity, with the widest band of the stages."""
    factor = max(rate.at(each.temperature.typical).factor for each in stages)
    return UncertainInput(
        name=name, range=Range(1 / factor, 1.0, factor), distribution=LOG_NORMAL, source=rate.sources[0], least=0.0
    )


def _sized(values: Range) -> str:
    """Sizes and amounts are log-normal; an amount that may be 0 is evenly distributed."""
    return LOG_NORMAL if values.low > 0 else EVEN
