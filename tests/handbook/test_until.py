"""Steps that end at a measured value: what may be written, and where their time comes from."""

from math import sqrt

import pytest

from handbook.base.errors import PageError
from handbook.base.forms import Reading
from handbook.base.yaml_text import Text
from handbook.page.until import UntilForm
from handbook.report.evaluate import evaluate
from handbook.runs.recorded_times import recorded_times
from handbook.runs.run_record import read_run
from tests.handbook.safety_cases import CHOP, CURE, HOUSE, PREPARE, TABLES, case_of, step

DAY = 86400.0


def _read(text):
    reading = Reading(file="a.md")
    return UntilForm().read(Text(value=text, line=3), "steps.1.until", reading), [str(each) for each in reading.faults]


@pytest.mark.parametrize(
    ("text", "what", "value"),
    [
        ("core", "core", None),
        ("lethality", "lethality", None),
        ("target salt", "target salt", None),
        ("weight loss 35 %", "weight loss", 0.35),
        ("weight  loss 35%", "weight loss", 0.35),
        ("pH 4.6", "pH", 4.6),
        ("aw 0.90", "aw", 0.90),
    ],
)
def test_ends_that_may_be_written(text, what, value):
    found, faults = _read(text)
    assert not faults and found.what == what
    assert found.value == (None if value is None else pytest.approx(value))


@pytest.mark.parametrize(
    "text",
    ["weight loss", "weight loss 35", "weight loss 95 %", "pH 46", "pH", "aw 90 %", "aw 1.2", "core 68", "", "dry"],
)
def test_ends_that_may_not_be_written_name_what_may(text):
    found, faults = _read(text)
    assert found is None and len(faults) == 1
    assert faults[0].startswith("a.md:3: steps.1.until: read ") and '"weight loss 35 %"' in faults[0]


def test_a_core_in_until_is_the_steps_core():
    cook = dict(place="oven", time=None, chamber="120 °C")
    one = case_of(CHOP, "cook", step("cook", until="core 68 °C", hold="5 min", **cook)).method.steps[0]
    two = case_of(CHOP, "cook", step("cook", until="core", core="68 °C", hold="5 min", **cook)).method.steps[0]
    assert one.core == two.core and one.waits_for == two.waits_for == "core"


def _hung(until="weight loss 35 %", time=None, **more):
    hang = step("dry", "cellar", time, until=until, temperature="12 °C", humidity="75 %", **more)
    return case_of(CHOP, "dry cure", PREPARE, CURE, hang).method


def test_a_stated_time_plans_what_nothing_computes():
    report = evaluate(_hung("pH 4.6", time="20-30 days"), HOUSE, TABLES)
    last = report.schedule.steps[-1]
    assert (last.basis, last.duration.low / DAY, last.duration.high / DAY) == ("stated", 20, 30)


def test_a_step_whose_time_nothing_tells_is_a_fault_that_asks_for_one():
    with pytest.raises(PageError) as raised:
        evaluate(_hung("pH 4.6"), HOUSE, TABLES)
    assert str(raised.value).endswith(
        'steps.3.until: read "pH 4.6"; allowed: a time beside it to plan with: no model computes it, and no run of the '
        "method has timed it"
    )


def test_the_yield_of_a_step_until_a_loss_of_weight_is_what_is_left():
    """35 % of a kilogram lost leaves 650 g, whatever was lost on the way."""
    report = evaluate(_hung(time="20-30 days"), HOUSE, TABLES)
    assert report.finished.ratio.typical == pytest.approx(0.65)
    assert report.salted.result.end.food_mass_ratio.typical == pytest.approx(0.65, abs=0.002)


def _runs(method, *records):
    found = []
    for number, record in enumerate(records, 1):
        name = f"2026-01-{number:02}"
        run, faults = read_run(
            name, f"{name}.yml", f"on: {name}\nbatch: 1 kg\nsteps:\n  - {record}", None, method, "us"
        )
        assert not faults, [str(each) for each in faults]
        found.append(run)
    return found


def test_the_record_gives_the_time_and_says_of_how_many_runs():
    """The middle of 18, 24 and 32 days is their geometric mean, 24 days."""
    method = _hung("pH 4.6")
    runs = _runs(method, *(f"{{step: 3, time: {days} days, ph: 4.5}}" for days in (18, 24, 32)))
    recorded = recorded_times(method, runs)
    last = evaluate(method, HOUSE, TABLES, recorded=recorded).schedule.steps[-1]
    assert (last.basis, last.runs) == ("record", 3)
    assert last.duration.typical / DAY == pytest.approx(24, rel=0.001)
    assert last.duration.low / DAY < 18 and last.duration.high / DAY > 32


def test_more_runs_that_agree_narrow_the_range_and_runs_that_differ_widen_it():
    method = _hung()

    def spread(*days):
        found = recorded_times(method, _runs(method, *(f"{{step: 3, time: {each} days}}" for each in days)))
        return sqrt(found[3].duration.high / found[3].duration.low)

    assert spread(24, 24, 24, 24, 24) < spread(24, 24) < spread(24) < 4
    assert spread(15, 24, 38) > spread(24, 24, 24)


@pytest.mark.parametrize(
    ("until", "reached", "short"),
    [
        ("weight loss 35 %", "weight: 650 g", "weight: 700 g"),
        ("pH 4.6", "ph: 4.6", "ph: 4.9"),
        ("aw 0.90", "aw: 0.895", "aw: 0.93"),
    ],
)
def test_a_run_that_fell_short_of_the_end_does_not_tell_its_time(until, reached, short):
    method = _hung(until)
    runs = _runs(method, f"{{step: 3, time: 20 days, {reached}}}", f"{{step: 3, time: 5 days, {short}}}")
    assert recorded_times(method, runs)[3].runs == 1


def test_a_loss_counts_from_the_weight_as_filled():
    """A run that hung 1.1 kg and weighed 700 g has lost 36 %, of 1 kg of meat only 30 %."""
    method = _hung()
    text = "on: 2026-01-01\nbatch: 1 kg\nhung: 1.1 kg\nsteps:\n  - {step: 3, time: 20 days, weight: 700 g}"
    run, faults = read_run("2026-01-01", "r.yml", text, None, method, "us")
    assert not faults and recorded_times(method, [run])[3].runs == 1


def test_a_time_beside_a_computed_end_is_a_fault_and_hands_do_not_wait_for_weeks():
    with pytest.raises(AssertionError, match="until core is computed"):
        case_of(CHOP, "cook", PREPARE, CURE, step("cook", "oven", until="core", core="75 °C", chamber="120 °C"))
    with pytest.raises(AssertionError, match="a step without hands"):
        _hung(time="20 days", hands_on="yes")


def test_the_record_reaches_the_safety_rules_as_any_other_time():
    """The timeline of the case takes the recorded time."""
    method = _hung()
    recorded = recorded_times(method, _runs(method, "{step: 3, time: 24 days}"))
    report = evaluate(method, HOUSE, TABLES, recorded=recorded)
    stated = evaluate(_hung(time="24 days"), HOUSE, TABLES)
    rules = lambda of: {(each.rule, each.limit, each.level) for each in of.findings}  # noqa: E731
    assert rules(report) == rules(stated)
    assert report.method == method
