"""Cooks' names resolve to the name of the tables that means the same, or ask; none hides a curing salt.

All names: common practice, no source.
"""

import pytest
from click.testing import CliRunner

from handbook.catalogue.name_resolver import food_names, ingredient_names
from handbook.catalogue.tables import engine_tables
from site_build.cli.main import main
from tests.hostile_pages import SMALL
from tests.one_page import OnePage

TABLES = engine_tables()
FOODS, INGREDIENTS = food_names(TABLES), ingredient_names(TABLES)
PAGE = OnePage()
CURES = {each.name for each in TABLES.ingredients.values() if each.kind == "curing salt"}

#: Foods that resolve, and to what.
FOODS_SURE = {
    "spring onion": "spring onion",
    "aubergine": "eggplant",
    "courgette": "zucchini",
    "ox tongue": "beef tongue",
    "wild boar": "boar, wild",
    "walnuts": "walnut",
    "garbanzo": "chickpea, boiled",
    "quails": "quail, meat and skin",
    "farmed Atlantic salmon": "salmon, Atlantic, farmed",
    "king salmon": "salmon, chinook",
    "Chinook": "salmon, chinook",
    "Arctic char": "char, Arctic",
    "arctic charr": "char, Arctic",
    "char": "char, Arctic",
    "Atlantic mackerel": "mackerel, Atlantic",
    "black cod": "sablefish",
    "pacific cod": "cod, Pacific",
    "whitefish": "whitefish, mixed",
    "eel": "eel, mixed",
    "sturgeon": "sturgeon, mixed",
    "yellowfin tuna": "tuna, yellowfin",
    "mussels": "mussel, blue",
    "blue mussels": "mussel, blue",
    "oysters": "oyster, eastern wild",
    "scallops": "scallop, mixed",
    "chicken breasts with skin": "chicken breast, with skin",
    "whole chicken": "chicken whole, meat and skin",
    "whole turkey": "turkey whole, meat and skin",
    "goose": "goose, meat and skin",
    "pork tenderloin": "pork tenderloin, lean",
    "pork butt": "pork shoulder, Boston blade, lean+fat",
    "Boston butt": "pork shoulder, Boston blade, lean+fat",
    "spare ribs": "pork spareribs",
    "spareribs": "pork spareribs",
    "eye of round": "beef eye of round, lean+fat",
    "silverside": "beef bottom round, lean+fat",
    "topside": "beef top round, lean+fat",
    "lamb shoulder": "lamb shoulder, lean+fat",
    "venison": "venison (deer), raw",
    "deer": "venison (deer), raw",
    "egg yolks": "egg yolk",
    "cheddar": "cheese, cheddar",
    "cheddar cheese": "cheese, cheddar",
    "gouda": "cheese, gouda",
    "feta": "cheese, feta",
    "provolone": "cheese, provolone",
    "monterey jack": "cheese, monterey",
    "firm tofu": "tofu, firm (calcium set)",
    "white cabbage": "cabbage, green",
    "green cabbage": "cabbage, green",
    "red cabbage": "cabbage, red",
    "Chinese cabbage": "cabbage, napa/pe-tsai",
    "napa cabbage": "cabbage, napa/pe-tsai",
    "carrots": "carrot",
    "radishes": "radish",
    "daikon": "daikon (oriental radish)",
    "turnips": "turnip",
    "beets": "beet",
    "beetroot": "beet",
    "green beans": "green bean",
    "french beans": "green bean",
    "onions": "onion",
    "red pepper": "bell pepper, red",
    "red bell pepper": "bell pepper, red",
    "chillies": "hot chili, red",
    "hot red chili": "hot chili, red",
    "green tomatoes": "tomato, green",
    "sockeye": "salmon, sockeye",
    "pork chops": "pork loin, whole, lean+fat",
    "pork neck": "pork shoulder, Boston blade, lean+fat",
    "gherkins": "cucumber, with peel",
    "mooli": "daikon (oriental radish)",
    "red onions": "onion",
    "chicken, whole": "chicken whole, meat and skin",
    "belly of pork": "pork belly",
}
#: Foods that ask, and one of the names that the question holds.
FOODS_ASK = {
    "rabbit": "rabbit, domesticated",
    "guinea hen": "guinea fowl, meat only",
    "olives": "olive, green, raw",
    "Atlantic salmon": "salmon, Atlantic, farmed",
    "salmon": "salmon, Atlantic, farmed",
    "coho salmon": "salmon, coho, wild",
    "steelhead": "trout, rainbow, farmed",
    "rainbow trout": "trout, rainbow, farmed",
    "trout": "trout, rainbow, farmed",
    "mackerel": "mackerel, Atlantic",
    "herring": "herring, Atlantic",
    "cod": "cod, Atlantic",
    "lake whitefish": "whitefish, mixed",
    "ahi tuna": "tuna, yellowfin",
    "tuna": "tuna, yellowfin",
    "prawns": "shrimp, untreated",
    "shrimp": "shrimp, mixed (often salt/phosphate treated)",
    "chicken breast": "chicken breast, meat only",
    "chicken thighs": "chicken thigh, meat only",
    "chicken": "chicken breast, meat only",
    "turkey breast": "turkey breast, meat only",
    "turkey": "turkey breast, meat only",
    "duck": "duck, domesticated, meat and skin",
    "duck breast": "duck breast, wild, meat only",
    "pork loin": "pork loin, whole, lean+fat",
    "belly": "pork belly",
    "pork shoulder": "pork shoulder, whole, lean+fat",
    "ham": "pork leg (fresh ham), whole, lean+fat",
    "fresh ham": "pork leg (fresh ham), whole, lean+fat",
    "pork leg": "pork leg (fresh ham), whole, lean+fat",
    "brisket": "beef brisket, whole, lean",
    "beef brisket": "beef brisket, whole, lean",
    "leg of lamb": "lamb leg, lean+fat",
    "eggs": "egg, whole",
    "egg": "egg, whole",
    "hard boiled eggs": "egg, whole",
    "mozzarella": "cheese, mozzarella low moisture",
    "tofu": "tofu, firm (calcium set)",
    "cucumbers": "cucumber, with peel",
    "pickling cucumbers": "cucumber, with peel",
    "cabbage": "cabbage, green",
    "salmon fillet": "salmon, Atlantic, farmed",
    "mussles": "mussel, blue",
    "chicken drumsticks": "chicken thigh, with skin",
    "turkey thighs": "turkey whole, meat and skin",
    "duck legs": "duck, domesticated, meat and skin",
    "goose breast": "goose, meat and skin",
    "shoulder of pork": "pork shoulder, whole, lean+fat",
    "loin of pork": "pork loin, whole, lean",
    "breast of duck": "duck breast, wild, meat only",
    "lamb shanks": "lamb leg, lean",
    "cod fillets": "cod, Atlantic",
    "minced beef": "beef, ground, 20 % fat",
    "St Louis ribs": "pork spareribs",
    "goat's cheese": "cheese, feta",
}
#: Ingredients that resolve, and to what.
INGREDIENTS_SURE = {
    "fine sea salt": "salt, fine sea",
    "coarse sea salt": "salt, coarse sea (dry)",
    "table salt": "salt, fine table (cubic crystals)",
    "pickling salt": "salt, pickling/canning (fine, no additives)",
    "canning salt": "salt, pickling/canning (fine, no additives)",
    "rock salt": "salt, rock / ice-cream grade (not for food use by volume)",
    "flaky sea salt": "salt, large finishing flake",
    "grey salt": "salt, moist grey sea",
    "curing salt #1": "curing salt, 6.25 % sodium nitrite (type 1)",
    "cure #1": "curing salt, 6.25 % sodium nitrite (type 1)",
    "cure no. 1": "curing salt, 6.25 % sodium nitrite (type 1)",
    "cure number two": "curing salt, 6.25 % nitrite + 4 % nitrate (type 2)",
    "white sugar": "sugar, white granulated",
    "brown sugar": "sugar, brown",
    "caster sugar": "sugar, white caster / superfine",
    "superfine sugar": "sugar, white caster / superfine",
    "icing sugar": "sugar, powdered, unsifted",
    "powdered sugar": "sugar, powdered, unsifted",
    "demerara": "sugar, demerara / turbinado (coarse)",
    "turbinado sugar": "sugar, demerara / turbinado (coarse)",
    "maple sugar": "sugar, maple",
    "sugar": "sugar, white granulated",
    "soy sauce": "soy sauce, shoyu",
    "light soy sauce": "soy sauce, shoyu",
    "peppercorns": "peppercorn, whole black",
    "bay leaves": "bay leaf, whole dried (per leaf)",
    "bay leaf": "bay leaf, whole dried (per leaf)",
    "garlic": "garlic, raw",
    "garlic cloves": "garlic, raw",
    "aquavit": "spirits, 40 % abv",
    "Worcestershire sauce": "sauce, worcestershire",
    "pickling spice": "pickling spice, whole",
    "dextrose": "dextrose (monohydrate powder)",
    "corn sugar": "dextrose (monohydrate powder)",
    "maple syrup": "syrup, maple",
    "birch syrup": "syrup, birch",
    "golden syrup": "syrup, golden (inverted cane)",
    "malt syrup": "syrup, malt",
    "tamari": "soy sauce, tamari",
    "low sodium soy sauce": "soy sauce, reduced sodium",
    "cider vinegar": "vinegar, cider",
    "apple cider vinegar": "vinegar, cider",
    "white vinegar": "vinegar, distilled 5 %",
    "distilled vinegar": "vinegar, distilled 5 %",
    "red wine vinegar": "vinegar, red wine",
    "balsamic vinegar": "vinegar, balsamic",
    "red wine": "wine, red table",
    "white wine": "wine, white table",
    "whisky": "spirits, 40 % abv",
    "whiskey": "spirits, 40 % abv",
    "bourbon": "spirits, 40 % abv",
    "rum": "spirits, 40 % abv",
    "lemon juice": "lemon juice, raw",
    "orange juice": "orange juice, raw",
    "buttermilk": "buttermilk, cultured low fat",
    "whole milk": "milk, whole",
    "water": "water, tap",
    "cold water": "water, tap",
    "tap water": "water, tap",
    "ground black pepper": "pepper, black, ground",
    "black peppercorns": "peppercorn, whole black",
    "white pepper": "pepper, white, ground",
    "coriander seeds": "coriander seed",
    "mustard powder": "mustard seed, ground",
    "allspice berries": "allspice, whole",
    "dill seeds": "dill seed",
    "dill weed": "dill weed, dried",
    "fresh dill": "dill, fresh sprigs",
    "caraway": "caraway seed",
    "fennel seeds": "fennel seed",
    "celery seeds": "celery seed",
    "cumin": "cumin seed",
    "whole cloves": "clove, whole",
    "ground cloves": "clove, ground",
    "ground ginger": "ginger, ground",
    "fresh ginger": "ginger root, raw",
    "cayenne": "cayenne / red pepper",
    "cayenne pepper": "cayenne / red pepper",
    "chilli flakes": "chili flakes",
    "red pepper flakes": "chili flakes",
    "dried thyme": "thyme, dried leaves",
    "juniper berries": "juniper berry, whole",
    "bicarbonate of soda": "baking soda",
    "STPP": "sodium tripolyphosphate (food grade)",
    "MSG": "monosodium glutamate",
    "citric acid": "citric acid, crystals",
    "sodium ascorbate": "sodium erythorbate / ascorbate",
    "granulated sugar": "sugar, white granulated",
    "black treacle": "molasses",
    "spirit vinegar": "vinegar, distilled 5 %",
    "brandy": "spirits, 40 % abv",
    "ice": "water, ice",
    "hot water": "water, tap",
    "ice water": "water, tap",
    "iced water": "water, tap",
    "ice cream salt": "salt, rock / ice-cream grade (not for food use by volume)",
    "cure #2": "curing salt, 6.25 % nitrite + 4 % nitrate (type 2)",
}
#: Ingredients that ask, and one of the names that the question holds.
INGREDIENTS_ASK = {
    "sea salt": "salt, fine sea",
    "kosher salt": "salt, light hollow flake (pyramid flake, kitchen coarse)",
    "diamond kosher salt": "salt, light hollow flake (pyramid flake, kitchen coarse)",
    "flake salt": "salt, light hollow flake (pyramid flake, kitchen coarse)",
    "kosher-style flake salt": "salt, light hollow flake (pyramid flake, kitchen coarse)",
    "dark brown sugar": "sugar, brown, packed",
    "light brown sugar": "sugar, brown, packed",
    "corn syrup": "syrup, corn, light",
    "treacle": "molasses",
    "milk": "milk, whole",
    "yoghurt": "yogurt, plain whole",
    "yogurt": "yogurt, plain whole",
    "black pepper": "pepper, black, ground",
    "coriander": "coriander seed",
    "mustard seeds": "mustard seed, ground",
    "allspice": "allspice, ground",
    "dill": "dill seed",
    "cloves": "clove, ground",
    "cinnamon": "cinnamon, ground",
    "ginger": "ginger, ground",
    "smoked paprika": "paprika",
    "chili powder": "chili powder blend",
    "thyme": "thyme, dried leaves",
    "rosemary": "rosemary, dried",
    "sage": "sage, ground",
    "horseradish": "horseradish, prepared",
    "juniper": "juniper berry, whole",
    "erythorbate": "sodium erythorbate / ascorbate",
    "ascorbic acid": "citric acid, crystals",
    "vinegar": "vinegar, cider",
    "vinager": "vinegar, cider",
    "cider vineger": "vinegar, cider",
    "rice vinegar": "vinegar, distilled 5 %",
    "white wine vinegar": "vinegar, red wine",
    "palm sugar": "sugar, brown, packed",
    "invert syrup": "syrup, golden (inverted cane)",
    "black pepercorns": "peppercorn, whole black",
    "pimento": "allspice, whole",
    "dillweed": "dill weed, dried",
    "coriander leaf": "coriander seed",
    "lime juice": "lemon juice, raw",
    "sweet paprika": "paprika",
    "english mustard": "mustard seed, ground",
    "iodised table salt": "salt, fine table (cubic crystals)",
    "lactic acid": "citric acid, crystals",
}
#: Names that may be said of a curing salt and do not say which.
MAY_CURE = (
    "pink himalayan salt",
    "pink salt",
    "pink curing salt",
    "curing salt",
    "cure 1",
    "nitrite salt",
    "nitrite curing salt",
    "6.25 % nitrite salt",
    "0.6 % nitrite salt",
    "curing salt 0.6 %",
    "curring salt",
    "tinted cure",
    "prague powder #1",
    "instant cure",
    "quick cure mix",
    "pickle cure",
    "ham cure",
    "bacon cure mix",
    "rose salt",
    "coloured salt no. 1",
    "sausage salt",
    "bacon salt",
    "corning salt",
    "meat powder #2",
    "pink powder",
    "salt, pink",
    "salt (pink)",
    "sel rose",
    "Pökelsalz",
    "Nitritpökelsalz",
    "TCM",
    "nitrate salt",
    "chile saltpetre salt",
    "salt petre",
    "quick salt",
    "rapid cure salt",
    "red salt",
    "salami salt",
    "jerky salt",
    "jerky cure",
    "butcher's salt",
    "preserving salt",
    "preserving powder",
    "corned beef salt",
    "all-purpose cure",
    "brine cure",
    "country cure",
    "cured salt",
    "cure two",
    "speed cure",
    "white cure",
)
#: Salts of a word that no salt of the tables has: the question holds plain salts and curing salts.
MAY_BE_EITHER = (
    "himalayan salt", "smoker's salt", "p1nk salt", "dairy salt", "cheese salt", "house salt", "celery salt", "garlic salt", "seasoned salt",
    "black salt", "dishwasher salt", "iodized salt",
)  # fmt: skip
#: Names without a row in the tables: what they say is near nothing, or a pure nitrite, whose strength is another.
UNKNOWN = (
    "pike", "perch", "saltpetre", "sodium nitrite", "potassium nitrate", "celery powder", "vitamin c", "catfish", "E250", "E 252",
    "INS 251", "sodium nitrate", "potassium nitrite", "saltpeter", "gammon", "moose", "halloumi", "whey", "oil",
)  # fmt: skip


