"""Yield of a method and nutrients of a portion."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from msgspec import Struct

from handbook.base.ranges import Range
from handbook.brine.make_up import MakeUp
from handbook.page.method import Method
from handbook.page.until import WEIGHT_LOSS

SODIUM_IN_SALT = 22.99 / 58.44  # molar masses of Na and NaCl, g/mol (standard atomic weights)

#: Finished mass / green weight by family, where a loss is neither stated nor computed: from memory, see sources.
TYPICAL_YIELD = {
    "hot smoke": Range(0.75, 0.82, 0.88),
    "cold smoke": Range(0.82, 0.83, 0.84),
    "cook": Range(0.68, 0.76, 0.85),
    "cooked plant": Range(0.85, 0.95, 1.05),
    "dry cure": Range(0.94, 0.97, 0.99),
    "brine": Range(0.96, 1.0, 1.1),
    "ferment": Range(0.65, 0.75, 0.85),
    "pickle": Range(0.92, 1.0, 1.05),
    "dried": Range(0.35, 0.5, 0.65),
}


class Yield(Struct, frozen=True, kw_only=True):
    """Finished mass / green weight; ``basis`` says stated, computed, typical or measured (in runs)."""

    ratio: Range
    basis: str


class Portion(Struct, frozen=True, kw_only=True):
    """One portion as eaten: its mass, sodium and sugar in kg."""

    mass: Range
    sodium: Range
    sugar: float


class GlazeOnFood(Struct, frozen=True, kw_only=True):
    """Salt, sodium and sugars in kg that all glazes of the written batch leave on the food."""

    salt: float
    sodium: float
    sugars: float


def glaze_on_food(glazes: Sequence[tuple[MakeUp, float]]) -> GlazeOnFood:
    """Salt, sodium and sugars from glazes, each given with the mass in kg that stays on."""
    found = dict.fromkeys(("salt", "sodium", "sugars"), 0.0)
    for made, stays in glazes:
        for what in found:
            found[what] += made.total(what) * stays / made.mass if made.mass else 0.0
    return GlazeOnFood(salt=found["salt"], sodium=found["sodium"], sugars=found["sugars"])


def finished_salt(salt: Range, food: float, glazes: GlazeOnFood, batch: float) -> Range:
    """Salt / finished food, including the salt of the glazes that stay on.

    x = x_f + g_s / (M m)

    Parameters
    ----------
    salt : salt of the food alone / finished food, x_f
    food : finished mass / green weight, m; weighed with the glaze on
    batch : green weight M, kg
    """
    more = glazes.salt / batch / food
    return Range(salt.low + more, salt.typical + more, salt.high + more)


def states_losses(method: Method) -> bool:
    """Whether any step states a loss or gain of weight."""
    return any(step.loss or step.gain or step.waits_for == WEIGHT_LOSS for step in method.steps)


def typical_yield(
    method: Method, family: str, filled: float = 1.0, stirred: Mapping[int, float] = MappingProxyType({})
) -> Range:
    """Usual finished mass / green weight of the family.

    ``filled`` is the weight with what is mixed into the food / green weight; ``stirred`` what steps stir in later / green weight, by number.
    """
    # Vegetables under brine keep their weight; those that make their own brine lose it as juice.
    is_under_brine = family == "ferment" and any(each.is_bath for each in method.saltings)
    ratio = TYPICAL_YIELD["brine" if is_under_brine else family]
    return ratio.times(filled).plus(Range.exact(sum(stirred.values())))


def portion(
    method: Method, salt_on_green_weight: Range, sugar_on_green_weight: float, glazes: GlazeOnFood, finished: Yield
) -> Portion:
    """Mass, sodium and sugar of one portion, including the glaze that stays on.

    Salt stays in the food when water leaves, so sodium depends on the raw batch and not on the yield. Its range is that
    of the salt. Other sodium than that of salt and of the food itself is left out.
    """
    batch = method.batches.written_for.low
    count = method.front_matter.portions
    sugar = batch * sugar_on_green_weight
    sodium = salt_on_green_weight.times(SODIUM_IN_SALT * batch / count)
    return Portion(
        mass=finished.ratio.times(batch / count),
        sodium=sodium.plus(Range.exact(glazes.sodium / count)),
        sugar=(sugar + glazes.sugars) / count,
    )
