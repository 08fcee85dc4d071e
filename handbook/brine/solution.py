"""Properties of water with salt and sugar: density, hydrometer scales, freezing point, water activity.

``salt`` and ``sugar`` are mass fractions of the whole solution (water, salt and sugar); sugar counts as sucrose.
Temperatures in kelvin. Unless a function says otherwise it holds while salt / (salt + water) is within 0 to 0.265
and sugar / (sugar + water) within 0 to 0.65, and raises RangeError outside. Keys in brackets are source keys.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log1p, sqrt

from handbook.base.errors import RangeError

NACL_MOLAR_MASS = 0.058443  # kg/mol, standard atomic weights
SUCROSE_MOLAR_MASS = 0.342297  # kg/mol
WATER_MOLAR_MASS = 0.018015  # kg/mol
SALT_PER_DEGREE = 0.0026395  # salt fraction of one degree salometer at 60 degF [salometer-definition]
SIXTY_FAHRENHEIT = 288.7056  # K
EUTECTIC_SALT = 0.233  # past it, cooling brings out salt hydrate before ice [nacl-freezing]
MAX_SALT, MAX_SUGAR = 0.265, 0.65
COLDEST, WARMEST = 273.15, 313.15

# Source key -> what it gives here.
SOURCES = {
    "rogers-pitzer-1982": "density of salt brine",
    "sucrose-density": "density of sugar solution",
    "kell-1975": "density of water",
    "pitzer-mayorga-1973": "water activity of salt brine",
    "norrish-1966": "water activity of sugar solution",
    "nacl-freezing": "freezing point of salt brine and sugar solution",
    "nacl-solubility": "solubility of salt",
    "salometer-definition": "degrees salometer",
    "baume-definition": "degrees Baumé",
}

# Pitzer parameters of NaCl at 25 degC [pitzer-mayorga-1973]; b and alpha are those of the ion-interaction equation.
_A_PHI, _BETA_0, _BETA_1, _C_PHI, _B, _ALPHA = 0.3915, 0.0765, 0.2664, 0.00127, 1.2, 2.0
# Norrish constant of sucrose [norrish-1966].
_NORRISH_SUCROSE = 6.47
# Apparent specific volume of NaCl in cm3/g: rows over powers of the root of molality, columns over powers of
# t / 100 degC. Our least-squares fit to [rogers-pitzer-1982], 0.1 to 5 mol/kg at 0 to 40 degC, and to the densities
# of 24 to 26 % at 20 degC from the CRC table of [nacl-freezing]. Greatest misfit 0.04 kg/m3 to 5 mol/kg, 0.07 above.
_NACL_VOLUME = (
    (0.230634, 0.349618, -0.506509, 0.168742),
    (0.0104421, -2.96002e-05, 0.116603),
    (0.0294736, -0.0695614),
    (-0.00637274, 0.014661),
)
# Density of sucrose solution less that of water, kg/m3: rows over powers of (t - 20 degC) / 100 degC, columns over
# powers 1 to 6 of the sucrose fraction [sucrose-density].
_SUCROSE_DENSITY = (
    (385.1761, 135.3705, 40.9299, -3.9643, 13.4853, -17.2890),
    (-46.2720, -7.1720, 1.1597, 5.1126, 17.5254),
    (59.7712, 7.2491, 12.3630, -35.4791),
    (-47.2207, -21.6977, 27.6301),
    (18.3184, 12.3081),
)
# Freezing depression in K over powers 1, 2, ... of molality: our fits to the tables of [nacl-freezing]; greatest
# misfit 0.05 K for salt, whose two tables differ by 0.08 K, and 0.01 K for sucrose, to 42 %.
_SALT_DEPRESSION = (3.30139, 0.0289962, 0.0252970, -5.14355e-4)
_SUGAR_DEPRESSION = (1.858, 0.18203, 0.019080)
_MAX_SUGAR_FREEZING = 0.42
# Solubility in % over powers of t in degC above 0.1 degC, of t - 0.1 degC below, where salt hydrate is what
# dissolves: our fits to [nacl-solubility], greatest misfit 0.04 % with one row left out (79.44 degC, 0.1 % off).
_SALT_SOLUBILITY = (26.30363, 2.76456e-3, 1.776449e-4, -2.72001e-7)
_HYDRATE_SOLUBILITY = (26.30390, 9.32670e-2, -3.927994e-3, -7.866054e-5)
_HYDRATE_BELOW = 0.1  # degC


@dataclass(frozen=True, kw_only=True)
class StrengthRow:
    """One row of the conversion table.

    ``salt`` is a fraction of the brine, ``salt_to_water_ratio`` of the water; ``per_litre_water`` and
    ``per_litre_brine`` are kg of salt for each litre at 20 degC; ``freezing_point`` (K) is None past the eutectic.
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


