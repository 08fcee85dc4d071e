"""Ingoing nitrite and nitrate by the inspector's formulas, and the foods that may take them.

All formulas are those of [fsis-calculations-handbook]; its percentages are entered here as fractions. Parts per
million are by mass of sodium nitrite (or nitrate) on the mass that each formula names: never compare two bases.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from handbook.base.errors import RangeError
from handbook.catalogue.food_families import MEAT, is_belly, is_nitrite_fish, is_tuna
from handbook.catalogue.foods import Food
from handbook.page.method import BATHS

PPM = 1e6
#: ppm ingoing nitrite from which food counts as cured when it cools [fsis-appendix-b-revised].
CURED_FROM = 100.0


class Process(StrEnum):
    """How a cure gets into the food, in the regulation's words: each process has its own limits and formula."""

    PUMPED = "pumped"
    IMMERSED = "immersed"
    DRY_CURED = "dry-cured"
    MIXED_IN = "mixed in"  # minced food takes up all that is mixed into it


@dataclass(frozen=True, kw_only=True)
class Permission:
    """Whether a food may take nitrite or nitrate; ``limit`` is the id of the limit that says so."""

    allowed: bool
    limit: str
    reason: str


def pumped_ppm(nitrite_mass: float, pump_fraction: float, pickle_mass: float) -> float:
    """Ingoing ppm on green weight of food pumped with pickle.

    ppm = nitrite x pump x 10^6 / pickle

    Parameters
    ----------
    nitrite_mass, pickle_mass : float [kg]
        Nitrite (or nitrate) in the whole pickle, and the whole pickle by weight, not by volume.
    pump_fraction : float [-]
        Pickle taken up / green weight, above 0 to 1.

    Raises
    ------
    RangeError  an argument lies outside these limits

    Notes
    -----
    Source: [fsis-calculations-handbook], page 19 (formula read as quoted).

    Examples
    --------
    >>> round(pumped_ppm(2, 0.10, 1000))
    200
    """
    _check_cure(nitrite_mass, pickle_mass=pickle_mass)
    _check_fraction("pump_fraction", pump_fraction)
    return nitrite_mass * pump_fraction * PPM / pickle_mass


def immersed_equilibrium_ppm(nitrite_mass: float, food_mass: float, pickle_mass: float) -> float:
    """Ingoing ppm of food that stays in a cover pickle until both are level (method two).

    ppm = nitrite x 10^6 / (green weight + pickle)

    Masses in kg, all above 0 (nitrite may be 0), else RangeError.
    Source: [fsis-calculations-handbook], page 22 (formula read as quoted).

    >>> round(immersed_equilibrium_ppm(0.02, 80, 20))
    200
    """
    _check_cure(nitrite_mass, food_mass=food_mass, pickle_mass=pickle_mass)
    return nitrite_mass * PPM / (food_mass + pickle_mass)


def dry_cured_ppm(nitrite_mass: float, food_mass: float) -> float:
    """Ingoing ppm on green weight of food with a dry cure rubbed on: nitrite x 10^6 / green weight.

    Masses in kg, food above 0, else RangeError. Source: [fsis-calculations-handbook], page 24 (read as quoted).

    >>> round(dry_cured_ppm(1 / 16, 100))
    625
    """
    _check_cure(nitrite_mass, food_mass=food_mass)
    return nitrite_mass * PPM / food_mass


def comminuted_ppm(nitrite_mass: float, food_mass: float) -> float:
    """Ingoing ppm on green weight of minced food with the cure mixed in: nitrite x 10^6 / green weight.

    Masses in kg, food above 0, else RangeError. Source: [fsis-calculations-handbook], page 15 (read as quoted).

    >>> round(comminuted_ppm(0.25 / 16, 100), 2)
    156.25
    """
    return dry_cured_ppm(nitrite_mass, food_mass)


def cure_process(salting_kind: str, form: str = "cut") -> Process:
    """The process by which a kind of salting brings salt and cure into food of a ``form``.

    >>> str(cure_process("equilibrium")), str(cure_process("equilibrium", "minced"))
    ('immersed', 'mixed in')
    """
    if form == "minced":
        return Process.MIXED_IN
    if salting_kind == "injection":
        return Process.PUMPED
    return Process.IMMERSED if salting_kind in BATHS else Process.DRY_CURED


def is_bacon(food: Food, form: str = "cut") -> bool:
    """Whether the food is bacon when it is cured: pork belly that is not minced. Bacon has its own limits."""
    return is_belly(food) and form != "minced"


def may_take(food: Food, salt: str = "nitrite") -> Permission:
    """Whether ``salt`` (nitrite or nitrate) may go into this food at all.

    Source: the permitted foods of 21 CFR 172.170 and 172.175 and 9 CFR 424.21(c) and 424.22(b); that nothing else
    may take them is an inference from memory.
    """
    if salt == "nitrate" and is_belly(food):
        return Permission(allowed=False, limit="nitrate-bacon", reason="no nitrate in bacon")
    if food.food_class in MEAT:
        return Permission(allowed=True, limit="", reason="meat, poultry and game may be cured")
    if is_nitrite_fish(food):
        return Permission(
            allowed=True, limit=f"{salt}-fish", reason="smoked, cured salmon, sablefish and shad are named"
        )
    if is_tuna(food) and salt == "nitrite":
        return Permission(allowed=True, limit="nitrite-tuna", reason="smoked, cured tuna is named, for colour only")
    return Permission(allowed=False, limit=f"{salt}-other-food", reason=f"no regulation names {food.name} for {salt}")


def _check_cure(amount: float, **masses: float) -> None:
    if not amount >= 0:
        raise RangeError("nitrite_mass", amount, "0 or more, kg")
    for name, mass in masses.items():
        if not mass > 0:
            raise RangeError(name, mass, "above 0, kg")


def _check_fraction(name: str, value: float) -> None:
    if not 0 < value <= 1:
        raise RangeError(name, value, "above 0 and up to 1 (10 % is 0.10)")
