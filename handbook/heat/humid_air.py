"""Saturated water vapour and the heat of evaporation."""

from __future__ import annotations

import numpy as np

from handbook.base.arrays import Floats

STANDARD_PRESSURE = 101325.0
GAS_CONSTANT_OF_VAPOUR = 461.52  # J/(kg K), 8.31446 / 0.0180153

# [hyland-wexler-1983] as printed by ASHRAE, over liquid water, 0 to 200 degC; ln p in Pa, T in K.
_WATER = (-5.8002206e3, 1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8, 6.5459673)


def saturation(temperature: Floats) -> Floats:
    """Pressure of saturated vapour over liquid water.

    ln p = C8 / T + C9 + C10 T + C11 T^2 + C12 T^3 + C13 ln T

    Parameters
    ----------
    temperature : array, any shape [K]

    Returns
    -------
    array, same shape [Pa]

    Notes
    -----
    Source: [hyland-wexler-1983], the constants C8 to C13 as printed by ASHRAE.
    Valid for 273.15 to 473.15 K, as printed. The engine uses it from 250 K, over supercooled water. There is no check,
    because this is the innermost loop of the heat model.

    Examples
    --------
    >>> round(float(saturation(np.array([373.15]))[0]), -2)
    101400.0
    """
    pressure: Floats = np.exp(log_saturation(temperature))
    return pressure


def log_saturation(temperature: Floats) -> Floats:
    """Natural logarithm of the saturation pressure.

    ln p = C8 / T + C9 + C10 T + C11 T^2 + C12 T^3 + C13 ln T

    Parameters
    ----------
    temperature : array, any shape [K]

    Returns
    -------
    array, same shape [-], the logarithm of the pressure in Pa

    Notes
    -----
    Source: [hyland-wexler-1983]. Valid as ``saturation``.

    Examples
    --------
    >>> round(float(np.exp(log_saturation(np.array([273.16])))[0]), 1)
    611.7
    """
    c8, c9, c10, c11, c12, c13 = _WATER
    polynomial = c9 + temperature * (c10 + temperature * (c11 + temperature * c12))
    return c8 / temperature + polynomial + c13 * np.log(temperature)


def latent_heat(temperature: Floats) -> Floats:
    """Heat of vaporisation of water.

    h = 2501 - 2.361 t, in kJ/kg with t in degrees Celsius

    Parameters
    ----------
    temperature : array, any shape [K]

    Returns
    -------
    array, same shape [J/kg]

    Notes
    -----
    Source: [latent-heat-line], a straight line through the steam tables.
    Valid for 0 to 100 degC, within 0.4 %. Above 100 degC the line overestimates.

    Examples
    --------
    >>> float(latent_heat(np.array([373.15]))[0])
    2264900.0
    """
    return 2.501e6 - 2361.0 * (temperature - 273.15)
