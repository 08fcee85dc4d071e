"""Trade names lead to the food or the ingredient that is meant, and none hides a curing salt."""

import re

import pytest
from click.testing import CliRunner

from handbook.catalogue.other_names import find_names, other_names
from handbook.catalogue.tables import engine_tables
from site_build.cli.main import main

TABLES = engine_tables()
#: Words of names that may be said of a salt with nitrite or nitrate. Common practice, no source.
MAY_CURE = re.compile(r"\bcur(?:e|es|ed|ing)\b|nitrite|nitrate|saltpet(?:er|re)|\bpink\b|\btinted\b|\brapid\b|#", re.I)


def test_every_other_name_means_a_name_of_the_handbook():
    """Each means a food or an ingredient of the tables, and none is a name of the tables itself."""
    known = {"food": TABLES.foods, "ingredient": TABLES.ingredients}
    wrong = [each for each in other_names() if each.means not in known[each.kind] or each.name in known[each.kind]]
    assert wrong == [] and len(set(other_names())) == len(other_names()) > 60


def test_no_name_that_may_be_a_curing_salt_means_plain_salt():
    """A curing salt taken for salt leaves the cure without nitrite; salt taken for a curing salt is a poison.

    So a name that may be said of a curing salt means curing salts alone, and every name of a curing salt is one.
    """
    kinds = {}
    for each in other_names():
        if each.kind == "ingredient":
            kinds.setdefault(each.name, set()).add(TABLES.ingredients[each.means].kind)
    may_cure = {name for name in kinds if MAY_CURE.search(name)}
    assert {"pink salt", "pink curing salt", "cure #1"} <= may_cure
    assert all(kinds[name] == {"curing salt"} for name in may_cure)
    assert {name for name, found in kinds.items() if "curing salt" in found} == may_cure


@pytest.mark.parametrize("words", ["pink salt", "pink curing salt", "cure", "nitrite", "nitrites", "curing"])
def test_searching_for_a_curing_salt_finds_no_plain_salt(words):
    """Neither do the words find one in another way, such as by the kind."""
    found = [each for each in find_names(words.split(), TABLES) if each.group == "ingredient"]
    assert found and {each.kind for each in found} == {"curing salt"}


@pytest.mark.parametrize(
    ("words", "name"),
    [
        # Common practice, no source.
        ("black cod", "sablefish"),
        ("Kosher", "salt, dense rolled flake (kitchen coarse)"),
        ("kosher salt", "salt, light hollow flake (pyramid flake, kitchen coarse)"),
        ("prawns", "shrimp, untreated"),
        ("juniper berries", "juniper berry, whole"),
        ("bay leaves", "bay leaf, whole dried (per leaf)"),
        ("radishes", "radish"),
        ("STPP", "sodium tripolyphosphate (food grade)"),
    ],
)
def test_names_finds_trade_words(words, name):
    """``handbook names`` lists the entry with the name it was searched by, capitals and plurals apart."""
    done = CliRunner().invoke(main, ["names", *words.split()])
    assert done.exit_code == 0 and f"\n  {name}  (" in done.output


def test_names_without_words_lists_all():
    """All foods and ingredients, in the order of the tables, with no other names."""
    found = find_names([], TABLES)
    assert [each.name for each in found] == [*TABLES.foods, *TABLES.ingredients]
    assert not any(each.said_as for each in found)
    assert find_names(["saltpetre"], TABLES) == find_names(["kosher", "sugar"], TABLES) == ()
