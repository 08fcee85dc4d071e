"""Water at the surface: its activity, its evaporation, and its transport from the inside."""

from __future__ import annotations

from copy import copy

import numpy as np
from msgspec import Struct

from handbook.base.arrays import Floats
from handbook.heat.humid_air import GAS_CONSTANT_OF_VAPOUR, log_saturation

GAS_CONSTANT = 8.314463
MOLAR_MASS_OF_WATER = 0.0180153
MOLAR_MASS_OF_SALT = 0.058443
MOLAR_MASS_OF_SUCROSE = 0.342297
# Molality at saturation at room temperature, and a, b of -ln aw = a m + b m^2 (m molality): -ln aw = 0.018 n m phi, with
# n ions and phi = 0.90 + 0.058 m for salt, 1 + 0.09 m for sucrose.
_SALT = (6.15, MOLAR_MASS_OF_WATER * 1.80, MOLAR_MASS_OF_WATER * 0.116)
_SUGAR = (6.0, MOLAR_MASS_OF_WATER, MOLAR_MASS_OF_WATER * 0.09)

#: Oswin isotherm X = A (aw / (1 - aw))^B, kg water / kg fat-free solids, fitted to remembered points of lean meat and
#: fish at room temperature (0.11 at aw 0.5, about 0.4 at 0.9). Source: [muscle-isotherm].
OSWIN_A, OSWIN_B = 0.11, 0.60
#: Moisture diffusivity in muscle at 2 degC: the geometric mean of five published figures, each taken to 2 degC by the
#: activation energy of the self-diffusion of water: 2.5e-10 m2/s of pork at 2 degC [pork-drying-sintef], 3.2e-10 and
#: 0.8e-10 of beef [biltong-2021, biltong-hot-air], 0.42e-10 of sausage [pepperoni-1977], 0.27e-10 of ham
#: [ham-drying-sintef]. They differ by x or / 3 about it; no figure was found for fat fish.
DIFFUSIVITY, DIFFUSIVITY_AT, ACTIVATION_ENERGY = 1.0e-10, 275.15, 19e3
#: Diffusivity falls with moisture: see dried_share [drying-diffusivity].
DRIED_STEEPNESS, RAW_MOISTURE = 0.6, 3.0
#: Below this chamber temperature [K] that fall is computed; above it only in a stage that dries. Above it heat releases
#: juice, which wets the crust, and the constant diffusivity agrees with the losses of smoked and roast food.
DRIES_BELOW = 333.15
#: Lewis number of vapour in air (2.2e-5 / 2.5e-5 m2/s at 25 degC) [lewis-number].
LEWIS_FACTOR = (2.2 / 2.5) ** (2.0 / 3.0)
_MOLAR_HEAT_OF_AIR, _MOLAR_HEAT_OF_VAPOUR = 29.1, 34.0  # J/(mol K)

#: Juice that warm lean muscle releases, kg / kg green weight: most / (1 + exp(-(t - middle) / width)) less its value
#: at 30 degC, t in degC.
#: Meat: fitted to the cooking losses of lean beef held 40 min [meat-processing-table-6-1], within 0.01. Fish:
#: set to give the 6 to 16 % reported for salmon [salmon-cooking-2020]. Uncertainty x 0.6 to x 1.3; salted meat holds
#: more. Minced: a sausage binds its juice; cooking losses of 5 to 12 % are usual (common practice, no source).
EXUDED_OF_WATER = 0.75  # water / green weight of the lean meat and fish of these figures
EXUDED = {"meat": (0.50, 71.0, 11.0), "fish": (0.20, 60.0, 10.0), "minced": (0.16, 71.0, 11.0)}
#: Juice flows through the fibres as heat does, by Darcy's law, which takes long in a thick piece. Diffusivity of that
#: flow [m2/s]: a slice of 25 mm loses its juice with a time constant of 10 min, joints lose what [lowe-1937] prints.
#: Uncertainty x or / 2.
JUICE_DIFFUSIVITY = 1.0e-7


