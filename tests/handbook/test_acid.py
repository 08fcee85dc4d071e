"""Acid: constants and balances worked by hand, what must hold, published pickles and ferments, and pages."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from handbook.acid.charge_balance import ACIDS, Buffer, acid_for_ph, buffer_capacity, mixture_ph
from handbook.acid.food_acidity import food_acidities
from handbook.acid.into_piece import centre_course, time_to_share
from handbook.acid.souring import lactic_acid, souring_rate
from handbook.base.errors import RangeError
from handbook.catalogue.tables import engine_tables
from handbook.report.evaluate import evaluate
from handbook.salt.diffusion import geometry
from handbook.validation.acid_comparisons import acid_standings
from tests.one_page import OnePage

DAY = 86400.0


def test_weak_acid_by_hand():
    """0.1 mol/kg of acetic acid: h2 / (0.1 - h) = 10^-4.756 gives h = 1.316e-3, pH 2.88 (textbook example)."""
    assert mixture_ph({"acetic": 0.1}, 1.0, []) == pytest.approx(2.88, abs=0.005)


def test_citric_acid_by_hand():
    """0.1 mol/kg of citric acid: its first constant alone gives h = 2.73e-3 x 10 / ... pH 2.08; the others add little."""
    h = (-(10**-3.128) + (10**-6.256 + 0.4 * 10**-3.128) ** 0.5) / 2
    assert mixture_ph({"citric": 0.1}, 1.0, []) == pytest.approx(-np.log10(h), abs=0.01)


def test_no_acid_leaves_the_food_as_it_is():
    """Food in water keeps its pH, pure water has 7."""
    assert mixture_ph({}, 1.0, [Buffer(mass=1.0, ph=6.0, capacity=0.03)]) == pytest.approx(6.0, abs=0.001)
    assert mixture_ph({}, 1.0, []) == pytest.approx(7.0, abs=0.001)


@given(st.sampled_from(sorted(ACIDS)), st.floats(3.2, 5.5), st.floats(0.005, 0.08), st.floats(0, 2))
def test_acid_for_a_ph_is_the_inverse(acid, target, capacity, ionic):
    """The amount that a pH needs gives that pH."""
    food = [Buffer(mass=1.0, ph=6.2, capacity=capacity)]
    amount = acid_for_ph(acid, target, 1.5, food, ionic)
    assert mixture_ph({acid: amount}, 1.5, food, ionic) == pytest.approx(target, abs=1e-6)


@given(st.floats(0.01, 1.0), st.floats(0.005, 0.08))
def test_more_acid_is_sourer_more_buffer_less_so(amount, capacity):
    """Acid lowers the pH, buffering holds against it, and salt lowers it a little."""
    food, more = ([Buffer(mass=1.0, ph=6.2, capacity=each)] for each in (capacity, 1.5 * capacity))
    plain = mixture_ph({"acetic": amount}, 1.0, food)
    assert mixture_ph({"acetic": 1.2 * amount}, 1.0, food) < plain < mixture_ph({"acetic": amount}, 1.0, more)
    assert mixture_ph({"acetic": amount}, 1.0, food, 0.5) < plain


def test_what_is_refused():
    """No water, an acid of no known constant, and a ferment at 50 °C."""
    for each in (
        lambda: mixture_ph({"acetic": 1.0}, 0.0, []),
        lambda: mixture_ph({"malic": 1.0}, 1.0, []),
        lambda: acid_for_ph("malic", 4.0, 1.0, []),
        lambda: souring_rate(323.15, 0.02),
    ):
        with pytest.raises(RangeError):
            each()


def test_buffering_of_muscle_and_cabbage():
    """50 to 60 mmol/kg for muscle of 20 % protein, 15 to 25 for cabbage (from memory)."""
    assert 0.05 <= buffer_capacity(0.20) <= 0.07
    assert 0.015 <= buffer_capacity(0.0128, 0.0064) <= 0.025


def test_centre_of_a_sphere_by_the_series():
    """c / c_end = 1 + 2 sum (-1)^n exp(-n^2 pi^2 F) at the centre of a sphere (Crank 1975, eq. 6.19)."""
    fourier = np.array([0.05, 0.1, 0.3])
    n = np.arange(1, 40)
    wanted = 1 + 2 * ((-1.0) ** n * np.exp(-np.multiply.outer(fourier, (n * np.pi) ** 2))).sum(1)
    assert centre_course(geometry("sphere"), fourier) == pytest.approx(wanted, abs=0.003)


def test_thick_piece_takes_its_square():
    """Twice as thick takes four times as long; what equilibrium does not hold is never reached."""
    thin, thick = (time_to_share(geometry("slab"), each, 0.5, 280.15) for each in (0.005, 0.01))
    assert thick.typical == pytest.approx(4 * thin.typical)
    assert time_to_share(geometry("slab"), 0.005, 1.0, 280.15) is None


def test_ferment_is_quicker_warm_and_slower_salt():
    """Warmth quickens, salt above 3 % slows, 16 % stops; the sugars bound the acid."""
    assert souring_rate(298.15, 0.025) > souring_rate(288.15, 0.025) > souring_rate(288.15, 0.06)
    assert souring_rate(288.15, 0.16) == 0.0
    long = lactic_acid(np.array([400 * DAY]), souring_rate(298.15, 0.02), 0.01)[0]
    assert long == pytest.approx(0.009, rel=1e-6)
    assert lactic_acid(np.array([1.0]), 0.0, 0.03)[0] == 0.0


def test_published_pickles_and_ferments():
    """Of the rows on the page of figures eight in ten overlap what is printed."""
    found = acid_standings()
    assert sum(each.model is not None and "do not overlap" not in each.misfit for each in found) >= 0.8 * len(found)


def test_predicted_ph_of_eggs():
    """Eggs in a jar with 7.5, 4.9 and 2.5 % acetic acid come to pH 3.8, 4.0 and 4.3 (abstract, read): within 0.15."""
    for each in acid_standings():
        if each.finding.key.startswith("eggs_jar"):
            assert each.model.typical == pytest.approx(each.finding.figure.typical, abs=0.15)


def test_every_row_is_a_food():
    """The table names foods of the handbook, and every vegetable has a row."""
    foods = engine_tables().foods
    assert set(food_acidities()) <= set(foods)
    assert {each.name for each in foods.values() if each.food_class == "vegetable"} <= set(food_acidities())


PAGE = OnePage()
TEXT = """---
title: Sour page
food: FOOD
kind: brine
summary: A sour thing.
keeper: Tamsin Rhee
reviewed: 2026-08-17
portions: 9
---

