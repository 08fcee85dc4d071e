"""Properties of water with salt and sugar: density, hydrometer scales, freezing point, water activity.

``salt`` and ``sugar`` are mass fractions of the whole solution; sugar counts as sucrose. Temperatures in kelvin.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log1p, sqrt

from handbook.errors import RangeError

NACL_MOLAR_MASS = 0.058443  # kg/mol, standard atomic weights
SUCROSE_MOLAR_MASS = 0.342297  # kg/mol
WATER_MOLAR_MASS = 0.018015  # kg/mol
SALT_PER_DEGREE = 0.0026395  # salt fraction of one degree salometer at 60 degF [salometer-definition]
SIXTY_FAHRENHEIT = 288.7056  # K
EUTECTIC_SALT = 0.233  # past it, cooling brings out salt hydrate before ice [nacl-freezing]
MAX_SALT, MAX_SUGAR = 0.265, 0.65
COLDEST, WARMEST = 273.15, 313.15

# Pitzer parameters of NaCl at 25 degC [pitzer-mayorga-1973]; b and alpha are those of the ion-interaction equation.
_A_PHI, _BETA_0, _BETA_1, _C_PHI, _B, _ALPHA = 0.3915, 0.0765, 0.2664, 0.00127, 1.2, 2.0
# Norrish constant of sucrose [norrish-1966].
_NORRISH_SUCROSE = 6.47
# Apparent specific volume of NaCl in cm3/g over (1, t, t2, s, s t, s t2, m, m t): t in degC, s the root of molality m.
# Our least-squares fit to the table [rogers-pitzer-1982], 0.25-5 mol/kg, 0-40 degC; greatest misfit 0.21 kg/m3.
_NACL_VOLUME = (0.21043, 3.8011e-3, -3.9956e-5, 0.055483, -1.0325e-3, 1.148e-5, -7.9219e-4, 1.3577e-6)
# Apparent specific volume of sucrose in cm3/g over powers of its fraction, at 20 degC: our fit to
# [sucrose-density]; greatest misfit 0.13 kg/m3. Its change with temperature is from memory.
_SUCROSE_VOLUME = (0.61427885, 0.02312799, -0.01929851, 0.02964578)
_SUCROSE_VOLUME_PER_KELVIN = 2.5e-4
# Freezing depression in K over powers 1 to 4 of salt molality: our fit to both tables of [nacl-freezing].
_FREEZING = (3.30139, 0.0289962, 0.0252970, -5.14355e-4)
_CRYOSCOPIC = 1.858  # K kg/mol, water
# Solubility in % by mass over (1, t, t2), t in degC: through 26.28 (0), 26.45 (25), 26.84 (50) [nacl-solubility].
_SOLUBILITY = (26.28, 2.4e-3, 1.76e-4)

SOURCES = (
    "rogers-pitzer-1982",
    "sucrose-density",
    "kell-1975",
    "pitzer-mayorga-1973",
    "norrish-1966",
    "nacl-freezing",
    "nacl-solubility",
    "salometer-definition",
    "baume-definition",
)


@dataclass(frozen=True)
class StrengthRow:
    """One row of the conversion table; masses in kg per litre, ``freezing_point`` None past the eutectic."""

    degrees_salometer: float
    salt: float
    per_litre_water: float
    per_litre_brine: float
    specific_gravity: float
    degrees_baume: float
    freezing_point: float | None
    water_activity: float


def water_density(temperature: float) -> float:
    """Density of pure water in kg/m3, 0 to 40 degC at 1 atm.

    Raises RangeError outside. Source: [kell-1975], equation 16.
    """
    _within("temperature", temperature, COLDEST, WARMEST)
    t = temperature - 273.15
    above = 999.83952 + t * (
        16.945176 + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 - t * 280.54253e-12)))
    )
    return above / (1 + 16.879850e-3 * t)


def brine_density(salt: float, sugar: float, temperature: float) -> float:
    """Density in kg/m3: 1 / rho = w / rho_w + salt v_salt + sugar v_sugar.

    Apparent specific volumes add up, each at the solute's own molality in all the water. 0 to 40 degC.

    Raises
    ------
    RangeError   salt above 0.265, sugar above 0.65, no water left, or temperature outside 0 to 40 degC

    Notes
    -----
    Salt: fit to [rogers-pitzer-1982]; sugar: fit to [sucrose-density] at 20 degC. Exact in both pure limits;
    with both, unmeasured here: the two usual mixing rules differ by up to 3 kg/m3.
    """
    _check(salt, sugar)
    t = temperature - 273.15
    water = 1 - salt - sugar
    volume = water / water_density(temperature)
    m = salt / water / NACL_MOLAR_MASS
    s = sqrt(m)
    terms = (1.0, t, t * t, s, s * t, s * t * t, m, m * t)
    volume += salt * 1e-3 * sum(c * x for c, x in zip(_NACL_VOLUME, terms, strict=True))
    own = sugar / (sugar + water)
    sucrose = sum(c * own**power for power, c in enumerate(_SUCROSE_VOLUME))
    volume += sugar * 1e-3 * (sucrose + _SUCROSE_VOLUME_PER_KELVIN * (t - 20))
    return 1 / volume


def water_activity(salt: float, sugar: float = 0.0) -> float:
    """Water activity at 25 degC: a(salt in the water) * a(sugar in the water).

    ln a_salt = -2 phi m M_w, phi by Pitzer;  ln a_sugar = ln x_w - 6.47 x_s^2.

    Notes
    -----
    [pitzer-mayorga-1973] to 6 mol/kg; [norrish-1966]. The product (Ross) leaves out what salt and sugar do to
    each other. Raises RangeError as brine_density.
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
    """Temperature in K at which ice begins to form.

    Salt by a polynomial in molality; sugar adds 1.858 m (1 + 0.1 m) of its own.

    Notes
    -----
    Salt: [nacl-freezing], the two tables differ by up to 0.08 K. Sugar's second term is from memory; to 1.5 mol/kg.

    Raises
    ------
    RangeError   salt in its water past the eutectic, 23.3 %: salt hydrate comes out before ice
    """
    _check(salt, sugar)
    water = 1 - salt - sugar
    _within("salt in its water", salt / (salt + water), 0.0, EUTECTIC_SALT)
    m, n = salt / water / NACL_MOLAR_MASS, sugar / water / SUCROSE_MOLAR_MASS
    _within("sugar molality", n, 0.0, 1.5)
    return 273.15 - sum(c * m**power for power, c in enumerate(_FREEZING, 1)) - _CRYOSCOPIC * n * (1 + 0.1 * n)


