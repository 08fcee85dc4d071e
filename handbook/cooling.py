"""How long a curve takes to fall between temperatures, to compare with cooling limits in stages."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from handbook.temperature_curve import fall_moments

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


def cooling_times(result: HeatResult, limits: Sequence[CoolingLimit]) -> tuple[CoolingTime, ...]:
    """Each limit against the core of a heat run, with ranges over its samples."""
    return tuple(_cooling_time(result, limit) for limit in limits)


def _cooling_time(result: HeatResult, limit: CoolingLimit) -> CoolingTime:
    start, end = fall_moments(result.time, result.samples.core, limit.warm, limit.cold)
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