class Isotherm:
    """Water activity of muscle with its salt and the sugar of a glaze, as a function of moisture [kg water / kg solids]."""

    def __init__(self, solids: float, fat: float, salt: float = 0.0):
        """Isotherm of a green food from its mass fractions of solids, fat and salt."""
        self.oswin = OSWIN_A * max(solids - fat, 0.02) / solids
        self._solutes: list[tuple[Floats | float, float, float, float]] = (
            [(salt / solids / MOLAR_MASS_OF_SALT, *_SALT)] if salt > 0 else []
        )

    def with_sugar(self, sugar: Floats) -> Isotherm:
        """Isotherm of the same food with sugar in its outer layer.

        m_sugar = sugar / (X M_sucrose)

        Parameters
        ----------
        sugar : array (n,) [kg / kg solids]

        Returns
        -------
        Isotherm, a copy

        Notes
        -----
        Source: [muscle-isotherm]. Valid up to 6 mol/kg of sucrose; saturated beyond.

        Examples
        --------
        >>> glazed = Isotherm(0.25, 0.0).with_sugar(np.array([0.5]))
        >>> round(float(np.exp(glazed.log_activity(np.array([3.0]))[0])[0]), 2)
        0.99
        """
        other = copy(self)
        other._solutes = [each for each in self._solutes if each[1:] != _SUGAR]
        other._solutes.append((sugar / MOLAR_MASS_OF_SUCROSE, *_SUGAR))
        return other

    def log_activity(self, moisture: Floats) -> tuple[Floats, Floats]:
        """Logarithm of water activity and its slope in the logarithm of moisture.

        X = A (aw_own / (1 - aw_own))^B, aw = aw_own aw_salt aw_sugar, -ln aw_solute = 0.018 n m phi

        Parameters
        ----------
        moisture : array (n,) [kg / kg solids]
            Above 0.

        Returns
        -------
        array (n,) [-], ln aw
        array (n,) [-], d ln aw / d ln X

        Notes
        -----
        The osmotic coefficients phi are 0.90 + 0.058 m for salt (within 0.03 of the tables to saturation) and 1 + 0.09 m for
        sucrose, m being the molality. Above saturation the activity is that of the saturated solution.
        Source: [muscle-isotherm], fitted to remembered points of lean meat and fish.
        Valid at room temperature; error about 0.03 below aw 0.9.

        Examples
        --------
        At X = A the Oswin isotherm of fat-free, unsalted food passes through 0.5:

        >>> log_activity, slope = Isotherm(0.25, 0.0).log_activity(np.array([0.11]))
        >>> round(float(np.exp(log_activity)[0]), 3)
        0.5
        """
        inverse = 1.0 / moisture
        ratio = (self.oswin * inverse) ** (1.0 / OSWIN_B)
        own = 1.0 + ratio
        logarithm, slope = -np.log(own), ratio / (OSWIN_B * own)
        for solute, saturated, linear, square in self._solutes:
            molality = solute * inverse
            dissolved = np.minimum(molality, saturated)
            logarithm = logarithm - dissolved * (linear + square * dissolved)
            slope = slope + (molality < saturated) * dissolved * (linear + 2.0 * square * dissolved)
        return logarithm, slope


def moisture_diffusivity(temperature: Floats) -> Floats:
    """Diffusivity of water in muscle by Arrhenius' law.

    D = D_ref exp(E / R (1 / T_ref - 1 / T))

    Parameters
    ----------
    temperature : array, any shape [K]

    Returns
    -------
    array, same shape [m2/s]

    Notes
    -----
    Source: D_ref = 1.0e-10 m2/s at 2 degC is the geometric mean of [pork-drying-sintef], [biltong-2021],
    [biltong-hot-air], [pepperoni-1977] and [ham-drying-sintef]; E is that of the self-diffusion of water, 19 kJ/mol.
    Valid for lean meat and fish, 2 to 40 degC, extrapolated to 100 degC; error x or / 3.3, more for fat fish.

    Examples
    --------
    >>> f"{float(moisture_diffusivity(np.array([275.15]))[0]):.2e}"
    '1.00e-10'
    """
    return DIFFUSIVITY * np.exp(ACTIVATION_ENERGY / GAS_CONSTANT * (1.0 / DIFFUSIVITY_AT - 1.0 / temperature))


