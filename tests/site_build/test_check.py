"""``check`` says in one run what is wrong and what the pages flag; ``--strict`` makes a flag a fault."""

import re

import pytest
from click.testing import CliRunner

from handbook.folder.handbook import open_handbook
from site_build.cli.main import main
from site_build.cli.starter import began_house, family_page
from tests.newcomer import BLANK

PAGE = BLANK.sub(r"\1", family_page("roast", "roast"))


@pytest.fixture
def kitchen(tmp_path):
    """A handbook of one clean page."""
    (tmp_path / "house.yml").write_text(began_house("Loft", "us", "C", "crowns", "home", "none named"))
    (tmp_path / "roast.md").write_text(PAGE)
    return tmp_path


def check(folder, *more):
    """Exit code and lines of the command."""
    result = CliRunner().invoke(main, ["check", str(folder), "--workers", "1", *more])
    return result.exit_code, [line.replace(f"{folder.name}/", "") for line in result.stderr.splitlines()]


def change(folder, old, new):
    """One change of the page."""
    text = (folder / "roast.md").read_text()
    assert old in text
    (folder / "roast.md").write_text(text.replace(old, new, 1))


#: What is flagged: the change of the page, and the warning.
FLAGS = {
    "a time that leaves no hold": (
        "  until: core\n  place: oven\n  chamber: 150 °C\n  core: 75 °C\n",
        "  time: 4 h\n  place: oven\n  chamber: 150 °C\n  core: 75 °C\n  hold: 4 h\n",
        r"steps\.3\.time: read \"4 h\"; allowed: at least the computed ",
    ),
    "an allergen in a step's words": (
        "Rest under a cloth",
        "Toss in toasted hazelnuts, rest",
        r"safety\.allergens: read .*hazelnuts",
    ),
}


@pytest.mark.parametrize("name", FLAGS)
def test_a_flag_is_a_warning_and_in_a_strict_run_a_fault(kitchen, name):
    """It names the line, and what to do."""
    old, new, said = FLAGS[name]
    assert check(kitchen, "--strict") == (0, [])
    change(kitchen, old, new)
    _, lines = check(kitchen)
    assert any(re.search(said, line) for line in lines), lines
    assert check(kitchen, "--strict")[0] == 1


def test_unsigned_changes_are_flagged_where_pages_are_signed(kitchen):
    """A handbook that nobody signs is not flagged; one with signatures is, until the standing version is signed."""
    sign = ["sign", "roast", "--by", "Marit", "--folder", str(kitchen)]
    assert CliRunner().invoke(main, sign).exit_code == 0
    assert check(kitchen, "--strict") == (0, [])
    change(kitchen, "such" if "such" in PAGE else "time: 24 h", "time: 30 h")
    code, lines = check(kitchen)
    assert code == 0 and any('review: read "changed since review"' in line for line in lines), lines
    assert check(kitchen, "--strict")[0] == 1


def test_a_faulty_house_hides_no_page(kitchen):
    """Faults of the house file and of a page's names and units stand in one run; names of containers wait for the house."""
    (kitchen / "house.yml").write_text((kitchen / "house.yml").read_text().replace("fridge: 3 °C", "fridge: cold"))
    change(kitchen, "food: pork loin, whole, lean+fat", "food: pork lion")
    change(kitchen, "time: 24 h", "time: overnight")
    change(kitchen, "name: salt\n", "name: salt\ncontainer: my crock\n")
    code, lines = check(kitchen)
    found = {re.match(r"([\w.]+):\d+: ([\w.]+):", line).groups() for line in lines}
    assert code == 1
    assert found == {("house.yml", "fridge"), ("roast.md", "food"), ("roast.md", "steps.2.time")}


@pytest.mark.parametrize("said", ["pink salt", "curing salt", "tinted cure", "prague-like powder cure"])
def test_a_price_is_named_as_on_pages(kitchen, said):
    """Cooks' names are read, doubtful ones ask, and what may be a curing salt is no salt."""
    house = (kitchen / "house.yml").read_text()
    (kitchen / "house.yml").write_text(
        house + "prices:\n  - {item: cider vinegar, price: 3 per L}\n  - {item: brown sugar, price: 2 per kg}\n"
    )
    assert check(kitchen) == (0, [])
    (kitchen / "house.yml").write_text(house + f"prices:\n  - {{item: {said}, price: 3 per kg}}\n")
    code, (line,) = check(kitchen)
    asked = line.partition("Did you mean ")[2]
    assert code == 1 and "prices.item" in line and "curing salt" in asked and '"salt, ' not in asked


def test_warnings_of_sound_pages_stand_beside_the_faults_of_others(kitchen):
    """A new author mends both in one round."""
    change(kitchen, *FLAGS["an allergen in a step's words"][:2])
    code, alone = check(kitchen)
    assert code == 0 and alone and all(line.startswith("warning: ") for line in alone)
    (kitchen / "other.md").write_text(PAGE.replace("title: ", "title: Other ").replace("kind: ", "kind: no "))
    code, both = check(kitchen)
    assert code == 1 and set(alone) < set(both) and any("other.md" in line for line in both)


@pytest.mark.parametrize(
    ("line", "amount"),
    [
        ("2 tbsp brown sugar, packed", "2 tbsp, packed"),
        ("2 tbsp, packed brown sugar", "2 tbsp, packed"),
        ("2 tbsp packed brown sugar", "2 tbsp, packed"),
        ("2 tbsp, packed, brown sugar", "2 tbsp, packed"),
        ("1 cup of loose brown sugar", "1 cup, loose"),
        ("1 cup of loose talk", ""),
    ],
)
def test_a_filling_stands_where_a_cook_puts_it(kitchen, line, amount):
    """Beside the measure or behind the name; where it is part of a name that nobody knows, the line is a fault."""
    text = (kitchen / "roast.md").read_text()
    (kitchen / "roast.md").write_text(re.sub(r"(?m)^ingredients:.*\n", f"\\g<0>  - {line}\n", text))
    code, lines = check(kitchen)
    assert (code == 0) == bool(amount), lines


@pytest.mark.parametrize(
    "said", ["- 3 kg pork shoulder, whole, lean+fat", "- {food: 'pork shoulder, whole, lean+fat', amount: 3 kg}"]
)
def test_a_part_of_a_formula_may_be_one_line(kitchen, said):
    """As an ingredient may."""
    page = PAGE.replace("```salting", f"```formula\n{said}\n- 2 kg pork belly\n```\n\n```salting", 1)
    page = re.sub(r"(?m)^food: .*$", "food: 'pork shoulder, whole, lean+fat'", page)
    (kitchen / "roast.md").write_text(re.sub(r"(?m)^written_for: .*$", "written_for: 5 kg", page))
    method = open_handbook(kitchen).page("roast.md").method
    assert [(each.food, each.amount.text) for each in method.formula] == [
        ("pork shoulder, whole, lean+fat", "3 kg"), ("pork belly", "2 kg")
    ]  # fmt: skip
