"""Amounts that are solved for: salt to a target, salt to an instrument's reading, curing salt to ingoing ppm."""

from __future__ import annotations

from math import inf

from msgspec import Struct

from handbook.base.errors import RangeError
from handbook.base.root import rising_root
from handbook.brine.hydrometer_scales import SIXTY_FAHRENHEIT
from handbook.brine.instruments import instrument_value
from handbook.brine.make_up import MakeUp
from handbook.brine.nitrite import PPM, Process
from handbook.brine.solution import MAX_SALT
from handbook.catalogue.foods import Food
from handbook.catalogue.ingredients import Ingredient
from handbook.page.amounts import CurePpm, Gauge, Share

_PAST = "more than the other ingredients bring, and less than the salt's own strength gives"


class Cured(Struct, frozen=True, kw_only=True):
    """The food of a brine or cure, and the process by which the cure gets in. Masses in kg.

    ``meat`` is the meat block, the basis of ppm in a comminuted mixture; ``pump`` the brine injected per green weight.
    """

    food: Food
    mass: float
    process: Process = Process.IMMERSED
    pump: float | None = None
    meat: float | None = None

    @property
    def meat_block(self) -> float:
        """Mass of the meat block: all of the food unless stated."""
        return self.mass if self.meat is None else self.meat


def curing_salt_for_ppm(others: MakeUp, cured: Cured, wanted: CurePpm, salt: Ingredient) -> float:
    """Mass of a curing salt that gives a stated ingoing ppm.

        mixed in, dry-cured:  m = x M / f
        pumped:               m = x P / (f pump - x)
        immersed:             m = x (M + P) / (f - x)

    with x the ppm as a fraction, f the nitrite (nitrate) in the salt, M the green weight (of the meat block where it is
    mixed in) and P the other ingredients of the pickle.

    Parameters
    ----------
    others : MakeUp [kg]
        All other ingredients.
    cured : Cured
    wanted : CurePpm [ppm by mass]
    salt : Ingredient

    Returns
    -------
    float [kg]

    Raises
    ------
    RangeError
        The salt is too weak for the ppm.

    Notes
    -----
    Source: the formulas of [fsis-calculations-handbook], pages 15 to 24, solved for the cure. Valid where they are.

    Examples
    --------
    A quarter pound of sodium nitrite in 1600 lb of meat is 156.25 ppm; as a salt of 6.25 % nitrite it is four pounds:

    >>> from handbook.catalogue.tables import engine_tables
    >>> tables = engine_tables()
    >>> salt = tables.ingredients["curing salt, 6.25 % sodium nitrite (type 1)"]
    >>> cured = Cured(food=tables.foods["pork belly"], mass=1600, process=Process.MIXED_IN)
    >>> round(curing_salt_for_ppm(MakeUp(parts=()), cured, CurePpm(ppm=156.25, salt="nitrite", text=""), salt), 6)
    4.0
    """
    x, f = wanted.ppm / PPM, float(getattr(salt, wanted.salt))
    if cured.process in (Process.MIXED_IN, Process.DRY_CURED):
        above, below = x * (cured.meat_block if cured.process is Process.MIXED_IN else cured.mass), f
    elif cured.process is Process.PUMPED:
        above, below = x * others.mass, f * (cured.pump or 0.0) - x
    else:
        above, below = x * (cured.mass + others.mass), f - x
    if below <= 0:
        raise RangeError(f"ppm {wanted.salt}", wanted.ppm, f"less than {salt.name} can bring")
    return above / below


