"""Each word by which a page describes cooking can be written, is checked, and changes the computed figures."""

from itertools import pairwise

import numpy as np
import pytest

from handbook.base.errors import PageError
from handbook.base.formats import format_time, format_time_range
from handbook.report.evaluate import evaluate
from handbook.report.page_warnings import page_warnings
from tests.one_page import OnePage

PAGE = OnePage()
TEXT = """---
title: Roast loin
food: "pork loin, whole, lean"
kind: cook
summary: A roast.
keeper: Tamsin Rhee
reviewed: 2026-08-17
portions: 5
---

Text.

```pieces
PIECES
```

```steps
- do: Roast.
  stage: cook
  until: core
  place: oven
  chamber: 150 °C
  core: 68 °C
  hold: 3 min
STEP
```

```batches
written_for: 2 kg
```
"""


def page(pieces="shape: joint\nmass: 2 kg", step=""):
    """The page's text."""
    lines = f"  {step}\n" if step else ""
    return TEXT.replace("PIECES", pieces).replace("STEP\n", lines).encode()


def roasted(**more):
    """Hours to the core, and the loss of weight, of the page."""
    _, method, faults = PAGE.read(page(**more))
    assert not faults, faults
    course = evaluate(method, PAGE.house, PAGE.tables).course
    assert course.has_spread
    (time,) = course.core_times
    assert time.reached.low < time.reached.typical and (
        time.reached.high is None or time.reached.high > time.reached.typical
    )
    return time.reached.typical / 3600, course.result.stages[0].mass_lost.typical


@pytest.fixture(scope="module")
def plain():
    """The joint alone."""
    return roasted()


@pytest.mark.parametrize(
    "more",
    [
        {"pieces": "shape: joint\nmass: 2 kg\nbone: in"},
        {"pieces": "shape: joint\nmass: 2 kg\nfat_cap: 12 mm"},
        {"pieces": "shape: joint\nmass: 2 kg\nskin: on"},
        {"pieces": "shape: joint\nmass: 2 kg\ntemperature: -18 °C"},
        {"pieces": "shape: joint\nmass: 2 kg\ntemperature: 18 °C"},
        {"pieces": "shape: joint\nmass: 2 kg\ncasing: plastic"},
        {"pieces": "shape: roll\nmass: 2 kg"},
        {"pieces": "shape: loin\nmass: 2 kg"},
        {"pieces": "shape: bird\nmass: 2 kg"},
        {"pieces": "shape: bird\nmass: 2 kg\nform: stuffed"},
        {"pieces": "shape: oval\nthickness: 80 mm\nwidth: 120 mm\nlength: 300 mm"},
        {"step": "cover: lid"},
        {"step": "cover: foil"},
        {"step": "cover: paper"},
        {"step": "air: 3 m/s"},
        {"step": "air: forced"},
    ],
    ids=lambda more: next(iter(more.values())).splitlines()[-1],
)
def test_each_word_changes_the_figures(more, plain):
    """Time or loss differs by more than 0.5 % from the plain joint's."""
    time, loss = roasted(**more)
    assert abs(time / plain[0] - 1) > 0.005 or abs(loss / plain[1] - 1) > 0.005


def cooled(how):
    """Hours in which the core falls to 21 °C after the roast."""
    source = (
        page()
        .decode()
        .replace("```\n\n```batches", f"- {{do: Cool., stage: cool, time: 8 h, {how}}}\n```\n\n```batches")
    )
    _, method, faults = PAGE.read(source.encode())
    assert not faults, faults
    result = evaluate(method, PAGE.house, PAGE.tables).course.result
    begin = result.stages[1].start
    falling = result.time >= begin + 3600
    return float(np.interp(-294.15, -result.core.typical[falling], result.time[falling]) - begin) / 3600


def test_faster_cooling_is_faster():
    """Water and melting ice cool faster than any air, moving air faster than still air, and a cover slows each."""
    cold = "place: fridge, temperature: 1 °C"
    ways = (
        "air: water",
        "air: water, cover: bag",
        "air: 5 m/s",
        "air: draught",
        "air: still",
        "air: still, cover: bag",
    )
    hours = [cooled(f"{cold}, {each}") for each in ways]
    assert all(faster < slower for faster, slower in pairwise(hours))
    assert cooled("place: bench, temperature: 1 °C, medium: ice") == pytest.approx(hours[0])


