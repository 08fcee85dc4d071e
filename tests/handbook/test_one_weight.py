"""Yield, portions and salt rest on one weight, whatever a page states, computes or leaves open. Sums by hand beside each figure."""

from pathlib import Path

import numpy as np
import pytest

from handbook import open_handbook
from handbook.report.heat_stages import cured_weight
from tests.trade.notebook import Note, judged

_CHOPS = """
food: pork loin, whole, lean+fat
portions: 10
pieces: {shape: slab, thickness: 30 mm, form: cut}
saltings: {cure: {kind: dry cure, temperature: 3 °C, items: {salt: 2 % of food}}}
steps:
  cure: {do: Rub and leave., stage: salt, time: 6 days, place: fridge, temperature: 3 °C, medium: vacuum}
  serve: {do: Wipe and pack., stage: pack, time: 10 min, hands_on: "yes", place: bench, temperature: 10 °C}
"""


def _report(page):
    found = judged("weighed", Note(name="weighed", family="", says="", page=page, figures={}, verdicts={}).text, "home")
    assert not isinstance(found, str), found
    return found


def _changed(*pairs):
    page = _CHOPS
    for old, new in pairs:
        assert page.count(old) == 1, old
        page = page.replace(old, new)
    return page


def _is_on_one_weight(report):
    """Sodium is 22.99 g in 58.44 g of salt (standard atomic weights)."""
    count, batch = report.method.front_matter.portions, report.method.batches.written_for.low
    mass = report.portion.mass.typical * count
    assert mass == pytest.approx(report.finished.ratio.typical * batch)
    assert report.portion.sodium.typical * count * 58.44 / 22.99 == pytest.approx(report.salt.typical * mass, rel=2e-3)


@pytest.mark.parametrize(
    ("change", "left"),
    [
        (("medium: vacuum", "medium: vacuum, loss: 2-4 %"), 0.97),  # as stated, half way
        (("medium: vacuum", "air: draught, loss: 5-7 %"), 0.94),  # a draught takes it, its salt stays
    ],
)
def test_a_dry_cure_that_states_its_loss_weighs_it(change, left):
    """What the piece weighs when the cure ends is what the page says."""
    report = _report(_changed(change))
    assert report.salted.result.end.food_mass_ratio.typical == pytest.approx(left, abs=3e-4)
    assert report.finished.ratio.typical == pytest.approx(left, abs=3e-4)
    _is_on_one_weight(report)


def test_losses_of_two_steps_in_one_cure_multiply():
    """3 % in the first half and 2 % in the second leave 0.97 * 0.98 = 0.9506."""
    second = "\n  more: {do: Turn and leave., stage: salt, time: 5 days, place: fridge, temperature: 3 °C, use: cure, loss: 2 %}"
    page = _changed(("medium: vacuum}", "loss: 3 %}" + second))
    assert _report(page).finished.ratio.typical == pytest.approx(0.9506, abs=3e-4)


def test_a_draught_leaves_its_salt_on_the_food():
    """Juice that runs off takes salt along; air does not. More salt is in the piece that lost as much to the air."""
    drawn = _report(_changed(("medium: vacuum", "medium: vacuum, loss: 6 %")))
    aired = _report(_changed(("medium: vacuum", "air: draught, loss: 6 %")))
    assert aired.salt.typical > drawn.salt.typical


def test_what_a_boil_takes_before_the_brine_is_missing_in_it():
    """Boiled to 85 % and laid in brine for long: 0.85 kg and 1 kg of 4 % brine share 40 g and the food's own salt.

    The food's own sodium is 50 mg in 100 g (USDA SR28), 1.3 g of salt in a kilogram. Its water is what it had, 0.683, less
    0.15; with 0.96 of the brine's that is 1.493 kg for 41.3 g * 0.985 of salt, and the food keeps 0.85 kg and what it takes up.
    """
    page = _changed(
        ("kind: dry cure", "kind: immersion"),
        ("{salt: 2 % of food}", "{water: 1920 g, salt: 80 g}"),
        ("medium: vacuum", "gain: 0 %, loss: 0 %"),
        ("  cure: {do", "  boil: {do: Boil., stage: cook, time: 1 h, place: stove, temperature: 98 °C, air: water, loss: 15 %}\n  cure: {do"),
        ("time: 6 days", "time: 40 days"),
    )  # fmt: skip
    report = _report(page)
    assert report.finished.ratio.typical == pytest.approx(0.85, abs=3e-4)
    settled = report.salted.result.stages[0].water_phase_salt_mean.typical
    assert settled == pytest.approx((40 * 0.985 + 1.3) / (1493 + 40.7), rel=0.02)
    _is_on_one_weight(report)


