"""Each notion of the food's state on each of the demo's methods, beside what a reader of the page would say.

The expected values are written by hand from the pages. They are common practice, no source, unless a line says more.
"""

import pytest

from handbook.brine import nitrite as curing
from handbook.catalogue.food_families import FIRM, FISH, MEAT, RED_MEAT, RISKY_RAW
from handbook.catalogue.foods import FOOD_CLASSES
from handbook.page import heated
from handbook.safety import food_state as state
from handbook.safety import ripening

NOTIONS = {
    "heated": state.is_heated,
    "cooked through": state.is_cooked_through,
    "raw": state.is_raw,
    "ready to eat": lambda case: not case.is_for_the_eater_to_cook,
    "smoked": state.is_smoked,
    "bath": lambda case: case.method.saltings[-1].is_bath,
    "dry": lambda case: case.method.saltings[-1].is_dry,
    "injected": state.is_injected,
    "intact": state.is_intact,
    "minced": state.is_minced,
    "curing salt": lambda case: bool(state.curing_saltings(case)),
    "cured": state.is_cured,
    "fermented": ripening.is_fermented,
    "no air": state.has_no_air,
    "vacuum": state.is_vacuum_packed,
    "chilled": state.is_chilled,
    "fish": lambda case: case.food.food_class in FISH,
    "red meat": lambda case: case.food.food_class in RED_MEAT,
    "poultry": lambda case: case.food.food_class == "poultry",
    "risky raw": lambda case: case.food.food_class in RISKY_RAW,
}
#: Method -> the notions that hold; all others do not. Every page keeps its food in the fridge, so all are chilled.
EXPECTED = {
    "brined-chicken-thighs": "heated, cooked through, ready to eat, bath, intact, chilled, poultry, risky raw",
    # Soured, never heated; a vegetable is not raw in the sense of the rules. Jars full of brine keep the air out, but
    # are no vacuum pack.
    "brined-cucumbers": "ready to eat, bath, intact, fermented, no air, chilled",
    # The brine is boiled, not the cheese: preparing a brine on the stove heats no food.
    "brined-white-cheese": "ready to eat, bath, intact, no air, chilled",
    # Salt is strewn on the shreds and draws its own brine: there is no bath to share salt with.
    "cellar-cabbage": "ready to eat, dry, intact, fermented, no air, chilled",
    # 10.2 g of 6.25 % curing salt in 2.5 kg of meat and about 2.7 kg of cure: about 120 ppm ingoing, over 100.
    "cured-brisket": "heated, cooked through, ready to eat, bath, intact, curing salt, cured, chilled, red meat, risky raw",
    # 2.1 % of 0.6 % nitrite: 126 ppm. Pepper and berries bring a little water; that makes no bath.
    "dry-cured-duck": "heated, cooked through, ready to eat, smoked, dry, intact, curing salt, cured, chilled, poultry, "
    "risky raw",
    # A core of 63 °C is just over the 62.7 °C that count as cooked through (145 °F).
    "equilibrium-pork-chops": "heated, cooked through, ready to eat, bath, intact, chilled, red meat, risky raw",
    "glazed-whitefish-strips": "heated, cooked through, ready to eat, smoked, bath, intact, chilled, fish, risky raw",
    "hot-smoked-char-sides": "heated, cooked through, ready to eat, smoked, bath, intact, chilled, fish, risky raw",
    # Pumped: neither bath nor dry cure, and no longer intact inside.
    "pumped-ham": "heated, cooked through, ready to eat, smoked, injected, curing salt, cured, no air, vacuum, chilled, "
    "red meat, risky raw",
    # Steamed before it is salted and smoked after: heated all the same.
    "smoked-mussels": "heated, cooked through, ready to eat, smoked, bath, intact, chilled, fish, risky raw",
    # Rubbed, not cured: the salt is plain.
    "smoked-shoulder": "heated, cooked through, ready to eat, smoked, dry, intact, red meat, risky raw",
    # Cooked first, brined after; eggs are no meat, but raw ones are risky. They keep under their brine.
    "soy-eggs": "heated, cooked through, ready to eat, bath, intact, no air, chilled, risky raw",
    "whole-brined-bird": "heated, cooked through, ready to eat, bath, intact, poultry, risky raw",
    # Sour and sweet under vinegar in the cold: boiled until a needle slides in.
    "cellar-beets": "heated, cooked through, ready to eat, bath, intact, no air, chilled",
    "crock-carrots": "ready to eat, bath, intact, fermented, no air, chilled",
    "quartered-cabbage": "ready to eat, bath, intact, fermented, no air, chilled",
    # Simmered only so that it does not fizz; a closed bottle counts as packed without air.
    "ember-sauce": "heated, ready to eat, dry, intact, fermented, no air, vacuum, chilled",
    "feast-duck": "heated, cooked through, ready to eat, dry, intact, poultry, risky raw",
    # Cooked under fat, kept without it, in paper.
    "legs-in-fat": "heated, cooked through, ready to eat, dry, intact, chilled, poultry, risky raw",
    "kitchen-sausage": "raw, dry, minced, chilled, red meat, risky raw",
    # 0.2 % of 6.25 % curing salt is 125 ppm, over 100.
    "larder-bacon": "raw, smoked, dry, intact, curing salt, cured, chilled, red meat, risky raw",
    "salt-burbot": "raw, dry, intact, chilled, fish, risky raw",
    # 0.22 % is 138 ppm.
    "smokehouse-sausage": "heated, cooked through, ready to eat, smoked, dry, minced, curing salt, cured, chilled, red meat, "
    "risky raw",
    "venison-strips": "heated, cooked through, ready to eat, dry, intact, curing salt, cured, no air, vacuum, chilled, "
    "red meat, risky raw",
    "winter-beef": "raw, ready to eat, dry, intact, curing salt, cured, no air, vacuum, chilled, red meat, risky raw",
    # Smoke of 2 to 4 °C heats nothing: the fish stays raw, and is eaten as it is.
    "winter-smoked-trout": "raw, ready to eat, smoked, dry, intact, no air, vacuum, chilled, fish, risky raw",
}


