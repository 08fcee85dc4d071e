"""A house's own foods and ingredients: what a row must state, what may be unknown, and names that mean one thing only."""

import pytest

from handbook.base.csv_rows import read_table
from handbook.catalogue.name_resolver import food_names, ingredient_names
from handbook.catalogue.other_names import find_names
from handbook.catalogue.own_columns import COLUMNS
from handbook.catalogue.tables import engine_tables
from handbook.folder.handbook import open_handbook
from handbook.folder.house_tables import house_tables
from handbook.report.page_warnings import page_warnings
from site_build.cli.starter import began_house, family_page
from tests.newcomer import BLANK

HEAD = "name,kind,water,salt,sugars,allergen\n"
FOODS = "name,food_class,water,fat,protein,sodium_mg_per_100g,scombroid,allergen\n"


def faults(name: str, text: str) -> list[str]:
    """The fault lines of one own table."""
    return [str(each) for each in house_tables("methods", {name: text.encode()})[1]]


@pytest.mark.parametrize("table", COLUMNS)
def test_every_column_is_explained(table):
    """The explanations are of the very columns that are read."""
    assert set(COLUMNS[table]) == set(read_table(f"{table}.csv")[0])


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ("house rub,seasoning,,0.2,0.1,none", "water"),
        ("house rub,seasoning,0.1,,0.1,none", "salt"),
        ("house rub,seasoning,0.1,0.2,,none", "sugars"),
        ("house rub,seasoning,0.1,0.2,0.1,", "allergen"),
    ],
)
def test_composition_and_allergens_are_stated(row, column):
    """A blank cell is asked for: it says neither none nor unknown."""
    (said,) = faults("ingredients.csv", HEAD + row + "\n")
    assert said.startswith(f'methods/ingredients.csv:2: row: read "house rub: {column}: nothing"; allowed: ')


def test_allergens_of_a_food_are_stated():
    """Of a vegetable too, where it may be none."""
    assert "allergen: nothing" in faults("foods.csv", FOODS + "ramp,vegetable,0.9,0,0.08,10,,\n")[0]
    assert faults("foods.csv", FOODS + "ramp,vegetable,0.9,0,0.08,10,,none\n") == []


@pytest.mark.parametrize("name", ["pink salt", "tinted cure", "instant cure", "Himalayan pink salt", "cure no. 2"])
def test_a_name_that_may_cure_is_no_salt(name):
    """It asks for the kind curing salt, whatever composition the row states."""
    (said,) = faults("ingredients.csv", HEAD + f"{name},salt,0,1,0,none\n")
    assert "the kind curing salt with its nitrite" in said


@pytest.mark.parametrize(("row", "same"), [("cider vinegar,liquid", "vinegar, cider"), ("Honey,syrup", "honey")])
def test_a_name_that_the_handbook_has_is_that_name(row, same):
    """A second row for one thing would make every page that names it doubtful."""
    (said,) = faults("ingredients.csv", HEAD + f"{row},0.2,0,0.8,none\n")
    assert said.endswith(f"Did you mean {same}?")
    assert faults("ingredients.csv", HEAD + f'"{same}",{row.partition(",")[2]},0.2,0,0.8,none\n') == []


@pytest.fixture
def kitchen(tmp_path):
    """A handbook of one brined page with a rub whose salt nobody knows."""
    page = BLANK.sub(r"\1", family_page("wet-brine", "wet")).replace("- 40 g sugar", "- 40 g house rub")
    (tmp_path / "house.yml").write_text(began_house("Loft", "us", "C", "crowns", "home", "United States"))
    (tmp_path / "ingredients.csv").write_text(HEAD + "house rub,seasoning,0.1,unknown,0.1,mustard celery\n")
    (tmp_path / "wet.md").write_text(page)
    return tmp_path


