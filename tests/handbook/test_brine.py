"""Brine make-up and equilibrium against hand-worked balances of mass."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handbook.base.errors import RangeError
from handbook.base.ranges import Range
from handbook.base.units import parse_quantity
from handbook.brine.equilibrium import equilibrium
from handbook.brine.made_up import make_up
from handbook.brine.make_up import IngredientMass, MakeUp
from handbook.brine.nitrite import Process
from handbook.catalogue.foods import Food
from handbook.catalogue.ingredients import Ingredient
from handbook.page.amounts import Share, ToTarget
from handbook.page.salting import IngredientLine as Line

WATER = Ingredient(
    name="water, tap",
    kind="liquid",
    kg_per_m3=(1000.0, 1000.0, 1000.0),
    pack_state="",
    water=1.0,
    salt=0.0,
    sugars=0.0,
    sodium=0.0,
    nitrite=0.0,
    nitrate=0.0,
    piece_mass=None,
    allergens=(),
    source="x",
)
SALT = Ingredient(
    name="salt, test",
    kind="salt",
    kg_per_m3=(1100.0, 1200.0, 1300.0),
    pack_state="",
    water=0.0,
    salt=1.0,
    sugars=0.0,
    sodium=0.393,
    nitrite=0.0,
    nitrate=0.0,
    piece_mass=None,
    allergens=(),
    source="x",
)
CURE = Ingredient(
    name="curing salt",
    kind="curing salt",
    kg_per_m3=None,
    pack_state="",
    water=0.0,
    salt=0.9375,
    sugars=0.0,
    sodium=0.39,
    nitrite=0.0625,
    nitrate=0.0,
    piece_mass=None,
    allergens=(),
    source="x",
)
LEAN = Food(
    name="lean",
    food_class="fish",
    water=0.75,
    fat=0.05,
    protein=0.19,
    carbohydrate=0.0,
    ash=0.01,
    sodium=0.0,
    density=1050.0,
    ndb_number="",
    allergen="fish",
    is_scombroid=False,
    source="x",
)
ITEMS = {each.name: each for each in (WATER, SALT, CURE)}


def find(line):
    return ITEMS[line.item]


def brine(**masses: float) -> MakeUp:
    names = {"water": WATER, "salt": SALT, "cure": CURE}
    return MakeUp(
        parts=tuple(
            IngredientMass(ingredient=names[name], mass=Range.exact(mass), written="", by_volume=False, note="")
            for name, mass in masses.items()
        )
    )


def test_equilibrium_hand_worked():
    """1 kg of lean fish (750 g water) in 1.25 kg water with 100 g salt: 100 g / 2000 g water = 0.05 each way.

    Worked by hand: salt in the fish 0.05 * 750 = 37.5 g; fish 1037.5 g; 3.614 % salt; water phase 37.5 / 787.5.
    """
    at_rest = equilibrium(brine(water=1.25, salt=0.1), LEAN, 1.0)
    assert at_rest.salt_mass_fraction.typical == pytest.approx(37.5 / 1037.5, rel=1e-12)
    assert at_rest.water_phase_salt.typical == pytest.approx(37.5 / 787.5, rel=1e-12)
    assert at_rest.bath_water_phase_salt == pytest.approx(62.5 / 1312.5, rel=1e-12)


def test_equilibrium_injection_hand_worked():
    """10 % of a brine with 20 % salt brings 20 g per kg; the ham weighs 1100 g and holds 830 g of water."""
    at_rest = equilibrium(brine(water=0.8, salt=0.2), LEAN, 1.0, Process.PUMPED, pump=0.10)
    assert at_rest.salt_mass_fraction.typical == pytest.approx(20 / 1100, rel=1e-12)
    assert at_rest.water_phase_salt.typical == pytest.approx(20 / 850, rel=1e-12)
    assert at_rest.food_mass_ratio == pytest.approx(1.1, rel=1e-12)


def test_dry_cure_takes_all():
    """A weighed dry cure ends wholly in the food: 25 g on 1000 g is 25 / 1025."""
    assert equilibrium(brine(salt=0.025), LEAN, 1.0, Process.DRY_CURED).salt_mass_fraction.typical == pytest.approx(
        25 / 1025, rel=1e-12
    )


@pytest.mark.parametrize(
    ("target", "grams"),
    [
        # Trade's convention: x = m / (water + food + m). Hand-worked: 0.02 / 0.98 * 2000 g = 40.816 g.
        (Share(fraction=0.02, base="all", text=""), 40.8163),
        # Water phase: x = m / (1000 + 750 + m): 0.02 / 0.98 * 1750 g = 35.714 g.
        (Share(fraction=0.02, base="water phase", text=""), 35.7143),
        # Food: c = 0.02 / 0.98 * 1000 / 750 per g of water, times 1750 g = 47.619 g.
        (Share(fraction=0.02, base="food", text=""), 47.6190),
    ],
)
def test_salt_to_target_hand_worked(target, grams):
    """Salt for 1 kg of food and 1 kg of water to 2 % on each basis."""
    lines = (
        Line(item="water, tap", amount=parse_quantity("1 kg", "mass"), note="", line=1),
        Line(item="salt, test", amount=ToTarget(), note="", line=2),
    )
    made = make_up(lines, find, LEAN, 1.0, target)
    assert made.total("salt") * 1000 == pytest.approx(grams, abs=5e-5)


def test_target_food_is_reached_at_equilibrium():
    """A target "of food" is what equilibrium then finds in the food."""
    lines = (
        Line(item="water, tap", amount=parse_quantity("1.5 kg", "mass"), note="", line=1),
        Line(item="salt, test", amount=ToTarget(), note="", line=2),
    )
    made = make_up(lines, find, LEAN, 1.0, Share(fraction=0.018, base="food", text=""))
    assert equilibrium(made, LEAN, 1.0).salt_mass_fraction.typical == pytest.approx(0.018, rel=1e-12)


def test_target_below_what_is_there():
    """A target that the other ingredients already pass is an error, not a negative mass."""
    lines = (
        Line(item="water, tap", amount=parse_quantity("1 kg", "mass"), note="", line=1),
        Line(item="salt, test", amount=parse_quantity("0.1 kg", "mass"), note="", line=2),
        Line(item="salt, test", amount=ToTarget(), note="", line=3),
    )
    with pytest.raises(RangeError, match="target_salt"):
        make_up(lines, find, LEAN, 1.0, Share(fraction=0.01, base="all", text=""))


def test_shares_of_food_and_water():
    """``2.5 % of food`` and ``5 % of water`` are masses of the batch."""
    lines = (
        Line(item="water, tap", amount=parse_quantity("2 kg", "mass"), note="", line=1),
        Line(item="salt, test", amount=Share(fraction=0.05, base="water", text=""), note="", line=2),
        Line(item="curing salt", amount=Share(fraction=0.0025, base="food", text=""), note="", line=3),
    )
    made = make_up(lines, find, LEAN, 4.0)
    assert [part.mass.typical for part in made.parts] == pytest.approx([2.0, 0.1, 0.01])


def test_nitrite_dry_cure_one_ounce_per_hundred_pounds():
    """1 oz of sodium nitrite on 100 lb of meat is 625 ppm (9 CFR 424.21(c); read second-hand)."""
    cure = brine(cure=0.0283495 / 0.0625)
    assert equilibrium(cure, LEAN, 45.359237, Process.DRY_CURED).ingoing_nitrite_ppm == pytest.approx(625, abs=0.05)


def test_nitrite_pumped_two_pounds_in_a_hundred_gallons():
    """2 lb in 1000 lb of pickle pumped to 10 % is 200 ppm (9 CFR 424.21(c), pickle of 10 lb/gal inferred)."""
    pickle = brine(water=1000 - 2 / 0.0625, cure=2 / 0.0625)
    assert equilibrium(pickle, LEAN, 1.0, Process.PUMPED, pump=0.10).ingoing_nitrite_ppm == pytest.approx(200, abs=1e-6)


@given(water=st.floats(0.1, 50), strength=st.floats(0.001, 0.35), food=st.floats(0.1, 50))
def test_equilibrium_conserves_salt(water, strength, food):
    """Salt in the food and salt left in the brine add up to what was put in."""
    salt = water * strength
    made = brine(water=water, salt=salt)
    at_rest = equilibrium(made, LEAN, food)
    in_food = at_rest.ingoing_salt_on_green_weight * food
    left = at_rest.bath_water_phase_salt
    assert in_food + left / (1 - left) * water == pytest.approx(salt, rel=1e-9)


@given(factor=st.floats(0.01, 100))
def test_scaling_keeps_the_strength(factor):
    """A batch of any size has the same brine and ends at the same salt."""
    made = brine(water=2.0, salt=0.16)
    assert made.scaled(factor).solution_salt == pytest.approx(made.solution_salt, rel=1e-12)
    assert equilibrium(made.scaled(factor), LEAN, factor).salt_mass_fraction.typical == pytest.approx(
        equilibrium(made, LEAN, 1.0).salt_mass_fraction.typical, rel=1e-9
    )


def test_limits_of_no_brine_and_of_a_lake():
    """Almost no brine leaves the food as it is; a huge bath makes the food's water as strong as the brine."""
    assert equilibrium(brine(water=1e-9, salt=1e-10), LEAN, 1.0).salt_mass_fraction.typical < 1e-9
    lake = equilibrium(brine(water=1e6, salt=5e4), LEAN, 1.0)
    assert lake.water_phase_salt.typical == pytest.approx(0.05 / 1.05, rel=1e-5)