@pytest.fixture(scope="module")
def cases(demo_book):
    """The safety case of every method of the demo, by name."""
    return {page.report.method.name: page.report.cases[0] for page in demo_book.methods}


def test_the_table_holds_every_method_of_the_demo(cases):
    """A new page must take its place in the table."""
    assert set(EXPECTED) == set(cases)
    assert {name for row in EXPECTED.values() for name in row.split(", ")} == set(NOTIONS)


@pytest.mark.parametrize("name", EXPECTED)
@pytest.mark.parametrize("notion", NOTIONS)
def test_notion_holds_where_a_reader_would_say_so(cases, name, notion):
    """One notion on one page."""
    assert NOTIONS[notion](cases[name]) is (notion in EXPECTED[name].split(", "))


def test_families_cover_every_class_once():
    """Meat, fish and what is no muscle are all foods, and no food is in two of them."""
    families = (*FISH, *MEAT, *FIRM)
    assert len(families) == len(set(families)) == len(FOOD_CLASSES) == 14


# The last step that heats, by number, as the page tells it; 0: none. A use-by label counts from its end.
LAST_HEAT = {
    "brined-chicken-thighs": 5,  # roast
    "brined-cucumbers": 0,
    "brined-white-cheese": 0,
    "cellar-cabbage": 0,
    "cured-brisket": 6,  # the second simmer
    "dry-cured-duck": 6,  # smoke of 115 °C
    "equilibrium-pork-chops": 5,  # the hot pan
    "glazed-whitefish-strips": 8,  # the second smoke
    "hot-smoked-char-sides": 6,
    "pumped-ham": 8,  # the oven; the two cooling steps after it state cores, which is no heat
    "smoked-mussels": 8,
    "smoked-shoulder": 5,  # the hot rest: a label counts from its end
    "soy-eggs": 2,
    "whole-brined-bird": 5,
    "winter-smoked-trout": 0,
    "cellar-beets": 1,  # boiled before it is pickled; the pan of vinegar heats no food
    "crock-carrots": 0,
    "quartered-cabbage": 0,
    "ember-sauce": 6,  # the simmer
    "feast-duck": 5,
    "legs-in-fat": 3,
    "kitchen-sausage": 0,
    "larder-bacon": 0,
    "salt-burbot": 0,
    "smokehouse-sausage": 8,  # the scald
    "venison-strips": 5,  # warm air of 60 °C
    "winter-beef": 0,
}


@pytest.mark.parametrize("name", LAST_HEAT)
def test_last_heat_of_a_page(cases, name):
    """The end of the heat is the same for rules, labels and pages: one definition."""
    assert max(heated.heating_numbers(cases[name].method), default=0) == LAST_HEAT[name]


def test_processes_of_the_cures(cases):
    """Brisket lies in its cure, duck is rubbed, ham is pumped, sausage is mixed: 9 CFR 424.21(c) has a limit for each."""
    found = {
        name: str(curing.cure_process(salting.kind, case.method.pieces.form))
        for name, case in cases.items()
        for salting, _ in state.curing_saltings(case)
    }
    assert found == {
        "cured-brisket": "immersed",
        "dry-cured-duck": "dry-cured",
        "larder-bacon": "dry-cured",
        "pumped-ham": "pumped",
        "smokehouse-sausage": "mixed in",
        "venison-strips": "dry-cured",
        "winter-beef": "dry-cured",
    }
