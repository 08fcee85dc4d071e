"""Equilibrium of a food with its brine or cure: salt, sugar, and ingoing nitrite."""

from __future__ import annotations

from msgspec import Struct

from handbook.base.ranges import Range
from handbook.brine.make_up import MakeUp
from handbook.brine.nitrite import Process, immersed_equilibrium_ppm, pumped_ppm, whole_cure_ppm
from handbook.catalogue.foods import Food


class Equilibrium(Struct, frozen=True, kw_only=True):
    """Composition of a piece at equilibrium with its brine or cure.

    Fractions are of the food's final mass, and ``food_mass_ratio`` is that mass per green weight.
    ``bath_water_phase_salt`` is None where there is no bath.
    """

    salt_mass_fraction: Range
    water_phase_salt: Range
    sugar_mass_fraction: float
    ingoing_salt_on_green_weight: float
    ingoing_nitrite_ppm: float
    ingoing_nitrate_ppm: float
    food_mass_ratio: float
    bath_water_phase_salt: float | None


def equilibrium(
    brine: MakeUp,
    food: Food,
    food_mass: float,
    process: Process = Process.IMMERSED,
    pump: float | None = None,
    meat_share: float = 1.0,
) -> Equilibrium:
    """Composition of the food at equilibrium with its brine or cure.

        bath or dry cure:   c = (S_b + S_f) / (W_b + W_f),  the same in the water of brine and food
        pumped or mixed in: S = S_f + pump M_f S_b / M_b,  all of it stays in the food

    with S, W, M the salt, water and mass of brine (b) and food (f). Sugar follows the same balance.

    Parameters
    ----------
    brine : MakeUp [kg]
    food : Food
    food_mass : float [kg]
        Green weight, above 0.
    process : Process
        How the cure gets into the food.
    pump : float [-]
        Brine injected per green weight; None where nothing is injected.
    meat_share : float [-]
        Meat block / food: the ingoing ppm of a comminuted mixture are on its meat block.

    Returns
    -------
    Equilibrium

    Raises
    ------
    RangeError
        A mass or the pump fraction lies outside the limits of the formulas for nitrite.

    Notes
    -----
    Source: mass balance (no empirical constant); nitrite by [fsis-calculations-handbook]. Valid for one closed vessel;
    fat and protein hold no salt, the food keeps its own water in a bath, and swelling is ignored. The ranges contain
    the spread of household measures only. Not a safety limit.

    Examples
    --------
    >>> from handbook.base.units import parse_quantity
    >>> from handbook.brine.made_up import make_up
    >>> from handbook.catalogue.tables import engine_tables
    >>> from handbook.page.salting import IngredientLine
    >>> tables = engine_tables()
    >>> lines = [
    ...     IngredientLine(item=item, amount=parse_quantity(mass, "mass"), note="", line=1)
    ...     for item, mass in (("water, tap", "950 g"), ("salt, fine sea", "50 g"))
    ... ]
    >>> cod = tables.foods["cod, Atlantic"]
    >>> brine = make_up(lines, lambda line: tables.ingredients[line.item], cod, 1.0)
    >>> round(equilibrium(brine, cod, 1.0).salt_mass_fraction.typical, 4)
    0.0227
    """
    own_salt, own_water = food.native_salt_fraction * food_mass, food.water * food_mass
    if process is Process.MIXED_IN and pump is None:
        pump = brine.mass / food_mass

    def shared(what: str, own: float, end: str = "typical") -> float:
        if pump is not None:
            return own + pump * food_mass * brine.total(what, end) / brine.total("", end)
        return (brine.total(what, end) + own) / (brine.total("water", end) + own_water) * own_water

    def fractions(end: str) -> tuple[float, float, float]:
        salt, sugar = shared("salt", own_salt, end), shared("sugars", 0.0, end)
        water = shared("water", own_water, end) if pump is not None else own_water
        # All that is pumped or mixed in stays, spice and acid with it; a bath gives salt and sugar alone.
        mass = food_mass * (1 + pump) if pump is not None else food_mass - own_salt + salt + sugar
        return salt / mass, salt / (salt + water), mass

    ends = {end: fractions(end) for end in ("low", "typical", "high")}
    # Household measures of salt and water can err in opposite directions, so the ends are sorted.
    rows = [sorted(values) for values in zip(*ends.values(), strict=True)]
    sugar = shared("sugars", 0.0)
    added = [_ingoing_ppm(brine, what, food_mass, process, pump, meat_share) for what in ("nitrite", "nitrate")]
    bath = None
    if pump is None and process is Process.IMMERSED:
        per_water = (brine.total("salt") + own_salt) / (brine.total("water") + own_water)
        bath = per_water / (1 + per_water)
    return Equilibrium(
        salt_mass_fraction=_range(rows[0], ends["typical"][0]),
        water_phase_salt=_range(rows[1], ends["typical"][1]),
        sugar_mass_fraction=sugar / ends["typical"][2],
        ingoing_salt_on_green_weight=(shared("salt", own_salt) - own_salt) / food_mass,
        ingoing_nitrite_ppm=added[0],
        ingoing_nitrate_ppm=added[1],
        food_mass_ratio=ends["typical"][2] / food_mass,
        bath_water_phase_salt=bath,
    )


def _ingoing_ppm(
    brine: MakeUp, what: str, food_mass: float, process: Process, pump: float | None, meat_share: float
) -> float:
    amount = brine.total(what)
    if pump is not None:
        if process is Process.MIXED_IN:
            return whole_cure_ppm(amount * pump * food_mass / brine.mass, food_mass * meat_share)
        return pumped_ppm(amount, pump, brine.mass)
    if process is Process.IMMERSED:
        return immersed_equilibrium_ppm(amount, food_mass, brine.mass)
    return whole_cure_ppm(amount, food_mass)


def _range(values: list[float], typical: float) -> Range:
    return Range(min(values[0], typical), typical, max(values[-1], typical))
