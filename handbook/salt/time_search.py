"""Search for the time of an event on curves of all samples at once."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from handbook.base.arrays import Floats

#: First and last D t / L^2 of a search, and the number of times; a piece is in equilibrium with its bath long before the last.
_FIRST_FOURIER, _LAST_FOURIER, _TIMES = 3e-5, 12.0, 32


def search_times(last: float = _LAST_FOURIER) -> Floats:
    """Times at which to look for an event, rising geometrically from nearly 0 to long after equilibrium.

    t_i = t_first (t_last / t_first)^(i / 31)

    Parameters
    ----------
    last : float [-]
        D t / L^2.

    Returns
    -------
    array (1, 32) [-], D t / L^2

    Notes
    -----
    Source: numerical choice. Valid for shapes whose slowest time constant is below ``last``.

    Examples
    --------
    >>> search_times()[:, [0, -1]].tolist()
    [[3e-05, 12.0]]
    """
    return np.geomspace(_FIRST_FOURIER, last, _TIMES)[None]


def time_reached(above: Callable[[Floats], Floats], times: Floats, rounds: int = 4) -> Floats:
    """Times from which each question's value stays at or above 0.

    f(t) = 0, by regula falsi (Illinois) inside the last bracket

    Parameters
    ----------
    above : function of times (n, t) to values (questions, n, t)
    times : array (n, t) or (1, t) [-]
        Rising, covering the event.
    rounds : int
        Iterations.

    Returns
    -------
    array (questions, n) [-]; 0 where the value is at or above 0 at all times, inf where it is below 0 at the last

    Notes
    -----
    Source: numerical method; no empirical constant. Valid where ``times`` resolves the last change of sign.

    Examples
    --------
    >>> time_reached(lambda times: (times - 2.0)[None], np.array([[1.0, 3.0]])).tolist()
    [[2.0]]
    """
    on_grid = above(times)
    times = np.broadcast_to(times, on_grid.shape[1:])
    below = on_grid < 0
    last = times.shape[1] - 1 - np.argmax(below[:, :, ::-1], axis=2)
    inside = below.any(axis=2) & (last < times.shape[1] - 1)
    left = np.where(inside, last, 0)
    rows, questions = np.arange(len(times)), np.arange(len(on_grid))
    low, high = times[rows, left], times[rows, left + 1]
    value_low, value_high = (np.take_along_axis(on_grid, at[:, :, None], 2)[:, :, 0] for at in (left, left + 1))
    side = np.zeros(low.shape)
    for _ in range(rounds):
        middle = low + _share(value_low, value_high) * (high - low)
        value = above(middle.T)[questions, :, questions]
        to_low = value < 0
        value_high = np.where(to_low & (side > 0), value_high / 2, value_high)
        value_low = np.where(~to_low & (side < 0), value_low / 2, value_low)
        low, high = np.where(to_low, middle, low), np.where(to_low, high, middle)
        value_low, value_high = np.where(to_low, value, value_low), np.where(to_low, value_high, value)
        side = np.where(to_low, 1.0, -1.0)
    found = low + _share(value_low, value_high) * (high - low)
    return np.where(inside, found, np.where(below.any(axis=2), np.inf, 0.0))


def _share(value_low: Floats, value_high: Floats) -> Floats:
    gap = value_high - value_low
    share: Floats = np.where(gap > 0, np.clip(-value_low / np.where(gap > 0, gap, 1.0), 0.0, 1.0), 0.5)
    return share
