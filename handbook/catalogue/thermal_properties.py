"""Density, specific heat and conductivity of a food from its composition and temperature."""

from __future__ import annotations

from typing import overload

import numpy as np
from msgspec import Struct

from handbook.base.arrays import Floats
from handbook.base.errors import BeyondModelError, RangeError

PARTS = ("water", "protein", "fat", "carbohydrate", "ash")
LOWEST, HIGHEST = 268.15, 423.15  # K; below, all food is frozen

# value = a + b t + c t^2 with t in degrees Celsius; one row per part, in the order of PARTS.
# [choi-okos-1986], component equations, -40 to 150 degC. Water's specific heat is the branch above 0 degC with
# a = 4.1762; a reprint has 4.1289, which is 1.1 % lower and further from the steam tables.
DENSITY = np.array(
    [  # kg/m3
        [9.9718e2, 3.1439e-3, -3.7574e-3],
        [1.3299e3, -5.1840e-1, 0.0],
        [9.2559e2, -4.1757e-1, 0.0],
        [1.5991e3, -3.1046e-1, 0.0],
        [2.4238e3, -2.8063e-1, 0.0],
    ]
)
SPECIFIC_HEAT = 1e3 * np.array(
    [  # J/(kg K)
        [4.1762, -9.0864e-5, 5.4731e-6],
        [2.0082, 1.2089e-3, -1.3129e-6],
        [1.9842, 1.4733e-3, -4.8008e-6],
        [1.5488, 1.9625e-3, -5.9399e-6],
        [1.0926, 1.8896e-3, -3.6817e-6],
    ]
)
CONDUCTIVITY = np.array(
    [  # W/(m K)
        [5.7109e-1, 1.7625e-3, -6.7036e-6],
        [1.7881e-1, 1.1958e-3, -2.7178e-6],
        [1.8071e-1, -2.7604e-4, -1.7749e-7],
        [2.0141e-1, 1.3874e-3, -4.3312e-6],
        [3.2962e-1, 1.4011e-3, -2.9069e-6],
    ]
)
_ALL = np.concatenate((DENSITY, SPECIFIC_HEAT, CONDUCTIVITY)).T


class Composition(Struct, frozen=True):
    """Mass fractions of one food, 0 to 1. Salt counts as ash, sugar and fibre as carbohydrate.

    Raises RangeError for a part outside 0 to 1 or a sum outside 0.95 to 1.05, and BeyondModelError for less than 5 % of
    water, as dry nuts have it. Food tables rarely sum to exactly 1; ``fractions`` does.
    """

    water: float
    protein: float
    fat: float
    carbohydrate: float = 0.0
    ash: float = 0.0

    def __post_init__(self) -> None:
        for part in PARTS:
            if not 0.0 <= getattr(self, part) <= 1.0:
                raise RangeError(part, getattr(self, part), "a mass fraction, 0 to 1")
        if not 0.95 <= self.total <= 1.05:
            raise RangeError("composition", self.total, "mass fractions that sum to 1, within 0.05")
        if self.water < 0.05:
            raise BeyondModelError("water", self.water, "a mass fraction of at least 0.05")

    @property
    def total(self) -> float:
        """Sum of the parts as written."""
        return self.water + self.protein + self.fat + self.carbohydrate + self.ash

    @property
    def fractions(self) -> Floats:
        """Shape (5,), in the order of PARTS, scaled to sum to 1."""
        return np.array([getattr(self, part) for part in PARTS]) / self.total


@overload
def density(composition: Composition, temperature: float) -> float: ...
@overload
def density(composition: Composition, temperature: Floats) -> Floats: ...
def density(composition: Composition, temperature: float | Floats) -> float | Floats:
    """Density of an unfrozen food without pores.

        1 / rho = sum(x_i / rho_i),  rho_i = a_i + b_i t + c_i t^2

    Parameters
    ----------
    composition : Composition [-]
        Mass fractions of the food's parts.
    temperature : float or array, any shape [K]
        268.15 to 423.15.

    Returns
    -------
    float or array, shape of ``temperature`` [kg/m3]

    Raises
    ------
    RangeError
        A temperature lies outside the range.

    Notes
    -----
    Source: [choi-okos-1986], component equations. Valid within about 2 % for foods without air.

    Examples
    --------
    >>> round(float(density(Composition(0.6489, 0.2042, 0.1342, 0.0, 0.0113), 278.15)))
    1046
    """
    check_temperature(temperature)
    powers = _powers(np.asarray(temperature, dtype=float))
    found: Floats = 1.0 / (composition.fractions / (powers @ DENSITY.T)).sum(-1)
    return found


def mixture(fractions: Floats, temperature: Floats) -> tuple[Floats, Floats, Floats]:
    """Density, specific heat and thermal conductivity of foods, without range checks.

        1 / rho = sum(x_i / rho_i)
        c = sum(x_i c_i)
        k = sum(v_i k_i),  v_i = rho x_i / rho_i

    Parameters
    ----------
    fractions : array, shape (n, 5) [-]
        Mass fractions of water, protein, fat, carbohydrate and ash; each row sums to 1.
    temperature : array, shape (n,) [K]
        268.15 to 423.15; the caller checks it.

    Returns
    -------
    density, specific_heat, conductivity : arrays, shape (n,) [kg/m3], [J/(kg K)], [W/(m K)]

    Notes
    -----
    Source: [choi-okos-1986], component equations. Valid for unfrozen food within about 2 % (density) and 3 % (specific
    heat). The parallel model of conductivity is an upper bound; muscle lies close to it, -15 % to +5 %.

    Examples
    --------
    >>> chicken = Composition(0.75, 0.21, 0.03, 0.0, 0.01)
    >>> [round(float(each[0]), 2) for each in mixture(chicken.fractions[None], np.array([293.15]))]
    [1053.52, 3630.76, 0.52]
    """
    each = _powers(temperature) @ _ALL
    shares, properties = fractions.T, each.T
    volumes = shares / properties[:5]
    specific_volume = np.add.reduce(volumes)
    specific_heat = np.add.reduce(shares * properties[5:10])
    conductivity = np.add.reduce(volumes * properties[10:]) / specific_volume
    return 1.0 / specific_volume, specific_heat, conductivity


def check_temperature(temperature: float | Floats, name: str = "temperature") -> None:
    """Check that the property equations hold at every temperature.

    No equation: a range check, 268.15 K <= T <= 423.15 K.

    Parameters
    ----------
    temperature : float or array, any shape [K]
    name : str
        Name of the quantity in the error text.

    Returns
    -------
    None

    Raises
    ------
    RangeError
        A temperature lies outside the range.

    Notes
    -----
    Source: [choi-okos-1986], valid up to 150 degC. At the lower limit, -5 degC, all food is frozen.

    Examples
    --------
    >>> check_temperature(293.15)
    >>> check_temperature(250.0, "core temperature")
    Traceback (most recent call last):
    handbook.base.errors.RangeError: core temperature: read 250; allowed: 268.15 to 423.15 K (unfrozen food)
    """
    values = np.asarray(temperature, dtype=float)
    for value in (values.min(), values.max()):
        if not LOWEST <= value <= HIGHEST:
            raise RangeError(name, float(value), f"{LOWEST} to {HIGHEST} K (unfrozen food)")


def _powers(temperature: Floats) -> Floats:
    celsius = temperature - 273.15
    powers = np.ones((*np.shape(celsius), 3))
    powers[..., 1] = celsius
    powers[..., 2] = celsius * celsius
    return powers
