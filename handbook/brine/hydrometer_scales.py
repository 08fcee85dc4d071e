"""Scales of brine strength: specific gravity, degrees salometer, degrees Baumé, and the conversion table.

``salt`` and ``sugar`` are mass fractions of the whole solution. Keys in brackets are source keys.
"""

from __future__ import annotations

from msgspec import Struct

from handbook.base.ranges import check_within
from handbook.base.root import rising_root
from handbook.brine.solution import (
    EUTECTIC_SALT,
    MAX_SALT,
    MAX_SUGAR,
    brine_density,
    check_solution,
    freezing_point,
    water_activity,
    water_density,
)

SALT_PER_DEGREE = 0.0026395  # salt fraction of one degree salometer at 60 degF [salometer-definition]
SIXTY_FAHRENHEIT = 288.7056  # K


class StrengthRow(Struct, frozen=True, kw_only=True):
    """One row of the conversion table.

    ``salt`` is a fraction of the brine, ``salt_to_water_ratio`` of the water. ``per_litre_water`` and
    ``per_litre_brine`` are kg of salt per litre at 20 degC. ``freezing_point`` (K) is None above the eutectic.
    """

    degrees_salometer: float
    salt: float
    salt_to_water_ratio: float
    per_litre_water: float
    per_litre_brine: float
    specific_gravity: float
    degrees_baume: float
    freezing_point: float | None
    water_activity: float


def specific_gravity(salt: float, sugar: float = 0.0) -> float:
    """Density relative to water, both at 60 degF.

        SG = rho(60 degF) / rho_w(60 degF)

    Parameters
    ----------
    salt, sugar : float [-]
        Mass fractions of the solution, within the solution limits.

    Returns
    -------
    float [-]

    Raises
    ------
    RangeError
        Salt or sugar lies outside the solution limits.

    Notes
    -----
    Source: definition; densities as in ``solution.brine_density``. Valid within the solution limits.

    Examples
    --------
    >>> round(specific_gravity(0.10), 4)
    1.0734
    """
    return brine_density(salt, sugar, SIXTY_FAHRENHEIT) / water_density(SIXTY_FAHRENHEIT)


def degrees_salometer(salt: float) -> float:
    """Degrees salometer of a plain salt brine.

        d = salt / 0.0026395,  so that 100 degrees are 26.395 % at 60 degF

    Parameters
    ----------
    salt : float [-]
        Mass fraction of the brine, 0 to 0.265.

    Returns
    -------
    float [degrees salometer]

    Raises
    ------
    RangeError
        Salt lies outside the range.

    Notes
    -----
    Source: [salometer-definition]. Valid for brine without sugar.

    Examples
    --------
    >>> round(degrees_salometer(0.10), 1)
    37.9
    """
    check_solution(salt, 0.0)
    return salt / SALT_PER_DEGREE


def salt_from_salometer(degrees: float) -> float:
    """Salt fraction of a plain brine from degrees salometer.

        salt = 0.0026395 d

    Parameters
    ----------
    degrees : float [degrees salometer]
        0 to 100.

    Returns
    -------
    float [-]
        Mass fraction of the brine.

    Raises
    ------
    RangeError
        The degrees lie outside the range.

    Notes
    -----
    Source: [salometer-definition]. Valid for brine without sugar.

    Examples
    --------
    >>> round(salt_from_salometer(50), 4)
    0.132
    """
    check_within("degrees salometer", degrees, 0.0, 100.0)
    return degrees * SALT_PER_DEGREE


def degrees_baume(gravity: float) -> float:
    """Degrees Baumé of a liquid heavier than water.

        B = 145 - 145 / SG

    Parameters
    ----------
    gravity : float [-]
        Specific gravity at 60/60 degF, 0.999 to 1.6.

    Returns
    -------
    float [degrees Baumé]

    Raises
    ------
    RangeError
        The gravity lies outside the range.

    Notes
    -----
    Source: [baume-definition]. Valid for liquids heavier than water.

    Examples
    --------
    >>> round(degrees_baume(1.0742), 1)
    10.0
    """
    check_within("specific gravity", gravity, 0.999, 1.6)
    return 145 - 145 / gravity


def gravity_from_baume(degrees: float) -> float:
    """Specific gravity of a liquid heavier than water from degrees Baumé.

        SG = 145 / (145 - B)

    Parameters
    ----------
    degrees : float [degrees Baumé]
        -0.15 to 54.

    Returns
    -------
    float [-]
        Specific gravity at 60/60 degF.

    Raises
    ------
    RangeError
        The degrees lie outside the range.

    Notes
    -----
    Source: [baume-definition]. Valid for liquids heavier than water.

    Examples
    --------
    >>> round(gravity_from_baume(10), 3)
    1.074
    """
    check_within("degrees Baume", degrees, -0.15, 54.0)
    return 145 / (145 - degrees)


def salt_from_density(density: float, temperature: float, sugar: float = 0.0) -> float:
    """Salt fraction of a brine from its density.

        rho(salt, sugar, T) = density, solved for salt

    Parameters
    ----------
    density : float [kg/m3]
    temperature : float [K]
        273.15 to 313.15.
    sugar : float [-]
        Mass fraction of the solution, within the solution limits.

    Returns
    -------
    float [-]
        Mass fraction of the solution, to 1e-12.

    Raises
    ------
    RangeError
        No solution within the limits has this density, or the temperature or the sugar lies outside its limits.

    Notes
    -----
    Source: inverse of ``solution.brine_density``. Valid where that is.

    Examples
    --------
    >>> round(salt_from_density(1070.8, 293.15), 3)
    0.1
    """
    check_solution(0.0, sugar)
    low, high = 0.0, min(MAX_SALT * (1 - sugar), 1 - sugar / MAX_SUGAR) * (1 - 1e-12)
    least, greatest = brine_density(low, sugar, temperature), brine_density(high, sugar, temperature)
    # Rounding must not exclude pure water.
    check_within("density", density, least * (1 - 1e-9), greatest * (1 + 1e-9))
    return rising_root(lambda salt: brine_density(salt, sugar, temperature), density, low, high)


def strength_table() -> tuple[StrengthRow, ...]:
    """Conversion table of plain salt brine, 0 to 100 degrees salometer in steps of 5.

    No equation: each column is one of the functions of this module and of ``solution``.

    Returns
    -------
    tuple of 21 StrengthRow

    Notes
    -----
    Source: as the functions of the columns. Valid for brine without sugar.

    Examples
    --------
    >>> round(strength_table()[10].salt, 4)
    0.132
    """
    return tuple(_strength_row(5.0 * step) for step in range(21))


def _strength_row(degrees: float) -> StrengthRow:
    salt = salt_from_salometer(degrees)
    to_water = salt / (1 - salt)
    gravity = specific_gravity(salt)
    return StrengthRow(
        degrees_salometer=degrees,
        salt=salt,
        salt_to_water_ratio=to_water,
        per_litre_water=to_water * water_density(293.15) / 1000,
        per_litre_brine=salt * brine_density(salt, 0.0, 293.15) / 1000,
        specific_gravity=gravity,
        degrees_baume=degrees_baume(gravity),
        freezing_point=freezing_point(salt) if salt <= EUTECTIC_SALT else None,
        water_activity=water_activity(salt),
    )
