"""Drying over days and weeks: against another solver, published limits, and what must hold of any room."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from handbook.base.errors import PageError
from handbook.base.ranges import Range
from handbook.catalogue.thermal_properties import Composition
from handbook.drying.activity_course import activity_course
from handbook.drying.degree_hours import degree_hours, hours_allowed
from handbook.drying.dry_rim import dry_rim
from handbook.heat.evaporation import DIFFUSIVITY, dried_share
from handbook.heat.heat_run import HeatPiece, HeatSpread, HeatStage, run
from handbook.report.evaluate import evaluate
from handbook.validation.drying_comparisons import drying_standings
from tests.heat_reference import slab_run
from tests.one_page import OnePage

DAY, ALONE, exact = 86400.0, HeatSpread(samples=0), Range.exact
LEAN = Composition(water=0.73, protein=0.21, fat=0.05, ash=0.01)
FAT = Composition(water=0.58, protein=0.16, fat=0.24, ash=0.02)


def muscle(shape="slab", thickness=0.03, food=LEAN, salt=0.04, **more):
    """A piece in equilibrium with a cold room."""
    return HeatPiece(
        shape=shape,
        thickness=exact(thickness),
        composition=food,
        temperature=exact(285.15),
        salt_to_water_ratio=salt,
        **more,
    )


def room(days=20.0, celsius=12.0, humidity=0.75, air="still", **more):
    """One drying room."""
    return HeatStage(
        name="dry",
        medium="air",
        duration=days * DAY,
        temperature=exact(celsius + 273.15),
        relative_humidity=exact(humidity),
        air=air,
        **more,
    )


@pytest.mark.parametrize(
    ("thickness", "celsius", "humidity", "days"),
    [(0.03, 12, 0.75, 20), (0.008, 40, 0.30, 0.6), (0.05, 14, 0.65, 40)],
)
def test_weight_agrees_with_an_implicit_solver_in_cells(thickness, celsius, humidity, days):
    """The loss follows scipy's solver, whose diffusivity is that of each cell, within 0.025 of green weight."""
    piece, stage = muscle(thickness=thickness), room(days, celsius, humidity)
    result = run(piece, [stage], ALONE)
    time, _, _, mass = slab_run(piece, stage, cells=60)
    ours = np.interp(time, result.time, result.samples.mass[0])
    assert np.abs(ours - mass).max() < 0.025


def test_diffusivity_of_what_has_dried_spans_the_published():
    """5e-12 to 6.6e-11 m2/s in ham muscle drying at 75 to 80 % (SINTEF, read), 4.7e-11 to 5.7e-11 in pepperoni (read).

    Salted muscle in balance with such air holds 0.3 to 0.6 kg of water per kg of fat-free solids.
    """
    share = dried_share(np.array([0.3, 0.6]), np.array([0.3, 0.6]), 1.0)
    assert 5e-12 < DIFFUSIVITY * share[0] < DIFFUSIVITY * share[1] < 6.6e-11
    assert dried_share(np.array([4.0]), np.array([4.0]), 1.0)[0] == 1.0


def test_end_of_drying_is_the_air():
    """Thin meat left for months has the water activity of the air, through and through."""
    course = activity_course(run(muscle(thickness=0.004), [room(200, 20, 0.75, "forced")], ALONE))
    assert course.surface[0, -1] == pytest.approx(0.75, abs=0.005)
    assert course.centre[0, -1] == pytest.approx(0.75, abs=0.02)


def test_typical_sausage_ends_where_the_trade_says():
    """Dry sausage: water activity 0.85 to 0.93 (inspectors' text, second-hand) at 30 to 40 % less than its green weight."""
    piece = muscle("cylinder", 0.055, FAT, 0.045, open_fraction=0.6)
    course = activity_course(run(piece, [room(400, 11, 0.78, until_loss=0.35)], ALONE))
    assert 0.85 <= course.at(course.time[-1])["whole"].typical <= 0.93


