"""Temperatures of what is mixed and of what stands in a box: worked balances, limits, and pages that state them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handbook.base.errors import RangeError
from handbook.base.ranges import Range
from handbook.page.steps import BOX_WALLS
from handbook.report.evaluate import evaluate
from handbook.warmth.box import WALLS, box_course, conductance, time_to
from handbook.warmth.mixing import MELTING, WATER_HEAT, Portion, ice_for, mixed
from tests.one_page import OnePage

ZERO = 273.15


def water(mass, celsius):
    """Some water."""
    return Portion(mass=mass, temperature=ZERO + celsius, heat=WATER_HEAT)


def ice(mass, celsius=0.0):
    """Some ice."""
    return Portion(mass=mass, temperature=ZERO + celsius, heat=WATER_HEAT, ice=mass)


def test_two_waters():
    """1 kg at 80 °C and 3 kg at 20 °C come to (80 + 60) / 4 = 35 °C, worked by hand."""
    assert mixed([water(1, 80), water(3, 20)]).temperature - ZERO == pytest.approx(35.0)


def test_ice_in_warm_water_worked_by_hand():
    """200 g of ice at 0 °C in 1 kg at 25 °C: 25 x 4186 = 104650 J, less 0.2 x 333600 = 66720, over 1.2 x 4186: 7.55 °C."""
    assert mixed([water(1, 25), ice(0.2)]).temperature - ZERO == pytest.approx(7.55, abs=0.01)


def test_too_much_ice_stays():
    """1 kg at 10 °C melts 41860 / 333600 = 0.1255 kg of a kilogram of ice and stands at 0 °C."""
    found = mixed([water(1, 10), ice(1)])
    assert found.temperature == pytest.approx(ZERO)
    assert found.ice == pytest.approx(1 - 10 * WATER_HEAT / MELTING, abs=1e-6)


def test_salt_chills():
    """Ice in brine goes on melting below 0 °C, to the freezing point of what it melts into."""
    brine = Portion(mass=1.2, temperature=ZERO + 5, heat=3700.0, salt=0.2)
    found = mixed([brine, ice(1)], lambda melted: ZERO - 58.0 * 0.2 / (1.0 + melted))
    assert ZERO - 12 < found.temperature < ZERO - 5 and 0 < found.ice < 1


@given(st.floats(0.5, 20), st.floats(5, 95), st.floats(0, 4))
def test_ice_for_is_the_inverse_of_mixing(mass, celsius, target):
    """The ice asked for brings the mixture to what was asked."""
    needed = ice_for([water(mass, celsius)], ZERO + target)
    parts = [water(mass, celsius), *([ice(needed)] if needed > 0 else [])]
    assert mixed(parts).temperature - ZERO == pytest.approx(target if needed > 0 else celsius, abs=1e-6)


def test_what_cannot_be_mixed():
    """Nothing, and steam, are refused."""
    with pytest.raises(RangeError):
        mixed([])
    with pytest.raises(RangeError):
        mixed([water(1, 120)])
    with pytest.raises(RangeError):
        ice_for([water(1, 20)], 260.0)


def test_box_follows_the_law_of_cooling():
    """After one time constant, capacity / conductance, 1 / e of the difference is left (definition)."""
    flow, capacity = Range.exact(1.0), 36000.0
    course = box_course(ZERO + 80, Range.exact(ZERO + 20), capacity, flow, 36000.0, ice=0.0)
    assert course.end.typical - ZERO == pytest.approx(20 + 60 / 2.718281828, abs=0.01)
    assert time_to(ZERO + 80, ZERO + 20, capacity, 1.0, ZERO + 60) == pytest.approx(36000 * 0.405465, rel=1e-4)
    assert time_to(ZERO + 80, ZERO + 20, capacity, 1.0, ZERO + 10) == float("inf")


def test_ice_holds_a_box():
    """1 kg of ice at 1 W/K and 20 K takes 333600 / 20 s to melt; until then the box stands still."""
    held = MELTING / 20.0
    course = box_course(ZERO, Range.exact(ZERO + 20), 40000.0, Range.exact(1.0), held, ice=1.0)
    assert course.end.typical == pytest.approx(ZERO, abs=1e-6)


def test_better_walls_hold_longer():
    """Foam loses less than wood, wood less than bare plastic; a thicker wall less than a thin one."""
    flows = [conductance(each, None, 0.02).typical for each in ("foam", "wood", "plastic")]
    assert flows == sorted(flows)
    assert conductance("foam", 0.05, 0.02).typical < conductance("foam", 0.02, 0.02).typical
    assert tuple(WALLS) == BOX_WALLS
    for each in (lambda: conductance("straw", None, 0.02), lambda: conductance("foam", None, 0.0)):
        with pytest.raises(RangeError):
            each()


PAGE = OnePage()
TEXT = """---
title: Box rest
food: "pork shoulder, whole, lean+fat"
kind: cook
summary: Brined and rested.
keeper: Tamsin Rhee
reviewed: 2026-08-17
portions: 20
---

Text.

```pieces
shape: joint
mass: 3 kg
```

```salting
kind: immersion
temperature: 3 °C
ingredients:
  - {item: "water, tap", amount: 2 L, temperature: 95 °C}
  - {item: "water, tap", amount: 1 L COLD}
  - {item: ice, amount: 1.5 kg}
  - {item: "salt, pickling/canning (fine, no additives)", amount: 250 g}
```

```steps
- do: Put it in.
  stage: salt
  time: 12 h
  place: fridge
- do: Smoke it.
  stage: cook
  until: core 93 °C
  place: smoker
  chamber: 120 °C
- do: Rest it in a box.
  stage: hold
  time: 4 h
  cover: foil
  TEMPERATURE
  box: {wall: foam, thickness: 30 mm, room: 18-24 °C}
```

```batches
written_for: 6 kg
```
"""


def rested(cold=", temperature: 10 °C", temperature="temperature: 90 °C"):
    """The page's method with its faults."""
    return PAGE.read(TEXT.replace(" COLD", cold).replace("TEMPERATURE", temperature).encode())


def test_page_tells_brine_and_box():
    """Mixed by hand: (2 x 95 + 10) x 4186 less the ice's melting and salt, over 4.5 kg of water, is 16 to 17 °C; the box
    ends between 60 and 90 °C, and the safety rules read both.
    """
    _, method, faults = rested()
    assert not faults, faults
    report = evaluate(method, PAGE.house, PAGE.tables)
    (brine,), (box,) = report.stands.brines, report.stands.boxes
    assert 13 < brine.temperature.typical - ZERO < 18
    assert 5 < brine.with_food.typical - ZERO < brine.temperature.typical - ZERO
    assert 0.3 < brine.more_ice < 0.9 and brine.cold_after > 3600
    assert 60 < box.course.end.typical - ZERO < 85 and box.crossed[1] is None
    core = report.course.stage(3).surface.typical - ZERO
    assert 60 < core < 90
    cold = next(each for each in report.findings if each.title.startswith("Brining"))
    assert cold.level == "stop" and "17" in cold.figure


def test_missing_temperature_is_named():
    """A brine with one water of unknown temperature is said as unknown, with what is missing."""
    _, method, faults = rested(cold="")
    assert not faults, faults
    (brine,) = evaluate(method, PAGE.house, PAGE.tables).stands.brines
    assert brine.temperature is None and "water, tap, 1 L" in brine.missing


def test_box_asks_for_what_goes_in():
    """A box without the temperature of its contents is a fault with its line."""
    _, _, faults = rested(temperature="place: bench")
    assert any("temperature of what goes into the box" in str(each) for each in faults)
