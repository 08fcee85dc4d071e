"""How long a curve takes to fall between temperatures, to compare with cooling limits in stages."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from handbook.heat_result import HeatResult, Reached


@dataclass(frozen=True)
class CoolingLimit:
    """One stage of a cooling rule: from ``warm`` to ``cold`` in K within ``allowed`` s."""

    warm: float
    cold: float
    allowed: float
    name: str = ""


@dataclass(frozen=True)
class CoolingTime:
    """How one curve stands to one stage: ``time`` in s (None ends: not cold within the run).

    ``was_warm`` is the share of samples that were above ``limit.warm`` at all. ``elapsed`` is the least s that
    passed since the fall through ``warm`` in samples that are not cold at the end. ``within`` is "always", "never" or
    "sometimes" for the whole range; "unknown" when the run ends too soon to tell.
    """

    limit: CoolingLimit
    time: Reached
    was_warm: float
    elapsed: float | None
    within: str


def time_between(time, temperature, warm: float, cold: float) -> np.ndarray:
    """Time in s from the last fall through ``warm`` to the first time at or below ``cold`` (K), shape (...).

    ``time`` (n,) in s, ``temperature`` (..., n) in K, straight between the times. Infinite when the curve does not
    get there; 0 when it never was above ``warm``.

    >>> float(time_between([0, 3600, 7200], [333.15, 313.15, 273.15], 330.15, 293.15)) / 3600
    1.35
    """
    start, end = _fall(time, temperature, warm, cold)
    return np.where(np.isnan(start), 0.0, end - np.where(np.isnan(start), 0.0, start))


def cooling_times(result: HeatResult, limits: Sequence[CoolingLimit]) -> tuple[CoolingTime, ...]:
    """Each limit against the core of a heat run, with ranges over its samples."""
    return tuple(_cooling_time(result, limit) for limit in limits)


def _cooling_time(result: HeatResult, limit: CoolingLimit) -> CoolingTime:
    start, end = _fall(result.time, result.samples.core, limit.warm, limit.cold)
    was_warm = ~np.isnan(start)
    seconds = np.where(was_warm, end - np.where(was_warm, start, 0.0), 0.0)
    missing = was_warm & ~np.isfinite(end)
    elapsed = float((result.time[-1] - start[missing]).min()) if missing.any() else None
    reached = result.reached(seconds)
    ends = [np.inf if each is None else each for each in (reached.low, reached.typical, reached.high)]
    if max(ends) <= limit.allowed:
        within = "always"
    elif not all(np.isfinite(ends)) and elapsed is not None and elapsed < limit.allowed:
        within = "unknown"
    else:
        within = "never" if min(ends) > limit.allowed else "sometimes"
    return CoolingTime(limit, reached, float(was_warm.mean()), elapsed, within)


def _fall(time, temperature, warm: float, cold: float) -> tuple[np.ndarray, np.ndarray]:
    # Times of the last fall through warm (NaN: never above) and of the first time at cold after it (infinite: never).
    time, temperature = np.asarray(time, dtype=float), np.asarray(temperature, dtype=float)
    count = time.size
    above = temperature > warm
    was_warm = above.any(-1)
    last = count - 1 - above[..., ::-1].argmax(-1)
    start = np.where(last == count - 1, time[-1], _crossing(time, temperature, last, warm))
    cold_enough = (temperature <= cold) & (np.arange(count) > last[..., None])
    first = cold_enough.argmax(-1)
    end = np.where(cold_enough.any(-1), _crossing(time, temperature, np.maximum(first - 1, 0), cold), np.inf)
    return np.where(was_warm, start, np.nan), end


def _crossing(time: np.ndarray, temperature: np.ndarray, before: np.ndarray, target: float) -> np.ndarray:
    # Where the straight line after index ``before`` meets the target.
    after = np.minimum(before + 1, time.size - 1)
    first = np.take_along_axis(temperature, before[..., None], -1)[..., 0]
    second = np.take_along_axis(temperature, after[..., None], -1)[..., 0]
    drop = np.where(first == second, 1.0, first - second)
    return time[before] + np.clip((first - target) / drop, 0.0, 1.0) * (time[after] - time[before])