def test_jerky_stays_near_the_wet_bulb():
    """Strips in air of 57 °C and 12 %: 29 to 35 °C in the first half hour, while they are wet (wet bulb 29 °C by psychrometry), hours later 50."""
    result = run(muscle(thickness=0.006), [room(0.4, 57, 0.12, "forced")], ALONE)
    early = np.interp(0.5 * 3600, result.time, result.core.typical) - 273.15
    assert 28 < early < 35
    assert result.core.typical[-1] - 273.15 > 50


@given(st.floats(0.6, 0.85), st.floats(2, 20), st.sampled_from(["still", "draught", "forced"]))
@settings(max_examples=12, deadline=None)
def test_more_humid_colder_thicker_or_cased_is_slower(humidity, celsius, air):
    """Whatever the room: each of them leaves more of the weight after ten days."""
    stage = room(10, celsius, humidity, air)
    plain = run(muscle(), [stage], ALONE).yield_.typical
    for piece, other in (
        (muscle(), room(10, celsius, humidity + 0.1, air)),
        (muscle(), room(10, celsius - 2, humidity, air)),
        (muscle(thickness=0.045), stage),
        (muscle(open_fraction=0.5), stage),
    ):
        assert run(piece, [other], ALONE).yield_.typical > plain


def test_until_a_loss_and_until_an_activity():
    """Each sample ends where it is asked to; its time has a range."""
    piece = muscle("cylinder", 0.05, open_fraction=0.6)
    lost = run(piece, [room(400, until_loss=0.3)], HeatSpread(samples=24))
    assert lost.yield_.typical == pytest.approx(0.7, abs=5e-4)
    reached = lost.reached(lost.stages[0].finish.reached)
    assert reached.low < reached.typical and (reached.high is None or reached.high > reached.typical)
    dry = run(piece, [room(400, until_activity=0.9)], ALONE)
    course = activity_course(dry)
    assert course.whole[0, -1] == pytest.approx(0.9, abs=1e-3)
    assert course.surface[0, -1] < 0.9 < course.centre[0, -1]


def test_dry_rim_by_the_air():
    """Air at 45 % dries a rim on a thick piece, air at 85 % none, and a strip has no inside to lock in."""
    found = {}
    for humidity in (0.45, 0.85):
        course = activity_course(run(muscle("cylinder", 0.08), [room(20, 14, humidity, "draught")], ALONE))
        found[humidity] = dry_rim(course, 0.0, 20 * DAY, 0.04)
    assert found[0.45].risk == "high" and found[0.85].risk == "low"
    assert found[0.45].gentlest > 0.7
    assert dry_rim(course, 0.0, 20 * DAY, 0.004).risk == "low"


@pytest.mark.parametrize(
    ("fahrenheit", "hours", "limit"), [(75, 80, 1200), (80, 60, 1200), (85, 48, 1200), (90, 33, 990), (100, 25, 1000)]
)
def test_degree_hours_of_a_printed_log(fahrenheit, hours, limit):
    """A plant's fermentation log prints hours until pH 5.3 by chamber: hours x (T - 60 °F) (read)."""
    kelvin = (fahrenheit - 32) / 1.8 + 273.15
    found = 1.8 * degree_hours(np.array([0.0, hours * 3600.0]), np.full(2, kelvin))
    assert found == pytest.approx(limit, abs=1)
    assert hours_allowed(kelvin, limit / 1.8) / 3600 == pytest.approx(hours, rel=2e-3)
    assert hours_allowed(280.0, 500.0) == float("inf")


def test_most_published_losses_lie_in_the_range():
    """Of the rows on the page of figures eight in ten overlap what is printed, and none is off by more than 1.7."""
    found = drying_standings()
    assert sum("do not overlap" not in each.misfit for each in found) >= 0.8 * len(found)
    assert all(1 / 1.7 < each.ratio.typical < 1.7 for each in found)


PAGE = OnePage()
TEXT = """---
title: Cellar beef
food: "beef eye of round, lean+fat"
kind: dry cure
summary: Beef that hangs.
keeper: Tamsin Rhee
reviewed: 2026-08-17
portions: 20
---

Text.

```pieces
shape: loin
mass: 2 kg
form: whole
casing: natural
```

```salting
kind: dry cure
temperature: 3 °C
ingredients:
  - {item: "salt, pickling/canning (fine, no additives)", amount: 2.7 % of food}
  - {item: "curing salt, 6.25 % sodium nitrite (type 1)", amount: 0.25 % of food}
```

```steps
- do: Rub and leave in the cold.
  stage: salt
  time: 14 days
  place: fridge
  temperature: 3 °C
- do: Hang.
  stage: dry
  END
  place: cellar
  temperature: 13 °C
  humidity: HUMID
```

```batches
written_for: 2 kg
```
"""


