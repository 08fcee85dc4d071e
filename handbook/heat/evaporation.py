"""Water at the surface: how active it is, how fast it evaporates, how it gets there from inside."""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass

import numpy as np

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

#: Oswin isotherm X = A (aw / (1 - aw))^B, kg water / kg fat-free solids, drawn through remembered points of lean
#: meat and fish at room temperature (0.11 at aw 0.5, about 0.4 at 0.9). Source: [muscle-isotherm].
OSWIN_A, OSWIN_B = 0.11, 0.60
#: Moisture diffusivity in muscle: 2.5e-10 m2/s at 2 degC [pork-drying-sintef], with the activation energy of the
#: self-diffusion of water; meets 4.6e-10 to 13.7e-10 m2/s reported for beef at 30 to 40 degC [biltong-2021]. Carry
#: x or / 2.5, more for fat fish, of which no figure was found.
DIFFUSIVITY, DIFFUSIVITY_AT, ACTIVATION_ENERGY = 2.5e-10, 275.15, 19e3
#: Lewis number of vapour in air (2.2e-5 / 2.5e-5 m2/s at 25 degC) [lewis-number].
LEWIS_FACTOR = (2.2 / 2.5) ** (2.0 / 3.0)
_MOLAR_HEAT_OF_AIR, _MOLAR_HEAT_OF_VAPOUR = 29.1, 34.0  # J/(mol K)

#: Juice that muscle lets go when warm, kg / kg green weight: most / (1 + exp(-(t - middle) / width)) less its value
#: at 30 degC, t in degC.
#: Meat: drawn through the cooking losses of lean beef held 40 min [meat-processing-table-6-1], within 0.01. Fish:
#: set to give the 6 to 16 % reported for salmon [salmon-cooking-2020]. Carry x 0.6 to x 1.3; salted meat holds more.
EXUDED = {"meat": (0.50, 71.0, 11.0), "fish": (0.20, 60.0, 10.0)}
EXUDATION_TIME = 900.0  # s, first order [heat-estimates]


class Isotherm:
    """Water activity of muscle from kg water / kg solids, with its salt and the sugar of a glaze."""

    def __init__(self, solids: float, fat: float, salt: float = 0.0):
        """Mass fractions of the green food."""
        self.oswin = OSWIN_A * max(solids - fat, 0.02) / solids
        self._solutes: list[tuple[Floats | float, float, float, float]] = (
            [(salt / solids / MOLAR_MASS_OF_SALT, *_SALT)] if salt > 0 else []
        )

    def with_sugar(self, sugar: Floats) -> Isotherm:
        """The same food with ``sugar`` kg / kg solids, shape (n,), in its outer layer."""
        other = copy(self)
        other._solutes = [each for each in self._solutes if each[1:] != _SUGAR]
        other._solutes.append((sugar / MOLAR_MASS_OF_SUCROSE, *_SUGAR))
        return other

    def log_activity(self, moisture: Floats) -> tuple[Floats, Floats]:
        """ln aw and d ln aw / d ln X, shape of ``moisture`` (kg water / kg solids, above 0).

        Salted food is held at the activity of saturated salt once its salt no longer dissolves.
        Product of the solids' own activity and that of salt and sugar in the water left, whose osmotic coefficients
        are 0.90 + 0.058 m (salt, within 0.03 of the tables to saturation) and 1 + 0.09 m (sucrose).
        Source: [muscle-isotherm]; good to about 0.03 below aw 0.9.
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
    """Diffusivity of water in muscle in m2/s at ``temperature`` in K: Arrhenius from 2.5e-10 at 2 degC."""
    return DIFFUSIVITY * np.exp(ACTIVATION_ENERGY / GAS_CONSTANT * (1.0 / DIFFUSIVITY_AT - 1.0 / temperature))


def exuded_with_slope(kind: str, temperature: Floats) -> tuple[Floats, Floats]:
    """Juice let go at ``temperature`` in K within the hour, kg / kg green weight (none below 30 degC), and its change per K."""
    most, middle, width = EXUDED[kind]
    none = most / (1.0 + np.exp((middle - 30.0) / width))
    bound = np.exp((middle + 273.15 - temperature) / width)
    value = most / (1.0 + bound)
    warm = value > none
    return (value - none) * warm, value * bound / ((1.0 + bound) * width) * warm


def mass_conductance(coefficient: Floats, vapour_share: Floats) -> Floats:
    """Evaporation in kg/(m2 s) per unit of ln((1 - y_air) / (1 - y_surface)), from the convective ``coefficient``.

    h M_water / (C_molar Le^(2/3)): the analogy of heat and mass transfer with the drift of vapour through a film of
    still air, so it holds up to boiling. ``vapour_share`` is the mole fraction in the film. Source: [lewis-number].
    """
    molar_heat = _MOLAR_HEAT_OF_AIR + (_MOLAR_HEAT_OF_VAPOUR - _MOLAR_HEAT_OF_AIR) * vapour_share
    return coefficient * MOLAR_MASS_OF_WATER / (molar_heat * LEWIS_FACTOR)


@dataclass(frozen=True, kw_only=True)
class SurfaceBalance:
    """Surface state as straight lines in the evaporation m: T = warm - cooling m, X = moist - drying m.

    ``vapour_share`` is the mole fraction of vapour in the chamber air, ``conductance`` as above. All shape (n,).
    """

    warm: Floats
    cooling: Floats
    moist: Floats
    drying: Floats
    vapour_share: Floats
    conductance: Floats
    pressure: float

    def evaporation(self, isotherm: Isotherm, guess: Floats) -> Floats:
        """Evaporation m in kg/(m2 s), shape (n,); negative is condensation.

        Root of aw(X) p_sat(T) / p - 1 + (1 - y_air) exp(-m / conductance), which falls with m, so there is one root.
        """
        dry_share = 1.0 - self.vapour_share
        low = self.conductance * np.log(dry_share)
        # Above: hardly any water left at the surface, or a surface at 200 K.
        high = np.minimum((self.moist - 1e-6) / self.drying, (self.warm - 200.0) / self.cooling)
        high = np.maximum(high, low + 1e-12)
        rate = np.minimum(np.maximum(guess, low + 1e-3 * (high - low)), high)
        for _ in range(6):
            step = self._step(rate, dry_share, isotherm)
            moved = np.maximum.reduce(np.abs(step - rate))
            rate = np.minimum(np.maximum(step, 0.98 * low + 0.02 * rate), high)
            # Newton squares the error, so what is left after this step is far smaller.
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
        # Newton in ln X on the logarithm of both sides: nearly straight for a wet and for a dry surface.
        moisture = np.maximum(self.moist - self.drying * rate, 1e-6)
        temperature = self.warm - self.cooling * rate
        activity, steepness = isotherm.log_activity(moisture)
        film = dry_share * np.exp(-rate / self.conductance)
        wanted = 1.0 - film
        residual = activity + log_saturation(temperature) - np.log(wanted * self.pressure)
        # d ln p_sat / dT by Clausius and Clapeyron.
        growth = (3.146e6 - 2361.0 * temperature) / (GAS_CONSTANT_OF_VAPOUR * temperature * temperature)
        # Slope in the rate, then carried over to ln X: dX = X d ln X, and X = moist - drying x rate.
        share = self.drying / moisture
        change = residual / (steepness * share + growth * self.cooling + film / (self.conductance * wanted))
        following: Floats = (self.moist - moisture * np.exp(np.minimum(-share * change, 30.0))) / self.drying
        return following
