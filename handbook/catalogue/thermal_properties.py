"""Density, specific heat and conductivity of a food from its composition and temperature."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from handbook.base.errors import RangeError

PARTS = ("water", "protein", "fat", "carbohydrate", "ash")
LOWEST, HIGHEST = 268.15, 423.15  # below, no food is still unfrozen

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


@dataclass(frozen=True)
class Composition:
    """Mass fractions of one food, 0..1; salt counts as ash, sugar and fibre as carbohydrate.

    Raises RangeError when a part is negative, there is no water, or the sum is outside 0.95..1.05 (food tables
    seldom sum to exactly 1; ``fractions`` does).
    """

    water: float
    protein: float
    fat: float
    carbohydrate: float = 0.0
    ash: float = 0.0

    def __post_init__(self):
        for part in PARTS:
            if not 0.0 <= getattr(self, part) <= 1.0:
                raise RangeError(part, getattr(self, part), "a mass fraction, 0 to 1")
        if not 0.95 <= self.total <= 1.05:
            raise RangeError("composition", self.total, "mass fractions that sum to 1, within 0.05")
        if self.water < 0.05:
            raise RangeError("water", self.water, "a mass fraction of at least 0.05")

    @property
    def total(self) -> float:
        """Sum of the parts as written."""
        return sum(getattr(self, part) for part in PARTS)

    @property
    def fractions(self) -> np.ndarray:
        """Shape (5,), in the order of PARTS, scaled to sum to 1."""
        return np.array([getattr(self, part) for part in PARTS]) / self.total


def density(composition: Composition, temperature):
    """Density in kg/m3 of the food without pores: 1 / sum(x_i / rho_i).

    ``temperature`` in K, scalar or array, 268.15 to 423.15 with the water not frozen (RangeError outside).
    Valid within about 2 % for foods without air. Source: [choi-okos-1986].

    >>> round(float(density(Composition(0.6489, 0.2042, 0.1342, 0.0, 0.0113), 278.15)))
    1046
    """
    check_temperature(temperature)
    powers = _powers(np.asarray(temperature, dtype=float))
    return 1.0 / (composition.fractions / (powers @ DENSITY.T)).sum(-1)


def mixture(fractions: np.ndarray, temperature: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Density, specific heat and parallel conductivity, each (n,), of ``fractions`` (n, 5) at ``temperature`` (n,).

    Specific heat: sum(x_i c_i), within about 3 %. Conductivity: sum(v_i k_i) with v_i = volume fractions, the upper bound;
    muscle lies near it: carry about -15 % to +5 %. Source as for ``density``. No checks: the caller keeps its range.
    """
    each = _powers(temperature) @ _ALL
    volumes = fractions / each[:, :5]
    specific_volume = volumes.sum(-1)
    heat = (fractions * each[:, 5:10]).sum(-1)
    conducted = (volumes * each[:, 10:]).sum(-1) / specific_volume
    return 1.0 / specific_volume, heat, conducted


def check_temperature(temperature, name: str = "temperature") -> None:
    """Raise RangeError unless every value lies where the property equations hold for unfrozen food."""
    values = np.asarray(temperature, dtype=float)
    for value in (values.min(), values.max()):
        if not LOWEST <= value <= HIGHEST:
            raise RangeError(name, float(value), f"{LOWEST} to {HIGHEST} K (unfrozen food)")


def _powers(temperature: np.ndarray) -> np.ndarray:
    celsius = temperature - 273.15
    powers = np.ones((*np.shape(celsius), 3))
    powers[..., 1] = celsius
    powers[..., 2] = celsius * celsius
    return powers
