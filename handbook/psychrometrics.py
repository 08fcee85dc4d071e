"""Humid air: saturation, humidity and the wet-bulb temperature that a wet surface tends to."""

from __future__ import annotations

import numpy as np

from handbook.errors import RangeError

STANDARD_PRESSURE = 101325.0
GAS_CONSTANT_OF_VAPOUR = 461.52  # J/(kg K), 8.31446 / 0.0180153
MASS_RATIO = 0.621945  # molar mass of water / dry air
SOURCE = "hyland-wexler-1983"
LOWEST, HIGHEST = 250.0, 473.15

# Hyland and Wexler 1983 as printed by ASHRAE, over liquid water, 0 to 200 degC; ln p in Pa, T in K.
_WATER = (-5.8002206e3, 1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8, 6.5459673)


def saturation_pressure(temperature):
    """Pressure in Pa of vapour saturated over liquid water at ``temperature`` in K, scalar or array.

    ln p = C8/T + C9 + C10 T + C11 T^2 + C12 T^3 + C13 ln T. Printed for 273.15 to 473.15 K; accepted from 250 K
    (supercooled water at a cold, drying surface). Source: [hyland-wexler-1983]. RangeError outside.

    >>> round(float(saturation_pressure(373.15)), -2)
    101400.0
    """
    _check("temperature", temperature, LOWEST, HIGHEST, "K")
    return saturation(np.asarray(temperature, dtype=float))


def saturation(temperature: np.ndarray) -> np.ndarray:
    """``saturation_pressure`` without its checks, for the inner loop."""
    return np.exp(log_saturation(temperature))


def log_saturation(temperature: np.ndarray) -> np.ndarray:
    """Natural logarithm of ``saturation``."""
    c8, c9, c10, c11, c12, c13 = _WATER
    polynomial = c9 + temperature * (c10 + temperature * (c11 + temperature * c12))
    return c8 / temperature + polynomial + c13 * np.log(temperature)


def latent_heat(temperature):
    """Heat of vaporisation of water in J/kg at ``temperature`` in K: 2501 - 2.361 t kJ/kg, t in degrees Celsius.

    A straight line through the steam tables, within 0.4 % from 0 to 100 degC. Source: [latent-heat-line].
    """
    return 2.501e6 - 2361.0 * (temperature - 273.15)


def boiling_temperature(pressure: float) -> float:
    """Temperature in K at which water boils at ``pressure`` in Pa, 40 kPa to 120 kPa.

    >>> round(boiling_temperature(101325.0) - 273.15, 1)
    100.0
    """
    _check("pressure", pressure, 4e4, 1.2e5, "Pa")
    return dew_point(pressure)


def dew_point(vapour_pressure: float) -> float:
    """Temperature in K at which ``vapour_pressure`` in Pa is saturated, 100 Pa to 1 MPa."""
    _check("vapour pressure", vapour_pressure, 100.0, 1e6, "Pa")
    return _bisect(lambda temperature: float(saturation(temperature)) - vapour_pressure, LOWEST, HIGHEST)


def humidity_ratio(dry_bulb, relative_humidity, pressure: float = STANDARD_PRESSURE):
    """Mass of vapour / mass of dry air; ideal gases.

    ``dry_bulb`` in K, ``relative_humidity`` 0..1 relative to liquid water at the dry bulb. RangeError where the
    vapour would exceed the total pressure.
    """
    _check("relative humidity", relative_humidity, 0.0, 1.0, "")
    vapour = np.asarray(relative_humidity) * saturation_pressure(dry_bulb)
    if np.max(vapour) >= pressure:
        raise RangeError("relative humidity", float(np.max(vapour)), f"a vapour pressure below {pressure:g} Pa")
    return MASS_RATIO * vapour / (pressure - vapour)


def wet_bulb(dry_bulb: float, relative_humidity: float, pressure: float = STANDARD_PRESSURE) -> float:
    """Thermodynamic wet-bulb temperature in K: adiabatic saturation of the air by liquid at the wet bulb.

    h(T, W) + (W_s - W) h_liquid(T_w) = h(T_w, W_s); ideal gases with constant specific heats. ``dry_bulb`` 273.15
    to 473.15 K. Within 0.05 K of psychrometric libraries to 70 degC dry bulb and 0.15 K to 110 degC.

    >>> round(wet_bulb(350.15, 0.10) - 273.15, 1)
    38.1
    """
    _check("dry bulb", dry_bulb, 273.15, HIGHEST, "K")
    ratio = float(humidity_ratio(dry_bulb, relative_humidity, pressure))

    def excess(temperature: float) -> float:
        vapour = float(saturation(temperature))
        if vapour >= pressure:
            return 1e9
        saturated = MASS_RATIO * vapour / (pressure - vapour)
        evaporated = (saturated - ratio) * 4186.0 * (temperature - 273.15)
        return _enthalpy(temperature, saturated) - _enthalpy(dry_bulb, ratio) - evaporated

    return _bisect(excess, LOWEST, dry_bulb)


def _enthalpy(temperature: float, ratio: float) -> float:
    # J per kg of dry air; the vapour's specific heat rises slightly with temperature (steam tables).
    celsius = temperature - 273.15
    return 1006.0 * celsius + ratio * (2.501e6 + (1858.0 + 0.4 * celsius) * celsius)


def _bisect(function, low: float, high: float) -> float:
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if function(middle) > 0 else (middle, high)
    return 0.5 * (low + high)


def _check(name: str, value, low: float, high: float, unit: str) -> None:
    values = np.asarray(value, dtype=float)
    for each in (values.min(), values.max()):
        if not low <= each <= high:
            raise RangeError(name, float(each), f"{low:g} to {high:g} {unit}".strip())
