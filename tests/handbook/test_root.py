"""Roots of rising functions, beside those of SciPy's Brent method."""

from math import exp, inf, log, log1p

import pytest
from scipy.optimize import brentq

from handbook.base.root import rising_root

RISING = [
    (lambda x: x**3, 0.0, 9.0),
    (lambda x: x**9, 0.0, 2.0),
    (lambda x: exp(20 * x), 0.0, 1.0),
    (lambda x: log(x + 1e-6), 0.0, 5.0),
    (lambda x: log1p(x) / (1 + 0.1 * log1p(x)), 0.0, 50.0),
    (lambda x: 998.2 + 700 * x + 250 * x * x, 0.0, 0.264),
]


@pytest.mark.parametrize(("function", "low", "high"), RISING)
@pytest.mark.parametrize("share", [1e-6, 0.01, 0.37, 0.5, 0.99, 1 - 1e-9])
def test_root_is_that_of_brent(function, low, high, share):
    """A root anywhere between the ends of a straight, steep or flat function."""
    wanted = function(low) + share * (function(high) - function(low))
    theirs = brentq(lambda x: function(x) - wanted, low, high, xtol=1e-15, rtol=1e-14)
    assert rising_root(function, wanted, low, high) == pytest.approx(theirs, rel=1e-10, abs=1e-13 * high)


def test_value_beyond_an_end_gives_the_end():
    """Nothing between the ends has the value."""
    assert rising_root(float, -1.0, 0.0, 2.0) == 0.0
    assert rising_root(float, 3.0, 0.0, 2.0) == 2.0


def test_function_that_is_infinite_above():
    """A scale that ends within the bracket, as a salometer does at saturation."""
    assert rising_root(lambda x: x if x < 1.5 else inf, 1.2, 0.0, 9.0) == pytest.approx(1.2, rel=1e-12)
