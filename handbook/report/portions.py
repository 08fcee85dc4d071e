"""Yield of a method and nutrients of a portion."""

from __future__ import annotations

from dataclasses import dataclass

from handbook.base.ranges import Range
from handbook.brine.make_up import MakeUp
from handbook.page.method import Method

SODIUM_IN_SALT = 22.99 / 58.44  # molar masses of Na and NaCl, g/mol (standard atomic weights)

#: Finished mass / green weight by family, where a page states no losses: from memory, see sources.
TYPICAL_YIELD = {
    "hot smoke": Range(0.75, 0.82, 0.88),
    "cold smoke": Range(0.82, 0.83, 0.84),
    "cook": Range(0.68, 0.76, 0.85),
    "dry cure": Range(0.94, 0.97, 0.99),
    "brine": Range(0.96, 1.0, 1.1),
    "ferment": Range(0.65, 0.75, 0.85),
    "pickle": Range(0.92, 1.0, 1.05),
    "dried": Range(0.35, 0.5, 0.65),
}


@dataclass(frozen=True, kw_only=True)
class Yield:
    """Finished mass / green weight; ``basis`` says stated, typical or measured (in runs)."""

    ratio: Range
    basis: str


@dataclass(frozen=True, kw_only=True)
class Portion:
    """One portion as eaten: its mass, sodium and sugar in kg."""

    mass: Range
    sodium: Range
    sugar: float


def stated_yield(method: Method, family: str) -> Yield:
    """Yield from the losses and gains that the steps state, else typical for the family: what is done to the food."""
    stated = [step for step in method.steps if step.loss or step.gain]
    if not stated:
        return Yield(ratio=TYPICAL_YIELD[family], basis="typical")
    low = typical = high = 1.0
    for step in stated:
        for change, sign in ((step.loss, -1), (step.gain, 1)):
            if change:
                ends = sorted((1 + sign * change.low, 1 + sign * change.high))
                low, typical, high = low * ends[0], typical * (1 + sign * change.middle), high * ends[1]
    return Yield(ratio=Range(low, typical, high), basis="stated")


def portion(
    method: Method,
    salt_on_green_weight: Range,
    sugar_on_green_weight: float,
    glaze: MakeUp | None,
    glaze_mass: float,
    finished: Yield,
) -> Portion:
    """Mass, sodium and sugar of one portion.

    Salt stays in the food when water leaves, so sodium depends on the raw batch and not on the yield. The range is that
    of the salt. Sodium from other sources than salt and the food itself is left out.
    """
    batch = method.batches.written_for.low
    count = method.sheet.portions
    extra_sodium = extra_sugar = 0.0
    if glaze is not None and glaze.mass > 0:
        part = glaze_mass / glaze.mass
        extra_sodium, extra_sugar = glaze.total("sodium") * part, glaze.total("sugars") * part
    sugar = batch * sugar_on_green_weight
    sodium = salt_on_green_weight.times(SODIUM_IN_SALT * batch / count)
    return Portion(
        mass=finished.ratio.times(batch / count),
        sodium=sodium.plus(Range.exact(extra_sodium / count)),
        sugar=(sugar + extra_sugar) / count,
    )
