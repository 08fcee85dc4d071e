"""What puts a brine right and what a used one holds, against hand-worked balances and the uptake model's own salt."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handbook.advice.correction import correction, obstacle, use_rule, used_brine
from handbook.base.errors import RangeError
from handbook.base.ranges import Range
from handbook.brine.make_up import IngredientMass, MakeUp
from handbook.brine.solution import brine_density
from handbook.catalogue.tables import engine_tables
from handbook.salt.diffusivity import salt_diffusivity, sugar_diffusivity
from handbook.salt.uptake import Piece, Stage, run

TABLES = engine_tables()
COLD = 276.15


def make_up(**kilograms: float) -> MakeUp:
    names = {
        "water": "water, tap",
        "salt": "salt, fine sea",
        "grey": "salt, moist grey sea",
        "sugar": "sugar, white granulated",
        "honey": "honey",
        "cure": "curing salt, 6.25 % sodium nitrite (type 1)",
        "soy": "soy sauce, shoyu",
        "vinegar": "vinegar, distilled 5 %",
        "pepper": "peppercorn, whole black",
    }
    return MakeUp(
        parts=tuple(
            IngredientMass(
                ingredient=TABLES.ingredients[names[name]],
                mass=Range.exact(mass),
                written=f"{mass} kg",
                by_volume=False,
                note="",
            )
            for name, mass in kilograms.items()
        )
    )


def strength_of(water: float, salt: float, sugar: float = 0.0) -> float:
    return salt / (water + salt + sugar)


def test_weak_brine_by_hand():
    """4 kg of water with 0.8 kg of salt where 1 kg was wanted lacks 0.2 kg of it: 203 g of a sea salt of 98.5 %."""
    made = make_up(water=4.0, salt=1.0)
    water, salt = made.total("water"), made.total("salt")
    found = correction(made, Range.exact(strength_of(water, 0.8 * salt)), COLD)
    assert found.verdict == "weak"
    # The salt's own half percent of water asks for salt as well: m = 0.2 S / (p - r w).
    by_hand = 0.2 * salt / (0.985 - salt / water * 0.005)
    assert found.add_salt.typical == pytest.approx(by_hand) and found.add_water.typical == 0


def test_strong_brine_by_hand():
    """A quarter too much salt for its water wants a quarter more water."""
    made = make_up(water=4.0, salt=1.0)
    water, salt = made.total("water"), made.total("salt")
    found = correction(made, Range.exact(strength_of(water, 1.25 * salt)), COLD)
    assert found.verdict == "strong"
    assert found.add_water.typical == pytest.approx(0.25 * water) and found.add_salt.typical == 0


@given(st.floats(0.5, 1.5), st.floats(0.02, 0.3), st.floats(0, 0.2), st.sampled_from(["salt", "grey"]), st.booleans())
def test_what_is_added_lands_on_the_aim(off, salt, sugar, crystal, is_honey):
    """Whatever the salt and the sweetener, the brine after adding has the recipe's salt and sugar per water."""
    sweet = {"honey" if is_honey else "sugar": max(sugar, 0.01)}
    made = make_up(water=3.0, **{crystal: salt}, **sweet)
    measured = made.solution_salt * off
    assume_inside = measured / (1 - made.solution_sugar * off) < 0.25
    if not assume_inside:
        return
    found = correction(made, Range.exact(measured), COLD)
    water, rest = made.total("water"), 1 - measured - made.solution_sugar * off
    held, held_sugar = measured / rest * water, made.solution_sugar * off / rest * water
    for part, mass in ((found.salt, found.add_salt.typical), (found.sugar, found.add_sugar.typical)):
        if part is not None:
            held += part.ingredient.salt * mass
            held_sugar += part.ingredient.sugars * mass
            water += part.ingredient.water * mass
    water += found.add_water.typical
    assert held / water == pytest.approx(made.total("salt") / made.total("water"))
    if found.sugar is not None:
        assert held_sugar / water == pytest.approx(made.total("sugars") / made.total("water"))


def test_range_of_the_reading_is_a_range_of_salt():
    """The ends of the reading are ends of what to add; a reading around the aim asks for nothing."""
    made = make_up(water=4.0, salt=1.0)
    aimed = made.solution_salt
    found = correction(made, Range(0.85 * aimed, 0.9 * aimed, 0.95 * aimed), COLD)
    assert found.add_salt.low < found.add_salt.typical < found.add_salt.high
    assert correction(made, Range(0.95 * aimed, 0.99 * aimed, 1.02 * aimed), COLD).verdict == "as aimed"


def test_volume_that_stands_there():
    """Half the volume of the weak brine wants half the salt; what it then fills is its mass over its density."""
    made = make_up(water=4.0, salt=1.0)
    weak = 0.8 * made.solution_salt
    whole_volume = made.total("water") / (1 - weak) / brine_density(weak, 0, COLD)
    whole, half = (correction(made, Range.exact(weak), COLD, part * whole_volume) for part in (1.0, 0.5))
    assert whole.add_salt.typical == pytest.approx(correction(made, Range.exact(weak), COLD).add_salt.typical)
    assert half.add_salt.typical == pytest.approx(whole.add_salt.typical / 2)
    assert whole.volume == pytest.approx(made.mass / brine_density(made.solution_salt, 0, COLD), rel=1e-3)


