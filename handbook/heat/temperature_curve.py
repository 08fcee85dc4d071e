"""Hold, dwell and cooling times of a temperature curve.

A curve is a set of points joined by straight lines: ``time`` of shape (n,) in s, rising, and ``temperature`` of shape
(..., n) in K. One call therefore serves all samples of a run. Every reader of a core curve uses these functions.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from handbook.base.arrays import Floats


def hold_time(time: npt.ArrayLike, temperature: npt.ArrayLike, at_least: float) -> Floats:
    """Longest unbroken time at or above a temperature.

    t_hold = max(t_2 - t_1) with T(t) >= T_hold for all t_1 <= t <= t_2

    Parameters
    ----------
    time : array (n,) [s]
        Rising.
    temperature : array (..., n) [K]
    at_least : float [K]

    Returns
    -------
    array (...) [s]

    Notes
    -----
    Source: geometry of a polyline; no empirical constant.
    Valid for any rising times; exact for straight lines between the points.

    Examples
    --------
    >>> float(hold_time([0, 60, 120, 180], [330, 340, 340, 330], 335))
    120.0
    """
    time, temperature = _arrays(time, temperature)
    held = share_between(temperature, at_least, np.inf) * np.diff(time)
    # Total time held up to each point, less the total when the point's unbroken span began.
    total = np.cumsum(held, -1)
    begins = np.where(temperature[..., :-1] >= at_least, 0.0, total - held)
    longest: Floats = np.max(total - np.maximum.accumulate(begins, -1), -1, initial=0.0)
    return longest


def time_in_range(time: npt.ArrayLike, temperature: npt.ArrayLike, low: float, high: float) -> Floats:
    """Total time from one temperature up to, but not at, another.

    t = sum of s_i (t_(i+1) - t_i), with s_i of ``share_between``

    Parameters
    ----------
    time : array (n,) [s]
        Rising.
    temperature : array (..., n) [K]
    low, high : float [K]

    Returns
    -------
    array (...) [s]

    Notes
    -----
    Source: geometry of a polyline; no empirical constant.
    Valid for any rising times; exact for straight lines between the points.

    Examples
    --------
    >>> float(time_in_range([0, 600, 1200], [280, 300, 300], 290, 301))
    900.0
    """
    time, temperature = _arrays(time, temperature)
    total: Floats = (share_between(temperature, low, high) * np.diff(time)).sum(-1)
    return total


def fall_time(time: npt.ArrayLike, temperature: npt.ArrayLike, warm: float, cold: float) -> Floats:
    """Cooling time from the last fall below ``warm`` to the first time at or below ``cold``.

    t_fall = t_cold - t_warm

    Parameters
    ----------
    time : array (n,) [s]
        Rising.
    temperature : array (..., n) [K]
    warm, cold : float [K]
        warm > cold.

    Returns
    -------
    array (...) [s]; infinite where the curve never reaches ``cold``, 0 where it never was above ``warm``

    Notes
    -----
    Source: geometry of a polyline; no empirical constant.
    Valid for any rising times; exact for straight lines between the points.

    Examples
    --------
    >>> float(fall_time([0, 3600, 7200], [333.15, 313.15, 273.15], 330.15, 293.15)) / 3600
    1.35
    """
    time, temperature = _arrays(time, temperature)
    count = time.size
    above = temperature > warm
    was_warm = above.any(-1)
    last = count - 1 - above[..., ::-1].argmax(-1)
    start = np.where(last == count - 1, time[-1], _crossing(time, temperature, last, warm))
    cold_enough = (temperature <= cold) & (np.arange(count) > last[..., None])
    first = cold_enough.argmax(-1)
    end = np.where(cold_enough.any(-1), _crossing(time, temperature, np.maximum(first - 1, 0), cold), np.inf)
    return np.where(was_warm, end - start, 0.0)


def share_between(temperature: Floats, low: float, high: float) -> Floats:
    """Share of each interval that the line spends from ``low`` up to, but not at, ``high``.

    s = (min(T_max, high) - max(T_min, low)) / (T_max - T_min), 0 <= s

    Parameters
    ----------
    temperature : array (..., n) [K]
    low, high : float [K]
        ``high`` may be infinite. Adjoining ranges count their common end once.

    Returns
    -------
    array (..., n - 1) [-]

    Notes
    -----
    Source: geometry of a polyline; no empirical constant. Valid for any temperatures.

    Examples
    --------
    >>> share_between(np.array([280.0, 300.0]), 290.0, np.inf).tolist()
    [0.5]
    """
    first, second = temperature[..., :-1], temperature[..., 1:]
    bottom, top = np.minimum(first, second), np.maximum(first, second)
    inside = np.minimum(top, high) - np.maximum(bottom, low)
    level = top == bottom
    at = (bottom >= low) & (bottom < high)
    return np.where(level, at, np.clip(inside, 0.0, None) / np.where(level, 1.0, top - bottom))


def _arrays(time: npt.ArrayLike, temperature: npt.ArrayLike) -> tuple[Floats, Floats]:
    return np.asarray(time, dtype=float), np.asarray(temperature, dtype=float)


def _crossing(time: Floats, temperature: Floats, before: npt.NDArray[np.intp], target: float) -> Floats:
    # Time at which the straight line after index ``before`` meets the target.
    after = np.minimum(before + 1, time.size - 1)
    first = np.take_along_axis(temperature, before[..., None], -1)[..., 0]
    second = np.take_along_axis(temperature, after[..., None], -1)[..., 0]
    drop = np.where(first == second, 1.0, first - second)
    return time[before] + np.clip((first - target) / drop, 0.0, 1.0) * (time[after] - time[before])
