"""Where a rising function of one number has a value."""

from __future__ import annotations

from collections.abc import Callable
from math import isfinite

_MOST_STEPS = 100


def rising_root(function: Callable[[float], float], wanted: float, low: float, high: float) -> float:
    """The x between ``low`` and ``high`` at which a rising ``function`` is ``wanted``; an end where it lies beyond.

    f(x) = wanted, by regula falsi (Illinois), by bisection while an end is infinite

    Parameters
    ----------
    function : rising function of a float; may be infinite
    wanted, low, high : float, in the units of ``function`` and of x

    Returns
    -------
    float, to 1e-14 of ``high``

    Notes
    -----
    Source: numerical method; no empirical constant. Valid for continuous functions that rise.

    Examples
    --------
    >>> round(rising_root(lambda x: x * x, 2.0, 0.0, 2.0), 12)
    1.414213562373
    """
    below, above = function(low) - wanted, function(high) - wanted
    if below >= 0:
        return low
    if above <= 0:
        return high
    last, side = low, 0
    for _ in range(_MOST_STEPS):
        share = below / (below - above) if isfinite(below) and isfinite(above) else 0.5
        at = low + share * (high - low)
        off = function(at) - wanted
        if off == 0 or abs(at - last) <= 1e-14 * abs(high):
            return at
        if off < 0:
            low, below, above = at, off, above / 2 if side < 0 else above
        else:
            high, above, below = at, off, below / 2 if side > 0 else below
        last, side = at, -1 if off < 0 else 1
    return at
