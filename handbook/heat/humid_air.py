"""Humid air: vapour saturated over liquid water, and the heat that evaporation takes."""

from __future__ import annotations

import numpy as np

from handbook.base.arrays import Floats

STANDARD_PRESSURE = 101325.0
GAS_CONSTANT_OF_VAPOUR = 461.52  # J/(kg K), 8.31446 / 0.0180153

# [hyland-wexler-1983] as printed by ASHRAE, over liquid water, 0 to 200 degC; ln p in Pa, T in K.
_WATER = (-5.8002206e3, 1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8, 6.5459673)


def saturation(temperature: Floats) -> Floats:
    """Pressure in Pa of vapour saturated over liquid water at ``temperature`` in K.

    ln p = C8/T + C9 + C10 T + C11 T^2 + C12 T^3 + C13 ln T. Printed for 273.15 to 473.15 K; used from 250 K (supercooled
    water at a cold, drying surface). No checks: it stands in the inner loop. Source: [hyland-wexler-1983].

    >>> round(float(saturation(np.asarray(373.15))), -2)
    101400.0
    """
    pressure: Floats = np.exp(log_saturation(temperature))
    return pressure


def log_saturation(temperature: Floats) -> Floats:
    """Natural logarithm of ``saturation``."""
    c8, c9, c10, c11, c12, c13 = _WATER
    polynomial = c9 + temperature * (c10 + temperature * (c11 + temperature * c12))
    return c8 / temperature + polynomial + c13 * np.log(temperature)


def latent_heat(temperature: Floats) -> Floats:
    """Heat of vaporisation of water in J/kg at ``temperature`` in K: 2501 - 2.361 t kJ/kg, t in degrees Celsius.

    A straight line through the steam tables, within 0.4 % from 0 to 100 degC. Source: [latent-heat-line].
    """
    return 2.501e6 - 2361.0 * (temperature - 273.15)