def test_trimmed_food_keeps_its_water():
    """A tenth cut away before the cure: 18 g of salt for each 0.9 kg would be 2 %; the cure is weighed for all of it."""
    page = _changed(
        ("  cure: {do", '  trim: {do: Trim., stage: prepare, time: 20 min, hands_on: "yes", place: bench, loss: 10 %}\n  cure: {do'),
        ("medium: vacuum", "medium: vacuum, loss: 3 %"),
    )  # fmt: skip
    report = _report(page)
    assert report.finished.ratio.typical == pytest.approx(0.9 * 0.97, abs=3e-4)
    assert report.salted.result.piece.kept.typical == pytest.approx(0.9)
    assert report.salted.result.piece.water_lost.typical == 0.0
    _is_on_one_weight(report)


def test_a_loss_of_weight_ends_where_it_says():
    """A cure that nobody weighed, then air until 30 % of the green weight is gone: 70 % is left, in every sample."""
    hang = "\n  hang: {do: Hang., stage: dry, until: weight loss 30 %, time: 30 days, place: cellar, temperature: 12 °C, humidity: 75 %, air: draught}"
    report = _report(_changed(("medium: vacuum}", "medium: vacuum}" + hang)))
    ratio = report.finished.ratio
    assert (ratio.low, ratio.typical, ratio.high) == pytest.approx((0.7, 0.7, 0.7), abs=1e-6)
    _is_on_one_weight(report)


def test_a_computed_loss_counts_where_one_step_states_its_own():
    """A roast without salt whose rest states 2 %: the oven's loss is in the yield too."""
    page = """
food: pork loin, whole, lean+fat
portions: 8
pieces: {shape: cylinder, thickness: 90 mm, length: 300 mm}
steps:
  roast: {do: Roast., stage: cook, until: core, place: oven, chamber: 160 °C, core: 68 °C, hold: 3 min}
  rest: {do: Rest and serve., stage: serve, time: 15 min, hands_on: "yes", place: bench, temperature: 20 °C, loss: 2 %}
"""
    report = _report(page)
    assert report.salted is None and report.finished.basis == "stated"
    assert report.finished.ratio.typical < 0.95
    result = report.course.result
    roasted = np.interp(result.stages[0].end, result.time, result.samples.mass[0])
    assert report.finished.ratio.typical == pytest.approx(roasted * 0.98, abs=0.002)
    _is_on_one_weight(report)


def test_the_usual_yield_stands_where_no_model_follows():
    """Dried cabbage: no model follows a vegetable that dries, so the family's usual yield carries the salt as well."""
    hang = "\n  dry: {do: Dry., stage: dry, time: 10 h, place: room, temperature: 35 °C, humidity: 30 %, air: draught}"
    report = _report(_changed(("pork loin, whole, lean+fat", "cabbage, green\nkind: dried"), ("medium: vacuum}", "medium: vacuum}" + hang)))  # fmt: skip
    assert report.finished.basis == "typical"
    _is_on_one_weight(report)
    assert report.salt.typical > 1.5 * report.salted.result.end.salt_mass_fraction.typical


