"""A house's own names of foods and ingredients, other_names.csv: its cooks' names and the tables' names."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import lru_cache

from msgspec.structs import replace

from handbook.catalogue.name_resolver import NameList, food_names, ingredient_names, may_be_curing_salt
from handbook.catalogue.other_names import KINDS
from handbook.catalogue.own_columns import COLUMNS
from handbook.catalogue.tables import Tables, engine_tables

_COLUMNS = tuple(COLUMNS["other_names"])


def name_fault(row: Mapping[str, str], tables: Tables) -> tuple[str, str, str] | None:
    """The fault of a row of other_names.csv: (read, allowed, suggestion), or None."""
    for column in row:
        if column not in _COLUMNS:
            return column, f"a column of {', '.join(_COLUMNS)}", ""
    said, means = row.get("name", "").strip(), row.get("means", "").strip()
    for column in _COLUMNS:
        if not row.get(column, "").strip():
            return f"{column}: nothing", COLUMNS["other_names"][column].removeprefix("needed: "), ""
    if not re.search(r"[^\W\d_]", said):
        return said, "a name of letters", ""
    kind = row["kind"].strip()
    if kind not in KINDS:
        return f"{said}: kind: {kind}", " or ".join(KINDS), ""
    names = names_of(kind, tables)
    found = names.resolve(means)
    if not found.name:
        return f"{said}: means: {means}", f"one {kind} of the handbook or of the house's own table", found.question
    if names.is_own_name(said):
        return said, f"a name that is not the name of one {kind} itself", ""
    if kind == "ingredient" and may_be_curing_salt(said) != (found.name in names.curing):
        allowed = "for a name that may be said of a curing salt, a curing salt; for a curing salt, a name that says so, such as pink cure"
        return f"{said}: means: {means}", allowed, ""
    return None


def with_names(tables: Tables, rows: Iterable[Mapping[str, str]]) -> Tables:
    """The tables with the house's own names in their foods and ingredients. The rows must have no fault."""
    said: dict[tuple[str, str], list[str]] = {}
    names = {kind: names_of(kind, tables) for kind in KINDS}
    for row in rows:
        kind = row["kind"].strip()
        said.setdefault((kind, names[kind].resolve(row["means"].strip()).name), []).append(row["name"].strip())
    return Tables(
        foods={
            name: replace(each, house_names=tuple(said.get(("food", name), ()))) for name, each in tables.foods.items()
        },
        ingredients={
            name: replace(each, house_names=tuple(said.get(("ingredient", name), ())))
            for name, each in tables.ingredients.items()
        },
    )


def names_of(kind: str, tables: Tables) -> NameList:
    """The names of a kind of record in ``tables``."""
    return _engine_names(kind) if tables is engine_tables() else _made(kind, tables)


@lru_cache
def _engine_names(kind: str) -> NameList:
    return _made(kind, engine_tables())


def _made(kind: str, tables: Tables) -> NameList:
    return food_names(tables) if kind == "food" else ingredient_names(tables)