Text.

```pieces
PIECES
```

```salting
SALTING
```

```steps
STEPS
```

```batches
written_for: 450 g
```
"""
EGGS = "shape: oval\nmass: 50 g\nform: whole\nstate: cooked"
BRINE = """kind: immersion
temperature: 4 °C
ingredients:
  - {item: "VINEGAR", amount: 500 g}
  - {item: "salt, pickling/canning (fine, no additives)", amount: 10 g}"""
INTO = """- do: Put them in.
  stage: salt
  time: 12 days
  place: fridge"""
CABBAGE = """kind: dry-salted ferment
temperature: 20 °C
ingredients:
  - {item: "salt, pickling/canning (fine, no additives)", amount: 2.25 % of food}"""
SOUR = """- do: Pack it.
  stage: salt
  time: 20 min
  place: bench
- do: Let it sour.
  stage: ferment
  until: pH 3.8
  TIME
  place: room
  temperature: 20 °C"""


def sour(food, pieces, salting, steps):
    """The acid report of the page and the report itself."""
    text = TEXT.replace("FOOD", food).replace("PIECES", pieces).replace("SALTING", salting).replace("STEPS", steps)
    _, method, faults = PAGE.read(text.encode())
    assert not faults, faults
    report = evaluate(method, PAGE.house, PAGE.tables)
    return report.sour, report


def test_pickled_eggs():
    """Nearly equal parts in vinegar of 5 %: pH about 4 (1 to 2 days to the centre in the fridge, then on to weeks)."""
    found, _ = sour("'egg, whole'", EGGS, BRINE.replace("VINEGAR", "vinegar, distilled 5 %"), INTO)
    (pickle,) = found.pickles
    assert pickle.ph.low < 4.1 < pickle.ph.high
    assert 0.02 < pickle.acid < 0.03
    assert DAY < pickle.centre.typical < 8 * DAY


def test_vinegar_of_unknown_strength_is_unknown():
    """The missing figure is named; nothing is guessed."""
    found, _ = sour("'egg, whole'", EGGS, BRINE.replace("VINEGAR", "vinegar, cider"), INTO)
    (pickle,) = found.pickles
    assert pickle.ph is None and pickle.missing == "the strength of vinegar, cider"


def test_ferment_until_a_ph():
    """The time to pH 3.8 is computed with its range, and the acid at the end is told."""
    found, report = sour("'cabbage, green'", "shape: slab\nthickness: 2 mm", CABBAGE, SOUR.replace("  TIME\n", ""))
    step = report.schedule.steps[1]
    assert step.basis == "computed"
    assert 2 * DAY < step.duration.typical < 20 * DAY and step.duration.low < step.duration.typical
    assert found.ferment.typical[-1] == pytest.approx(3.8, abs=0.1)
    assert np.all(np.diff(found.ferment.typical) <= 1e-9)


def test_predicted_ph_clears_no_rule():
    """The rule of the final pH says that it is not measured, whatever is predicted."""
    _, report = sour("'cabbage, green'", "shape: slab\nthickness: 2 mm", CABBAGE, SOUR.replace("TIME", "time: 30 days"))
    own = [each for each in report.findings if each.rule == "ferment-ph"]
    assert own and all("not measured" in each.figure for each in own)


def test_ferment_blended_with_vinegar():
    """A chili ferment blended with vinegar is sourer than either alone, and its own brine counts with it."""
    first = (
        CABBAGE
        + """
