"""Safety limits as data: each with its source, section, audience and trust (data/limits/*.yml)."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache
from importlib.resources import files
from typing import Annotated, Any

from msgspec import Struct
from msgspec.structs import replace

from handbook.base.did_you_mean import nearest
from handbook.base.errors import FaultsError, UnitError
from handbook.base.forms import Choice, Form, ListOf, Name, Reading, Words
from handbook.base.records import Key, record_of
from handbook.base.sources import TRUSTS, sources
from handbook.base.units import Quantity, parse_quantity
from handbook.base.yaml_nodes import as_table
from handbook.base.yaml_text import List, Node, Table, Text, parse_yaml
from handbook.catalogue.foods import FOOD_CLASSES
from handbook.page.front_matter import KINDS
from handbook.safety.conditions import Condition
from handbook.safety.dwell_tables import DWELL_TABLES, dwell_rows
from handbook.safety.limit_values import LIMIT_SHAPES

AUDIENCES = ("home", "retail", "commercial")
#: Place of a document's law or guidance. A state's or city's adoption counts as United States; its section names it.
PLACES = ("United States", "European Union", "United Kingdom", "Canada", "international", "anywhere")
#: Places that no house file can name. Their limits are references and are shown wherever they fit.
REFERENCE_PLACES = ("United Kingdom", "Canada", "international")
#: The default place of a house that names none: most documents here come from there.
DEFAULT_PLACE = "United States"
STANDINGS = ("current", "older edition", "reference")
_FOLDER = "limits"
_DIMENSIONS = ("temperature", "time", "fraction", "length", "mass")
_PLAIN_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


class _Values(Form, frozen=True):
    """A table of quantities and plain numbers by name."""

    allowed = "a table of values, such as {temperature: 40 °F, time: 2 h}"

    def read(self, node: Node, key: str, reading: Reading) -> Any:
        if not isinstance(node, Table):
            return self._fault(node, key, reading)
        return tuple((name, _value(value, f"{key}.{name}", reading)) for name, _, value in node.entries)


class _Rows(Form, frozen=True):
    """A table of rows of quantities."""

    allowed = "rows of quantities, such as [[145 °F, 3 min]]"

    def read(self, node: Node, key: str, reading: Reading) -> Any:
        items = node.items if isinstance(node, List) else ()
        rows = [row for row in items if isinstance(row, List) and row.items]
        if not rows or len(rows) < len(items):
            return self._fault(node, key, reading)
        return tuple(tuple(_value(cell, key, reading, is_number=False) for cell in row.items) for row in rows)


def _words(allowed: Iterable[str]) -> ListOf:
    return ListOf(form=Choice(words=tuple(allowed)), may_be_single=False)


class Limit(Struct, frozen=True, kw_only=True):
    """One limit of one document.

    ``foods`` and ``kinds`` are the food classes and kinds of method that it applies to (empty: all); ``when`` are
    further conditions that must all hold. ``values`` (name -> quantity, or a plain number such as a pH) and the rows of
    ``table`` keep the printed unit in ``text`` and SI in ``low``. ``audience`` is the readers for whom the document is
    written, ``place`` the place whose law or guidance it is. Only a ``current`` limit can stop a page; an older edition
    or a reference is shown beside. Limits of one rule that share ``one_of`` are alternatives: meeting one is enough.
    ``dwell`` names the printed cooking table that gives the rows; for unknown fat its fattest column applies.
    """

    id: str
    rule: Annotated[str, Key("the rule that uses it", Choice(words=tuple(LIMIT_SHAPES)))]
    title: Annotated[str, Key("what is limited", Words(limit=120))]
    foods: Annotated[tuple[str, ...], Key("food classes it is for", _words(FOOD_CLASSES))] = ()
    kinds: Annotated[tuple[str, ...], Key("kinds of method it is for", _words(KINDS))] = ()
    when: Annotated[tuple[Condition, ...], Key("conditions that must all hold", _words(Condition))] = ()
    values: Annotated[tuple[tuple[str, Quantity | float], ...], Key("values by name", _Values())] = ()
    table: Annotated[tuple[tuple[Quantity, ...], ...], Key("rows of the printed table", _Rows())] = ()
    printed: Annotated[str, Key("the limit as printed", Words(limit=400))]
    source: Annotated[str, Key("key of its source", Name(kind="a key", names=sources, of="sources.yml"))]
    edition: Annotated[str, Key("edition of the source", Words(limit=80))] = ""
    section: Annotated[str, Key("section of the source", Words(limit=200))] = ""
    audience: Annotated[tuple[str, ...], Key("whom the document is written for", _words(AUDIENCES))]
    place: Annotated[str, Key("whose law or guidance it is", Choice(words=PLACES))]
    trust: Annotated[str, Key("how the figure is known to this handbook", Choice(words=TRUSTS))]
    standing: Annotated[str, Key("whether it may stop a page", Choice(words=STANDINGS))] = "current"
    note: Annotated[str, Key("a note", Words(limit=600))] = ""
    one_of: Annotated[str, Key("ways of one rule that share this word: one is enough", Words(limit=40))] = ""
    dwell: Annotated[str, Key("the cooking table of its rows", Choice(words=DWELL_TABLES))] = ""

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
        """The limit as printed, with its edition and section."""
        place = ", ".join(part for part in (self.edition, self.section) if part)
        return f"{self.printed} ({place})" if place else self.printed

    def for_fat(self, fat: float | None) -> Limit:
        """The limit with the rows of its cooking table for this fraction of fat; unchanged without such a table."""
        return replace(self, table=dwell_rows(self.dwell, fat)) if self.dwell else self

    def binds_in(self, place: str) -> bool:
        """Whether the document is law or guidance in a house's place. A house that names none gets the default place."""
        judged = place if place in PLACES else DEFAULT_PLACE
        return self.place in (judged, "anywhere")

    def fits(self, food_class: str, kind: str, conditions: Iterable[Condition]) -> bool:
        """Whether the limit applies to this food, kind of method and conditions."""
        return (
            (not self.foods or food_class in self.foods)
            and (not self.kinds or kind in self.kinds)
            and set(self.when) <= set(conditions)
        )