def salt_for_reading(others: MakeUp, wanted: Gauge, salt: Ingredient) -> float:
    """Mass of a salt with which an instrument reads a stated value in the finished brine at 60 degF.

        instrument(S + p m, K, W + w m) = value, solved for m

    with S, K, W the salt, sugars and water of the other ingredients, p and w the salt's purity and water.

    Parameters
    ----------
    others : MakeUp [kg]
        All other ingredients, including sugar, which changes the reading.
    wanted : Gauge
    salt : Ingredient

    Returns
    -------
    float [kg]

    Raises
    ------
    RangeError
        The reading of the other ingredients is already as high, or that of saturated brine is lower.

    Notes
    -----
    Source: inverse of ``instruments.instrument_value``. Valid for brine of salt and sugar.

    Examples
    --------
    >>> from handbook.base.ranges import Range
    >>> from handbook.brine.make_up import IngredientMass
    >>> from handbook.catalogue.tables import engine_tables
    >>> table = engine_tables().ingredients
    >>> water = IngredientMass(
    ...     ingredient=table["water, tap"], mass=Range.exact(1.0), written="", by_volume=False, note=""
    ... )
    >>> gauge = Gauge(scale="salometer", value=60.0, text="60 salometer")
    >>> mass = salt_for_reading(MakeUp(parts=(water,)), gauge, table["salt, pickling/canning (fine, no additives)"])
    >>> round(mass / (1 + mass), 3)
    0.158
    """
    s, k, w = (others.total(what) for what in ("salt", "sugars", "water"))
    most = MAX_SALT / (1 - MAX_SALT) * (1 - 1e-9)

    def read(mass: float) -> float:
        total = s + k + w + mass * (salt.salt + salt.water)
        try:
            return instrument_value(wanted.scale, (s + mass * salt.salt) / total, k / total, SIXTY_FAHRENHEIT)
        except RangeError:  # a sweet brine near saturation is off the scale of a salometer
            return inf

    high = (most * w - s) / (salt.salt - most * salt.water)
    if high <= 0 or not read(0.0) < wanted.value <= read(high):
        raise RangeError(wanted.scale, wanted.value, _PAST)
    return rising_root(read, wanted.value, 0.0, high)


def salt_to_target(others: MakeUp, cured: Cured, target: Share, salt: Ingredient) -> float:
    """Mass of a salt that brings food and brine to a target at equilibrium.

        base "all":         x = (S + p m) / (M + m)
        base "water phase": x = (S + p m) / (S + p m + W + w m)
        base "food":        x = c W_f / (M_f - S_f + c W_f),  c = (S + p m) / (W + w m)
        base "food", mixed in:  as base "all"
        base "food", pumped:    x (1 + pump) M_f = S_f + pump M_f (S_o + p m) / (M_o + m)

    solved for m, with S, W, M the salt, water and mass of the food and the other ingredients, S_f, W_f, M_f those of the
    food alone (S_f is its own salt), S_o and M_o those of the other ingredients, p and w the salt's purity and water.

    Parameters
    ----------
    others : MakeUp [kg]
        All other ingredients.
    cured : Cured
    target : Share [-]
        x and its base.
    salt : Ingredient

    Returns
    -------
    float [kg]

    Raises
    ------
    RangeError
        The other ingredients already reach the target, or the salt is too weak for it.

    Notes
    -----
    Source: mass balance (no empirical constant). Valid for a closed vessel at equilibrium; fat holds no salt.

    Examples
    --------
    >>> from handbook.catalogue.tables import engine_tables
    >>> tables = engine_tables()
    >>> cod, salt = tables.foods["cod, Atlantic"], tables.ingredients["salt, fine sea"]
    >>> target = Share(fraction=0.02, base="all", text="2 %")
    >>> round(salt_to_target(MakeUp(parts=()), Cured(food=cod, mass=1.0), target, salt), 4)
    0.0193
    """
    x, p, w, pump, food_mass = target.fraction, salt.salt, salt.water, cured.pump, cured.mass
    own_salt, own_water = cured.food.native_salt_fraction * food_mass, cured.food.water * food_mass
    total_salt = others.total("salt") + own_salt
    total_water = others.total("water") + own_water
    if target.base == "all" or (target.base == "food" and cured.process is Process.MIXED_IN):
        above, below = x * (others.total() + food_mass) - total_salt, p - x
    elif target.base == "water phase":
        above, below = x * total_water - (1 - x) * total_salt, p * (1 - x) - x * w
    elif cured.process is Process.PUMPED and pump:
        in_pickle = (x * (1 + pump) * food_mass - own_salt) / (pump * food_mass)
        above, below = in_pickle * others.mass - others.total("salt"), p - in_pickle
    else:
        per_water = x / (1 - x) * (food_mass - own_salt) / own_water
        above, below = per_water * total_water - total_salt, p - per_water * w
    if above <= 0 or below <= 0:
        allowed = "more than the food and the other ingredients bring, less than the salt's own strength"
        raise RangeError("target_salt", x, allowed)
    return above / below
