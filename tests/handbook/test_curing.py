"""Nitrite and nitrate arithmetic of the inspector, and the foods that may take them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handbook.base.errors import RangeError
from handbook.brine import nitrite as curing
from handbook.catalogue.tables import engine_tables

OUNCE, POUND = 1 / 16, 1.0  # any unit of mass does, as long as it is one
MASS = st.floats(0.001, 1000)


# 9 CFR 424.21(c) with the ppm that the FSIS Calculations Handbook gives for them (second-hand; the nitrate ppm
# are from memory). The published figures are cut, not rounded: 156.25 is printed 156, 1718.75 is printed 1718.
@pytest.mark.parametrize(
    ("computed", "exact", "printed"),
    [
        (curing.whole_cure_ppm(0.25 * OUNCE, 100 * POUND), 156.25, 156),
        (curing.whole_cure_ppm(1 * OUNCE, 100 * POUND), 625.0, 625),
        (
            curing.pumped_ppm(2 * POUND, 0.10, 100 * 10 * POUND),
            200.0,
            200,
        ),  # pickle of 10 lb per gallon: inferred
        (curing.whole_cure_ppm(2.75 * OUNCE, 100 * POUND), 1718.75, 1718),  # nitrate
        (curing.whole_cure_ppm(3.5 * OUNCE, 100 * POUND), 2187.5, 2187),  # nitrate
        (curing.pumped_ppm(7 * POUND, 0.10, 100 * 10 * POUND), 700.0, 700),  # nitrate
    ],
)
def test_regulation_amounts_give_the_published_ppm(computed, exact, printed):
    """The amounts of the regulation come out at its parts per million."""
    assert computed == pytest.approx(exact)
    assert int(computed + 1e-9) == printed


def test_the_published_200_ppm_need_a_pickle_of_ten_pounds_a_gallon():
    """Taken as water, 8.345 lb per gallon, the same 2 lb give 239.7 ppm: weigh the pickle."""
    assert curing.pumped_ppm(2, 0.10, 100 * 8.345) == pytest.approx(239.7, abs=0.05)


def test_pumped_ppm_agrees_with_a_users_worked_example_of_the_formula():
    """32 g of a 5.88 % blend in 1266 g of brine, pumped 10 %: 148.6256 ppm, second-hand, a user of page 19."""
    assert curing.pumped_ppm(32 * 0.0588, 0.10, 1266) == pytest.approx(148.6256, abs=5e-5)


def test_whole_cure_ppm_agrees_with_a_users_worked_example_of_the_formula():
    """0.044 g nitrite on 454 g meat is printed as 96 ppm, second-hand, a user of page 24 (0.70 g x 0.0625)."""
    assert curing.whole_cure_ppm(0.70 * 0.0625, 454) == pytest.approx(96, abs=0.5)


# Formula checks only: the numbers are made up here and are published nowhere.
def test_immersed_formulas_on_made_up_numbers():
    """Method two shares the nitrite between food and pickle."""
    assert curing.immersed_equilibrium_ppm(0.02, 80, 20) == pytest.approx(200)


@given(nitrite=st.floats(0, 1), food=MASS, pickle=MASS)
def test_immersion_never_gives_more_than_the_dry_cure(nitrite, food, pickle):
    """Sharing the same nitrite with a pickle can only lower the dose."""
    assert curing.immersed_equilibrium_ppm(nitrite, food, pickle) <= curing.whole_cure_ppm(nitrite, food)


@pytest.mark.parametrize(
    ("food", "food_class", "nitrite", "nitrate"),
    [
        ("pork leg (fresh ham), whole, lean", "pork", True, True),
        ("pork belly", "pork", True, False),  # no nitrate in bacon
        ("duck, domesticated, meat only", "poultry", True, True),
        ("salmon, Atlantic, farmed", "fish", True, True),  # 21 CFR 172.175(a)(2), read
        ("sablefish", "fish", True, True),
        ("tuna, yellowfin", "fish", True, False),  # 21 CFR 172.175(a)(1), read: 10 ppm
        ("trout, rainbow, wild", "fish", False, False),  # by omission
        ("mackerel, Atlantic", "fish", False, False),
        ("mussel, blue", "shellfish", False, False),
        ("cabbage, green", "vegetable", False, False),
        ("cheese, feta", "cheese", False, False),
        ("egg, whole", "egg", False, False),
    ],
)
def test_may_take(food, food_class, nitrite, nitrate):
    """Only named foods may be cured with nitrite or nitrate."""
    found = engine_tables().foods[food]
    assert found.food_class == food_class
    assert curing.may_take(found, "nitrite").allowed is nitrite
    assert curing.may_take(found, "nitrate").allowed is nitrate


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: curing.pumped_ppm(1, 10, 100), "pump_fraction"),  # 10 % entered as 10
        (lambda: curing.pumped_ppm(1, 0, 100), "pump_fraction"),
        (lambda: curing.pumped_ppm(1, 0.1, 0), "pickle_mass"),
        (lambda: curing.pumped_ppm(-1, 0.1, 1), "nitrite_mass"),
        (lambda: curing.immersed_equilibrium_ppm(1, -1, 100), "food_mass"),
        (lambda: curing.whole_cure_ppm(1, 0), "food_mass"),
        (lambda: curing.whole_cure_ppm(float("nan"), 1), "nitrite_mass"),
    ],
)
def test_out_of_range_is_an_error(call, name):
    """Percent entered as a whole number, nothing to cure, or a negative dose: no figure comes out."""
    with pytest.raises(RangeError) as caught:
        call()
    assert name == caught.value.name


@pytest.mark.parametrize(
    ("kind", "process"),
    [
        ("injection", "pumped"), ("immersion", "immersed"), ("equilibrium", "immersed"),
        ("dry cure", "dry-cured"), ("ferment brine", "immersed"), ("dry-salted ferment", "dry-cured"),
    ],
)  # fmt: skip
def test_cure_process(kind, process):
    """Kinds of salting in the regulation's words; what is mixed into minced food has a word and limits of its own."""
    assert curing.cure_process(kind, "cut") == process
    assert curing.cure_process(kind, "minced") == "mixed in"