def dried_share(surface: Floats, mean: Floats, bound: float) -> Floats:
    """Diffusivity of water in a drying piece / diffusivity in the raw food. Dry food lets water through more slowly.

    f(X) = exp(-0.6 (1 / X - 1 / 3)) for X < 3, X in kg water / kg of fat-free solids; the mean of f between the surface and
    the mean of the piece, by Simpson's rule

    Parameters
    ----------
    surface, mean : array (n,) [kg / kg solids]
        Moisture at the surface and of the whole piece; above 0.
    bound : float [-]
        Fat-free solids / solids.

    Returns
    -------
    array (n,) [-], 0 to 1

    Notes
    -----
    Source: [drying-diffusivity], fitted to the range of moisture diffusivities published for ham muscle that dries in
    air of 75 to 80 %, 5e-12 to 6.6e-11 m2/s, with that of ``moisture_diffusivity`` for the raw food.
    Valid for muscle from raw to X = 0.2; error x or / 3.3, that of the diffusivity itself.

    Examples
    --------
    >>> one = np.ones(1)
    >>> round(float(dried_share(3 * one, 3 * one, 1.0)[0]), 2), round(float(dried_share(0.4 * one, 0.4 * one, 1.0)[0]), 2)
    (1.0, 0.27)
    """

    def share(moisture: Floats) -> Floats:
        inverse = bound / moisture
        found: Floats = np.exp(-DRIED_STEEPNESS * np.maximum(inverse - 1.0 / RAW_MOISTURE, 0.0))
        return found

    mixed: Floats = (share(surface) + 4.0 * share(0.5 * (surface + mean)) + share(mean)) / 6.0
    return mixed


def exuded_with_slope(kind: str, temperature: Floats) -> tuple[Floats, Floats]:
    """Juice that muscle releases within the hour, and its change per kelvin.

    w = w_max / (1 + exp((t_mid - t) / width)) - w(30 degC), 0 below 30 degC

    Parameters
    ----------
    kind : meat, fish or minced
    temperature : array (n,) [K]

    Returns
    -------
    array (n,) [kg / kg green weight]
    array (n,) [kg / (kg K)]

    Notes
    -----
    Source: [meat-processing-table-6-1] for meat, [salmon-cooking-2020] for fish.
    Valid for lean meat held 40 min, 20 to 100 degC, within 0.01; error x 0.6 to x 1.3. Salted meat holds more.

    Examples
    --------
    At 70 degC the table prints a cooking loss of 23 %:

    >>> juice, slope = exuded_with_slope("meat", np.array([343.15]))
    >>> round(float(juice[0]), 2)
    0.23
    """
    most, middle, width = EXUDED[kind]
    none = most / (1.0 + np.exp((middle - 30.0) / width))
    bound = np.exp((middle + 273.15 - temperature) / width)
    value = most / (1.0 + bound)
    warm = value > none
    return (value - none) * warm, value * bound / ((1.0 + bound) * width) * warm


def mass_conductance(coefficient: Floats, vapour_share: Floats) -> Floats:
    """Conductance of the air film for vapour, per unit of ln((1 - y_air) / (1 - y_surface)).

    g = h M_water / (C_molar Le^(2/3))

    Parameters
    ----------
    coefficient : array (n,) [W/(m2 K)]
        Convective heat transfer coefficient h.
    vapour_share : array (n,) [-]
        Mole fraction of vapour in the film, which sets its molar heat capacity C_molar.

    Returns
    -------
    array (n,) [kg/(m2 s)]

    Notes
    -----
    Source: [lewis-number], analogy of heat and mass transfer with Stefan's flow through the film.
    Valid for air and vapour at atmospheric pressure up to boiling, 0 <= y <= 1. The error is that of the coefficient.

    Examples
    --------
    >>> round(float(mass_conductance(np.array([10.0]), np.array([0.02]))[0]), 4)
    0.0067
    """
    molar_heat = _MOLAR_HEAT_OF_AIR + (_MOLAR_HEAT_OF_VAPOUR - _MOLAR_HEAT_OF_AIR) * vapour_share
    return coefficient * MOLAR_MASS_OF_WATER / (molar_heat * LEWIS_FACTOR)