def test_fat_carries_heat_as_a_liquid():
    """In fat at 90 °C the core is there sooner than in air of 90 °C and later than in water, and no vapour leaves."""
    hours = {}
    for how in ("medium: oil", "air: water", "air: draught"):
        source = page(step=how).decode().replace("chamber: 150", "temperature: 90")
        _, method, faults = PAGE.read(source.encode())
        assert not faults, faults
        course = evaluate(method, PAGE.house, PAGE.tables).course
        hours[how] = course.core_times[0].reached.typical
        assert (course.result.stages[0].evaporated.typical < 0.001) == (how != "air: draught")
    assert hours["air: water"] < hours["medium: oil"] < hours["air: draught"]


def test_stuffed_birds_take_longer():
    """15 to 20 % longer, as the turkey timetable of the USDA prints (second-hand): 3 to 3.5 h against 2.75 to 3 h."""
    unstuffed, stuffed = (roasted(pieces=f"shape: bird\nmass: 5 kg\nform: {form}")[0] for form in ("whole", "stuffed"))
    assert 1.05 < stuffed / unstuffed < 1.25


@pytest.mark.parametrize(
    ("pieces", "step", "fault"),
    [
        ("shape: slab\nmass: 2 kg", "", "pieces.thickness: read nothing; allowed: a length of 0.5 mm"),
        (
            "shape: bird",
            "",
            'pieces.thickness: read nothing; allowed: a length of 0.5 mm to 1 m, such as "20 mm" or "3/4 in"; or a mass',
        ),
        (
            "shape: joint\nmass: 2 kg",
            "air: 90 m/s",
            'air: read "90 m/s"; allowed: still, draught, forced, steam, water, or the speed',
        ),
        ("shape: joint\nmass: 2 kg", "cover: film", 'cover: read "film"; allowed: none, lid, foil, paper, bag'),
    ],
)
def test_faults_name_what_is_missing(pieces, step, fault):
    """A size that nothing gives, a storm, an unknown cover: each is one clear line."""
    _, method, faults = PAGE.read(page(pieces=pieces, step=step))
    assert method is None and any(fault in str(each) for each in faults), [str(each) for each in faults]


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        (
            "chamber: 150 °C",
            "chamber: 150 °C\n  humidity: 40 %",
            'steps.1.humidity: read "40%"; allowed: at most 21% at 150 °C: air hotter than boiling water holds no more',
        ),
        (
            '"pork loin, whole, lean"',
            '"tofu, firm (calcium set)"',
            'steps.1.until: read "lethality"; allowed: a core: no death of germs is known for tofu, firm (calcium set)',
        ),
    ],
    ids=["more vapour than air holds", "germs that no table knows"],
)
def test_what_no_model_can_do_is_said_in_the_pages_words(old, new, fault):
    """The fault names the step, its key and what the page says there, and no figure of the model's own."""
    text = page().decode().replace(old, new)
    if "lethality" in fault:
        text = text.replace("until: core", "until: lethality").replace("  core: 68 °C\n  hold: 3 min\n", "")
    _, method, faults = PAGE.read(text.encode())
    assert not faults, faults
    with pytest.raises(PageError) as caught:
        evaluate(method, PAGE.house, PAGE.tables)
    assert str(caught.value) == f"methods/page.md:19: {fault}"


def test_nearly_saturated_air_below_boiling_computes():
    """A steam cabinet of 98 °C at 95 % is an ordinary one, though a hotter sample of it would hold too much vapour."""
    text = page().decode().replace("chamber: 150 °C", "chamber: 98 °C\n  humidity: 95 %")
    _, method, faults = PAGE.read(text.encode())
    assert not faults, faults
    assert evaluate(method, PAGE.house, PAGE.tables).course.has_spread


@pytest.mark.parametrize(
    ("chamber", "core", "typical"), [(85, 78, True), (80, 79, False)], ids=["slow pieces", "the typical piece"]
)
def test_a_core_that_is_not_reached_is_said_wherever_the_time_is_said(chamber, core, typical):
    """No sheet, card, clock or chart gives a high end that nobody knows; what the typical piece never reaches is a warning."""
    source = (
        page().decode().replace("chamber: 150", f"chamber: {chamber}").replace("core: 68", f"core: {core}").encode()
    )
    text, method, faults = PAGE.read(source)
    assert not faults, faults
    report, stops = PAGE.compute(method)
    assert not stops
    (time,) = report.course.core_times
    assert time.reached.high is None and (time.reached.typical is not None) == typical
    duration = report.schedule.steps[0].duration
    assert duration.is_open and report.schedule.total.is_open
    shown = format_time_range(duration)
    assert shown == f"{format_time(duration.low)} or more"
    make, understand, _ = PAGE.layers(text, report)
    assert make.count(shown) >= 3 and understand.count(shown) >= 2  # steps, card and total; clock and chart
    assert ("data-typical" in make) == typical
    assert f"–{format_time(duration.high)}" not in make + understand
    assert any("not there in" in each.read for each in page_warnings(report)) != typical


