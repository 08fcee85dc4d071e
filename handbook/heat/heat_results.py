"""What a run gives: curves and figures with their ranges."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from handbook.base.arrays import Floats
from handbook.base.ranges import Range
from handbook.uncertainty.sampling import Draws, ends, range_of, times_of


@dataclass(frozen=True)
class HeatCurve:
    """A figure over time, arrays (n,): typical, and the ends of its range."""

    low: Floats
    typical: Floats
    high: Floats


@dataclass(frozen=True)
class TimeReached:
    """Time in s at which something happens; None where it does not within the run. ``share`` of samples reach it."""

    low: float | None
    typical: float | None
    high: float | None
    share: float

    @property
    def status(self) -> str:
        """ "always" in the whole range, "never" in any sample, else "sometimes"."""
        if self.share == 0.0:
            return "never"
        return "sometimes" if self.high is None or self.typical is None else "always"


@dataclass(frozen=True)
class Samples:
    """Every sample, arrays (s, n) over the times of the result, row 0 typical; ``draws`` are the inputs."""

    chamber: Floats
    core: Floats
    surface: Floats
    mean: Floats
    mass: Floats
    water: Floats
    draws: Draws

    @property
    def inputs(self) -> dict[str, Floats]:
        """Name -> where each sample lies along the range of an input that varies, (s,): see UncertainInput.at."""
        return {name: positions for (name, _), positions in self.draws.varied.items()}


@dataclass(frozen=True, kw_only=True)
class HeatStageResult:
    """One stage at its end. Times in s from the start of the run, temperatures in K.

    ``mass_lost`` is the net loss / mass at the start of the stage (negative: gained); ``dripped`` and
    ``coated`` are / green weight.
    """

    name: str
    start: float
    end: float
    core: Range
    highest_core: Range
    surface: Range
    mean: Range
    mass_lost: Range
    dripped: Range
    coated: float


@dataclass(frozen=True, kw_only=True)
class HeatResult:
    """Curves and stage figures of one run. ``time`` (n,) in s from the start of the first stage."""

    time: Floats
    samples: Samples
    stages: tuple[HeatStageResult, ...]

    @cached_property
    def chamber(self) -> HeatCurve:
        """Temperature of the surroundings in K."""
        return self._curve(self.samples.chamber)

    @cached_property
    def surface(self) -> HeatCurve:
        """Surface temperature in K, the mean over the faces of a block."""
        return self._curve(self.samples.surface)

    @cached_property
    def core(self) -> HeatCurve:
        """Core temperature in K."""
        return self._curve(self.samples.core)

    @cached_property
    def mean(self) -> HeatCurve:
        """Mean temperature of the piece in K."""
        return self._curve(self.samples.mean)

    @cached_property
    def mass(self) -> HeatCurve:
        """Mass now / green weight, coatings in it."""
        return self._curve(self.samples.mass)

    @cached_property
    def water(self) -> HeatCurve:
        """Water now / green weight, water of coatings in it."""
        return self._curve(self.samples.water)

    @property
    def yield_(self) -> Range:
        """Mass at the end / green weight."""
        return self.range_of(self.samples.mass[:, -1])

    def range_of(self, values: Floats) -> Range:
        """The range of one value per sample, shape (s,)."""
        return range_of(values)

    def reached(self, times: Floats) -> TimeReached:
        """The range of one time in s per sample, shape (s,), infinite where not reached."""
        return TimeReached(*times_of(times), float(np.isfinite(times).mean()))

    def dominating(self, values: Floats) -> str:
        """Name of the uncertain input that moves one value per sample, shape (s,), the most; "" where nothing does."""
        return next((name for (name, _), _ in self.samples.draws.parts_of_spread(values)), "")

    def core_times(self, target: float, start: float = 0.0) -> Floats:
        """Time in s from ``start`` until the core first is at ``target`` K, shape (s,), infinite if never."""
        return crossing(self.time, self.samples.core, target, start) - start

    def core_time(self, target: float, start: float = 0.0) -> TimeReached:
        """The range of ``core_times``."""
        return self.reached(self.core_times(target, start))

    def mass_loss_time(self, fraction: float, stage: int) -> TimeReached:
        """Time in s from the start of ``stage`` (a number from 0) until it lost ``fraction`` of its start mass."""
        begin, end = self.stages[stage].start, self.stages[stage].end
        inside = (self.time >= begin) & (self.time <= end)
        mass = self.samples.mass[:, inside]
        return self.reached(crossing(self.time[inside], 1.0 - mass / mass[:, :1], fraction, begin) - begin)

    def _curve(self, values: Floats) -> HeatCurve:
        return HeatCurve(*ends(values))


def crossing(time: Floats, values: Floats, target: float, start: float = 0.0) -> Floats:
    """First time at or after ``start`` at which each row of ``values`` (s, n) is at or above ``target``.

    Straight between the times (n,); shape (s,), infinite where it never is.
    """
    above = (values >= target) & (time >= start)
    first = above.argmax(-1)
    rows = np.arange(values.shape[0])
    before = np.maximum(first - 1, 0)
    rise = values[rows, first] - values[rows, before]
    share = np.where(rise > 0, (target - values[rows, before]) / np.where(rise > 0, rise, 1.0), 1.0)
    times = time[before] + np.clip(share, 0.0, 1.0) * (time[first] - time[before])
    return np.where(above.any(-1), np.maximum(times, start), np.inf)
