"""Whether the salt has reached the middle when a thick piece leaves the cold."""

import pytest

from handbook.brine.solution import water_activity
from handbook.report.evaluate import evaluate
from handbook.report.middle_report import SAFE_MIDDLE
from site_build.html.curves import middle_html
from tests.one_page import OnePage

PAGE, DAY = OnePage(), 86400.0
TEXT = """---
title: Cellar ham
food: "pork leg (fresh ham), whole, lean"
kind: dry cure
summary: A ham.
keeper: Tamsin Rhee
reviewed: 2026-08-17
portions: 40
---

Text.

```pieces
shape: SHAPE
form: whole
```

```salting
kind: dry cure
temperature: 3 °C
ingredients:
  - {item: "salt, pickling/canning (fine, no additives)", amount: 4 % of food}
  - {item: "curing salt, 6.25 % nitrite + 4 % nitrate (type 2)", amount: 0.25 % of food}
```

```steps
- do: Salt it.
  stage: salt
  time: COLD days
  place: fridge
  temperature: 3 °C
- do: Hang it.
  stage: dry
  time: 60 days
  place: cellar
  temperature: 14 °C
  humidity: 75 %
```

```batches
written_for: 10 kg
```
"""
HAM, SLICE = "joint\nmass: 10 kg\nbone: in", "slab\nthickness: 15 mm"


def middle(shape=HAM, cold="20"):
    """What the page says of the middle."""
    _, method, faults = PAGE.read(TEXT.replace("SHAPE", shape).replace("COLD", cold).encode())
    assert not faults, faults
    return evaluate(method, PAGE.house, PAGE.tables)


def test_ham_that_leaves_too_early():
    """After 20 days the middle of a 10 kg ham has far less salt than its mean, and the day of evenness is months off."""
    report = middle()
    found = report.middle
    assert found.number == 2 and found.at == pytest.approx(20 * DAY)
    assert found.centre.typical < 0.5 * found.mean.typical and not found.is_even
    assert found.even[1] > 60 * DAY
    assert "not even yet" in middle_html(report, "")


def test_longer_in_the_cold_is_salter_in_the_middle():
    """More days bring more salt to the centre; the day of evenness stays where it is."""
    short, long = (middle(cold=each).middle for each in ("20", "120"))
    assert long.centre.typical > 3 * short.centre.typical
    assert long.even[1] == pytest.approx(short.even[1], rel=0.1)
    assert long.safe[1] is None or long.safe[1] == pytest.approx(short.safe[1], rel=0.1)


def test_salt_for_the_limit_of_activity():
    """0.96 is met by 6.6 % salt in the water (water activity of brine, published table)."""
    assert water_activity(0.066) == pytest.approx(SAFE_MIDDLE, abs=0.002)


def test_thin_piece_has_no_question():
    """A thin slice has no middle to ask for."""
    assert middle(SLICE).middle is None