def water_density(temperature: float) -> float:
    """Density of pure water in kg/m3, 0 to 40 degC at 1 atm. Raises RangeError outside.

    Source: [kell-1975], equation 16.
    """
    _within("temperature", temperature, COLDEST, WARMEST)
    t = temperature - 273.15
    above = 999.83952 + t * (
        16.945176 + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 - t * 280.54253e-12)))
    )
    return above / (1 + 16.879850e-3 * t)


def brine_density(salt: float, sugar: float, temperature: float) -> float:
    """Density in kg/m3 at 0 to 40 degC: 1 / rho = w / rho_w + salt v_salt + sugar v_sugar.

    Apparent specific volumes v add up, each taken as if its solute were alone in all the water.

    Raises
    ------
    RangeError   salt or sugar past the module's limits, or temperature outside 0 to 40 degC

    Notes
    -----
    Salt: fit to [rogers-pitzer-1982]; sugar: equation of [sucrose-density]. Exact in both pure limits. With both at
    once nothing published was read: the two usual mixing rules differ by up to 3 kg/m3 at 10 % of each.

    Examples
    --------
    >>> round(brine_density(0.10, 0.0, 293.15), 1)
    1070.8
    """
    _check(salt, sugar)
    water = 1 - salt - sugar
    volume = water / water_density(temperature)
    volume += salt * _salt_volume(salt / water / NACL_MOLAR_MASS, temperature)
    volume += sugar * _sugar_volume(sugar / (sugar + water), temperature)
    return 1 / volume


def water_activity(salt: float, sugar: float = 0.0) -> float:
    """Water activity at 25 degC: a(salt in the water) * a(sugar in the water).

    ln a_salt = -2 phi m M_w, phi by Pitzer;  ln a_sugar = ln x_w - 6.47 x_s^2 by Norrish.

    Notes
    -----
    [pitzer-mayorga-1973] to 6 mol/kg (26 %), carried on to 26.5 %, where it reads 0.001 low; [norrish-1966].
    The product (Ross) leaves out what salt and sugar do to each other, so it is worst where both are strong; no
    published mixture was read to say by how much.
    """
    _check(salt, sugar)
    water = 1 - salt - sugar
    m = salt / water / NACL_MOLAR_MASS
    s = sqrt(m)
    f = -_A_PHI * s / (1 + _B * s)
    b = _BETA_0 + _BETA_1 * exp(-_ALPHA * s)
    phi = 1 + f + m * b + m * m * _C_PHI
    moles = sugar / SUCROSE_MOLAR_MASS
    x = moles / (moles + water / WATER_MOLAR_MASS)
    return exp(-2 * phi * m * WATER_MOLAR_MASS + log1p(-x) - _NORRISH_SUCROSE * x * x)


def freezing_point(salt: float, sugar: float = 0.0) -> float:
    """Temperature in K at which ice begins to form: 273.15 K less the depressions by salt and by sugar.

    Raises
    ------
    RangeError   salt / (salt + water) past the eutectic, 23.3 %, where salt hydrate comes out before ice;
                 sugar / (sugar + water) past 42 %

    Notes
    -----
    Polynomials in molality fitted to the tables of [nacl-freezing]. That the depressions of sucrose and salt add up
    is the finding of Kleinhans and Mazur (2007), listed there; how sugar moves the eutectic is left out.
    """
    _check(salt, sugar)
    why = "; past the eutectic salt hydrate comes out before ice"
    _within("salt in its water", salt / (1 - sugar), 0.0, EUTECTIC_SALT, why)
    _within("sugar in its water", sugar / (1 - salt), 0.0, _MAX_SUGAR_FREEZING)
    water = 1 - salt - sugar
    by_salt = _polynomial((0.0, *_SALT_DEPRESSION), salt / water / NACL_MOLAR_MASS)
    by_sugar = _polynomial((0.0, *_SUGAR_DEPRESSION), sugar / water / SUCROSE_MOLAR_MASS)
    return 273.15 - by_salt - by_sugar