class SurfaceBalance(Struct, frozen=True, kw_only=True):
    """State of the surface, linear in the evaporation rate m: T = warm - cooling m, X = moist - drying m.

    All arrays have shape (n,). ``vapour_share`` : mole fraction of vapour in the chamber air. ``conductance`` : of the
    air film, see ``mass_conductance``. ``pressure`` [Pa].
    """

    warm: Floats
    cooling: Floats
    moist: Floats
    drying: Floats
    vapour_share: Floats
    conductance: Floats
    pressure: float

    def evaporation(self, isotherm: Isotherm, guess: Floats) -> Floats:
        """Evaporation rate at which the surface and the air film agree.

        aw(X) p_sat(T) / p = 1 - (1 - y_air) exp(-m / g)

        Parameters
        ----------
        isotherm : Isotherm
        guess : array (n,) [kg/(m2 s)]
            Start of the iteration.

        Returns
        -------
        array (n,) [kg/(m2 s)]; negative for condensation

        Notes
        -----
        The left side falls with m and the right side rises, so there is one root. Newton's method, then bisection.
        Source: [lewis-number] and [muscle-isotherm].
        Valid for cooling > 0, drying > 0 and 0 <= y_air < 1; a step below 2 % of the largest rate ends the iteration.

        Examples
        --------
        >>> one = np.ones(1)
        >>> balance = SurfaceBalance(warm=300.15 * one, cooling=1e4 * one, moist=3.0 * one, drying=100.0 * one,
        ...                          vapour_share=0.01 * one, conductance=0.0067 * one, pressure=101325.0)
        >>> f"{float(balance.evaporation(Isotherm(0.25, 0.0), 1e-4 * one)[0]):.2e}"
        '1.51e-04'
        """
        dry_share = 1.0 - self.vapour_share
        low = self.conductance * np.log(dry_share)
        # Upper limit: almost no water left at the surface, or a surface at 200 K.
        high = np.minimum((self.moist - 1e-6) / self.drying, (self.warm - 200.0) / self.cooling)
        high = np.maximum(high, low + 1e-12)
        rate = np.minimum(np.maximum(guess, low + 1e-3 * (high - low)), high)
        for _ in range(6):
            step = self._step(rate, dry_share, isotherm)
            moved = np.maximum.reduce(np.abs(step - rate))
            rate = np.minimum(np.maximum(step, 0.98 * low + 0.02 * rate), high)
            # Newton's method squares the error, so the error after this step is far smaller.
            if moved < 2e-2 * np.maximum.reduce(np.abs(rate)) or moved < 1e-9:
                return rate
        return self._bisected(low, high, dry_share, isotherm)

    def _bisected(self, low: Floats, high: Floats, dry_share: Floats, isotherm: Isotherm) -> Floats:
        for _ in range(30):
            rate = 0.5 * (low + high)
            wetter = self._step(rate, dry_share, isotherm) > rate
            low, high = np.where(wetter, rate, low), np.where(wetter, high, rate)
        middle: Floats = 0.5 * (low + high)
        return middle

    def _step(self, rate: Floats, dry_share: Floats, isotherm: Isotherm) -> Floats:
        # Newton's method in ln X on the logarithm of both sides, nearly linear for a wet and for a dry surface.
        moisture = np.maximum(self.moist - self.drying * rate, 1e-6)
        temperature = self.warm - self.cooling * rate
        activity, steepness = isotherm.log_activity(moisture)
        film = dry_share * np.exp(-rate / self.conductance)
        wanted = 1.0 - film
        residual = activity + log_saturation(temperature) - np.log(wanted * self.pressure)
        # d ln p_sat / dT by Clausius and Clapeyron.
        growth = (3.146e6 - 2361.0 * temperature) / (GAS_CONSTANT_OF_VAPOUR * temperature * temperature)
        # Slope in the rate, converted to ln X: dX = X d ln X, and X = moist - drying x rate.
        share = self.drying / moisture
        change = residual / (steepness * share + growth * self.cooling + film / (self.conductance * wanted))
        following: Floats = (self.moist - moisture * np.exp(np.minimum(-share * change, 30.0))) / self.drying
        return following
