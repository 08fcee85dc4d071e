"""What a temperature curve did: how long it held, how long it stayed in a range, how long it took to fall.

Curves are points joined by straight lines: ``time`` of shape (n,) in s, rising; ``temperature`` of shape (..., n) in
K, so that all samples of a run are one call. Every reader of a core curve uses these functions.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from handbook.base.arrays import Floats


def hold_time(time: npt.ArrayLike, temperature: npt.ArrayLike, at_least: float) -> Floats:
    """Longest unbroken time in s at or above ``at_least`` K, shape (...).

    >>> float(hold_time([0, 60, 120, 180], [330, 340, 340, 330], 335))
    120.0
    """
    time, temperature = _arrays(time, temperature)
    held = share_between(temperature, at_least, np.inf) * np.diff(time)
    warm = temperature >= at_least
    longest = running = np.zeros(temperature.shape[:-1])
    for number in range(time.size - 1):
        running = np.where(warm[..., number], running + held[..., number], held[..., number])
        longest = np.maximum(longest, running)
        running = np.where(warm[..., number + 1], running, 0.0)
    return longest


def time_in_range(time: npt.ArrayLike, temperature: npt.ArrayLike, low: float, high: float) -> Floats:
    """Total time in s from ``low`` up to, not at, ``high`` K, shape (...)."""
    time, temperature = _arrays(time, temperature)
    total: Floats = (share_between(temperature, low, high) * np.diff(time)).sum(-1)
    return total


def fall_time(time: npt.ArrayLike, temperature: npt.ArrayLike, warm: float, cold: float) -> Floats:
    """Time in s from the last fall through ``warm`` to the first time at or below ``cold`` (K), shape (...).

    Infinite when the curve does not get there; 0 when it never was above ``warm``.

    >>> float(fall_time([0, 3600, 7200], [333.15, 313.15, 273.15], 330.15, 293.15)) / 3600
    1.35
    """
    start, end = fall_moments(time, temperature, warm, cold)
    never_warm = np.isnan(start)
    return np.where(never_warm, 0.0, end - np.where(never_warm, 0.0, start))


def fall_moments(time: npt.ArrayLike, temperature: npt.ArrayLike, warm: float, cold: float) -> tuple[Floats, Floats]:
    """Moments in s of the last fall through ``warm`` (NaN: never above) and of the first time at ``cold`` after it
    (infinite: never), each of shape (...)."""
    time, temperature = _arrays(time, temperature)
    count = time.size
    above = temperature > warm
    was_warm = above.any(-1)
    last = count - 1 - above[..., ::-1].argmax(-1)
    start = np.where(last == count - 1, time[-1], _crossing(time, temperature, last, warm))
    cold_enough = (temperature <= cold) & (np.arange(count) > last[..., None])
    first = cold_enough.argmax(-1)
    end = np.where(cold_enough.any(-1), _crossing(time, temperature, np.maximum(first - 1, 0), cold), np.inf)
    return np.where(was_warm, start, np.nan), end


def share_between(temperature: Floats, low: float, high: float) -> Floats:
    """Share of each interval that the line spends from ``low`` up to, not at, ``high``: joined ranges count once."""
    first, second = temperature[..., :-1], temperature[..., 1:]
    bottom, top = np.minimum(first, second), np.maximum(first, second)
    inside = np.minimum(top, high) - np.maximum(bottom, low)
    level = top == bottom
    at = (bottom >= low) & (bottom < high)
    return np.where(level, at, np.clip(inside, 0.0, None) / np.where(level, 1.0, top - bottom))


def _arrays(time: npt.ArrayLike, temperature: npt.ArrayLike) -> tuple[Floats, Floats]:
    return np.asarray(time, dtype=float), np.asarray(temperature, dtype=float)


def _crossing(time: Floats, temperature: Floats, before: npt.NDArray[np.intp], target: float) -> Floats:
    # Where the straight line after index ``before`` meets the target.
    after = np.minimum(before + 1, time.size - 1)
    first = np.take_along_axis(temperature, before[..., None], -1)[..., 0]
    second = np.take_along_axis(temperature, after[..., None], -1)[..., 0]
    drop = np.where(first == second, 1.0, first - second)
    return time[before] + np.clip((first - target) / drop, 0.0, 1.0) * (time[after] - time[before])
