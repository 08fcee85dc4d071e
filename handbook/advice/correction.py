"""Correction of a brine: additions when its measured strength is off, and the content of a used brine.

All masses in kg. Strength is salt per water, as in the recipe; matter dissolved from spices is left out.
"""

from __future__ import annotations

from msgspec import Struct

from handbook.base.errors import RangeError
from handbook.base.ranges import Range
from handbook.brine.make_up import IngredientMass, MakeUp
from handbook.brine.measured_salt import Proportion
from handbook.brine.solution import WARMEST, brine_density
from handbook.brine.strength import foreign_matter, foreign_names
from handbook.catalogue.food_families import RISKY_RAW
from handbook.catalogue.foods import Food
from handbook.safety.limits import limits
from handbook.salt.uptake_records import UptakeStageResult

_PRACTICE = "common-practice-kitchen"


class Correction(Struct, frozen=True, kw_only=True):
    """Additions to a brine of ``measured`` strength, in kg of the ingredients, with the range of the reading.

    ``verdict``: weak, strong, or "as aimed" where the aim lies within the reading's range.
    ``measured`` is salt / (water + salt + sugars); ``volume`` (m3) is the brine after adding.
    """

    verdict: str
    measured: Range
    salt: IngredientMass
    sugar: IngredientMass | None
    add_salt: Range
    add_sugar: Range
    add_water: Range
    volume: float


class UseRule(Struct, frozen=True, kw_only=True):
    """Whether a used brine may be used again, and the reasons: never, limited (by an authority's rule) or with care.

    ``reasons`` are (sentence, source key).
    """

    verdict: str
    reasons: tuple[tuple[str, str], ...]


class UsedBrine(Struct, frozen=True, kw_only=True):
    """The remaining brine when the food comes out, and the additions that restore it.

    ``water_phase_salt`` is salt / (salt + water); the rest is in kg, ``add_salt`` and ``add_sugar`` of the ingredients.
    """

    water_phase_salt: Range
    fresh_water_phase_salt: float
    salt_left: Range
    water_left: Range
    salt: IngredientMass
    sugar: IngredientMass | None
    add_salt: Range
    add_sugar: Range
    add_water: Range


def proportion(made: MakeUp) -> Proportion:
    """Salt and sugar of the brine by the recipe."""
    return Proportion(salt=made.solution_salt, sugar=made.solution_sugar)


def obstacle(made: MakeUp) -> str:
    """The reason why a reading cannot correct this brine, in words; empty where it can."""
    if made.has_cure:
        return (
            "It contains curing salt: a reading measures the salt, not the nitrite. Do not correct a cure by its "
            "strength; if a weight is in doubt, discard the cure and weigh a new one."
        )
    if main_part(made, "salt") is None:
        return "Its salt comes with other solutes: a reading cannot show which part of them is salt. Weigh it."
    if foreign := foreign_names(made):
        return f"It contains {', '.join(foreign)}: their other solutes change a reading too. Weigh it."
    try:
        brine_density(made.solution_salt, made.solution_sugar, WARMEST)
    except RangeError:
        return "It contains more salt or sugar than dissolves: a reading measures only the dissolved part."
    return ""


def main_part(made: MakeUp, kind: str) -> IngredientMass | None:
    """The ingredient with most of the ``salt`` or of the ``sugars``, without curing salt."""
    kinds, what = {"salt": (("salt",), "salt"), "sugars": (("sugar", "syrup"), "sugars")}[kind]
    parts = [part for part in made.parts if part.ingredient.kind in kinds]
    return max(parts, key=lambda part: part.mass.typical * getattr(part.ingredient, what), default=None)


def sweetener(made: MakeUp) -> IngredientMass | None:
    """The sugar or syrup to add with the salt; None where the brine contains only traces of sugar."""
    return main_part(made, "sugars") if made.total("sugars") > 0.01 * made.total("salt") else None