def test_there_are_250_names():
    """The lists are as long as they claim."""
    lists = (FOODS_SURE, FOODS_ASK, INGREDIENTS_SURE, INGREDIENTS_ASK, MAY_CURE, MAY_BE_EITHER, UNKNOWN)
    assert sum(map(len, lists)) >= 250


@pytest.mark.parametrize(("names", "sure"), [(FOODS, FOODS_SURE), (INGREDIENTS, INGREDIENTS_SURE)])
def test_a_name_with_one_meaning_resolves(names, sure):
    """Order, case, plural, comma and spelling do not matter."""
    for change in (str, str.upper, str.title):
        assert {said: names.resolve(change(said)).name for said in sure} == sure


@pytest.mark.parametrize(("names", "ask"), [(FOODS, FOODS_ASK), (INGREDIENTS, INGREDIENTS_ASK)])
def test_a_name_with_several_meanings_asks(names, ask):
    """The question holds the name that is meant, and no curing salt."""
    for said, among in ask.items():
        found = names.resolve(said)
        assert not found.name and among in found.candidates and not CURES & set(found.candidates), said


@pytest.mark.parametrize("said", MAY_CURE)
def test_a_name_that_may_be_a_curing_salt_asks_for_curing_salts_alone(said):
    """A curing salt taken for salt leaves the cure without nitrite; the reverse is a poison."""
    found = INGREDIENTS.resolve(said)
    assert not found.name and found.candidates and set(found.candidates) <= CURES


