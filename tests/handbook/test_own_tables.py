"""A house's own foods and ingredients: what a row must state, what may be unknown, and names that mean one thing only."""

import pytest

from handbook.base.csv_rows import read_table
from handbook.catalogue.own_columns import COLUMNS
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
