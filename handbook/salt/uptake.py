"""Salt and sugar in one piece of food through the stages of a method, with the spread of all inputs.

Fick's law in the water phase: with s the salt per kg of green food and W its water per kg of green food, salt follows
s / W, and the bath, well stirred and of limited size, loses what the food gains. One stage hands its profile to the
next. Water that is gained, drawn or lost changes W for the whole piece at once, and with it the strength, never the
amount of salt; size and shape stay as cut. Fat and solids hold no salt. See diffusion.py for the solution and
uptake_records.py for all records.

Not in the model: unstirred brine, salt binding to protein, D that changes with strength, curing agents used up.
Source: [crank-1975]; diffusivities by their own sources.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from handbook.base.arrays import Floats
from handbook.base.errors import RangeError
from handbook.base.ranges import Range
from handbook.salt.diffusion import Geometry, geometry
from handbook.salt.evolution import BathCoupling
from handbook.salt.solute_stage import StirredBath, bath_course, search_times, time_reached
from handbook.salt.stage_run import SampledStage, StageRun, UptakeSetting, curve, time_range
from handbook.salt.uptake_inputs import STAGE_INPUTS, uncertain_inputs
from handbook.salt.uptake_records import (
    ArrayRange,
    FresheningStep,
    InputShare,
    Piece,
    SoluteState,
    Spread,
    Stage,
    ThicknessTime,
    TimeRange,
    UptakeCurve,
    UptakeResult,
    UptakeStageResult,
)
from handbook.uncertainty.sampling import Draws, range_of
from handbook.uncertainty.sampling import ends as ends_of

__all__ = [
    "ArrayRange",
    "FresheningStep",
    "InputShare",
    "Piece",
    "SoluteState",
    "Spread",
    "Stage",
    "ThicknessTime",
    "TimeRange",
    "UptakeCurve",
    "UptakeResult",
    "UptakeStageResult",
    "depth_profile",
    "freshening_minutes",
    "hours_to_target",
    "run",
    "salt_at_end",
    "time_to_target",
    "with_bath_scaled",
]


def run(
    piece: Piece,
    stages: list[Stage] | tuple[Stage, ...],
    spread: Spread | None = None,
    target: float | None = None,
    evenness: float = 0.1,
) -> UptakeResult:
    """Salt and sugar through all stages.

    Parameters
    ----------
    stages : at least one, in order
    target : mean salt mass fraction of the food that the cook aims at, for time_to_target
    evenness : centre and mean count as even when they differ by no more than this share of the mean (water phase)

    Raises
    ------
    RangeError   temperature outside -5 to 80 °C, more water gained or lost than there is, an aspect over 200

    Notes
    -----
    Salt is conserved to 1e-9 of the total in every stage (StageResult.salt_balance). Mean salt is right to 0.02 % of
    the final uptake, centre to 0.2 % of the difference between bath and food. A block keeps its proportions in the
    spread: a thinner or thicker one is drawn as one of the same proportions whose open surface / volume is that of
    the piece.
    """
    if not stages:
        raise ValueError("stages: read none; allowed: at least one")
    inputs = _Inputs(piece, stages, (spread or Spread()).samples)
    setting, state = _setting(piece, inputs)
    results, start = [], 0.0
    for stage, drawn in inputs.drawn(setting):
        under_way = StageRun.begin(stage, setting, drawn, state)
        result = _result(under_way, inputs, start, target, evenness, piece)
        results.append(result)
        state, start = result.state, start + stage.duration.typical
    return UptakeResult(
        piece=piece,
        stages=tuple(results),
        dominating=results[-1].dominating,
        geometry=setting.shape,
        lengths=setting.lengths,
        solids=setting.solids,
        diffusivity_positions=inputs.positions("diffusivity"),
    )


def salt_at_end(piece: Piece, stages: Sequence[Stage], spread: Spread | None = None) -> Range:
    """Mean salt mass fraction after the last of ``stages``: that of run(), without all else."""
    _, figures, _ = _last_stage(piece, stages, spread).end()
    return range_of(figures["salt_mass_fraction"])


def time_to_target(piece: Piece, stages: Sequence[Stage], target: float, spread: Spread | None = None) -> TimeRange:
    """Time in the last of ``stages`` until the mean salt is ``target``, mass fraction: that of run(), without all else.

    None without a bath.
    """
    return _last_stage(piece, stages, spread).time_to(target)


def hours_to_target(
    piece: Piece, stage: Stage, target: float, thicknesses: tuple[float, ...], spread: Spread | None = None
) -> tuple[ThicknessTime, ...]:
    """Time in ``stage`` until raw pieces of each of ``thicknesses`` (m) hold ``target`` salt (mass fraction, mean).

    Each keeps the piece's relative spread of thickness; a block keeps its width and length.
    """
    found = []
    for thickness in thicknesses:
        sized = replace(piece, thickness=piece.thickness.times(thickness / piece.thickness.typical))
        found.append(
            ThicknessTime(thickness=thickness, hours=_scaled(time_to_target(sized, [stage], target, spread), 1 / 3600))
        )
    return tuple(found)


def freshening_minutes(
    result: UptakeResult,
    steps: int = 6,
    step: float = 0.005,
    bath_water: float = 3.0,
    temperature: float = 278.15,
    after: int | None = None,
) -> tuple[FresheningStep, ...]:
    """Minutes in plain water for the mean salt of the food to fall by one, two, ... ``step``, from its real profile.

    Parameters
    ----------
    bath_water : kg of water per kg of green food; temperature : of the bath, K
    after : stage (index) after which the piece goes into the water; by default the last one that brings salt

    Notes
    -----
    The list ends before the salt would fall below 0. A fall that the water cannot bring about has None as its time.
    """
    if after is None:
        kinds = [each.stage.kind for each in result.stages]
        bringing = [index for index, kind in enumerate(kinds) if kind in ("soak", "dry cure", "inject")]
        after = bringing[-1] if bringing else len(result.stages) - 1
    state, piece = result.stages[after].state, result.piece
    value, factor = piece.salt_diffusivity.values(np.full(len(state.water), temperature))
    rate = value * factor**result.diffusivity_positions / result.lengths**2
    water = np.full(len(rate), bath_water)
    nothing = np.zeros(len(rate))
    exchange = BathCoupling.between(result.geometry, water / state.water)
    course = bath_course(exchange, state.salt, state.water, StirredBath(water=water, solute=nothing), saturation=1.0)
    reading = course.reading([np.eye(result.geometry.size)[0]])
    salt = state.salt[:, 0]
    others = result.solids + state.water + state.sugar[:, 0]
    fraction = salt / (salt + others)
    wanted = [fraction - count * step for count in range(1, steps + 1) if fraction[0] > count * step]
    if not wanted:
        return ()
    aims = np.stack([each / (1 - each) * others for each in wanted])[:, :, None]
    reached = time_reached(lambda fourier: aims - reading.at(fourier, 1)[0], search_times()) / rate
    return tuple(
        FresheningStep(salt_mass_fraction=float(each[0]), minutes=_scaled(time_range(row), 1 / 60))
        for each, row in zip(wanted, reached, strict=True)
    )


def with_bath_scaled(stage: Stage, factor: float) -> Stage:
    """The stage in ``factor`` times as much bath of the same strength."""
    return replace(
        stage,
        bath_water=stage.bath_water.times(factor),
        bath_salt=stage.bath_salt.times(factor),
        bath_sugar=stage.bath_sugar.times(factor),
    )


def depth_profile(result: UptakeResult, stage_index: int, depths: npt.ArrayLike) -> ArrayRange:
    """Water-phase salt at the end of a stage, ``depths`` (m, from 0 to the centre) below the broad face, mid-piece."""
    wanted = np.asarray(depths, dtype=float)
    typical = result.lengths[0]
    if wanted.min() < 0 or wanted.max() > typical * (1 + 1e-9):
        raise RangeError("depth", float(wanted.max()), f"0 to {typical:g} m (the centre, or the closed face)")
    state = result.stages[stage_index].state
    readers = result.geometry.at_depth(np.minimum(wanted / typical, 1.0))
    salt = state.salt @ readers.T
    return ArrayRange(*ends_of(salt / (salt + state.water[:, None])))


class _Inputs:
    """All uncertain inputs as samples, shape (1 + samples,), the typical run first."""

    def __init__(self, piece: Piece, stages: Sequence[Stage], samples: int):
        self.piece, self.stages = piece, stages
        self._inputs = {each.key: each for each in uncertain_inputs(piece, stages)}
        wide = [key for key, each in self._inputs.items() if each.range.is_wide]
        self._draws = Draws(wide, samples)

    def draw(self, name: str, stage: int | None = None) -> Floats:
        """Samples of one input; 0 for one that the stage does not have."""
        if (name, stage) not in self._inputs:
            return np.zeros(1 + self._draws.samples)
        return self._draws.of(self._inputs[name, stage])

    def positions(self, name: str) -> Floats:
        """Where each sample lies along the range of an input of the whole run: 0 typical, -1 and 1 the ends."""
        if (name, None) not in self._inputs:
            return np.zeros(1 + self._draws.samples)
        return self._draws.positions(self._inputs[name, None])

    def drawn(self, setting: UptakeSetting) -> Iterator[tuple[Stage, SampledStage]]:
        """Each stage and its inputs."""
        sources = {"diffusivity": self.piece.salt_diffusivity, "sugar diffusivity": self.piece.sugar_diffusivity}
        for index, stage in enumerate(self.stages):
            temperature = self.draw("temperature", index)
            rates = []
            for name, source in sources.items():
                value, factor = source.values(temperature)
                rates.append(value * factor ** self.positions(name) / setting.lengths**2)
            amounts = {field: self.draw(name, index) for name, field in STAGE_INPUTS.items()}
            yield (
                stage,
                SampledStage(
                    duration=amounts.pop("duration"), salt_rate=rates[0], sugar_rate=rates[1], amounts=amounts
                ),
            )

    def shares(self, results: Floats) -> tuple[InputShare, ...]:
        """What part of the spread of ``results``, shape (1 + samples,), each input makes."""
        return tuple(InputShare(name, stage, part) for (name, stage), part in self._draws.parts_of_spread(results))


def _last_stage(piece: Piece, stages: Sequence[Stage], spread: Spread | None) -> StageRun:
    """The last of the stages under way, those before it over."""
    inputs = _Inputs(piece, stages, (spread or Spread()).samples)
    setting, state = _setting(piece, inputs)
    under_way: StageRun | None = None
    for stage, drawn in inputs.drawn(setting):
        if under_way is not None:
            state, _, _ = under_way.end()
        under_way = StageRun.begin(stage, setting, drawn, state)
    if under_way is None:
        raise ValueError("stages: read none; allowed: at least one")
    return under_way


def _setting(piece: Piece, inputs: _Inputs) -> tuple[UptakeSetting, SoluteState]:
    whole = 1.0 if piece.skin_closed else 0.5
    length = whole * piece.thickness.typical
    others = [each / 2 for each in (piece.width, piece.length) if each is not None]
    if piece.shape in ("slab", "sphere"):
        others = []
    kind = "slab" if piece.shape == "block" and not others else piece.shape
    shape: Geometry = geometry(kind, tuple(each / length for each in others))
    relative = inputs.draw("thickness") / piece.thickness.typical
    if others:
        # A block is drawn with its aspect kept; what counts for uptake is its open surface / volume.
        across = 2 if piece.shape == "cylinder" else 1
        fixed = sum(length / each for each in others)
        relative = (across + fixed) / (across / relative + fixed)
    lengths = length * relative
    water, native = inputs.draw("food water"), inputs.draw("native salt")
    if (water + native).max() >= 1:
        raise RangeError("water_fraction", float((water + native).max()), "below 1 together with the food's own salt")
    setting = UptakeSetting(shape=shape, lengths=lengths, solids=1 - water - native)
    return setting, SoluteState(salt=shape.uniform(native), sugar=np.zeros((len(water), shape.size)), water=water)


def _result(
    under_way: StageRun, inputs: _Inputs, start: float, target: float | None, evenness: float, piece: Piece
) -> UptakeStageResult:
    stage = under_way.stage
    state, figures, balance = under_way.end()
    times = under_way.times(target, evenness)  # before the curve: a table is made once for the longest time asked
    curves = curve(*under_way.stretched())
    equilibrium = under_way.equilibrium()
    if equilibrium is not None:
        figures["equilibrium"] = equilibrium
    names = list(figures)
    low, typical, high = ends_of(np.stack([figures[name] for name in names], axis=1))
    ends = {name: Range(float(low[at]), float(typical[at]), float(high[at])) for at, name in enumerate(names)}
    return UptakeStageResult(
        stage=stage,
        start=start,
        salt_mass_fraction=ends["salt_mass_fraction"],
        water_phase_salt_mean=ends["water_phase_mean"],
        water_phase_salt_centre=ends["water_phase_centre"],
        water_phase_salt_outer=ends["water_phase_outer"],
        sugar_mass_fraction=ends["sugar_mass_fraction"],
        bath_water_phase_salt=ends.get("bath_water_phase_salt"),
        food_mass_ratio=ends["food_mass_ratio"],
        salt_on_green_weight=ends["salt_on_green_weight"],
        equilibrium_salt_mass_fraction=ends.get("equilibrium"),
        **times,
        curve=curves,
        salt_balance=balance,
        dominating=inputs.shares(figures["salt_mass_fraction"]),
        extrapolated=piece.salt_diffusivity.is_extrapolated(stage.temperature.typical),
        state=state,
    )


def _scaled(time: TimeRange, factor: float) -> TimeRange:
    return TimeRange(*(None if end is None else end * factor for end in (time.low, time.typical, time.high)))