```

```salting
name: finish
kind: immersion
ingredients:
  - {item: "vinegar, distilled 5 %", amount: 150 g}"""
    )
    steps = (
        SOUR.replace("  until: pH 3.8\n  TIME", "  time: 14 days")
        + """
- do: Blend it with the vinegar.
  stage: prepare
  time: 10 min
  hands_on: yes
  use: finish
"""
    )
    found, _ = sour("'hot chili, red'", "shape: slab\nthickness: 3 mm\nform: minced", first, steps)
    (pickle,) = found.pickles
    assert found.ferment is not None and pickle.ph.typical < found.ferment.ph.high
    assert pickle.acid > 0.02 and pickle.why_no_centre


def test_marinated_meat_has_no_section_and_pickled_fish_has():
    """A spoon of vinegar in a brine sours no meat; fish in vinegar is pickled, its pH known by its kind."""
    weak = BRINE.replace(
        '"VINEGAR", amount: 500 g}', '"water, tap", amount: 1 L}\n  - {item: "vinegar, distilled 5 %", amount: 20 g}'
    )
    found, _ = sour("'pork loin, whole, lean'", "shape: joint\nmass: 450 g", weak, INTO)
    assert found is None
    found, _ = sour(
        "'herring, Atlantic'", "shape: slab\nthickness: 10 mm", BRINE.replace("VINEGAR", "vinegar, distilled 5 %"), INTO
    )
    assert found.pickles[0].ph.typical < 4.6 and found.pickles[0].centre is not None


def test_vinegar_poured_on_a_ferment():
    """Vinegar that is blended in as a glaze counts with what stays of it.

    By hand: 225 g of 5 % is 0.187 mol of acetic, 460 g of mash with 2.2 % is 0.113 mol of lactic; together, as acetic, 18 g
    in 685 g.
    """
    first = (
        CABBAGE
        + """
```

```glaze
name: vinegar
stays_on: 50 % of food
ingredients:
  - {item: "vinegar, distilled 5 %", amount: 225 g}"""
    )
    steps = (
        SOUR.replace("  until: pH 3.8\n  TIME", "  time: 14 days")
        + """
- do: Blend it.
  stage: glaze
  time: 10 min
  hands_on: yes
  use: vinegar"""
    )
    found, _ = sour("'hot chili, red'", "shape: slab\nthickness: 3 mm", first, steps)
    (pickle,) = found.pickles
    assert pickle.name == "vinegar" and pickle.acid == pytest.approx(0.0263, rel=0.05) and pickle.ph.typical < 3.8
