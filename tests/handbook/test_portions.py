"""Sodium, yield and cost, hand-worked; sodium in salt against published composition."""

import pytest

from handbook.base.ranges import Range
from handbook.brine.make_up import IngredientMass, MakeUp
from handbook.catalogue.ingredients import load
from handbook.report.portions import SODIUM_IN_SALT, finished_salt, glaze_on_food


def test_sodium_in_table_salt():
    """Table salt holds 38 758 mg sodium in 100 g (USDA SR28, NDB 02047): 98.5 % of the stoichiometric 39.34 %."""
    table = next(each for each in load() if each.name.startswith("salt, fine table"))
    assert pytest.approx(0.38758) == table.sodium
    assert pytest.approx(0.3934, abs=5e-5) == SODIUM_IN_SALT
    assert table.sodium / (table.salt * SODIUM_IN_SALT) == pytest.approx(0.987, abs=1e-3)


def test_the_finished_food_counts_the_glaze():
    """820 g of finished fish at 2 % and 30 g of a glaze at 9 % that stays on: 16.4 g and 2.7 g of salt in 820 g, 2.33 %."""
    salt, sugar = (next(each for each in load() if each.name == name) for name in ("salt", "sugar, white granulated"))
    weighed = [(salt, 0.09 / salt.salt), (sugar, 0.30 / sugar.sugars)]
    parts = [
        IngredientMass(ingredient=each, mass=Range.exact(mass), written="", by_volume=False, note="")
        for each, mass in weighed
    ]
    water = next(each for each in load() if each.name == "water, tap")
    rest = IngredientMass(
        ingredient=water, mass=Range.exact(1 - sum(mass for _, mass in weighed)), written="", by_volume=False, note=""
    )
    glaze = MakeUp(parts=(*parts, rest))
    on_food = glaze_on_food([(glaze, 0.030)])
    assert on_food.salt == pytest.approx(0.0027) and on_food.sugars == pytest.approx(0.009)
    assert finished_salt(Range.exact(0.02), 0.82, on_food, 1.0).typical == pytest.approx((0.0164 + 0.0027) / 0.82)
    twice = glaze_on_food([(glaze, 0.030), (glaze, 0.010)])
    assert twice.salt == pytest.approx(0.0036)
