"""Other names of foods and ingredients, and the search for the name that a page may use."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

from msgspec import Struct

from handbook.base import csv_rows as rows
from handbook.catalogue.tables import Tables

#: Kinds of record with other names.
KINDS = ("food", "ingredient")


class OtherName(Struct, frozen=True, kw_only=True):
    """A cook's name and a name of the handbook that it may mean."""

    name: str
    means: str
    kind: str


class FoundName(Struct, frozen=True, kw_only=True):
    """A search result: a name of the handbook. ``said_as`` are its other names with the words."""

    name: str
    kind: str
    group: str
    said_as: tuple[str, ...] = ()


@lru_cache
def other_names() -> tuple[OtherName, ...]:
    """All other names of the engine's table. A name with several rows may mean any of them."""
    return tuple(
        OtherName(name=rows.text(row, "name"), means=rows.text(row, "means"), kind=rows.word(row, "kind", KINDS))
        for row in rows.read_table("other_names.csv")
    )


def said_of(name: str, kind: str) -> tuple[str, ...]:
    """Other names of cooks for the food or the ingredient ``name``.

    >>> said_of("sablefish", "food")
    ('black cod',)
    """
    return _by_meaning().get((kind, name), ())


@lru_cache
def _by_meaning() -> dict[tuple[str, str], tuple[str, ...]]:
    found: dict[tuple[str, str], list[str]] = {}
    for each in other_names():
        found.setdefault((each.kind, each.means), []).append(each.name)
    return {key: tuple(names) for key, names in found.items()}


def find_names(words: Iterable[str], tables: Tables) -> tuple[FoundName, ...]:
    """The foods and ingredients whose name, kind or other name contains all ``words``. Without words: all of them.

    >>> from handbook.catalogue.tables import engine_tables
    >>> [(each.name, each.said_as) for each in find_names(["black", "cod"], engine_tables())]
    [('sablefish', ('black cod',))]
    """
    wanted = [_spellings(word) for word in words]
    groups = (
        ("food", [(each.name, each.food_class, each.house_names) for each in tables.foods.values()]),
        ("ingredient", [(each.name, each.kind, each.house_names) for each in tables.ingredients.values()]),
    )
    found = []
    for group, entries in groups:
        for name, kind, house_names in entries:
            said_as = tuple(
                each for each in (*house_names, *said_of(name, group)) if wanted and _holds(f"{each} {kind}", wanted)
            )
            if said_as or _holds(f"{name} {kind}", wanted):
                found.append(FoundName(name=name, kind=kind, group=group, said_as=said_as))
    return tuple(found)


def _holds(text: str, wanted: list[tuple[str, ...]]) -> bool:
    folded = text.casefold()
    return all(any(each in folded for each in spellings) for spellings in wanted)


def _spellings(word: str) -> tuple[str, ...]:
    """The word and its possible singulars, because the tables use the singular."""
    word = word.casefold()
    singulars = [word.removesuffix(ending) + last for ending, last in _PLURALS if word.endswith(ending)]
    return (word, *(each for each in singulars if len(each) > 2))


_PLURALS = (("s", ""), ("es", ""), ("ies", "y"), ("aves", "af"))
