"""Ingoing nitrite and nitrate by the inspectors' formulas, and the foods that may contain them.

All formulas are those of [fsis-calculations-handbook], with fractions in place of its percentages. Parts per million
are by mass of sodium nitrite (or nitrate) on the mass that each formula names. Figures on different bases are not
comparable.
"""

from __future__ import annotations

from enum import StrEnum

from msgspec import Struct

from handbook.base.errors import RangeError
from handbook.catalogue.food_families import MEAT, is_belly, is_nitrite_fish, is_tuna
from handbook.catalogue.foods import Food
from handbook.page.salting import BATHS, DRY, MIXED

PPM = 1e6
#: Ingoing nitrite in ppm from which food counts as cured for cooling [fsis-appendix-b-revised].
CURED_FROM = 100.0


class Process(StrEnum):
    """The process by which a cure enters the food, in the regulation's words. Each has its own limits and formula."""

    PUMPED = "pumped"
    IMMERSED = "immersed"
    DRY_CURED = "dry-cured"
    MIXED_IN = "mixed in"  # minced food keeps all of it


class Permission(Struct, frozen=True, kw_only=True):
    """Whether a food may contain nitrite or nitrate. ``limit`` is the id of the limit that decides."""

    allowed: bool
    limit: str
    reason: str


def pumped_ppm(nitrite_mass: float, pump_fraction: float, pickle_mass: float) -> float:
    """Ingoing nitrite or nitrate on green weight of food pumped with pickle.

        ppm = nitrite x pump x 10^6 / pickle

    Parameters
    ----------
    nitrite_mass, pickle_mass : float [kg]
        Nitrite (or nitrate) in the whole pickle, and the whole pickle by weight, not by volume.
    pump_fraction : float [-]
        Pickle taken up / green weight, above 0 to 1.

    Returns
    -------
    float [ppm by mass]

    Raises
    ------
    RangeError
        An argument lies outside these limits.

    Notes
    -----
    Source: [fsis-calculations-handbook], page 19 (formula read as quoted). Valid for any mass unit that both masses share.

    Examples
    --------
    >>> round(pumped_ppm(2, 0.10, 1000))
    200
    """
    _check_cure(nitrite_mass, pickle_mass=pickle_mass)
    _check_fraction("pump_fraction", pump_fraction)
    return nitrite_mass * pump_fraction * PPM / pickle_mass


def immersed_equilibrium_ppm(nitrite_mass: float, food_mass: float, pickle_mass: float) -> float:
    """Ingoing nitrite or nitrate of food that stays in a cover pickle until equilibrium (method two).

        ppm = nitrite x 10^6 / (green weight + pickle)

    Parameters
    ----------
    nitrite_mass, food_mass, pickle_mass : float [kg]
        Nitrite (or nitrate) in the whole pickle, 0 or more; green weight and whole pickle, above 0.

    Returns
    -------
    float [ppm by mass]

    Raises
    ------
    RangeError
        An argument lies outside these limits.

    Notes
    -----
    Source: [fsis-calculations-handbook], page 22 (formula read as quoted). Valid at equilibrium.

    Examples
    --------
    >>> round(immersed_equilibrium_ppm(0.02, 80, 20))
    200
    """
    _check_cure(nitrite_mass, food_mass=food_mass, pickle_mass=pickle_mass)
    return nitrite_mass * PPM / (food_mass + pickle_mass)


def whole_cure_ppm(nitrite_mass: float, food_mass: float) -> float:
    """Ingoing nitrite or nitrate on green weight of food with a dry cure rubbed on, or of minced food with a cure mixed in.

        ppm = nitrite x 10^6 / green weight

    Parameters
    ----------
    nitrite_mass, food_mass : float [kg]
        Nitrite (or nitrate), 0 or more; green weight, above 0.

    Returns
    -------
    float [ppm by mass]

    Raises
    ------
    RangeError
        An argument lies outside these limits.

    Notes
    -----
    Source: [fsis-calculations-handbook], pages 15 and 24 (formulas read as quoted). Valid if the food takes up the whole cure.

    Examples
    --------
    An ounce rubbed on a hundredweight, a quarter of one mixed in:

    >>> round(whole_cure_ppm(1 / 16, 100)), round(whole_cure_ppm(0.25 / 16, 100), 2)
    (625, 156.25)
    """
    _check_cure(nitrite_mass, food_mass=food_mass)
    return nitrite_mass * PPM / food_mass


def cure_process(salting_kind: str, form: str) -> Process:
    """Process of a kind of salting for a form of food.

    No equation: what goes into minced food is mixed in, injection is pumped, baths immerse, the rest is dry-cured.

    Parameters
    ----------
    salting_kind : str
        One of SALTING_KINDS.
    form : str
        One of FORMS.

    Returns
    -------
    Process

    Notes
    -----
    Source: the processes of [fsis-calculations-handbook]. Valid for all kinds and forms of a page.

    Examples
    --------
    >>> str(cure_process("equilibrium", "cut")), str(cure_process("equilibrium", "minced"))
    ('immersed', 'mixed in')
    """
    if salting_kind == MIXED or form == "minced" or (form == "mixed" and salting_kind in DRY):
        return Process.MIXED_IN
    if salting_kind == "injection":
        return Process.PUMPED
    return Process.IMMERSED if salting_kind in BATHS else Process.DRY_CURED


def may_take(food: Food, salt: str) -> Permission:
    """Whether nitrite or nitrate may be added to a food at all.

    No equation: the lists of the regulations.

    Parameters
    ----------
    food : Food
    salt : str
        nitrite or nitrate.

    Returns
    -------
    Permission

    Notes
    -----
    Source: 21 CFR 172.170 and 172.175, 9 CFR 424.21(c) and 424.22(b) for the permitted foods. That no other food may
    contain them is an inference from memory. Valid in the United States; local codes decide elsewhere.

    Examples
    --------
    >>> from handbook.catalogue.tables import engine_tables
    >>> may_take(engine_tables().foods["cod, Atlantic"], "nitrite").allowed
    False
    """
    if salt == "nitrate" and is_belly(food):
        return Permission(allowed=False, limit="nitrate-bacon", reason="no nitrate in bacon")
    if food.food_class in MEAT:
        return Permission(allowed=True, limit="", reason="meat, poultry and game may be cured")
    if is_nitrite_fish(food):
        named = "smoked, cured salmon, sablefish and shad are named"
        return Permission(allowed=True, limit=f"{salt}-fish", reason=named)
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
