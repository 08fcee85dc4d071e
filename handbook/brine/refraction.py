"""What a refractometer shows in brine: refractive index of salt and sugar in water, and its degrees Brix.

``salt`` and ``sugar`` are mass fractions of the solution, as in solution.py. A refractometer's scale is made for sugar
alone; salt bends light nearly as much, so one reading never tells the two apart. Keys in brackets are source keys.
"""

from __future__ import annotations

from handbook.base.errors import RangeError
from handbook.brine.solution import MAX_SALT

WATER_INDEX = 1.33299  # at 20 degC and 589 nm [icumsa-refraction]
MIXTURE_SPREAD = 0.085  # times salt times sugar: the two usual mixing rules stand this far to each side
WARMEST, COLDEST = 298.15, 278.15  # K: what the table of corrections covers, and 5 K past its warm end
# Index above water's over powers 1 to 3 of the salt fraction: our fit to [nacl-refraction], greatest misfit 0.00005.
_SALT_INDEX = (0.1754487, -0.0070997, 0.0769011)
# Degrees Brix over powers 5 to 0 of the index [icumsa-refraction].
_BRIX = (11758.74, -88885.21, 270177.93, -413145.80, 318417.95, -99127.4536)
# Degrees Brix to add, over products of powers of u = t - 20 degC and of the reading b: (power of u, power of b).
# Our fit to the table of [oiv-refractometry], 5 to 17 degC.
_CORRECTION = ((1, 0, 6.39074e-2), (2, 0, 9.11508e-4), (1, 1, 3.84071e-4), (2, 1, -1.02276e-5))


def refractive_index(salt: float, sugar: float = 0.0) -> float:
    """Index at 20 degC and 589 nm: water's, what each solute adds alone at its own fraction, and 0.085 salt sugar.

    Raises RangeError for salt above 26.5 % or sugar above 50 %.

    Notes
    -----
    [nacl-refraction], [icumsa-refraction]. For mixtures nothing published was read: adding the two alone and adding
    specific refractions by density differ by 0.0017 at 10 % of each; this stands midway.
    """
    if not 0 <= salt <= MAX_SALT:
        raise RangeError("salt mass fraction", salt, f"0 to {MAX_SALT:g}")
    by_salt = sum(each * salt ** (power + 1) for power, each in enumerate(_SALT_INDEX))
    return WATER_INDEX + by_salt + (_sugar_index(sugar) - WATER_INDEX) + MIXTURE_SPREAD * salt * sugar


def refractometer_brix(salt: float, sugar: float = 0.0) -> float:
    """Degrees Brix that a refractometer zeroed on water shows at 20 degC. RangeError as refractive_index.

    >>> round(refractometer_brix(0.10), 1)
    11.7
    """
    return brix_of_index(refractive_index(salt, sugar))


def brix_of_index(index: float) -> float:
    """Degrees Brix by refractive index at 20 degC, 1.3329 to 1.43, the scale zeroed on water [icumsa-refraction]."""
    if not 1.3329 <= index <= 1.43:
        raise RangeError("refractive index", index, "1.3329 to 1.43")
    return _brix(index) - _brix(WATER_INDEX)


def temperature_correction(brix: float, temperature: float) -> float:
    """Degrees Brix to add to what a plain refractometer shows at a prism of ``temperature`` (K), 5 to 25 degC.

    Raises RangeError outside that and past 30 degrees Brix.

    Notes
    -----
    Fit to [oiv-refractometry], 5 to 17 degC and 10 to 30 %, within 0.01; 20 to 25 degC is our extrapolation. Made for
    sugar: salt brine's index falls up to a quarter faster with warmth [nacl-refraction-warmth].
    """
    if not COLDEST <= temperature <= WARMEST:
        raise RangeError("temperature of the prism", temperature - 273.15, "5 to 25 °C")
    if not 0 <= brix <= 31:
        raise RangeError("degrees Brix", brix, "0 to 31")
    u = temperature - 293.15
    return sum(each * u**of_u * brix**of_b for of_u, of_b, each in _CORRECTION)


def _sugar_index(sugar: float) -> float:
    """The index whose degrees Brix are this sugar."""
    if not 0 <= sugar <= 0.5:
        raise RangeError("sugar mass fraction", sugar, "0 to 0.5")
    low, high = WATER_INDEX, 1.43
    while high - low > 1e-9:
        middle = (low + high) / 2
        low, high = (middle, high) if brix_of_index(middle) < 100 * sugar else (low, middle)
    return (low + high) / 2


def _brix(index: float) -> float:
    value = 0.0
    for coefficient in _BRIX:
        value = value * index + coefficient
    return value
