"""Degree-hours of a sausage that hangs warm to sour."""

from __future__ import annotations

import numpy as np

from handbook.base.arrays import Floats
from handbook.base.ranges import Range

#: K; the temperature above which degree-hours count, 60 °F [degree-hours-rule].
BASE = 288.706
HOUR = 3600.0


def degree_hours(time: Floats, temperature: Floats) -> float:
    """Degree-hours above the base temperature.

    H = integral of max(T - T_base, 0) dt

    Parameters
    ----------
    time : array (n,) [s]
        Rising.
    temperature : array (n,) [K]
        Of the chamber, or of the sausage.

    Returns
    -------
    float [K h]

    Notes
    -----
    Source: [degree-hours-rule]; exact for straight lines that do not cross the base between two times.
    Valid for any temperatures. The rule counts until the pH is 5.3 or lower, at the highest chamber temperature.

    Examples
    --------
    80 hours at 75 °F are 1200 °F-hours, the printed limit, or 667 K h:

    >>> round(degree_hours(np.array([0.0, 80 * 3600.0]), np.full(2, 297.039)))
    667
    """
    above = np.maximum(np.asarray(temperature) - BASE, 0.0)
    return float(np.sum(0.5 * (above[1:] + above[:-1]) * np.diff(time)) / HOUR)


def hours_allowed(chamber: float, limit: float) -> float:
    """Time at one chamber temperature until a limit of degree-hours.

    t = H / (T - T_base)

    Parameters
    ----------
    chamber : float [K]
    limit : float [K h]

    Returns
    -------
    float [s]; infinite at or below the base

    Notes
    -----
    Source: [degree-hours-rule]. Valid for a steady chamber.

    Examples
    --------
    >>> round(hours_allowed(297.039, 1200 / 1.8) / 3600)
    80
    """
    return float("inf") if chamber <= BASE else limit / (chamber - BASE) * HOUR


def warm_hours(spans: tuple[tuple[Range, Range], ...]) -> Range:
    """Degree-hours of warm spans, each a temperature in K and a time in s.

    H = sum of max(T - T_base, 0) t, at the low, middle and high ends of both

    Parameters
    ----------
    spans : tuple of (Range [K], Range [s])

    Returns
    -------
    Range [K h]

    Notes
    -----
    Source: [degree-hours-rule]. Valid for steady spans; the rule counts the high end.

    Examples
    --------
    >>> warm_hours(((Range(295.0, 297.0, 299.0), Range.exact(48 * 3600.0)),)).typical > 390
    True
    """
    low, typical, high = (
        sum(
            degree_hours(np.array([0.0, getattr(time, end)]), np.full(2, getattr(around, end)))
            for around, time in spans
        )
        for end in ("low", "typical", "high")
    )
    return Range(low, typical, high)
