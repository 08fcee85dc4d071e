"""Results of a heat run: curves and figures with their ranges."""

from __future__ import annotations

from functools import cached_property

import numpy as np
from msgspec import Struct

from handbook.base.arrays import Floats
from handbook.base.ranges import Range
from handbook.heat.evaporation import Isotherm
from handbook.uncertainty.sampling import Draws, ends, range_of, times_of


class HeatCurve(Struct, frozen=True):
    """A figure over time, arrays (n,): typical run, and the ends of its range."""

    low: Floats
    typical: Floats
    high: Floats


class TimeReached(Struct, frozen=True):
    """Time in s of an event; None where it does not happen within the run. ``share`` : of the samples that reach it."""

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


class Samples(Struct, frozen=True):
    """Every sample, arrays (s, n) over the times of the result, row 0 typical; ``draws`` are the inputs.

    dripped, evaporated : juice and water that have left so far [kg / kg green weight]
    clock : own time of each sample [s]; None where all samples share the time of the result. In a stage that ends at a
        core, each sample ends at its own time.
    moisture : at the surface, at the core and of the whole piece [kg / kg solids]; isotherm : of the food, with the glaze at the end
    """

    chamber: Floats
    core: Floats
    surface: Floats
    mean: Floats
    mass: Floats
    water: Floats
    dripped: Floats
    evaporated: Floats
    draws: Draws
    clock: Floats | None = None
    moisture: tuple[Floats, Floats, Floats] | None = None
    isotherm: Isotherm | None = None

    @property
    def inputs(self) -> dict[str, Floats]:
        """Name -> where each sample lies along the range of an input that varies, (s,): see UncertainInput.at."""
        return {name: positions for (name, _), positions in self.draws.varied.items()}


class StageFinish(Struct, frozen=True, kw_only=True):
    """When each sample reached the condition that ends the stage.

    reached : s from the start of the stage, (s,), row 0 typical; infinite where not within ``tested`` s
    """

    reached: Floats
    tested: float


