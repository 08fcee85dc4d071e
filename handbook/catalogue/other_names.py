"""Other names of foods and ingredients, and the search for the name that a page may write."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from handbook.base import csv_rows as rows
from handbook.catalogue.tables import Tables

#: What an other name may stand for.
KINDS = ("food", "ingredient")


@dataclass(frozen=True, kw_only=True)
class OtherName:
    """One name as cooks say it, and one name of the handbook that it may mean."""

    name: str
    means: str
    kind: str


@dataclass(frozen=True, kw_only=True)
class FoundName:
    """A name of the handbook that was searched for. ``said_as`` are its other names that hold the words."""

    name: str
    kind: str
    group: str
    said_as: tuple[str, ...] = ()


@lru_cache
def other_names() -> tuple[OtherName, ...]:
    """Every other name of the engine's table. A name with several rows may mean any of them."""
    return tuple(
        OtherName(name=rows.text(row, "name"), means=rows.text(row, "means"), kind=rows.word(row, "kind", KINDS))
        for row in rows.read_table("other_names.csv")
    )


def find_names(words: Iterable[str], tables: Tables) -> tuple[FoundName, ...]:
    """The foods and ingredients whose name, kind or other name holds every one of ``words``; all without words.

    >>> from handbook.catalogue.tables import engine_tables
    >>> [(each.name, each.said_as) for each in find_names(["black", "cod"], engine_tables())]
    [('sablefish', ('black cod',))]
    """
    wanted = [_spellings(word) for word in words]
    groups = (
        ("food", [(each.name, each.food_class) for each in tables.foods.values()]),
        ("ingredient", [(each.name, each.kind) for each in tables.ingredients.values()]),
    )
    found = []
    for group, entries in groups:
        for name, kind in entries:
            said_as = tuple(
                each.name
                for each in other_names()
                if wanted and each.means == name and each.kind == group and _holds(f"{each.name} {kind}", wanted)
            )
            if said_as or _holds(f"{name} {kind}", wanted):
                found.append(FoundName(name=name, kind=kind, group=group, said_as=said_as))
    return tuple(found)


def _holds(text: str, wanted: list[tuple[str, ...]]) -> bool:
    folded = text.casefold()
    return all(any(each in folded for each in spellings) for spellings in wanted)


def _spellings(word: str) -> tuple[str, ...]:
    """The word, and the singular that it may be the plural of: the tables name one piece."""
    word = word.casefold()
    singulars = [word.removesuffix(ending) + last for ending, last in _PLURALS if word.endswith(ending)]
    return (word, *(each for each in singulars if len(each) > 2))


_PLURALS = (("s", ""), ("es", ""), ("ies", "y"), ("aves", "af"))
