"""Holding, time in a range and falling of a temperature curve, against curves worked by hand and closed forms.

The limits themselves belong to the safety rules; here only the times are checked. The passing and failing pair are
numbers made up to exercise the comparison, not published.
"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from handbook.heat.temperature_curve import fall_time, hold_time, time_in_range

HOUR = 3600.0
WARM, MIDDLE, COLD = 330.15, 294.15, 278.15


def test_straight_cooling_worked_by_hand():
    """60 to 0 degC in two hours: from 57 to 21 degC takes 36/60 of them, to 5 degC 52/60."""
    time, curve = [0, 2 * HOUR], [333.15, 273.15]
    assert float(fall_time(time, curve, WARM, MIDDLE)) == pytest.approx(1.2 * HOUR)
    assert float(fall_time(time, curve, WARM, COLD)) == pytest.approx(2 * HOUR * 52 / 60)


@given(st.floats(600, 20000))
def test_exponential_cooling_is_the_closed_form(constant):
    """Lumped cooling T = T_a + d exp(-t/tau) has time tau ln(d_warm / d_cold)."""
    time = np.linspace(0, 5 * constant, 4001)
    curve = 273.15 + 70 * np.exp(-time / constant)
    by_hand = constant * np.log((WARM - 273.15) / (MIDDLE - 273.15))
    assert float(fall_time(time, curve, WARM, MIDDLE)) == pytest.approx(by_hand, rel=1e-4)


def test_clock_starts_at_the_last_fall():
    """A piece that warms up again starts anew; the heating before the peak does not count."""
    time = np.array([0, 1, 2, 3, 4, 6]) * HOUR
    curve = np.array([280, 340, 320, 340, 300, 270.0])
    from_peak = (340 - WARM) / 40 * HOUR
    to_cold = 4 * HOUR + (300 - MIDDLE) / 30 * 2 * HOUR
    assert float(fall_time(time, curve, WARM, MIDDLE)) == pytest.approx(to_cold - (3 * HOUR + from_peak))


def test_not_reached_and_never_warm():
    """Not cold at the end is infinite, still warm at the end too; never warm is 0."""
    time = [0.0, HOUR]
    assert fall_time(time, [340.0, 300.0], WARM, COLD) == np.inf
    assert fall_time(time, [320.0, 340.0], WARM, COLD) == np.inf
    assert fall_time(time, [300.0, 270.0], WARM, COLD) == 0.0
    assert fall_time(time, [[340.0, 300.0], [300.0, 270.0]], WARM, COLD).tolist() == [np.inf, 0.0]


@given(st.lists(st.floats(270, 350), min_size=3, max_size=10), st.floats(296, 329))
def test_stages_nest(curve, middle):
    """A colder end is never reached sooner."""
    time = np.arange(len(curve)) * 600.0
    assert fall_time(time, curve, WARM, middle) <= fall_time(time, curve, WARM, COLD)


def test_made_up_pass_and_fail():
    """1.5 h and 5.5 h pass two stages of 2 h and 6 h; 2.5 h in the first does not (numbers made up)."""
    passes = fall_time([0, 1.5 * HOUR, 5.5 * HOUR], [WARM, MIDDLE, COLD], WARM - 1e-9, MIDDLE)
    fails = fall_time([0, 2.5 * HOUR, 5.0 * HOUR], [WARM, MIDDLE, COLD], WARM - 1e-9, MIDDLE)
    assert passes <= 2 * HOUR < fails


def test_hold_time_is_the_longest_unbroken_stretch():
    """Crossings are straight between points; a dip breaks the hold."""
    time = np.array([0, 600, 1200, 1800, 2400, 3000.0])
    curve = np.array(
        [[330, 340, 340, 330, 340, 340.0], [330, 330, 330, 330, 330, 330.0], [340, 340, 340, 340, 340, 340.0]]
    )
    assert hold_time(time, curve, 335.0) == pytest.approx([300 + 600 + 300, 0.0, 3000.0])


def test_time_in_range_worked_by_hand():
    """Warming 10 to 70 degC in an hour spends 47.15/60 of it between 10 and 57.15 degC, both sides counted once."""
    time, curve = [0, 3600], [283.15, 343.15]
    assert float(time_in_range(time, curve, 283.15, 330.30)) == pytest.approx(3600 * 47.15 / 60)
    assert float(time_in_range([0, 3600, 7200], [283.15, 343.15, 283.15], 283.15, 330.30)) == pytest.approx(
        7200 * 47.15 / 60
    )
