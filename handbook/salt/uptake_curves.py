"""Ranges of the curves and times of an uptake run."""

from __future__ import annotations

import numpy as np

from handbook.base.arrays import Floats
from handbook.salt.uptake_records import FOOD_CURVES, ArrayRange, TimeRange, UptakeCurve
from handbook.uncertainty.sampling import ends, times_of


def curve(seconds: Floats, figures: dict[str, Floats]) -> UptakeCurve:
    """Curve of the figures, each with its range.

    P(x < low) = P(x > high) = 0.05

    Parameters
    ----------
    seconds : array (t,) [s]
    figures : dict of arrays (n, t) [-]

    Returns
    -------
    UptakeCurve

    Notes
    -----
    Source: [jcgm-101-2008]; see handbook/uncertainty/sampling.py. Valid for any number of samples.

    Examples
    --------
    >>> curve(np.zeros(1), {name: np.full((1, 1), 0.02) for name in FOOD_CURVES}).water_phase_mean.typical.tolist()
    [0.02]
    """
    present = [name for name in (*FOOD_CURVES, "bath_water_phase_salt") if name in figures]
    low, typical, high = ends(np.stack([figures[name] for name in present], axis=1))
    bands = {name: ArrayRange(low=low[at], typical=typical[at], high=high[at]) for at, name in enumerate(present)}
    return UptakeCurve(seconds=seconds, bath_water_phase_salt=bands.pop("bath_water_phase_salt", None), **bands)


def time_range(values: Floats) -> TimeRange:
    """Range of times, with None for infinite ones.

    P(t < low) = P(t > high) = 0.05

    Parameters
    ----------
    values : array (n,) [s]

    Returns
    -------
    TimeRange [s]

    Notes
    -----
    Source: [jcgm-101-2008]; see handbook/uncertainty/sampling.py. Valid for any number of samples.

    Examples
    --------
    >>> time_range(np.array([60.0, np.inf]))
    TimeRange(low=60.0, typical=60.0, high=None)
    """
    return TimeRange(*times_of(values))
