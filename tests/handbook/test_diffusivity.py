"""Diffusivities against the published values they come from, Arrhenius worked by hand, and their marks and errors."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from handbook.base.errors import RangeError, SourceError
from handbook.base.sources import TRUSTS, source
from handbook.catalogue.foods import FOOD_CLASSES, load
from handbook.salt.diffusivity import all_diffusivities, salt_diffusivity, sugar_diffusivity
from tests.published import rows

CELSIUS = 273.15
CM2_PER_DAY = 1e-4 / 86400


def printed(key: str) -> dict[str, str]:
    return next(row for row in rows("uptake_in_food.csv") if row["key"] == key)


def test_pork_is_the_published_value():
    """Pork at 5 degC is that of loin slices in brine, 1.90e-10 give or take 0.28e-10 m2/s."""
    row = printed("pork_d")
    assert float(row["low"]) <= salt_diffusivity("pork").at(CELSIUS + 5).value <= float(row["high"])


@pytest.mark.parametrize("temperature", [10, 12.5, 15])
def test_cheese_band_is_the_published_range(temperature):
    """At 10 to 15 degC all cheeses lie between 1e-10 and 5.3e-10 m2/s [floury-2010]; the band covers that at 12.5."""
    at = salt_diffusivity("cheese").at(CELSIUS + temperature)
    assert at.low < 1.2e-10 and at.high > 4.5e-10
    low, high = (float(printed(f"cheese_d_{end}")["printed"]) * CM2_PER_DAY for end in ("low", "high"))
    assert low < at.value < high


def test_romano_cheese_in_the_band():
    """0.23 cm2 a day, measured at 20 degC, lies in the band of cheese."""
    at, measured = salt_diffusivity("cheese").at(CELSIUS + 20), float(printed("romano_d")["printed"]) * CM2_PER_DAY
    assert at.low < measured < at.high


@pytest.mark.parametrize(("temperature", "value"), [(4, 2.1e-10), (12.5, 3.0e-10), (20, 4.0e-10)])
def test_white_cheese_follows_its_three_temperatures(temperature, value):
    """White brined cheese: 2.1, 3 and 4e-10 at 4, 12.5 and 20 degC [floury-2010], within half the last digit."""
    at = salt_diffusivity("cheese", "cheese, feta").at(CELSIUS + temperature)
    assert at.value == pytest.approx(value, abs=0.05e-10)


@pytest.mark.parametrize(
    ("food_class", "low", "high"), [("fish", 1e-10, 1e-9), ("vegetable", 6.0e-10, 1.3e-9), ("beef", 1.5e-10, 4e-10)]
)
def test_band_spans_what_was_found(food_class, low, high):
    """Fish and beef: the compiled ranges; vegetables at 25 degC: 6e-10 to 1.3e-9 [vegetable-spheres-2025]."""
    at = salt_diffusivity(food_class).at(CELSIUS + (25 if food_class == "vegetable" else 5))
    assert at.low <= low * 1.01 and at.high >= high * 0.88


def test_no_salt_faster_than_in_water():
    """No typical value is faster than salt in water: (6.06 + 0.297 T) and (9.60 + 0.438 T) e-10 [boudreau-1997]."""
    for row in all_diffusivities():
        celsius = row.reference_temperature - CELSIUS
        sodium, chloride = (6.06 + 0.297 * celsius) * 1e-10, (9.60 + 0.438 * celsius) * 1e-10
        assert row.reference < 2 * sodium * chloride / (sodium + chloride), row.name


def test_arrhenius_by_hand():
    """Fish from 5 to 15 degC: 22000 / 8.314463 x 1.247665e-4 = 0.330131, and 3e-10 e^0.330131 = 4.17346e-10."""
    assert salt_diffusivity("fish").at(288.15).value == pytest.approx(4.17346e-10, abs=0.00002e-10)


def test_band_by_hand():
    """Fish: x or / 3 at 5 degC; at 25 degC 721.634 x 2.411661e-4 = 0.174034 beside ln 3: e^1.112312 = 3.04138."""
    fish = salt_diffusivity("fish")
    for temperature, factor in ((278.15, 3.0), (298.15, 3.04138)):
        at = fish.at(temperature)
        assert (at.value / at.low, at.high / at.value) == pytest.approx((factor, factor), abs=2e-5)


@given(st.sampled_from(all_diffusivities()), st.floats(268.15, 352.15), st.floats(0, 1))
def test_warmer_is_faster(row, temperature, more):
    """Diffusivity rises with temperature, and its band is never narrower than at the reference."""
    assert row.at(temperature).value <= row.at(temperature + more).value
    assert row.at(temperature).high / row.at(temperature).value >= row.spread_factor * (1 - 1e-12)


def test_sugar_lags_salt():
    """Sugar is slower than salt in every class, about threefold."""
    for food_class in FOOD_CLASSES:
        sugar, salt = (of(food_class).at(CELSIUS + 10).value for of in (sugar_diffusivity, salt_diffusivity))
        assert 0.2 < sugar / salt < 0.6, food_class


def test_every_class_and_named_food_is_there():
    """Each class of the food table has salt and sugar; each named row is the exact name of a food in the table."""
    names = {food.name for food in load()}
    for food_class in FOOD_CLASSES:
        assert salt_diffusivity(food_class).solute == "salt"
        assert sugar_diffusivity(food_class).solute == "sugar"
    assert all(row.name in names for row in all_diffusivities() if "," in row.name)
    assert salt_diffusivity("fish", "no such fish") == salt_diffusivity("fish")


@pytest.mark.parametrize("row", all_diffusivities(), ids=lambda row: f"{row.solute} {row.name}")
def test_rows_say_where_they_come_from(row):
    """Every row has sources and trust; what is not read says "from memory" and has a band of 1.6 or more."""
    assert row.sources and all(source(key).citation for key in row.sources)
    assert row.trust in TRUSTS and row.note.endswith(".")
    assert row.spread_factor >= 1.6
    assert row.temperature_low <= row.reference_temperature <= row.temperature_high


def test_extrapolation_is_marked():
    """Outside what was measured the value stands, marked; food frozen or near boiling has none."""
    pork = salt_diffusivity("pork")
    assert [pork.is_extrapolated(CELSIUS + at) for at in (0, 2, 20, 22)] == [True, False, False, True]
    for temperature in (CELSIUS - 5.1, CELSIUS + 80.1):
        with pytest.raises(RangeError, match="-5 to 80"):
            pork.at(temperature)
    with pytest.raises(RangeError):
        pork.values(np.array([CELSIUS + 5, CELSIUS + 90]))


def test_unknown_class_is_named():
    """A class that does not exist is an error with the nearest one, never a guess."""
    with pytest.raises(SourceError, match=r"read fihs; allowed: fish, .* Did you mean fish"):
        salt_diffusivity("fihs")
