"""Safety findings from computed core curves."""

import pytest
from msgspec.structs import replace

from tests.handbook.safety_cases import (
    CHICKEN,
    CHILL,
    CHILL_THROUGH,
    HOT_SMOKE,
    PREPARE,
    case_of,
    cooked,
    curve,
    hot_smoked,
    step,
    worst,
)


# ------------------------------------------------------------------ core curves
def test_core_curve_figures_by_hand():
    """Straight lines: 4 to 76 °C in 2 h, an hour there, down to 4 °C in 4 h."""
    core = curve((0, 4), (2, 76), (3, 76), (7, 4))
    assert core.highest.typical == pytest.approx(76 + 273.15)
    # At or above 70 °C: 6/72 of 2 h going up, the hour, 6/72 of 4 h going down.
    assert core.hold(70 + 273.15).typical == pytest.approx(3600 * (2 * 6 / 72 + 1 + 4 * 6 / 72))
    assert core.hold(77 + 273.15).typical == 0
    assert core.time_in(10 + 273.15, 54 + 273.15, before_peak=True).typical == pytest.approx(3600 * 2 * 44 / 72)
    assert core.time_in(10 + 273.15, 54 + 273.15, before_peak=False).typical == pytest.approx(3600 * 6 * 44 / 72)
    assert core.fall(57 + 273.15, 21 + 273.15).typical == pytest.approx(3600 * 4 * 36 / 72)
    assert curve((0, 4), (2, 76), (3, 40)).fall(57 + 273.15, 21 + 273.15) is None


def test_a_hold_is_unbroken():
    """Two stays of half an hour are not one of an hour."""
    core = curve((0, 70), (0.5, 70), (0.6, 60), (0.7, 70), (1.2, 70))
    assert core.hold(65 + 273.15).typical < 0.6 * 3600


@pytest.mark.parametrize(
    ("points", "level"),
    [
        (((0, 4), (1, 80), (2, 80)), "met"),
        (((0, 4), (1, 75), (2, 75)), "act"),  # only the low end is under 73.9 °C
        (((0, 4), (1, 70), (2, 70)), "stop"),
    ],
)
def test_a_measured_core_decides_where_the_page_states_none_and_a_computed_one_clears_nothing(points, level):
    """Chicken, 165 °F, a band of 2 K either way."""
    oven = step("cook", "oven", "2 h", chamber="200 °C")
    measured = case_of(CHICKEN, "cook", PREPARE, oven, core=curve(*points), is_measured=True)
    assert worst(measured, "core-temperature") == level
    computed = replace(measured, is_measured=False)
    assert worst(computed, "core-temperature") == "stop"


def test_a_stated_core_that_the_model_does_not_reach_in_the_stated_time_is_to_be_acted_on():
    """The page says 75 °C after 40 min; the model says 60 °C."""
    slow = curve((0, 4), (0.66, 60))
    assert worst(cooked("75 °C", core=slow), "core-temperature") == "act"
    waits = case_of(
        CHICKEN,
        "cook",
        PREPARE,
        step("cook", "oven", None, chamber="200 °C", core="75 °C", until="core"),
        core=slow,
    )
    assert worst(waits, "core-temperature") == "met"  # a step that waits for the core is done when it is there


def test_a_computed_cooling_replaces_the_clock_of_the_page():
    """The page gives the chill nine hours; the computed core is cold in three, and the other way round."""
    slow_page = (HOT_SMOKE, CHILL, CHILL_THROUGH.replace("3 h", "9 h"))
    fast_core = curve((0, 4), (2, 72), (2.5, 72), (3.2, 30), (4, 15), (5.5, 2))
    assert worst(hot_smoked(*slow_page), "cooling-stages") == "stop"
    assert worst(hot_smoked(*slow_page, core=fast_core), "cooling-stages") == "met"
    slow_core = curve((0, 4), (2, 72), (2.5, 72), (6, 30), (12, 2))
    assert worst(hot_smoked(core=slow_core), "cooling-stages") == "stop"