@pytest.mark.parametrize("name", ["venison-strips", "winter-beef"])
def test_the_drying_and_the_salt_leave_the_same_water(name):
    """At one weight there is one amount of water: what the water activity is read from is what the salt dissolves in.

    By hand for the strips: of 1000 g of venison 265 g are solids, 20 g of salts and 15 g of sugar come with the cure; at 420 g that
    leaves 120 g of water, where strips without a cure would have 155 g.
    """
    report = open_handbook(Path("methods")).report(name)
    step = report.drying.last
    stage = report.course.stage(step.number)
    at = np.searchsorted(report.course.result.time, stage.end - 1e-6)
    dried = report.course.result.samples.water[0, at] * cured_weight(report.method)
    index = next(each for each, numbers in enumerate(report.salted.steps) if step.number in numbers)
    assert dried == pytest.approx(report.salted.result.stages[index].state.water[0], rel=0.08)


def test_food_under_fat_gives_off_no_steam():
    """Fat closes the surface: nothing evaporates, so no wet cloth holds the core back (common practice, no source)."""
    report = open_handbook(Path("methods")).report("legs-in-fat")
    stage = report.course.stage(3)
    result = report.course.result
    begin, end = (np.searchsorted(result.time, at - 1e-6) for at in (stage.start, stage.end))
    evaporated = result.samples.evaporated[0]
    assert evaporated[end] - evaporated[begin] < 0.005
    assert result.samples.core[0, end] > 363.15


def test_a_strong_cure_draws_more():
    """4 % of salt and 4 % of sugar on a side of fish: it loses weight and gains none, 0 to 15 % (common practice, no source)."""
    strong = _report(_changed(("pork loin, whole, lean+fat", "trout, rainbow, farmed"), ("salt: 2 %", "sugar: 4 % of food, salt: 4 %")))  # fmt: skip
    assert 0.85 < strong.finished.ratio.typical < 1.0
    _is_on_one_weight(strong)


def test_a_second_bath_meets_the_salt_that_the_food_brings():
    """Salted food in water without salt settles at what it brings along shared with the bath, and not at its own sodium alone."""
    bath = ", water: {kind: immersion, temperature: 3 °C, items: {water: 4 kg}}}"
    second = "\n  water: {do: Lay in water., stage: salt, time: 10 days, place: fridge, temperature: 3 °C, use: water, gain: 0 %}"
    page = _changed(
        ("kind: dry cure", "kind: immersion"),
        ("time: 6 days", "time: 40 days"),
        ("{salt: 2 % of food}", "{water: 1920 g, salt: 80 g}"),
        ("80 g}}}", "80 g}}" + bath),
        ("medium: vacuum}", "use: cure, gain: 0 %}" + second),
    )
    first, later = _report(page).saltings
    # 39.4 g in 0.96 + 0.683 kg of water leave 16.4 g in a kilogram; with 2 kg of fresh water a quarter stays in it.
    assert first.equilibrium.salt_mass_fraction.typical == pytest.approx(0.0167, rel=0.06)
    assert later.equilibrium.salt_mass_fraction.typical == pytest.approx(0.0164 * 0.683 / 2.683, rel=0.15)


def test_a_ferment_under_its_juice_does_not_dry():
    """The cellar's humidity and draught stand on the page; the shreds lie under juice and keep their weight."""
    page = """
food: cabbage, green
kind: ferment
pieces: {shape: slab, thickness: 2 mm}
saltings: {cure: {kind: dry-salted ferment, temperature: 18 °C, items: {salt: 2.2 % of food}}}
steps:
  knead: knead
  ferment: {part: ferment, air: draught, humidity: 70 %}
  fill: fill
"""
    report = _report(page)
    assert report.finished.basis == "computed"
    assert report.finished.ratio.typical > 0.95
    _is_on_one_weight(report)


def test_pumped_meat_lies_in_its_pickle():
    """A fridge takes nothing from pumped meat that lies covered in what runs out of it."""
    page = _changed(
        ("kind: dry cure", "kind: injection, pump: 12 %"),
        ("{salt: 2 % of food}", "{water: 1 kg, salt: 150 g}"),
        ("medium: vacuum}", "use: cure}\n  roast: roast"),
    )
    report = _report(page)
    assert report.course.stage(1).mass_lost.typical < 0.002
    assert report.salted.result.stages[0].food_mass_ratio.typical == pytest.approx(1.12, abs=2e-3)
