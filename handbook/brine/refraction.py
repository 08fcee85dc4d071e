"""Refractive index of salt and sugar in water, and the degrees Brix that a refractometer shows.

``salt`` and ``sugar`` are mass fractions of the solution, as in solution.py. A refractometer's scale is for sugar alone,
and salt refracts nearly as much, so one reading cannot separate the two. Keys in brackets are source keys.
"""

from __future__ import annotations

from handbook.base.errors import RangeError
from handbook.base.root import rising_root
from handbook.brine.solution import MAX_SALT

WATER_INDEX = 1.33299  # at 20 degC and 589 nm [icumsa-refraction]
MIXTURE_SPREAD = 0.085  # times salt times sugar: distance of the two usual mixing rules from their middle
WARMEST, COLDEST = 298.15, 278.15  # K: range of the table of corrections, extended by 5 K at its warm end
# Index above water's over powers 1 to 3 of the salt fraction: our fit to [nacl-refraction], greatest misfit 0.00005.
_SALT_INDEX = (0.1754487, -0.0070997, 0.0769011)
# Degrees Brix over powers 5 to 0 of the index [icumsa-refraction].
_BRIX = (11758.74, -88885.21, 270177.93, -413145.80, 318417.95, -99127.4536)
# Degrees Brix to add, over products of powers of u = t - 20 degC and of the reading b: (power of u, power of b).
# Our fit to the table of [oiv-refractometry], 5 to 17 degC.
_CORRECTION = ((1, 0, 6.39074e-2), (2, 0, 9.11508e-4), (1, 1, 3.84071e-4), (2, 1, -1.02276e-5))


def refractive_index(salt: float, sugar: float = 0.0) -> float:
    """Refractive index of a solution at 20 degC and 589 nm.

        n = n_w + P(salt) + (n_sugar(sugar) - n_w) + 0.085 salt sugar

    with P a polynomial and n_sugar the index of sugar alone.

    Parameters
    ----------
    salt, sugar : float [-]
        Mass fractions of the solution, 0 to 0.265 and 0 to 0.5.

    Returns
    -------
    float [-]

    Raises
    ------
    RangeError
        Salt or sugar lies outside the range.

    Notes
    -----
    Source: fit to [nacl-refraction] for salt, [icumsa-refraction] for sugar. Valid for either solute alone. No published
    mixture was read: adding the indices and adding specific refractions by density differ by 0.0017 at 10 % of each;
    the last term gives their middle.

    Examples
    --------
    >>> round(refractive_index(0.10), 4)
    1.3505
    """
    if not 0 <= salt <= MAX_SALT:
        raise RangeError("salt mass fraction", salt, f"0 to {MAX_SALT:g}")
    by_salt = sum(each * salt ** (power + 1) for power, each in enumerate(_SALT_INDEX))
    return WATER_INDEX + by_salt + (_sugar_index(sugar) - WATER_INDEX) + MIXTURE_SPREAD * salt * sugar


def refractometer_brix(salt: float, sugar: float) -> float:
    """Degrees Brix that a refractometer, zeroed on water, shows in a solution at 20 degC.

        b = Brix(n(salt, sugar))

    Parameters
    ----------
    salt, sugar : float [-]
        Mass fractions of the solution, 0 to 0.265 and 0 to 0.5.

    Returns
    -------
    float [degrees Brix]

    Raises
    ------
    RangeError
        Salt or sugar lies outside the range, or their index is off the scale.

    Notes
    -----
    Source: [nacl-refraction], [icumsa-refraction]. Valid as ``refractive_index``.

    Examples
    --------
    >>> round(refractometer_brix(0.10, 0.0), 1)
    11.7
    """
    return brix_of_index(refractive_index(salt, sugar))


def brix_of_index(index: float) -> float:
    """Degrees Brix from refractive index at 20 degC, with the scale zeroed on water.

        b = P(n) - P(n_w),  P = 11758.74 n^5 - 88885.21 n^4 + 270177.93 n^3 - 413145.80 n^2 + 318417.95 n - 99127.4536

    Parameters
    ----------
    index : float [-]
        1.3329 to 1.43.

    Returns
    -------
    float [degrees Brix]

    Raises
    ------
    RangeError
        The index lies outside the range.

    Notes
    -----
    Source: [icumsa-refraction]. Valid for 1.3329 to 1.43.

    Examples
    --------
    >>> round(brix_of_index(1.35), 1)
    11.4
    """
    if not 1.3329 <= index <= 1.43:
        raise RangeError("refractive index", index, "1.3329 to 1.43")
    return _brix(index) - _brix(WATER_INDEX)


def temperature_correction(brix: float, temperature: float) -> float:
    """Degrees Brix to add to the reading of a refractometer without temperature compensation.

        db = 6.39074e-2 u + 9.11508e-4 u^2 + 3.84071e-4 u b - 1.02276e-5 u^2 b,  u = t - 20 degC

    Parameters
    ----------
    brix : float [degrees Brix]
        Reading, 0 to 31.
    temperature : float [K]
        Temperature of the prism, 278.15 to 298.15.

    Returns
    -------
    float [degrees Brix]

    Raises
    ------
    RangeError
        The reading or the temperature lies outside the range.

    Notes
    -----
    Source: fit to [oiv-refractometry] within 0.01. Valid for sugar at 5 to 17 degC and 10 to 30 %; up to 25 degC it is
    our extrapolation. The index of salt brine falls up to a quarter faster with temperature [nacl-refraction-warmth].

    Examples
    --------
    >>> round(temperature_correction(15, 278.15), 2)
    -0.87
    """
    if not COLDEST <= temperature <= WARMEST:
        raise RangeError("temperature of the prism", temperature - 273.15, "5 to 25 °C")
    if not 0 <= brix <= 31:
        raise RangeError("degrees Brix", brix, "0 to 31")
    u = temperature - 293.15
    return sum(each * u**of_u * brix**of_b for of_u, of_b, each in _CORRECTION)


def _sugar_index(sugar: float) -> float:
    """Index of a solution of sugar alone, the inverse of ``brix_of_index``."""
    if not 0 <= sugar <= 0.5:
        raise RangeError("sugar mass fraction", sugar, "0 to 0.5")
    return rising_root(brix_of_index, 100 * sugar, WATER_INDEX, 1.43)


def _brix(index: float) -> float:
    value = 0.0
    for coefficient in _BRIX:
        value = value * index + coefficient
    return value