@pytest.mark.parametrize("said", MAY_BE_EITHER)
def test_a_salt_of_no_known_kind_asks_for_both(said):
    """Nobody chooses a plain salt because the question left the other out."""
    found = INGREDIENTS.resolve(said)
    assert not found.name and set(found.candidates) > CURES and "salt" in found.candidates


@pytest.mark.parametrize("change", ["{}s", "fine {}", "{} mix", "my {}", "{}, 50 g", "xx{}", "{} (local)"])
@pytest.mark.parametrize("said", [*MAY_CURE, "cure #1", "nitrite", "nitrate", "saltpetre"])
def test_no_variant_of_a_curing_name_resolves_to_another_ingredient(said, change):
    """A further word, a plural or a bracket does not let one through."""
    found = INGREDIENTS.resolve(change.format(said))
    assert found.name in {"", *CURES}
    assert set(found.candidates) <= CURES or set(found.candidates) > CURES


def test_every_name_of_the_tables_resolves_to_itself():
    """So does the name in another order of its words, unless two names have the same words."""
    for names in (FOODS, INGREDIENTS):
        assert [names.resolve(each).name for each in names] == list(names)


@pytest.mark.parametrize("said", UNKNOWN)
def test_an_unknown_name_is_no_other(said):
    """It gets no suggestion."""
    assert not INGREDIENTS.resolve(said).name and not FOODS.resolve(said).name
    assert not INGREDIENTS.resolve(said).candidates