@pytest.mark.parametrize(
    "parts, word",
    [
        ({"water": 2.0, "salt": 0.1, "cure": 0.01}, "curing salt"),
        ({"water": 2.0, "soy": 0.3}, "Its salt comes with other solutes"),
        ({"water": 2.0, "salt": 0.05, "soy": 0.3}, "soy sauce"),
    ],
)
def test_obstacle(parts, word):
    """Curing salt and what brings more than salt are refused, in words and as an error."""
    made = make_up(**parts)
    assert word in obstacle(made)
    with pytest.raises(RangeError):
        correction(made, Range.exact(0.03), COLD)


def test_no_obstacle():
    """Spices and a little vinegar are no hindrance."""
    assert obstacle(make_up(water=2.0, salt=0.13, vinegar=0.07, pepper=0.01)) == ""


# Used brine


def soaked(made: MakeUp, food_mass: float, gain: Range | None, hours: float = 6.0):
    per_food = {what: Range.exact(made.total(what) / food_mass) for what in ("water", "salt", "sugars")}
    piece = Piece(
        shape="slab",
        thickness=Range.exact(0.02),
        water_fraction=Range.exact(0.75),
        native_salt_fraction=Range.exact(0.002),
        salt_diffusivity=salt_diffusivity("pork", "pork"),
        sugar_diffusivity=sugar_diffusivity("pork"),
    )
    stage = Stage(
        kind="soak",
        duration=Range.exact(3600 * hours),
        temperature=Range.exact(COLD),
        bath_water=per_food["water"],
        bath_salt=per_food["salt"],
        bath_sugar=per_food["sugars"],
        weight_gain=gain,
    )
    return piece, run(piece, [stage]).stages[0]


@pytest.mark.parametrize("gain", [None, Range.exact(0.05), Range.exact(-0.05)])
def test_used_brine_balances(gain):
    """Salt left is salt put in less what the food took; the water left is what the model's bath then holds."""
    made = make_up(water=3.0, salt=0.6)
    piece, stage = soaked(made, 2.0, gain)
    left = used_brine(made, 2.0, piece.native_salt_fraction, stage)
    taken = 2.0 * (stage.salt_on_green_weight.typical - 0.002)
    assert left.salt_left.typical == pytest.approx(made.total("salt") - taken)
    if gain is None:  # no water crosses
        assert left.water_left.typical == pytest.approx(made.total("water"), rel=2e-3)
        assert left.add_salt.typical == pytest.approx(taken / 0.985, rel=2e-2)
    # 5 % gained is water and salt together, so the water that went is what is left of it
    else:
        moved = 2.0 * gain.typical - taken
        assert made.total("water") - left.water_left.typical == pytest.approx(moved, rel=0.03, abs=2e-3)


def test_used_brine_brought_back():
    """With what it lacks the brine has its salt per water again, and at least its water."""
    made = make_up(water=3.0, salt=0.6)
    for gain in (Range.exact(0.05), Range.exact(-0.05)):
        piece, stage = soaked(made, 2.0, gain)
        left = used_brine(made, 2.0, piece.native_salt_fraction, stage)
        salt = left.salt_left.typical + 0.985 * left.add_salt.typical
        water = left.water_left.typical + left.add_water.typical
        assert salt / water == pytest.approx(made.total("salt") / made.total("water"))
        assert water >= made.total("water") - 1e-9


def test_used_brine_with_salt_on_the_floor():
    """Where undissolved salt may still lie there, the balance says nothing of the water, and nothing is computed."""
    made = make_up(water=1.0, salt=0.6)
    piece, stage = soaked(made, 1.0, None, hours=0.5)
    assert used_brine(made, 1.0, piece.native_salt_fraction, stage) is None


@pytest.mark.parametrize(
    "food, parts, audience, verdict, key",
    [
        (
            "pork loin, whole, lean+fat",
            {"water": 2.0, "salt": 0.1, "cure": 0.01},
            "commercial",
            "never",
            "common-practice-kitchen",
        ),
        ("chicken thigh, with skin", {"water": 2.0, "salt": 0.1}, "home", "never", "usda-smoking-sheet"),
        ("char, Arctic", {"water": 2.0, "salt": 0.3}, "retail", "never", "usda-smoking-sheet"),
        ("char, Arctic", {"water": 2.0, "salt": 0.3}, "commercial", "limited", "alaska-smoked-seafood"),
        ("cheese, feta", {"water": 2.0, "salt": 0.2}, "home", "with care", "common-practice-kitchen"),
    ],
)
def test_use_rule(food, parts, audience, verdict, key):
    """Nitrite never; raw flesh never at home or retail, by written limits where made to sell; cheese with care."""
    rule = use_rule(make_up(**parts), TABLES.foods[food], audience)
    assert rule.verdict == verdict
    assert key in [source for _, source in rule.reasons]
