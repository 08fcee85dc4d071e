"""Safety limits as data: each with its source, section, audience and trust (data/limits.yml)."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

from handbook.errors import SourceError, UnitError
from handbook.foods import FOOD_CLASSES
from handbook.method import KINDS
from handbook.sources import TRUSTS, source
from handbook.units import Quantity, parse_quantity
from handbook.yaml_text import List, Node, Table, Text, parse_yaml

AUDIENCES = ("home", "retail", "commercial")
STANDINGS = ("current", "older edition", "reference")
_DIMENSIONS = ("temperature", "time", "fraction")
_KEYS = {
    "rule",
    "title",
    "foods",
    "kinds",
    "when",
    "values",
    "table",
    "printed",
    "source",
    "edition",
    "section",
    "audience",
    "trust",
    "standing",
    "note",
}
_PLAIN_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


@dataclass(frozen=True)
class Limit:
    """One limit of one document.

    ``foods`` and ``kinds`` are the food classes and kinds of method it is for (empty: all); ``when`` are further
    conditions that must all hold. ``values`` (name -> quantity, or a plain number such as a pH) and the rows of
    ``table`` keep the printed unit in ``text`` and SI in ``low``. ``audience`` is whom the document is written
    for. Only a ``current`` limit can stop a page; an older edition or a reference is shown beside.
    """

    id: str
    rule: str
    title: str
    foods: tuple[str, ...]
    kinds: tuple[str, ...]
    when: tuple[str, ...]
    values: tuple[tuple[str, Quantity | float], ...]
    table: tuple[tuple[Quantity, ...], ...]
    printed: str
    source: str
    edition: str
    section: str
    audience: tuple[str, ...]
    trust: str
    standing: str
    note: str

    def has(self, name: str) -> bool:
        """Whether the limit states a value called ``name``."""
        return any(name == each for each, _ in self.values)

    def value(self, name: str) -> float:
        """The value called ``name`` in SI. Raises KeyError when the limit has none."""
        found = dict(self.values)[name]
        return found if isinstance(found, float) else found.low

    @property
    def rows(self) -> tuple[tuple[float, ...], ...]:
        """The table in SI."""
        return tuple(tuple(each.low for each in row) for row in self.table)

    @property
    def text(self) -> str:
        """The limit as printed, with the edition and section that it stands in."""
        place = ", ".join(part for part in (self.edition, self.section) if part)
        return f"{self.printed} ({place})" if place else self.printed

    def fits(self, food_class: str, kind: str, words: frozenset[str]) -> bool:
        """Whether the limit is for this food, kind of method and conditions."""
        return (
            (not self.foods or food_class in self.foods)
            and (not self.kinds or kind in self.kinds)
            and set(self.when) <= words
        )


@lru_cache
def limits() -> dict[str, Limit]:
    """All limits by id, in the order of the file.

    Raises
    ------
    SourceError   a limit is malformed, or names a source that is in no list of sources
    """
    table = parse_yaml(files("handbook.data").joinpath("limits.yml").read_text("utf-8"), "limits.yml")
    return {key: read_limit(key, line, entry) for key, line, entry in table.entries}


def limits_of(
    rule: str, food_class: str = "", kind: str = "", words: frozenset[str] = frozenset()
) -> tuple[Limit, ...]:
    """The limits of ``rule`` that fit a food class, a kind of method and the conditions ``words``."""
    return tuple(each for each in limits().values() if each.rule == rule and each.fits(food_class, kind, words))


def read_limit(key: str, line: int, entry: Node) -> Limit:
    """One limit from its YAML node. Raises SourceError, naming the line, when anything is amiss."""
    where = f"limits.yml:{line}: {key}"
    if not isinstance(entry, Table) or (unknown := {name for name, _, _ in entry.entries} - _KEYS):
        raise SourceError(
            f"{where}: read {sorted(unknown) if isinstance(entry, Table) else 'no table'}; "
            f"allowed: {', '.join(sorted(_KEYS))}"
        )
    found = {name: node for name, _, node in entry.entries}
    words = {name: node.value for name, node in found.items() if isinstance(node, Text)}
    lists = {name: _texts(found.get(name)) for name in ("foods", "kinds", "when", "audience")}
    for name in ("rule", "title", "printed", "source", "trust"):
        if not words.get(name):
            raise SourceError(f"{where}: {name}: read nothing; allowed: text")
    standing = words.get("standing", "current")
    _check(where, "trust", (words["trust"],), TRUSTS)
    _check(where, "standing", (standing,), STANDINGS)
    _check(where, "audience", lists["audience"], AUDIENCES)
    _check(where, "foods", lists["foods"], FOOD_CLASSES)
    _check(where, "kinds", lists["kinds"], KINDS)
    if not lists["audience"]:
        raise SourceError(f"{where}: audience: read nothing; allowed: {', '.join(AUDIENCES)}")
    try:
        values, rows = _values(found.get("values")), _rows(found.get("table"))
    except UnitError as error:
        raise SourceError(f"{where}: values: {error}") from None
    try:
        source(words["source"])
    except SourceError as error:
        raise SourceError(f"{where}: {error}") from None
    return Limit(
        key,
        words["rule"],
        words["title"],
        lists["foods"],
        lists["kinds"],
        lists["when"],
        values,
        rows,
        words["printed"],
        words["source"],
        words.get("edition", ""),
        words.get("section", ""),
        lists["audience"],
        words["trust"],
        standing,
        words.get("note", ""),
    )


def _check(where: str, name: str, read: tuple[str, ...], allowed: tuple[str, ...]) -> None:
    for each in read:
        if each not in allowed:
            raise SourceError(f"{where}: {name}: read {each}; allowed: {', '.join(allowed)}")


def _texts(node: Node | None) -> tuple[str, ...]:
    return tuple(each.value for each in node.items) if isinstance(node, List) else ()


def _values(node: Node | None) -> tuple[tuple[str, Quantity | float], ...]:
    return tuple((name, _value(each.value)) for name, _, each in node.entries) if isinstance(node, Table) else ()


def _rows(node: Node | None) -> tuple[tuple[Quantity, ...], ...]:
    if not isinstance(node, List):
        return ()
    return tuple(tuple(parse_quantity(cell.value, *_DIMENSIONS) for cell in row.items) for row in node.items)


def _value(text: str) -> Quantity | float:
    return float(text) if _PLAIN_NUMBER.fullmatch(text) else parse_quantity(text, *_DIMENSIONS)