@lru_cache
def limits() -> dict[str, Limit]:
    """All limits by id, file by file.

    Raises
    ------
    FaultsError   every fault of a file: a word, value, rule or source that the handbook does not know
    """
    folder = files("handbook.data").joinpath(_FOLDER)
    texts = {each.name: each.read_text("utf-8") for each in folder.iterdir() if each.name.endswith(".yml")}
    return {key: limit for name in sorted(texts) for key, limit in read_limits(texts[name], name).items()}


@lru_cache
def figure(limit: str, name: str) -> float:
    """The value called ``name`` of one limit in SI, for a rule based on one document."""
    return limits()[limit].value(name)


def degree_hours_limit(hottest: float) -> Limit:
    """The trade's limit of degree-hours for a chamber at most as hot as ``hottest`` in K; the last one in hotter ones."""
    rows = (each for each in limits().values() if each.has("degree_hours") and each.has("chamber"))
    rising = sorted(rows, key=lambda each: each.value("chamber"))
    return next((each for each in rising if hottest < each.value("chamber")), rising[-1])


def rules_and_limits() -> tuple[str, ...]:
    """The names of all rules and all limits, which an exception of a house may name."""
    return (*LIMIT_SHAPES, *limits())


def limits_of(
    rule: str, food_class: str = "", kind: str = "", conditions: frozenset[Condition] = frozenset(), place: str = ""
) -> tuple[Limit, ...]:
    """The limits of ``rule`` that fit a food class, a kind of method and the conditions that hold.

    With a ``place``: those of the place, those of no place, and references of places that no house names. Where the
    place has no current document of its own, those of the default place apply.
    """
    found = [each for each in limits().values() if each.rule == rule and each.fits(food_class, kind, conditions)]
    if not place:
        return tuple(found)
    has_own = any(each.place == place and each.standing == "current" for each in found)
    judged = place if has_own else DEFAULT_PLACE
    return tuple(each for each in found if each.binds_in(judged) or each.place in (place, *REFERENCE_PLACES))


def read_limits(text: str, file: str) -> dict[str, Limit]:
    """Limits by id from a YAML text. Raises FaultsError with the line of every fault."""
    reading = Reading(file=file)
    entries = as_table(parse_yaml(text, file)).entries
    read = ((key, _read(key, line, entry, reading)) for key, line, entry in entries)
    found = {key: limit for key, limit in read if limit is not None}
    if reading.faults:
        raise FaultsError(reading.faults)
    return found


_LIMIT = replace(record_of(Limit), build=dict)


def _read(key: str, line: int, entry: Node, reading: Reading) -> Limit | None:
    values = _LIMIT.read(entry, key, reading)
    if values is None:
        return None
    _check_shape(key, as_table(entry), values, reading)
    del values["line"]
    values["when"] = tuple(Condition(word) for word in values["when"])
    return Limit(id=key, **values).for_fat(None)


def _check_shape(key: str, entry: Table, values: dict[str, Any], reading: Reading) -> None:
    """Record values that the rule does not know, and required values that are missing."""
    shape = LIMIT_SHAPES[values["rule"]]
    written = dict(values["values"])
    lines = {
        name: line for field, _, node in entry.entries if field == "values" for name, line, _ in as_table(node).entries
    }
    for name in written:
        if name not in shape.names:
            suggestion = nearest(name, shape.names)
            reading.fault(lines[name], f"{key}.values", name, ", ".join(shape.names) or "no values", suggestion)
    for name in ("table", "dwell"):
        if values[name] and not shape.has_table:
            reading.fault(entry.line, f"{key}.{name}", "a table", f"no table for {values['rule']}")
    has_table = bool(values["table"] or values["dwell"])
    if shape.has_table and has_table:
        return
    if (
        set(written) <= set(shape.names)
        and not any(set(names) <= set(written) for names in shape.needs)
        and (shape.needs or shape.has_table)
    ):
        needed = " or ".join(", ".join(names) for names in shape.needs if names) or "a table"
        reading.fault(entry.line, f"{key}.values", ", ".join(written) or "nothing", needed)


def _value(node: Node, key: str, reading: Reading, is_number: bool = True) -> Quantity | float | None:
    text = node.value if isinstance(node, Text) else ""
    if is_number and _PLAIN_NUMBER.fullmatch(text):
        return float(text)
    try:
        return parse_quantity(text, *_DIMENSIONS)
    except UnitError as error:
        reading.fault(node.line, key, error.read or "nothing", error.allowed, error.suggestion)
        return None