class HeatStageResult(Struct, frozen=True, kw_only=True):
    """One stage at its end. Times in s from the start of the run, temperatures in K.

    ``mass_lost`` is the net loss / mass at the start of the stage (negative: gained); ``dripped``, ``evaporated`` and
    ``coated`` are / green weight. ``finish`` : set for a stage that ends at a core temperature or a lethality; ``end``
    is then that of the typical sample.
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
    evaporated: Range
    coated: float
    finish: StageFinish | None = None


class HeatResult(Struct, frozen=True, kw_only=True, dict=True):
    """Curves and stage figures of one run. ``time`` (n,) in s from the start of the first stage."""

    time: Floats
    samples: Samples
    stages: tuple[HeatStageResult, ...]

    @cached_property
    def chamber(self) -> HeatCurve:
        """Temperature of the surroundings in K."""
        return HeatCurve(*ends(self.samples.chamber))

    @cached_property
    def surface(self) -> HeatCurve:
        """Surface temperature in K, the mean over the faces of a block."""
        return HeatCurve(*ends(self.samples.surface))

    @cached_property
    def core(self) -> HeatCurve:
        """Core temperature in K."""
        return HeatCurve(*ends(self.samples.core))

    @cached_property
    def clock_ends(self) -> HeatCurve:
        """Times in s of the quickest, the typical and the slowest samples, at the times of the result."""
        return HeatCurve(*(np.broadcast_to(each, self.time.shape) for each in ends(np.atleast_2d(self.clock))))

    @property
    def clock(self) -> Floats:
        """Time in s of the samples, (n,) or (s, n): see Samples."""
        return self.time if self.samples.clock is None else self.samples.clock

    @property
    def yield_(self) -> Range:
        """Mass at the end / green weight."""
        return range_of(self.samples.mass[:, -1])

    def reached(self, times: Floats) -> TimeReached:
        """Range of one time per sample.

        share = samples with a finite time / all samples

        Parameters
        ----------
        times : array (s,) [s]
            Row 0 typical; infinite where not reached.

        Returns
        -------
        TimeReached [s]

        Notes
        -----
        Source: [jcgm-101-2008]; see handbook/uncertainty/sampling.py. Valid for any number of samples.

        Examples
        --------
        >>> HeatResult(time=np.zeros(1), samples=None, stages=()).reached(np.array([np.inf])).status
        'never'
        """
        return TimeReached(*times_of(times), float(np.isfinite(times).mean()))

    def dominating(self, values: Floats) -> str:
        """Name of the uncertain input that moves a result the most; "" where nothing varies.

        strength = r_s^2, with Spearman's rank correlation r_s of input and result

        Parameters
        ----------
        values : array (s,)

        Returns
        -------
        str

        Notes
        -----
        Source: rank correlation, see handbook/uncertainty/sampling.py. Valid from about 30 samples.

        Examples
        --------
        >>> none = Samples(*[np.ones((1, 1))] * 8, Draws([], 0))
        >>> HeatResult(time=np.zeros(1), samples=none, stages=()).dominating(np.ones(1))
        ''
        """
        return next((name for (name, _), _ in self.samples.draws.parts_of_spread(values)), "")

    def core_times(self, target: float, start: float) -> Floats:
        """Time from ``start`` until the core first reaches a temperature, in each sample.

        T_core(start + t) = target

        Parameters
        ----------
        target : float [K]
        start : float [s]

        Returns
        -------
        array (s,) [s]; infinite where never

        Notes
        -----
        Source: geometry of a polyline; no empirical constant. Valid as ``crossing``.

        Examples
        --------
        >>> rising = Samples(*[np.array([[280.0, 300.0]])] * 8, Draws([], 0))
        >>> HeatResult(time=np.array([0.0, 60.0]), samples=rising, stages=()).core_times(290.0, 0.0).tolist()
        [30.0]
        """
        if self.samples.clock is None:
            return crossing(self.time, self.samples.core, target, start) - start
        begin = self.samples.clock[:, np.searchsorted(self.time, start)]
        return crossing(self.samples.clock, self.samples.core, target, begin) - begin

    def core_time(self, target: float, start: float = 0.0) -> TimeReached:
        """Range of ``core_times`` over the samples."""
        return self.reached(self.core_times(target, start))

    def mass_loss_time(self, fraction: float, stage: int) -> TimeReached:
        """Time from the start of a stage until it has lost a fraction of its start mass.

        1 - m(t) / m(start) = fraction

        Parameters
        ----------
        fraction : float [-]
        stage : int
            Index of the stage.

        Returns
        -------
        TimeReached [s]

        Notes
        -----
        Source: mass balance; no empirical constant. Valid as ``crossing``.

        Examples
        --------
        >>> none = Range.exact(0.0)
        >>> stage = HeatStageResult(name="dry", start=0.0, end=60.0, core=none, highest_core=none, surface=none, mean=none,
        ...                         mass_lost=none, dripped=none, evaporated=none, coated=0.0)
        >>> drying = Samples(*[np.array([[1.0, 0.98]])] * 8, Draws([], 0))
        >>> result = HeatResult(time=np.array([0.0, 60.0]), samples=drying, stages=(stage,))
        >>> round(result.mass_loss_time(0.01, 0).typical)
        30
        """
        begin, end = self.stages[stage].start, self.stages[stage].end
        inside = (self.time >= begin) & (self.time <= end)
        mass = self.samples.mass[:, inside]
        lost = 1.0 - mass / mass[:, :1]
        if self.samples.clock is None:
            return self.reached(crossing(self.time[inside], lost, fraction, begin) - begin)
        clock = self.samples.clock[:, inside]
        return self.reached(crossing(clock, lost, fraction, clock[:, 0]) - clock[:, 0])


def crossing(time: Floats, values: Floats, target: float, start: float | Floats) -> Floats:
    """First time at or after ``start`` at which each row is at or above ``target``.

    t = t_i + (target - x_i) / (x_(i+1) - x_i) (t_(i+1) - t_i)

    Parameters
    ----------
    time : array (n,) or (s, n) [s]
        Rising.
    values : array (s, n)
    target : float, in the unit of ``values``
    start : float or array (s,) [s]

    Returns
    -------
    array (s,) [s]; infinite where never

    Notes
    -----
    Source: geometry of a polyline; no empirical constant.
    Valid for any rising times; exact for straight lines between the points.

    Examples
    --------
    >>> crossing(np.array([0.0, 60.0]), np.array([[280.0, 300.0], [280.0, 281.0]]), 290.0, 0.0).tolist()
    [30.0, inf]
    """
    time = np.broadcast_to(time, values.shape)
    above = (values >= target) & (time >= np.expand_dims(start, -1))
    first = above.argmax(-1)
    rows = np.arange(values.shape[0])
    before = np.maximum(first - 1, 0)
    rise = values[rows, first] - values[rows, before]
    share = np.where(rise > 0, (target - values[rows, before]) / np.where(rise > 0, rise, 1.0), 1.0)
    times = time[rows, before] + np.clip(share, 0.0, 1.0) * (time[rows, first] - time[rows, before])
    return np.where(above.any(-1), np.maximum(times, start), np.inf)
