"""Forms of the values in a page. Each form reads one node, states what it allows, and gives its JSON Schema.

A form describes a value once, for the reader, the error texts and the editor schema. Tables are in ``records.py``.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable
from typing import Any

from msgspec import Struct, field
from msgspec.structs import replace

from handbook.base import dates
from handbook.base.cook_words import meanings
from handbook.base.did_you_mean import Resolver, nearest
from handbook.base.errors import CONTROLS, PageError, UnitError
from handbook.base.units import parse_quantity
from handbook.base.yaml_text import List, Node, Table, Text, parse_yaml

MAX_ITEMS = 400
#: Faults reported per file and run. Further faults mostly have the same cause.
MAX_FAULTS = 200
#: Faults per file that get a suggestion.
MAX_SUGGESTIONS = 50


class Reading(Struct, kw_only=True):
    """Collects the faults of one file while it is read, and holds the house settings that forms use.

    Where it ``stands_in``, a faulty value is read as its fault line suggests, so that faults that depend on it are
    found in the same run. ``share_of`` is the base of a bare "5 %" of an ingredient, where only one base is possible.
    """

    file: str
    measures: str = "us"
    stands_in: bool = False
    share_of: str = ""
    faults: list[PageError] = field(default_factory=list)

    def fault(self, line: int, key: str, read: str, allowed: str, suggestion: str = "") -> None:
        """Record one fault. Reading continues, so that one run finds up to MAX_FAULTS of a file."""
        if len(self.faults) < MAX_FAULTS:
            self.faults.append(PageError(self.file, line, key or "file", read, allowed, suggestion))
        elif len(self.faults) == MAX_FAULTS:
            read = f"more than {MAX_FAULTS} faults"
            self.faults.append(PageError(self.file, line, "file", read, "a file without its first faults"))

    def suggestion(self, name: str, names: Iterable[str]) -> str:
        """The one of ``names`` that was probably meant. Empty where none is near or after MAX_SUGGESTIONS faults."""
        return nearest(name, names) if len(self.faults) < MAX_SUGGESTIONS else ""


#: A blank of a starter page: a question to the cook in angle brackets.
_BLANK = re.compile(r"<([^<>]{3,300})>")
#: Answers as people write them, in small letters.
_ANSWERS = {"yes": True, "true": True, "y": True, "on": True, "no": False, "false": False, "n": False, "off": False}


class Form(Struct, frozen=True):
    """Base of all forms. ``read`` returns None after recording a fault."""

    @property
    def allowed(self) -> str:
        """What the form accepts, as error texts and the reference page state it."""
        return "a value"

    def read(self, node: Node, key: str, reading: Reading) -> Any:
        """The value of ``node``, or None after recording a fault in ``reading``."""
        if not isinstance(node, Text):
            return self._fault(node, key, reading, _kind(node))
        if asked := _BLANK.fullmatch(node.value):
            reading.fault(node.line, key, "nothing yet", " ".join(asked[1].split()))
            return None
        return self.read_text(node, key, reading)

    def read_text(self, node: Text, key: str, reading: Reading) -> Any:
        """The value of a scalar."""
        raise NotImplementedError

    def schema(self) -> dict[str, Any]:
        """JSON Schema (draft 2020-12) of the form."""
        return {"type": "string"}

    def stand_in(self) -> Any:
        """A replacement for a missing or unreadable value, where no figure depends on it; else None."""
        return None

    def _fault(
        self, node: Node, key: str, reading: Reading, read: str = "", suggestion: str = "", instead: Any = None
    ) -> Any:
        """Record a fault. The value of the node is None or its replacement."""
        text = read or (node.value if isinstance(node, Text) else _kind(node)) or "nothing"
        reading.fault(node.line, key, text, self.allowed, suggestion)
        if not reading.stands_in:
            return None
        return self.stand_in() if instead is None else instead


class Words(Form, frozen=True, kw_only=True):
    """Free text of 1 to ``limit`` characters, without control characters. Line breaks become spaces."""

    limit: int = 400

    @property
    def allowed(self) -> str:
        return f"text of 1 to {self.limit} characters"

    def read_text(self, node: Text, key: str, reading: Reading) -> Any:
        text = " ".join(node.value.split())
        if CONTROLS.search(text):
            reading.fault(node.line, key, text, "text without control characters")
            return None
        return text if 0 < len(text) <= self.limit else self._fault(node, key, reading)

    def stand_in(self) -> str:
        """A text in place of a missing one."""
        return "not stated"

    def schema(self) -> dict[str, Any]:
        return {"type": "string", "minLength": 1, "maxLength": self.limit}


class Choice(Form, frozen=True, kw_only=True):
    """One word out of a fixed set."""

    words: tuple[str, ...]

    @property
    def allowed(self) -> str:
        return ", ".join(self.words)

    def read_text(self, node: Text, key: str, reading: Reading) -> Any:
        if node.value in self.words:
            return node.value
        meant = meanings(node.value, self.words)
        if len(meant) == 1:
            return meant[0]
        suggestion = " or ".join(meant) or reading.suggestion(node.value, self.words)
        guess = meant[0] if meant else suggestion
        return self._fault(node, key, reading, suggestion=suggestion, instead=guess or None)

    def schema(self) -> dict[str, Any]:
        return {"enum": list(self.words)}


class Name(Form, frozen=True, kw_only=True):
    """A name out of a list that the house may extend, such as a food or an ingredient.

    Where the list resolves other names, one with a single certain meaning is read as that name.
    """

    kind: str
    names: Callable[[], Collection[str]]
    of: str = "the handbook or of the house file"
    #: How to add a name that is missing.
    adding: str = ""

    @property
    def allowed(self) -> str:
        return f"{self.kind} of {self.of}"

    def read_text(self, node: Text, key: str, reading: Reading) -> Any:
        names = self.names()
        if isinstance(names, Resolver):
            found = names.resolve(node.value, suggest=len(reading.faults) < MAX_SUGGESTIONS)
            if not found.candidates and not found.name and self.adding:
                reading.fault(node.line, key, node.value or "nothing", f"{self.allowed}; {self.adding}")
                return None
            guess = found.candidates[0] if found.candidates else None
            return found.name or self._fault(node, key, reading, suggestion=found.question, instead=guess)
        if node.value in names:
            return node.value
        return self._fault(node, key, reading, suggestion=reading.suggestion(node.value, names))

    def schema(self) -> dict[str, Any]:
        # Without a house the names are unknown, so any text is allowed.
        names = sorted(set(self.names()))
        return {"enum": names} if names else {"type": "string"}


class Measure(Form, frozen=True, kw_only=True):
    """A quantity of one of ``dimensions`` within ``low`` to ``high`` in SI; a range only with ``may_range``."""

    dimensions: tuple[str, ...]
    low: float = 0.0
    high: float = float("inf")
    limits: str = ""
    may_range: bool = False
    may_be_zero: bool = False

    @property
    def allowed(self) -> str:
        return self.limits or f"a {' or '.join(self.dimensions)} above 0"

    def read_text(self, node: Text, key: str, reading: Reading) -> Any:
        try:
            quantity = parse_quantity(node.value, *self.dimensions, measures=reading.measures)
        except UnitError as error:
            reading.fault(node.line, key, error.read or "nothing", error.allowed, error.suggestion)
            return self._meant(error, reading)
        if quantity.is_range and not self.may_range:
            reading.fault(node.line, key, node.value, "one number and a unit, no range")
            return None
        above = quantity.low >= self.low if self.may_be_zero or self.low else quantity.low > self.low
        if not (above and quantity.high <= self.high):
            return self._fault(node, key, reading)
        return quantity

    def _meant(self, error: UnitError, reading: Reading) -> Any:
        """The quantity that the fault line asks for by an example, such as the length of a night."""
        example = re.match(r'(?:how long the|the temperature of that) .*?"(.+?)"', error.allowed)
        if not reading.stands_in or example is None:
            return None
        found = parse_quantity(example[1], *self.dimensions, measures=reading.measures)
        return found if self.may_range else replace(found, high=found.low)

    def schema(self) -> dict[str, Any]:
        return {"type": "string", "pattern": r"^[-−]?[0-9½⅓⅔¼¾⅛⅜⅝⅞].*[^0-9\s]+.*$"}


class Count(Form, frozen=True, kw_only=True):
    """A whole number within ``low`` to ``high``."""

    low: int = 1
    high: int = 1000

    @property
    def allowed(self) -> str:
        return f"a whole number, {self.low} to {self.high}"

    def read_text(self, node: Text, key: str, reading: Reading) -> Any:
        if node.value.isascii() and node.value.isdigit() and len(node.value) < 10:
            number = int(node.value)
            if self.low <= number <= self.high:
                return number
        return self._fault(node, key, reading)

    def stand_in(self) -> int:
        """The lowest number."""
        return self.low

    def schema(self) -> dict[str, Any]:
        return {"type": "integer", "minimum": self.low, "maximum": self.high}


class Number(Form, frozen=True, kw_only=True):
    """A plain number within ``low`` to ``high``, for figures without a unit such as pH."""

    low: float
    high: float
    what: str

    @property
    def allowed(self) -> str:
        return f"{self.what}, {self.low:g} to {self.high:g}"

    def read_text(self, node: Text, key: str, reading: Reading) -> Any:
        try:
            number = float(node.value) if len(node.value) < 12 and "_" not in node.value else float("nan")
        except ValueError:
            number = float("nan")
        return number if self.low <= number <= self.high else self._fault(node, key, reading)

    def schema(self) -> dict[str, Any]:
        return {"type": "number", "minimum": self.low, "maximum": self.high}


class YesNo(Form, frozen=True, kw_only=True):
    """``yes`` or ``no``."""

    allowed = "yes, no"

    def read_text(self, node: Text, key: str, reading: Reading) -> Any:
        found = _ANSWERS.get(node.value.casefold())
        return self._fault(node, key, reading) if found is None else found

    def schema(self) -> dict[str, Any]:
        return {"enum": ["yes", "no", True, False]}


class Date(Form, frozen=True, kw_only=True):
    """A calendar day, ISO 8601."""

    allowed = dates.ALLOWED

    def read_text(self, node: Text, key: str, reading: Reading) -> Any:
        return dates.read_day(node.value) or self._fault(node, key, reading)

    def stand_in(self) -> Any:
        """An arbitrary day: no figure depends on it."""
        return dates.read_day("2026-01-01")

    def schema(self) -> dict[str, Any]:
        return {"type": "string", "format": "date"}


class ListOf(Form, frozen=True, kw_only=True):
    """One item of a form, or a list of them."""

    form: Form
    limit: int = MAX_ITEMS
    may_be_single: bool = True

    @property
    def allowed(self) -> str:
        return f"a list of 1 to {self.limit}, each: {self.form.allowed}"

    def read(self, node: Node, key: str, reading: Reading) -> Any:
        if not isinstance(node, List):
            if self.may_be_single and not (isinstance(node, Text) and not node.value):
                value = self.form.read(node, key, reading)
                return None if value is None else (value,)
            return self._fault(node, key, reading)
        if not 0 < len(node.items) <= self.limit:
            return self._fault(node, key, reading, f"a list of {len(node.items)}")
        values = [self.form.read(item, f"{key}.{number}", reading) for number, item in enumerate(node.items, 1)]
        return None if any(value is None for value in values) else tuple(values)

    def schema(self) -> dict[str, Any]:
        several = {"type": "array", "items": self.form.schema(), "minItems": 1, "maxItems": self.limit}
        return {"anyOf": [self.form.schema(), several]} if self.may_be_single else several


def read_yaml(form: Form, text: str, reading: Reading, what: str, line: int = 1, key: str = "") -> Any:
    """The value of a YAML text, or None after recording its faults.

    Parameters
    ----------
    what : name of the text, for faults of the YAML itself
    line : the line of the file at which the text begins
    key : the first key in the faults of its values
    """
    try:
        node = parse_yaml(text, reading.file, line, what)
    except PageError as fault:
        reading.faults.append(fault)
        return None
    return form.read(node, key, reading)


def _kind(node: Node) -> str:
    return "a list" if isinstance(node, List) else "a table" if isinstance(node, Table) else ""