def salt_solubility(temperature: float) -> float:
    """Greatest salt fraction that plain water dissolves, 0 to 50 degC. Source: [nacl-solubility], within 0.05 %."""
    _within("temperature", temperature, 263.15, 323.15)
    t = max(temperature - 273.15, 0.0)  # flat within 0.1 % just below freezing
    return sum(c * t**power for power, c in enumerate(_SOLUBILITY)) / 100


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
    """Specific gravity (60/60 degF) by degrees Baume, 0 to 54."""
    _within("degrees Baume", degrees, 0.0, 54.0)
    return 145 / (145 - degrees)


def degrees_brix(sugar: float) -> float:
    """Sugar as percent of the solution. In a salty brine this is not what a hydrometer shows."""
    _within("sugar", sugar, 0.0, 1.0)
    return sugar * 100


def salt_from_density(density: float, temperature: float, sugar: float = 0.0) -> float:
    """Salt fraction of a brine of ``density`` kg/m3 at ``temperature``, the inverse of brine_density.

    Raises RangeError when no strength up to saturation has that density.
    """
    low, high = 0.0, MAX_SALT
    _within("density", density, brine_density(low, sugar, temperature), brine_density(high, sugar, temperature))
    while high - low > 1e-12:
        middle = (low + high) / 2
        if brine_density(middle, sugar, temperature) < density:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def strength_table() -> tuple[StrengthRow, ...]:
    """Rows of 0 to 100 degrees salometer in steps of 5; masses per litre at 20 degC."""
    return tuple(_strength_row(5.0 * step) for step in range(21))


def _strength_row(degrees: float) -> StrengthRow:
    salt = salt_from_salometer(degrees)
    gravity = specific_gravity(salt)
    return StrengthRow(
        degrees, salt, salt / (1 - salt) * water_density(293.15) / 1000, salt * brine_density(salt, 0.0, 293.15) / 1000,
        gravity, degrees_baume(gravity), freezing_point(salt) if salt <= EUTECTIC_SALT else None, water_activity(salt),
    )


def _check(salt: float, sugar: float) -> None:
    _within("salt mass fraction", salt, 0.0, MAX_SALT)
    _within("sugar mass fraction", sugar, 0.0, MAX_SUGAR)


def _within(name: str, value: float, low: float, high: float) -> None:
    if not low <= value <= high:
        raise RangeError(name, value, f"{low:g} to {high:g}")