def test_until_lethality_on_a_page():
    """A bath at 66 °C holds salmon until Listeria is down by what its table asks for (6 log10); at 60 °C the table counts
    nothing, and the page says so at the step's line."""
    bath = page().decode().replace('"pork loin, whole, lean"', '"salmon, Atlantic, farmed"')
    bath = bath.replace("shape: joint\nmass: 2 kg", "shape: slab\nthickness: 20 mm").replace(
        "until: core", "until: lethality"
    )
    bath = bath.replace("  core: 68 °C\n  hold: 3 min\n", "  air: water\n  cover: bag\n").replace(
        "chamber: 150", "chamber: 66"
    )
    _, method, faults = PAGE.read(bath.encode())
    assert not faults, faults
    (time,) = evaluate(method, PAGE.house, PAGE.tables).course.core_times
    assert time.target is None and 0.2 < time.reached.typical / 3600 < 1.5
    _, method, _ = PAGE.read(bath.replace("66 °C", "60 °C").encode())
    with pytest.raises(PageError, match=r"page.md:19: steps.1.chamber: read \"60 °C\"; allowed: above 63 °C"):
        evaluate(method, PAGE.house, PAGE.tables)


DRY = """kind: dry cure
temperature: 3 °C
ingredients:
  - {item: "salt, fine sea", amount: 2 % of food}
"""
SOY = """kind: immersion
temperature: 3 °C
container: deep tub
ingredients:
  - {item: "soy sauce, shoyu", amount: 600 g}
  - {item: "sugar, brown, packed", amount: 100 g}
"""
#: Ordinary methods without a stated loss: food, pieces, salting, and the lines of the steps after it.
ORDINARY = {
    "pulled pork": ("pork shoulder, whole, lean+fat", "shape: roll\nmass: 2.5 kg", DRY, ["core 93 in 107"]),
    "sausage": (
        "pork shoulder, whole, lean+fat",
        "shape: cylinder\nthickness: 32 mm\nform: minced\ncasing: natural",
        DRY,
        ["core 71 in 85"],
    ),
    "belly": (
        "pork belly",
        "shape: block\nthickness: 40 mm\nwidth: 20 cm\nlength: 35 cm\nskin: on",
        DRY,
        ["core 65 in 80"],
    ),
    "jerky": ("beef top round, lean+fat", "shape: slab\nthickness: 6 mm", SOY, ["core 71 in 140", "8 h in 70"]),
    "jerky, dried at once": ("beef top round, lean+fat", "shape: slab\nthickness: 6 mm", SOY, ["8 h in 70"]),
}


def ordinary(name):
    """The page of an ordinary method."""
    food, pieces, salting, heats = ORDINARY[name]
    steps = "- {do: Salt., stage: salt, time: 18 h, place: fridge, temperature: 3 °C}\n"
    for each in heats:
        first, chamber = each.split(" in ")
        how = f"until: core, core: {first[5:]} °C" if first.startswith("core") else f"time: {first}, air: forced"
        steps += f"- {{do: Heat., stage: cook, place: oven, chamber: {chamber} °C, {how}}}\n"
    start, _, rest = TEXT.partition("```steps\n")
    head = start.replace("pork loin, whole, lean", food).replace("PIECES", pieces)
    return f"{head}```salting\n{salting}```\n\n```steps\n{steps}```\n{rest.split('```', 1)[1]}".encode()


@pytest.mark.parametrize("name", ORDINARY)
def test_ordinary_methods_compute(name):
    """No ordinary method ends in a line about the models' own inputs: salt, water and yield are told, and add up."""
    _, method, faults = PAGE.read(ordinary(name))
    assert not faults, faults
    report = evaluate(method, PAGE.house, PAGE.tables)
    assert 0.25 < report.course.result.yield_.typical < 0.97
    assert 0.005 < report.salt.typical < 0.12
    assert report.salted.result.end.water_phase_salt_mean.typical < 0.2642  # saturated brine, CRC handbook


def test_a_stated_loss_beyond_the_water_is_named():
    """What the page states and the food cannot give is a fault at the step's line."""
    text = ordinary("jerky, dried at once").decode().replace("air: forced}", "air: forced, loss: 85 %}").encode()
    _, method, faults = PAGE.read(text)
    assert not faults
    with pytest.raises(PageError, match="less than the food's own water"):
        evaluate(method, PAGE.house, PAGE.tables)
