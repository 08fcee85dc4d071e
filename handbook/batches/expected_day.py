"""The time at which a batch is expected to reach a loss of weight or a pH, fitted to what was measured so far.

The fit uses only the batch's own measurements, without a model of its food. It uses one family of curves. Its range is
that of all curves of the family that agree with the measurements, and there is no result while they are too few.

- Loss: L = e (1 - exp(-(t / tau)^m)), the form by which thin-layer drying is usually fitted (Page 1949; from memory), towards
  an end e. m = 1 is a rate in proportion to the remaining loss; m = 1/2 begins with the square root of time, as where
  diffusion inside the piece limits the loss.
- pH: pH = e + (p - e) exp(-((t - lag) / tau)^m), a fall from p towards an end e; m above 1 begins slowly.

The measurement errors and the priors of e and m are estimates of the handbook; no source gives them for a kitchen.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from handbook.base.arrays import Floats

WEIGHING_ERROR = 0.005  # of green weight: scale and drip
PH_ERROR = 0.07  # pH: meter or good strip, and place of measurement
#: Mean and spread of the prior of m, and of the end: loss beyond the target (its logarithm), pH below it.
_LOSS_SHAPE, _LOSS_END = (0.80, 0.20), (np.log(0.20), 1.0)
_PH_SHAPE, _PH_END = (1.6, 0.9), (0.7, 0.4)
_LEAST_PH, _USUAL_END = 3.2, 3.5  # below which, and about where, lactic ferments end (common practice, no source)
_ALLOWED = 3.6  # chi-square: between one free figure (90 %: 2.7) and two (4.6), tried against other curves in the tests
_LONGEST = 400 * 86400.0
_LEAST_FALL = 0.15  # pH


class Expected(Struct, frozen=True, kw_only=True):
    """Earliest, likely and latest time in s since the beginning; ``reached`` is the time at which it was measured.

    ``why`` is the reason why no time can be given.
    """

    low: float | None = None
    typical: float | None = None
    high: float | None = None
    reached: float | None = None
    why: str = ""


def expected_loss(points: list[tuple[float, float]], begin: tuple[float, float], reach: float) -> Expected:
    """Expected time of a loss of weight.

    Parameters
    ----------
    points : (s, loss of green weight) as measured, later than ``begin``
    begin : (s, loss) at which drying began
    reach : loss of green weight to reach
    """
    after = sorted(each for each in points if each[0] > begin[0])
    if (at := _crossed([begin, *after], reach, rising=True)) is not None:
        return Expected(reached=at)
    if not after:
        return Expected(why="no weight since it began to dry")
    time, loss = np.array(after).T
    time, loss = time - begin[0], loss - begin[1]
    if loss[-1] < 2 * WEIGHING_ERROR:
        return Expected(why="it has not lost enough to tell")
    beyond = np.geomspace(0.02, 1.5, 18)
    ends = reach - begin[1] + beyond
    shapes = np.linspace(0.5, 1.1, 13)
    # At this m and end the last measurement gives tau nearly; the grid goes around it.
    near = time[-1] / (-np.log(1 - loss[-1] / ends[:, None])) ** (1 / shapes)
    taus = near[:, :, None] * np.geomspace(0.7, 1.45, 41)
    curves = ends[:, None, None, None] * -np.expm1(-((time / taus[..., None]) ** shapes[:, None, None]))
    total = (((loss - curves) / WEIGHING_ERROR) ** 2).sum(axis=3)
    total = total + _prior(np.log(beyond), _LOSS_END)[:, None, None] + _prior(shapes, _LOSS_SHAPE)[:, None]
    times = taus * ((-np.log(1 - (reach - begin[1]) / ends))[:, None] ** (1 / shapes))[:, :, None]
    return _spread(begin[0] + times, total, time[-1] + begin[0])


def expected_ph(points: list[tuple[float, float]], reach: float) -> Expected:
    """Expected time of a pH, from measured (s, pH)."""
    known = sorted(points)
    if (at := _crossed(known, reach, rising=False)) is not None:
        return Expected(reached=at)
    if len(known) < 2:
        return Expected(why="one pH tells no course: measure again" if known else "no pH was measured")
    time, ph = np.array(known).T
    start, fallen = float(ph[0]), float(ph[0] - ph[-1])
    if fallen < _LEAST_FALL:
        return Expected(why="its pH does not fall yet")
    ends = np.linspace(max(reach - 1.6, min(_LEAST_PH, reach - 0.2)), reach - 0.05, 14)[:, None, None, None]
    shapes = np.array([0.8, 1.1, 1.6, 2.3, 3.2, 4.5])[:, None, None]
    lags = np.linspace(time[0], time[0] + 0.8 * (time[-1] - time[0]), 7)[:, None]
    taus = np.geomspace(3 * 3600.0, 60 * 86400.0, 80)
    since = np.maximum(time - lags[..., None], 0.0)
    curves = ends[..., None] + (start - ends)[..., None] * np.exp(-((since / taus[:, None]) ** shapes[..., None]))
    total = (((ph - curves) / PH_ERROR) ** 2).sum(axis=4)
    total = total + _prior(ends, (max(reach - _PH_END[0], _USUAL_END), _PH_END[1])) + _prior(shapes, _PH_SHAPE)
    times = lags + taus * np.log((start - ends) / (reach - ends)) ** (1 / shapes)
    return _spread(times, total, float(time[-1]))


def _prior(values: Floats, mean_and_spread: tuple[float, float]) -> Floats:
    mean, spread = mean_and_spread
    return np.asarray(((values - mean) / spread) ** 2)


def _crossed(points: list[tuple[float, float]], reach: float, rising: bool) -> float | None:
    """Time at which the measurements crossed ``reach``, interpolated linearly."""
    for number, (at, value) in enumerate(points):
        if (value >= reach) if rising else (value <= reach):
            if number == 0:
                return at
            before, older = points[number - 1]
            return at if value == older else before + (at - before) * (reach - older) / (value - older)
    return None


def _spread(times: Floats, misses: Floats, now: float) -> Expected:
    """The range of times of all curves that agree with the measurements, none before the last measurement."""
    times, misses = times.ravel(), misses.ravel()
    allowed = misses <= misses.min() + _ALLOWED
    likely = float(times[int(misses.argmin())])
    low, high = float(times[allowed].min()), float(times[allowed].max())
    if not np.isfinite(likely) or likely > _LONGEST:
        return Expected(why="at this rate not within 400 days")
    return Expected(low=max(low, now), typical=max(likely, now), high=min(max(high, now), _LONGEST))
