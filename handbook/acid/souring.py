"""Lactic acid of a vegetable ferment over time, by its salt and temperature."""

from __future__ import annotations

import numpy as np

from handbook.base.arrays import Floats
from handbook.base.errors import RangeError

#: Rate at which the sugars sour, 1/s per K2 above the minimum temperature [souring-rate], and its error factor.
SLOPE, LEAST, SPREAD = 3.1e-4 / 86400.0, 272.15, 1.8
#: Salt / (salt + water) up to which salt has no effect, and at which souring stops; maximum lactic acid that the
#: bacteria tolerate, kg/kg; lactic acid per sugar [souring-rate].
SALT_FREE, SALT_STOPS, MOST_ACID, PER_SUGAR = 0.03, 0.16, 0.023, 0.9
#: Lag until souring begins, in units of 1 / rate [souring-rate].
LAG = 0.12
_WARMEST = 313.15


def souring_rate(temperature: float, salt: float) -> float:
    """Share of the remaining sugars that sours per second.

    k = a (T - 272.15)^2 (1 - (s - 0.03) / 0.13)

    Parameters
    ----------
    temperature : float [K]
    salt : float [-]
        Salt / (salt + water).

    Returns
    -------
    float [1/s]; 0 where nothing sours

    Raises
    ------
    RangeError  warmer than 40 °C, where other bacteria are active

    Notes
    -----
    Source: [souring-rate], fitted to times of the trade: kraut about 20 days at 18 °C, 8 to 10 at 32 to 36 °C, half a
    year at 7.5 °C. Valid for shredded or cut vegetables, 2 to 36 °C; error x or / 1.8.

    Examples
    --------
    At 18 °C in 2.5 % salt a tenth of the remaining sugar sours in a day:

    >>> round(86400 * souring_rate(291.15, 0.025), 2)
    0.11
    """
    if temperature > _WARMEST:
        raise RangeError("temperature of the ferment in K", temperature, f"at most {_WARMEST:g}")
    warmth = max(temperature - LEAST, 0.0)
    brake = 1.0 - max(salt - SALT_FREE, 0.0) / (SALT_STOPS - SALT_FREE)
    return SLOPE * warmth**2 * max(brake, 0.0)


def lactic_acid(time: Floats, rate: float, sugars: float) -> Floats:
    """Lactic acid formed up to a time.

    A = min(0.9 w_sugars, 0.023) (1 - exp(-k (t - lag))), lag = 0.12 / k

    Parameters
    ----------
    time : array (n,) [s]
    rate : float [1/s]
    sugars : float [kg/kg]
        Of food and brine together.

    Returns
    -------
    array (n,) [kg/kg]

    Notes
    -----
    Source: [souring-rate]. Finished kraut holds 1.7 to 2.3 % [adams-moss]. Valid as ``souring_rate``.

    Examples
    --------
    >>> round(100 * float(lactic_acid(np.array([20 * 86400.0]), 0.113 / 86400, 0.032)[0]), 1)
    2.0
    """
    if rate <= 0:
        return np.zeros(len(time))
    most = min(PER_SUGAR * sugars, MOST_ACID)
    past = np.maximum(np.asarray(time) * rate - LAG, 0.0)
    made: Floats = most * -np.expm1(-past)
    return made
