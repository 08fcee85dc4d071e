"""Steps on one time axis, hand-worked."""

import pytest

from handbook import open_handbook
from handbook.base.forms import Reading
from handbook.base.ranges import Range
from handbook.base.yaml_text import parse_yaml
from handbook.days.day_plan import needs_of
from handbook.page.method import block_forms
from handbook.page.schedule import schedule
from handbook.page.vocabulary import Vocabulary

STEPS = """
- {do: mix, stage: prepare, time: 20 min, hands_on: yes}
- {do: brine, stage: salt, time: 12-24 h, place: fridge}
- {do: smoke, stage: smoke, until: core, chamber: 80 °C, core: 72 °C, repeat: {every: 30 min, do: baste, takes: 2 min}}
- {do: serve, stage: serve, time: 10 min, hands_on: yes}
"""
HOUR = 3600.0


def steps():
    reading = Reading(file="page.md")
    found = block_forms(Vocabulary(foods=(), ingredients=(), containers=()))["steps"].read(
        parse_yaml(STEPS, "page.md"), "steps", reading
    )
    assert not reading.faults
    return found


def test_schedule_hand_worked():
    """20 min + 18 h (12 to 24) + 2 h (1.5 to 3) + 10 min = 20.5 h, 14 h at the shortest, 27.5 h at the longest."""
    plan = schedule(steps(), {3: Range(1.5 * HOUR, 2 * HOUR, 3 * HOUR)})
    assert plan.total == Range(14.0 * HOUR, 20.5 * HOUR, 27.5 * HOUR)
    assert plan.steps[2].start.typical == pytest.approx(18 * HOUR + 1200)


def test_repeats_fall_inside():
    """Basting every 30 min of a 2 h smoke happens at 30, 60 and 90 min; at 2 h the smoke is over."""
    plan = schedule(steps(), {3: Range.exact(2 * HOUR)})
    assert [at / 60 for at in plan.steps[2].repeats] == [30, 60, 90]


def test_hands_on_counts_repeats():
    """20 min + three times 2 min + 10 min."""
    plan = schedule(steps(), {3: Range.exact(2 * HOUR)})
    assert plan.hands_on.typical / 60 == pytest.approx(36)


def test_a_computed_time_must_be_given():
    """A step without a time is an error, never a guess."""
    with pytest.raises(KeyError):
        schedule(steps(), computed={})


def test_food_is_ready_when_it_is_served(methods_folder):
    """Steps after the last serving are for leftovers: they count neither in the time of all nor in a day's plan."""
    report = open_handbook(methods_folder).report("brined-chicken-thighs")
    served = next(each for each in report.schedule.steps if each.step.stage == "serve")
    assert served.number < len(report.schedule.steps) and report.schedule.total == served.end
    assert needs_of(report).steps[-1] == served