def test_unknown_salt_is_said(kitchen):
    """No salt is computed, the warning names the line, and the allergens count all the same."""
    report = open_handbook(kitchen).report("wet")
    assert report.unknown_salt == ("house rub",) and report.salted is None
    assert {"mustard", "celery"} <= set(report.allergens)
    (line,) = [str(each) for each in page_warnings(report) if each.key == "ingredients.salt"]
    assert "wet.md:" in line and "the salt of this page is not known" in line


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ("amount: 120 g", "amount: to target", "salting.ingredients.amount"),
        ("time: 2-3 h", "until: target salt", "steps.2.until"),
    ],
)
def test_nothing_is_computed_to_a_target_of_unknown_salt(kitchen, old, new, key):
    """A target of salt cannot be aimed at with an ingredient of unknown salt."""
    text = (kitchen / "wet.md").read_text().replace(old, new)
    text = text.replace("kind: immersion", "kind: immersion\ntarget_salt: 1.5 % of all")
    (kitchen / "wet.md").write_text(text)
    said = [str(each) for each in open_handbook(kitchen).page("wet.md").faults]
    assert any(f": {key}: " in each and "the salt of house rub is not known" in each for each in said), said


# ---- Names of the house

NAMES = "name,means,kind\n"


def named(rows: str, **others: str):
    """(tables, fault lines) of other_names.csv beside other own tables."""
    files = {"other_names.csv": NAMES + rows, **{f"{name}.csv": text for name, text in others.items()}}
    tables, found = house_tables("methods", {name: text.encode() for name, text in files.items()})
    return tables, [str(each) for each in found]


def test_a_house_names_foods_and_ingredients():
    """What a house says decides over what cooks elsewhere say; a curing salt by its own name is that salt."""
    own = FOODS + "vendace,fish,0.77,0.03,0.185,50,no,fish\n"
    tables, found = named(
        'muikku,vendace,food\nherring,"herring, Atlantic",food\nsea salt,fine sea salt,ingredient\n'
        'our pink salt,"curing salt, 6.25 % sodium nitrite (type 1)",ingredient\n',
        foods=own,
    )
    assert found == []
    foods, ingredients = food_names(tables), ingredient_names(tables)
    assert [foods.resolve(each).name for each in ("Muikku", "herrings")] == ["vendace", "herring, Atlantic"]
    assert ingredients.resolve("sea salt").name == "salt, fine sea"
    assert ingredients.resolve("our pink salt").name == "curing salt, 6.25 % sodium nitrite (type 1)"
    assert not food_names(engine_tables()).resolve("herring").name
    assert [each.said_as for each in find_names(["muikku"], tables)] == [("muikku",)]


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("pink salt,fine sea salt,ingredient", "read \"pink salt: means: fine sea salt\"; allowed: for a name that may be said of a curing salt"),
        ("tinted cure,sugar,ingredient", "allowed: for a name that may be said of a curing salt"),
        ("E250,fine sea salt,ingredient", "allowed: for a name that may be said of a curing salt"),
        ("red tub,cure #1,ingredient", "for a curing salt, a name that says so"),
        ("sea salt,cure #1,ingredient", "for a curing salt, a name that says so"),
        ("fine sea salt,coarse sea salt,ingredient", "allowed: a name that is not the name of one ingredient itself"),
        ("honey,sugar,ingredient", "allowed: a name that is not the name of one ingredient itself"),
        ("ours,salmon,food", 'Did you mean "salmon, Atlantic, farmed"'),
        ("ours,unicorn,food", "allowed: one food of the handbook"),
        ("ours,cod,fish", 'read "ours: kind: fish"; allowed: food or ingredient'),
        (",honey,ingredient", 'read "name: nothing"'),
        ("ours,,ingredient", 'read "means: nothing"'),
        ("!!!,honey,ingredient", "allowed: a name of letters"),
        ("ours,honey,ingredient,more", "one cell for each column"),
        ("o\x07urs,honey,ingredient", "control characters"),
    ],
)  # fmt: skip
def test_a_name_of_the_house_is_guarded(row, said):
    """One line with the place; a curing salt is never named as salt nor salt as a curing salt."""
    _, found = named(row + "\n")
    assert len(found) == 1 and found[0].startswith("methods/other_names.csv:2: row: ") and said in found[0], found


def test_a_page_may_use_a_name_of_the_house(kitchen):
    """The page reads it, and the search of the site knows it."""
    (kitchen / "other_names.csv").write_text(NAMES + "shed salt,fine sea salt,ingredient\n")
    text = (kitchen / "wet.md").read_text().replace("fine sea salt", "shed salt")
    assert "shed salt" in text
    (kitchen / "wet.md").write_text(text)
    report = open_handbook(kitchen).report("wet")
    (salt,) = [
        part.ingredient for each in report.mixtures for part in each.made.parts if part.ingredient.kind == "salt"
    ]
    assert salt.name == "salt, fine sea" and salt.house_names == ("shed salt",)
