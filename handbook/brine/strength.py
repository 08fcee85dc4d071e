"""Strength of a brine in all scales that cooks, inspectors and hydrometers use."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from handbook.base.errors import RangeError
from handbook.brine import hydrometer_scales, solution
from handbook.brine.make_up import MakeUp


@dataclass(frozen=True, kw_only=True)
class Strength:
    """Figures of one brine. Fractions are of water, salt and sugars; None where a formula is out of range.

    ``freezing_point`` in K, ``water_activity`` at 25 degC, ``density`` in kg/m3.
    """

    salt_mass_fraction: float
    water_phase_salt: float
    sugar_mass_fraction: float
    degrees_salometer: float | None
    specific_gravity: float | None
    degrees_baume: float | None
    freezing_point: float | None
    water_activity: float | None
    density: float | None
    is_saturated: bool


def strength(brine: MakeUp, temperature: float) -> Strength:
    """Strength of a brine in all scales.

        salt = S / (W + S + sugars),  water-phase salt = S / (S + W);  the scales as in their own functions

    Parameters
    ----------
    brine : MakeUp [kg]
    temperature : float [K]
        Temperature of the brine, 252.03 to 373.15. The density is None outside 273.15 to 313.15.

    Returns
    -------
    Strength

    Raises
    ------
    RangeError
        The temperature lies outside the range of ``salt_solubility``.

    Notes
    -----
    Source: mass balance; scales and properties as in hydrometer_scales.py and solution.py, and valid where they are.
    Sugars count as sucrose. What spices and acids release is ignored.

    Examples
    --------
    >>> from handbook.base.units import parse_quantity
    >>> from handbook.brine.make_up import make_up
    >>> from handbook.catalogue.tables import engine_tables
    >>> from handbook.page.salting import IngredientLine
    >>> tables = engine_tables()
    >>> lines = [
    ...     IngredientLine(item=item, amount=parse_quantity(mass, "mass"), note="", line=1)
    ...     for item, mass in (("water, tap", "900 g"), ("salt, fine sea", "100 g"))
    ... ]
    >>> cod = tables.foods["cod, Atlantic"]
    >>> brine = make_up(lines, lambda line: tables.ingredients[line.item], cod, food_mass=1.0)
    >>> found = strength(brine, 278.15)
    >>> round(found.salt_mass_fraction, 3), round(found.degrees_salometer, 1), found.is_saturated
    (0.099, 37.4, False)
    """
    salt, sugar = brine.solution_salt, brine.solution_sugar
    gravity = _within(hydrometer_scales.specific_gravity, salt, sugar)
    return Strength(
        salt_mass_fraction=salt,
        water_phase_salt=brine.water_phase_salt,
        sugar_mass_fraction=sugar,
        degrees_salometer=_within(hydrometer_scales.degrees_salometer, salt),
        specific_gravity=gravity,
        degrees_baume=None if gravity is None else hydrometer_scales.degrees_baume(gravity),
        freezing_point=_within(solution.freezing_point, salt, sugar),
        water_activity=_within(solution.water_activity, salt, sugar),
        density=_within(solution.brine_density, salt, sugar, temperature),
        is_saturated=salt / (1 - sugar) > solution.salt_solubility(temperature),
    )


def _within(formula: Callable[..., float], *arguments: float) -> float | None:
    try:
        return formula(*arguments)
    except RangeError:
        return None