def with_foreign(measured: Range, made: MakeUp) -> Range:
    """``measured`` salt with a lower low end, as if all other dissolved matter had been read as salt."""
    share = sum(map(foreign_matter, made.parts)) / (made.total("salt") + made.total("sugars"))
    return Range(measured.low * (1 - share), measured.typical, measured.high)


def correction(made: MakeUp, measured: Range, temperature: float, volume: float | None = None) -> Correction:
    """Additions that change a brine of ``measured`` strength to that of ``made``.

    r = S0 / W0, k = K0 / W0;  weak:  S + p m = r (W + w m + v n),  K + q n = k (W + w m + v n);  strong:  W' = S / r - W

    Parameters
    ----------
    made : the intended brine for this batch; curing salt and foreign matter (see obstacle) are refused
    measured : salt / (water + salt + sugars), sugar in the recipe's proportion
    temperature : K, of the brine
    volume : m3 of brine at hand; None: the water is that of the recipe

    Raises
    ------
    RangeError   a brine that obstacle refuses, or a strength of 0 or below

    Notes
    -----
    Source: mass balance (no empirical constant). p, q salt and sugar of the ingredients, w, v their water, m, n the
    masses to add. Valid before food is in.
    """
    salt, sugar = main_part(made, "salt"), sweetener(made)
    if salt is None or obstacle(made):
        raise RangeError(
            "brine", made.solution_salt, "one without curing salt whose salt and sugar alone make a reading"
        )
    found_at = [_additions(made, strength, salt, sugar, temperature, volume) for strength in reversed(measured.ends)]
    aimed = made.solution_salt
    verdict = "as aimed" if measured.low <= aimed <= measured.high else "weak" if measured.typical < aimed else "strong"
    add_salt, add_sugar, add_water = (
        Range(*sorted(each)) for each in zip(*(found[:3] for found in found_at), strict=True)
    )
    return Correction(
        verdict=verdict,
        measured=measured,
        salt=salt,
        sugar=sugar,
        add_salt=add_salt,
        add_sugar=add_sugar,
        add_water=add_water,
        volume=found_at[1][3],
    )


def used_brine(made: MakeUp, food_mass: float, salt_before: Range, stage: UptakeStageResult) -> UsedBrine | None:
    """The remaining brine after ``stage``, by the mass balance of salt, and the additions that restore it; None without
    a bath.

    S = S0 - M (s1 - s0);  W = S (1 - b) / b;  add r W' - S of salt, W' - W of water;  W' = max(W, W0), r = S0 / W0

    Parameters
    ----------
    food_mass : kg, M; salt_before : salt in the food before the brine, of green weight, s0

    Notes
    -----
    b is the strength of the bath at the end of the stage, s1 the food's salt: outputs of uptake.run. Brine that clings
    to the food is left out. None also for a saturated bath.
    """
    bath, after = stage.bath_water_phase_salt, stage.salt_on_green_weight
    salt, sugar = main_part(made, "salt"), sweetener(made)
    water = made.total("water")
    # A saturated bath may hold undissolved salt, and the balance then does not give the water.
    if bath is None or salt is None or bath.high > 0.262:
        return None
    # The highest uptake gives the weakest bath.
    salt_left = [made.total("salt") - food_mass * (taken - salt_before.typical) for taken in reversed(after.ends)]
    water_left = [left * (1 - b) / b for left, b in zip(salt_left, bath.ends, strict=True)]
    full = [max(water, left) for left in water_left]  # a strong brine draws water from the food
    to_water = made.total("salt") / water
    sugar_taken = food_mass * max(stage.sugar_mass_fraction.typical * stage.food_mass_ratio.typical, 0.0)
    missing = [max(to_water * whole - left, 0.0) for whole, left in zip(full, salt_left, strict=True)]
    return UsedBrine(
        water_phase_salt=bath,
        fresh_water_phase_salt=made.water_phase_salt,
        salt_left=_rising(salt_left),
        water_left=_rising(water_left),
        salt=salt,
        sugar=sugar,
        add_salt=_rising([each / salt.ingredient.salt for each in missing]),
        add_sugar=Range.exact(sugar_taken / sugar.ingredient.sugars if sugar else 0.0),
        add_water=_rising([whole - left for whole, left in zip(full, water_left, strict=True)]),
    )