def test_a_page_may_use_a_cooks_name():
    """A page reads a cook's own names; its records and its site hold the names of the tables."""
    _, method, faults = PAGE.read(SMALL_PAGE.encode())
    assert faults == [] and method.front_matter.food == "char, Arctic"
    assert [each.item for each in method.saltings[0].ingredients] == ["water, tap", "salt, fine sea"]


def test_a_page_with_a_doubtful_name_asks():
    """The fault line holds the candidates, quoted, since they hold commas."""
    _, _, faults = PAGE.read(SMALL_PAGE.replace("Fine sea salt", "pink salt").encode())
    assert [str(each) for each in faults] == [
        'methods/page.md:21: salting.ingredients.2.item: read "pink salt"; allowed: an ingredient of the handbook or of '
        "the house file. Did you mean "
        '"curing salt, 6.25 % sodium nitrite (type 1)", "curing salt, 6.25 % nitrite + 4 % nitrate (type 2)" '
        'or "curing salt, 0.6 % nitrite (continental type)"?'
    ]


@pytest.mark.parametrize(
    ("words", "line"),
    [
        ("tinted cure", "  curing salt, 0.6 % nitrite (continental type)  (0.6 % sodium nitrite, 99.4 % salt)"),
        ("pink salt", "  curing salt, 6.25 % sodium nitrite (type 1)  (6.25 % sodium nitrite, 93.8 % salt)"),
        ("smoked paprika", "ingredient: paprika"),
    ],
)
def test_names_command_shows_what_is_near(words, line):
    """Where no name holds all the words, ``handbook names`` lists those that may be meant."""
    done = CliRunner().invoke(main, ["names", *words.split()])
    assert done.exit_code == 0 and line in done.output.splitlines()


SMALL_PAGE = (
    SMALL.format(kind="cook", shape="slab", salting="immersion", more="name: brine", stage="cook")
    .replace("food: char, Arctic", "food: Arctic char")
    .replace('"water, tap"', "cold water")
    .replace('"salt, fine sea"', "Fine sea salt")
)
