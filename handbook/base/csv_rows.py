"""Rows of the engine's CSV tables and of a house file, with the checks that both pass."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from importlib.resources import files
from math import isfinite
from typing import Protocol, TypeVar

from handbook.base.did_you_mean import nearest
from handbook.base.errors import RangeError, UnitError
from handbook.base.sources import TRUSTS

#: One row of a table: column -> text or number.
Row = Mapping[str, object]


class HasName(Protocol):
    """A record with a name."""

    @property
    def name(self) -> str: ...


Named = TypeVar("Named", bound=HasName)


@lru_cache
def read_table(name: str) -> tuple[dict[str, str], ...]:
    """Rows of one of the engine's CSV tables, without its comment lines."""
    lines = files("handbook.data").joinpath(name).read_text("utf-8").splitlines()
    return tuple(csv.DictReader(line for line in lines if not line.startswith("#")))


def check_columns(row: Row, table: str) -> None:
    """Raise UnitError for a row without a name or with a column that the engine's ``table`` does not have."""
    known = tuple(read_table(table)[0])
    for column in row:
        if column not in known:
            raise UnitError(str(column), "a column of " + ", ".join(known), nearest(str(column), known))
    if not text(row, "name"):
        raise UnitError("nothing", "a name in every row")


def text(row: Row, column: str) -> str:
    """The cell as text, stripped; a missing cell is empty."""
    value = row.get(column)
    return "" if value is None else str(value).strip()


def word(row: Row, column: str, allowed: Sequence[str]) -> str:
    """The cell, which must be one of ``allowed``. Raises UnitError with the nearest of them."""
    value = text(row, column)
    if value not in allowed:
        choice = ", ".join(each or "nothing" for each in allowed)
        raise UnitError(_at(row, column, value), choice, nearest(value, filter(None, allowed)) if value else "")
    return value


def words(row: Row, column: str, allowed: Sequence[str]) -> tuple[str, ...]:
    """The words of the cell, separated by spaces, each one of ``allowed``. Raises UnitError."""
    return tuple(word({**row, column: each}, column, allowed) for each in text(row, column).split())


def number(row: Row, column: str, low: float, high: float, blank: float | None = None) -> float:
    """The cell as a number; an empty cell is ``blank``.

    Raises UnitError for text that is not a number (or for an empty cell without ``blank``) and RangeError outside low to high.
    """
    value = text(row, column)
    if not value and blank is not None:
        return blank
    try:
        found = float(value)
    except ValueError:
        raise UnitError(_at(row, column, value), f"a number, {low:g} to {high:g}") from None
    if not isfinite(found) or not low <= found <= high:
        raise RangeError(f"{text(row, 'name')}: {column}", found, f"{low:g} to {high:g}")
    return found


def cited(row: Row) -> tuple[str, str]:
    """Source key and trust of a row. Raises UnitError where either is missing."""
    source = text(row, "source")
    if not source:
        raise UnitError(_at(row, "source", source), "the key of a source")
    return source, word(row, "trust", TRUSTS)


def merged(own: Iterable[Named], extra: Iterable[Named]) -> tuple[Named, ...]:
    """``own`` and ``extra`` records. An extra record replaces the engine's record of the same name.

    Raises UnitError when two of ``extra`` have the same name.
    """
    by_name = {each.name: each for each in own}
    added: dict[str, Named] = {}
    for each in extra:
        if each.name in added:
            raise UnitError(each.name, "a name that no other row of the house has")
        added[each.name] = each
    return tuple((by_name | added).values())


def _at(row: Row, column: str, value: str) -> str:
    return f"{text(row, 'name')}: {column}: {value or 'nothing'}"
