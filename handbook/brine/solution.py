"""Properties of salt and sugar in water: density, water activity, freezing point, solubility.

``salt`` and ``sugar`` are mass fractions of the whole solution (water, salt and sugar); sugar counts as sucrose.
Temperatures are in kelvin. "Within the solution limits" means salt / (salt + water) of 0 to 0.265 and
sugar / (sugar + water) of 0 to 0.65. Keys in brackets are source keys.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, log1p, sqrt

from handbook.base.ranges import check_within

NACL_MOLAR_MASS = 0.058443  # kg/mol, standard atomic weights
SUCROSE_MOLAR_MASS = 0.342297  # kg/mol
WATER_MOLAR_MASS = 0.018015  # kg/mol
EUTECTIC_SALT = 0.233  # above it, salt hydrate forms before ice on cooling [nacl-freezing]
MAX_SALT, MAX_SUGAR = 0.265, 0.65
COLDEST, WARMEST = 273.15, 313.15

# Source key -> the property that it gives.
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
# t / 100 degC. Our own least-squares fit to [rogers-pitzer-1982], 0.1 to 5 mol/kg at 0 to 40 degC, and to the densities
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
# Solubility in % over powers of t in degC above 0.1 degC, of t - 0.1 degC below, where the
# solid is salt hydrate. Our fits to [nacl-solubility], greatest misfit 0.04 % with one row left out (79.44 degC, 0.1 % off).
_SALT_SOLUBILITY = (26.30363, 2.76456e-3, 1.776449e-4, -2.72001e-7)
_HYDRATE_SOLUBILITY = (26.30390, 9.32670e-2, -3.927994e-3, -7.866054e-5)
_HYDRATE_BELOW = 0.1  # degC


def water_density(temperature: float) -> float:
    """Density of pure water at 1 atm.

        rho = (999.83952 + 16.945176 t - 7.9870401e-3 t^2 - 46.170461e-6 t^3 + 105.56302e-9 t^4 - 280.54253e-12 t^5)
              / (1 + 16.879850e-3 t),  t in degC

    Parameters
    ----------
    temperature : float [K]
        273.15 to 313.15.

    Returns
    -------
    float [kg/m3]

    Raises
    ------
    RangeError
        The temperature lies outside the range.

    Notes
    -----
    Source: [kell-1975], equation 16. Valid for 0 to 40 degC here.

    Examples
    --------
    >>> round(water_density(293.15), 2)
    998.2
    """
    check_within("temperature", temperature, COLDEST, WARMEST)
    t = temperature - 273.15
    above = 999.83952 + t * (
        16.945176 + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 - t * 280.54253e-12)))
    )
    return above / (1 + 16.879850e-3 * t)


def brine_density(salt: float, sugar: float, temperature: float) -> float:
    """Density of a solution of salt and sugar.

        1 / rho = w / rho_w + salt v_salt + sugar v_sugar

    with w the water fraction and v the apparent specific volumes, each as if its solute were alone in all the water.

    Parameters
    ----------
    salt, sugar : float [-]
        Mass fractions of the solution, within the solution limits.
    temperature : float [K]
        273.15 to 313.15.

    Returns
    -------
    float [kg/m3]

    Raises
    ------
    RangeError
        Salt, sugar or temperature lies outside its limits.

    Notes
    -----
    Source: fit to [rogers-pitzer-1982] for salt, equation of [sucrose-density] for sugar. Valid for 0 to 40 degC, exact
    for either solute alone. No published mixture was read: the two usual mixing rules differ by up to 3 kg/m3 at 10 %
    of each.

    Examples
    --------
    >>> round(brine_density(0.10, 0.0, 293.15), 1)
    1070.8
    """
    check_solution(salt, sugar)
    water = 1 - salt - sugar
    volume = water / water_density(temperature)
    volume += salt * _salt_volume(salt / water / NACL_MOLAR_MASS, temperature)
    volume += sugar * _sugar_volume(sugar / (sugar + water), temperature)
    return 1 / volume


def water_activity(salt: float, sugar: float = 0.0) -> float:
    """Water activity at 25 degC.

        a_w = a_salt a_sugar
        ln a_salt = -2 phi m M_w,  phi by Pitzer's equation
        ln a_sugar = ln x_w - 6.47 x_s^2,  by Norrish

    with m the molality of salt, M_w the molar mass of water, x the mole fractions of sugar and its water.

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
    Source: [pitzer-mayorga-1973], [norrish-1966]; the product of both is Ross's rule. Valid for salt to 6 mol/kg (26 %);
    to 26.5 % it is an extrapolation that reads 0.001 low. The product ignores interactions of salt and sugar, so it is
    worst where both are strong; no published mixture was read to quantify this.

    Examples
    --------
    >>> round(water_activity(0.10), 3)
    0.935
    """
    check_solution(salt, sugar)
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
    """Temperature at which ice begins to form.

        T = 273.15 - P_salt(m_salt) - P_sugar(m_sugar)

    with P polynomials in the molality m of each solute.

    Parameters
    ----------
    salt, sugar : float [-]
        Mass fractions of the solution: salt / (salt + water) up to 0.233, sugar / (sugar + water) up to 0.42.

    Returns
    -------
    float [K]

    Raises
    ------
    RangeError
        Salt is above the eutectic, where salt hydrate forms before ice, or sugar is above its limit.

    Notes
    -----
    Source: fits to the tables of [nacl-freezing], which also lists Kleinhans and Mazur (2007) for the sum of the two
    depressions. Valid to the limits above. The effect of sugar on the eutectic is ignored.

    Examples
    --------
    >>> round(freezing_point(0.10) - 273.15, 1)
    -6.5
    """
    check_solution(salt, sugar)
    why = "; past the eutectic salt hydrate comes out before ice"
    check_within("salt in its water", salt / (1 - sugar), 0.0, EUTECTIC_SALT, why)
    check_within("sugar in its water", sugar / (1 - salt), 0.0, _MAX_SUGAR_FREEZING)
    water = 1 - salt - sugar
    by_salt = _polynomial((0.0, *_SALT_DEPRESSION), salt / water / NACL_MOLAR_MASS)
    by_sugar = _polynomial((0.0, *_SUGAR_DEPRESSION), sugar / water / SUCROSE_MOLAR_MASS)
    return 273.15 - by_salt - by_sugar


def salt_solubility(temperature: float) -> float:
    """Salt fraction of a saturated solution in plain water.

        100 x = P(t) above 0.1 degC,  100 x = P(t - 0.1 degC) below, where the solid is salt hydrate

    Parameters
    ----------
    temperature : float [K]
        252.03 to 373.15.

    Returns
    -------
    float [-]
        Mass fraction of the solution.

    Raises
    ------
    RangeError
        The temperature lies outside the range.

    Notes
    -----
    Source: fits to [nacl-solubility], whose two tables agree within 0.07 %. Valid for -21.1 to 100 degC.

    Examples
    --------
    >>> round(salt_solubility(293.15), 4)
    0.2643
    """
    check_within("temperature", temperature, 252.03, 373.15)
    t = temperature - 273.15
    if t < _HYDRATE_BELOW:
        return _polynomial(_HYDRATE_SOLUBILITY, t - _HYDRATE_BELOW) / 100
    return _polynomial(_SALT_SOLUBILITY, t) / 100


def check_solution(salt: float, sugar: float) -> None:
    """Check that a solution lies within the limits of the equations.

        salt / (salt + water) <= 0.265,  sugar / (sugar + water) <= 0.65

    Parameters
    ----------
    salt, sugar : float [-]
        Mass fractions of the solution.

    Returns
    -------
    None

    Raises
    ------
    RangeError
        Salt or sugar lies outside the limits.

    Notes
    -----
    Source: the ranges of the tables in SOURCES, and saturation of salt at 25 degC. Valid for all fractions.

    Examples
    --------
    >>> check_solution(0.10, 0.05)
    >>> check_solution(0.30, 0.0)
    Traceback (most recent call last):
    handbook.base.errors.RangeError: salt mass fraction: read 0.3; allowed: 0 to 0.265
    """
    check_within("salt mass fraction", salt, 0.0, MAX_SALT)
    check_within("sugar mass fraction", sugar, 0.0, MAX_SUGAR)
    check_within("salt in its water", salt / (1 - sugar), 0.0, MAX_SALT)
    check_within("sugar in its water", sugar / (1 - salt), 0.0, MAX_SUGAR)


def _salt_volume(molality: float, temperature: float) -> float:
    """Apparent specific volume of NaCl in m3/kg."""
    tau, s = (temperature - 273.15) / 100, sqrt(molality)
    return 1e-3 * _polynomial([_polynomial(row, tau) for row in _NACL_VOLUME], s)


def _sugar_volume(own: float, temperature: float) -> float:
    """Apparent specific volume of sucrose in m3/kg. ``own`` is sugar / (sugar + water).

    (1 / rho - (1 - own) / rho_w) / own with rho = rho_w + own g, rearranged to hold at own = 0.
    """
    tau = (temperature - 293.15) / 100
    g = _polynomial([_polynomial(row, own) for row in _SUCROSE_DENSITY], tau)
    rho_w = water_density(temperature)
    return (rho_w - (1 - own) * g) / ((rho_w + own * g) * rho_w)


def _polynomial(coefficients: Sequence[float], x: float) -> float:
    value = 0.0
    for coefficient in reversed(coefficients):
        value = value * x + coefficient
    return value
