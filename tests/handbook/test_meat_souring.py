"""How a raw sausage sours, beside printed pH and limits of the trade."""

import numpy as np
import pytest

from handbook.acid.meat_souring import LAG, SPREAD, WILD, meat_souring_rate
from handbook.base.errors import RangeError
from handbook.drying.degree_hours import hours_allowed
from handbook.validation.drying_comparisons import Room, dried_run, lost_on
from handbook.validation.sausage_comparisons import sausage_standings
from handbook.validation.strip_comparisons import strip_standings


def test_printed_ph_lies_in_the_predicted_range():
    """pH after one, three and seven days and by dextrose: Seleshe 2021 table 1, Food Waterborne Parasitol. 6-7 table 1 (read)."""
    for each in sausage_standings():
        figure = each.finding.figure
        if each.finding.key == "souring_drop":  # a rule of thumb at the low side: the model falls by half as much again
            assert 1.0 < each.ratio.typical < 1.7
            continue
        assert each.model.low <= figure.typical <= each.model.high, each.finding.key
        assert each.model.typical == pytest.approx(figure.typical, abs=0.2), each.finding.key


@pytest.mark.parametrize(("fahrenheit", "hours"), [(75, 80), (80, 60), (85, 48), (90, 33), (95, 28), (100, 25)])
def test_a_usual_culture_is_within_the_hours_of_the_trade(fahrenheit, hours):
    """Hours that a plant's log allows until pH 5.3 (2012, read): a culture on 0.5 % sugar takes less, its typical pace by far.

    pH 5.3 of pork of 5.8 takes about half of that sugar: 1 - exp(-(x - LAG)) = 0.5.
    """
    rate = meat_souring_rate((fahrenheit - 32) / 1.8 + 273.15, True)
    typical = (LAG + np.log(2)) / rate / 3600
    assert typical < hours
    allowed = hours_allowed((fahrenheit - 32) / 1.8 + 273.15, 1200 / 1.8) / 3600
    assert typical < allowed


def test_warmth_quickens_and_the_wild_is_slow():
    """Limits of the rate: none at 3 °C, more in the warm, less without a culture, refused above 43 °C."""
    assert meat_souring_rate(276.15, True) == 0
    rates = [meat_souring_rate(each + 273.15, True) for each in (5, 12, 20, 24, 30, 38)]
    assert rates == sorted(rates)
    assert meat_souring_rate(297.15, False) == pytest.approx(WILD * meat_souring_rate(297.15, True))
    assert SPREAD > 1
    with pytest.raises(RangeError):
        meat_souring_rate(320.0, True)


def test_fish_and_strips_lie_beside_what_is_printed():
    """At least nine of eleven printed findings of fish and strips overlap the predicted range; sources in the table."""
    found = strip_standings()
    met = [each for each in found if "do not overlap" not in each.misfit]
    assert len(found) == 11 and len(met) >= 9, [each.finding.key for each in found if each not in met]


def test_a_thicker_strip_dries_slower():
    """A property: twice as thick, half as much or less has left in the same hours."""
    lean = strip_lean()
    room = (Room(days=0.3, warmth=(60, 62), humidity=(0.25, 0.35)),)
    thin, thick = (lost_on(dried_run("slab", size, lean, room, 0.04, 1.0, "draught"), 0.3) for size in (0.006, 0.012))
    assert thick.typical < 0.75 * thin.typical


def strip_lean():
    """Lean beef by the table of foods (USDA SR28, read), rounded."""
    from handbook.catalogue.thermal_properties import Composition

    return Composition(water=0.73, protein=0.21, fat=0.04, carbohydrate=0.0, ash=0.02)