def hung(end, humid="75 %"):
    """The report of the page."""
    _, method, faults = PAGE.read(TEXT.replace("END", end).replace("HUMID", humid).encode())
    assert not faults, faults
    return evaluate(method, PAGE.house, PAGE.tables)


def test_page_waits_for_a_loss_of_weight():
    """The time is computed with its range, the loss is what the page asks, and the salt ends with the same activity."""
    report = hung("until: weight loss 35 %")
    step = report.schedule.steps[1]
    assert step.basis == "computed" and 20 * DAY < step.duration.typical < 80 * DAY
    assert step.duration.low < step.duration.typical < step.duration.high
    assert report.drying.last.lost.typical == pytest.approx(0.35, abs=1e-3)
    assert report.salted.activity["centre"] == report.drying.last.centre
    assert report.finished.ratio.typical == pytest.approx(0.65, abs=0.001)


def test_page_of_a_stated_time_tells_the_loss():
    """Without a stated loss the computed one is the page's yield."""
    report = hung("time: 30 days")
    assert 0.15 < report.drying.last.lost.typical < 0.40
    assert report.finished.basis == "computed"
    assert report.finished.ratio.typical == pytest.approx(1 - report.drying.last.lost.typical, abs=0.04)


def test_room_that_is_too_humid_never_gets_there():
    """One clear line names the step."""
    with pytest.raises(PageError, match=r"steps\.2\.until: read .aw 0\.80.; allowed: what this air reaches"):
        hung("until: aw 0.80", "90 %")


def test_sausage_in_the_warm_counts_degree_hours():
    """48 h at 24 °C are 48 x (24 - 15.56) = 405 °C·h; a room of 24 °C uses up 1200 °F·h after 79 h (by hand)."""
    text = TEXT.replace("shape: loin\nmass: 2 kg\nform: whole", "shape: cylinder\nthickness: 55 mm\nform: minced")
    warm = "- do: Sour it.\n  stage: ferment\n  time: 48 h\n  place: room\n  temperature: 24 °C\n  humidity: 90 %\n- do: Hang."
    text = text.replace("- do: Hang.", warm).replace("END", "until: weight loss 35 %").replace("HUMID", "78 %")
    _, method, faults = PAGE.read(text.encode())
    assert not faults, faults
    drying = evaluate(method, PAGE.house, PAGE.tables).drying
    assert drying.degree_hours.typical == pytest.approx(405, abs=1)
    assert drying.allowed[1] == pytest.approx(1200 / 1.8)
    assert drying.allowed[0] / 3600 == pytest.approx(79, abs=0.5)


def test_loss_counts_what_curing_took():
    """A page that states 4 % lost under the cure asks the cellar for the rest of its 35 %, and shows 35 %."""
    cured = TEXT.replace("  temperature: 3 °C\n- do: Hang", "  temperature: 3 °C\n  loss: 4 %\n- do: Hang")
    _, method, faults = PAGE.read(cured.replace("END", "until: weight loss 35 %").replace("HUMID", "75 %").encode())
    assert not faults, faults
    report = evaluate(method, PAGE.house, PAGE.tables)
    assert report.drying.last.lost.typical == pytest.approx(0.35, abs=1e-3)
    assert report.course.result.yield_.typical == pytest.approx(0.65 / 0.96, abs=1e-3)


def test_strips_dried_in_a_warm_oven():
    """Drying above 60 °C slows too as the strips dry: hours, not minutes, to half of their weight."""
    slow, quick = (
        run(muscle(thickness=0.006), [room(2, 62, 0.15, "forced", until_loss=0.58, is_drying=each)], ALONE)
        for each in (True, False)
    )
    assert slow.stages[0].end > 1.5 * quick.stages[0].end
    assert 1.5 * 3600 < slow.stages[0].end < 10 * 3600