def salt_solubility(temperature: float) -> float:
    """Greatest salt fraction that plain water dissolves, -21.1 to 100 degC. Raises RangeError outside.

    Source: fits to [nacl-solubility], whose two tables agree within 0.07 %.
    """
    _within("temperature", temperature, 252.03, 373.15)
    t = temperature - 273.15
    if t < _HYDRATE_BELOW:
        return _polynomial(_HYDRATE_SOLUBILITY, t - _HYDRATE_BELOW) / 100
    return _polynomial(_SALT_SOLUBILITY, t) / 100


def specific_gravity(salt: float, sugar: float = 0.0) -> float:
    """Density over that of water, both at 60 degF."""
    return brine_density(salt, sugar, SIXTY_FAHRENHEIT) / water_density(SIXTY_FAHRENHEIT)


def degrees_salometer(salt: float) -> float:
    """Degrees salometer of a plain salt brine: 100 is 26.395 % at 60 degF. Source: [salometer-definition]."""
    _check(salt, 0.0)
    return salt / SALT_PER_DEGREE


def salt_from_salometer(degrees: float) -> float:
    """Salt fraction of a plain brine by its degrees salometer, 0 to 100."""
    _within("degrees salometer", degrees, 0.0, 100.0)
    return degrees * SALT_PER_DEGREE


def degrees_baume(gravity: float) -> float:
    """145 - 145 / specific gravity (60/60 degF), heavier than water. Source: [baume-definition]."""
    _within("specific gravity", gravity, 0.999, 1.6)
    return 145 - 145 / gravity


def gravity_from_baume(degrees: float) -> float:
    """Specific gravity (60/60 degF) by degrees Baume, -0.15 to 54."""
    _within("degrees Baume", degrees, -0.15, 54.0)
    return 145 / (145 - degrees)


def salt_from_density(density: float, temperature: float, sugar: float = 0.0) -> float:
    """Salt fraction of a brine of ``density`` kg/m3 at ``temperature``, the inverse of brine_density.

    Raises RangeError when no strength within the module's limits has that density.
    """
    _check(0.0, sugar)
    low, high = 0.0, min(MAX_SALT * (1 - sugar), 1 - sugar / MAX_SUGAR) * (1 - 1e-12)
    least, greatest = brine_density(low, sugar, temperature), brine_density(high, sugar, temperature)
    _within("density", density, least * (1 - 1e-9), greatest * (1 + 1e-9))  # pure water must pass in spite of rounding
    while high - low > 1e-12:
        middle = (low + high) / 2
        if brine_density(middle, sugar, temperature) < density:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def strength_table() -> tuple[StrengthRow, ...]:
    """Rows of 0 to 100 degrees salometer in steps of 5."""
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


def _salt_volume(molality: float, temperature: float) -> float:
    """Apparent specific volume of NaCl in m3/kg."""
    tau, s = (temperature - 273.15) / 100, sqrt(molality)
    return 1e-3 * _polynomial([_polynomial(row, tau) for row in _NACL_VOLUME], s)


def _sugar_volume(own: float, temperature: float) -> float:
    """Apparent specific volume of sucrose in m3/kg; ``own`` is its fraction of itself and the water.

    (1 / rho - (1 - own) / rho_w) / own with rho = rho_w + own g, written so that own = 0 has its limit.
    """
    tau = (temperature - 293.15) / 100
    g = _polynomial([_polynomial(row, own) for row in _SUCROSE_DENSITY], tau)
    rho_w = water_density(temperature)
    return (rho_w - (1 - own) * g) / ((rho_w + own * g) * rho_w)


def _polynomial(coefficients, x: float) -> float:
    value = 0.0
    for coefficient in reversed(coefficients):
        value = value * x + coefficient
    return value


def _check(salt: float, sugar: float) -> None:
    _within("salt mass fraction", salt, 0.0, MAX_SALT)
    _within("sugar mass fraction", sugar, 0.0, MAX_SUGAR)
    _within("salt in its water", salt / (1 - sugar), 0.0, MAX_SALT)
    _within("sugar in its water", sugar / (1 - salt), 0.0, MAX_SUGAR)


def _within(name: str, value: float, low: float, high: float, why: str = "") -> None:
    if not low <= value <= high:
        raise RangeError(name, value, f"{low:g} to {high:g}{why}")