def use_rule(made: MakeUp, food: Food, audience: str) -> UseRule:
    """Whether this brine may be used again after this food, by the house's audience."""
    if made.has_cure:
        why = "It contained curing salt: the remaining nitrite is not known, and no reading shows it."
        return UseRule(verdict="never", reasons=((why, _PRACTICE),))
    if food.food_class not in RISKY_RAW:
        why = (
            "At most once more: kept cold, for the same food, with its salt corrected first. Discard it when it is slimy, "
            "mouldy or smells wrong. Whey, juice and acid change a hydrometer's reading as salt does."
        )
        return UseRule(verdict="with care", reasons=((why, _PRACTICE),))
    if audience == "commercial":
        batches = limits()["used-brine"]
        more = "Only by your own written plan: kept cold, for the same food, with its strength corrected each time."
        reasons = (f"{batches.printed} ({batches.section}).", batches.source), (more, _PRACTICE)
        return UseRule(verdict="limited", reasons=reasons)
    marinade = limits()["reused-marinade"]
    first = "Discard it after one batch: it has held raw food."
    reasons = (first, _PRACTICE), (f"For what touches finished food: {marinade.printed}.", marinade.source)
    return UseRule(verdict="never", reasons=reasons)


def _additions(
    made: MakeUp,
    strength: float,
    salt: IngredientMass,
    sugar: IngredientMass | None,
    temperature: float,
    volume: float | None,
) -> tuple[float, float, float, float]:
    """Masses of salt, sugar and water to add to a brine of ``strength``, and the resulting volume (m3)."""
    if not strength > 0:
        raise RangeError("measured salt", strength, "above 0")
    to_water, sugar_to_water = (made.total(what) / made.total("water") for what in ("salt", "sugars"))
    sugar_strength = strength * sugar_to_water / to_water
    water = made.total("water")
    if volume is not None:
        water = volume * brine_density(strength, sugar_strength, temperature) * (1 - strength - sugar_strength)
    held = strength / (1 - strength - sugar_strength) * water
    held_sugar = sugar_strength / (1 - strength - sugar_strength) * water
    more_salt, more_sugar, more_water = 0.0, 0.0, 0.0
    if held < to_water * water:
        more_salt, more_sugar = _both(
            salt, sugar, to_water, sugar_to_water, to_water * water - held, sugar_to_water * water - held_sugar
        )
    else:
        more_water = held / to_water - water
    rest = made.mass - made.solution_mass
    mass = water + held + held_sugar + more_salt + more_sugar + more_water + rest
    density = brine_density(made.solution_salt, made.solution_sugar, temperature)
    return more_salt, more_sugar, more_water, mass / density


def _both(
    salt: IngredientMass,
    sugar: IngredientMass | None,
    to_water: float,
    sugar_to_water: float,
    missing_salt: float,
    missing_sugar: float,
) -> tuple[float, float]:
    """Masses of both ingredients, their own water included: two linear equations."""
    p, w = salt.ingredient.salt, salt.ingredient.water
    if sugar is None:
        return missing_salt / (p - to_water * w), 0.0
    q, v = sugar.ingredient.sugars, sugar.ingredient.water
    a, b, c, d = p - to_water * w, -to_water * v, -sugar_to_water * w, q - sugar_to_water * v
    whole = a * d - b * c
    return (missing_salt * d - b * missing_sugar) / whole, (a * missing_sugar - c * missing_salt) / whole


def _rising(values: list[float]) -> Range:
    return Range(min(values), values[1], max(values))
