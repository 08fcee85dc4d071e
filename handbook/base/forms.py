"""Forms of the values in a page. Each form reads one node, states what it allows, and gives its JSON Schema.

One list of ``Field`` describes a block. The reader, the error texts, the reference page and the editor schema all
use it. ``record_of`` derives that list from the dataclass that a block is read into.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from dataclasses import MISSING, dataclass, field, fields
from typing import Annotated, Any, get_origin, get_type_hints

from handbook.base import dates
from handbook.base.did_you_mean import nearest
from handbook.base.errors import CONTROLS, PageError, UnitError
from handbook.base.units import parse_quantity
from handbook.base.yaml_text import List, Node, Table, Text

MAX_ITEMS = 400
#: Faults reported per file and run. Further faults mostly have the same cause.
MAX_FAULTS = 200
#: Faults per file that get a suggestion.
MAX_SUGGESTIONS = 50


@dataclass(kw_only=True)
class Reading:
    """Collects the faults of one file while it is read, and holds the house settings that forms use."""

    file: str
    measures: str = "us"
    faults: list[PageError] = field(default_factory=list)

    def fault(self, line: int, key: str, read: str, allowed: str, suggestion: str = "") -> None:
        """Record one fault. Reading continues, so that one run finds up to MAX_FAULTS of a file."""
        if len(self.faults) < MAX_FAULTS:
            self.faults.append(PageError(self.file, line, key, read, allowed, suggestion))
        elif len(self.faults) == MAX_FAULTS:
            read = f"more than {MAX_FAULTS} faults"
            self.faults.append(PageError(self.file, line, "file", read, "a file whose first faults are mended"))

    def suggestion(self, name: str, names: Iterable[str]) -> str:
        """The one of ``names`` that was probably meant. Empty where none is near or after MAX_SUGGESTIONS faults."""
        return nearest(name, names) if len(self.faults) < MAX_SUGGESTIONS else ""


class Form:
    """Base of all forms. ``read`` returns None after recording a fault."""

    @property
    def allowed(self) -> str:
        """What the form accepts, as error texts and the reference page state it."""
        return "a value"

    def read(self, node: Node, key: str, reading: Reading) -> Any:
        """The value of ``node``, or None after recording a fault in ``reading``."""
        if not isinstance(node, Text):
            return self._fault(node, key, reading, _kind(node))
        return self.read_text(node, key, reading)

    def read_text(self, node: Text, key: str, reading: Reading) -> Any:
        """The value of a scalar."""
        raise NotImplementedError

    def schema(self) -> dict[str, Any]:
        """JSON Schema (draft 2020-12) of the form."""
        return {"type": "string"}

    def _fault(self, node: Node, key: str, reading: Reading, read: str = "", suggestion: str = "") -> Any:
        """Record a fault and return None, the value of a faulty node."""
        text = read or (node.value if isinstance(node, Text) else _kind(node)) or "nothing"
        reading.fault(node.line, key, text, self.allowed, suggestion)
        return None


@dataclass(frozen=True, kw_only=True)
class Words(Form):
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

    def schema(self) -> dict[str, Any]:
        return {"type": "string", "minLength": 1, "maxLength": self.limit}


@dataclass(frozen=True, kw_only=True)
class Choice(Form):
    """One word out of a fixed set."""

    words: tuple[str, ...]

    @property
    def allowed(self) -> str:
        return ", ".join(self.words)

    def read_text(self, node: Text, key: str, reading: Reading) -> Any:
        if node.value in self.words:
            return node.value
        return self._fault(node, key, reading, suggestion=reading.suggestion(node.value, self.words))

    def schema(self) -> dict[str, Any]:
        return {"enum": list(self.words)}


@dataclass(frozen=True, kw_only=True)
class Name(Form):
    """A name out of a list that the house may extend, such as a food or an ingredient."""

    kind: str
    names: Callable[[], Collection[str]]
    of: str = "the handbook or of the house file"

    @property
    def allowed(self) -> str:
        return f"{self.kind} of {self.of}"

    def read_text(self, node: Text, key: str, reading: Reading) -> Any:
        names = self.names()
        if node.value in names:
            return node.value
        return self._fault(node, key, reading, suggestion=reading.suggestion(node.value, names))


@dataclass(frozen=True, kw_only=True)
class Measure(Form):
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
            return None
        if quantity.is_range and not self.may_range:
            reading.fault(node.line, key, node.value, "one number and a unit, no range")
            return None
        above = quantity.low >= self.low if self.may_be_zero or self.low else quantity.low > self.low
        if not (above and quantity.high <= self.high):
            return self._fault(node, key, reading)
        return quantity

    def schema(self) -> dict[str, Any]:
        return {"type": "string", "pattern": r"^[-−]?[0-9½⅓⅔¼¾⅛⅜⅝⅞].*[^0-9\s]+.*$"}


@dataclass(frozen=True, kw_only=True)
class Count(Form):
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

    def schema(self) -> dict[str, Any]:
        return {"type": "integer", "minimum": self.low, "maximum": self.high}


@dataclass(frozen=True, kw_only=True)
class Number(Form):
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


@dataclass(frozen=True, kw_only=True)
class YesNo(Form):
    """``yes`` or ``no``."""

    allowed = "yes, no"

    def read_text(self, node: Text, key: str, reading: Reading) -> Any:
        return (
            {"yes": True, "no": False}[node.value] if node.value in ("yes", "no") else self._fault(node, key, reading)
        )

    def schema(self) -> dict[str, Any]:
        return {"enum": ["yes", "no", True, False]}


@dataclass(frozen=True, kw_only=True)
class Date(Form):
    """A calendar day, ISO 8601."""

    allowed = dates.ALLOWED

    def read_text(self, node: Text, key: str, reading: Reading) -> Any:
        return dates.read_day(node.value) or self._fault(node, key, reading)

    def schema(self) -> dict[str, Any]:
        return {"type": "string", "format": "date"}


@dataclass(frozen=True, kw_only=True)
class ListOf(Form):
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


@dataclass(frozen=True, kw_only=True)
class Field:
    """One key of a table: its form, whether it is required, and its help text."""

    key: str
    form: Form
    help: str
    required: bool = False
    default: Any = None


@dataclass(frozen=True, kw_only=True)
class Record(Form):
    """A table of fields. ``build`` (a frozen dataclass) takes the fields' keys and ``line`` as keywords."""

    fields: tuple[Field, ...]
    build: Callable[..., Any]
    what: str = "a table"

    @property
    def allowed(self) -> str:
        return ", ".join(each.key for each in self.fields)

    def read(self, node: Node, key: str, reading: Reading) -> Any:
        if not isinstance(node, Table):
            return self._fault(node, key, reading)
        prefix = f"{key}." if key else ""
        before = len(reading.faults)
        known = {each.key: each for each in self.fields}
        values = {each.key: each.default for each in self.fields}
        for name, line, value in node.entries:
            if name not in known:
                reading.fault(line, prefix + name, name, self.allowed, reading.suggestion(name, known))
            else:
                values[name] = known[name].form.read(value, prefix + name, reading)
        written = {name for name, _, _ in node.entries}
        for each in self.fields:
            if each.required and each.key not in written:
                reading.fault(node.line, prefix + each.key, "nothing", each.form.allowed)
        if len(reading.faults) > before:
            return None
        return self.build(**values, line=node.line)

    def schema(self) -> dict[str, Any]:
        return {
            "type": "object",
            "properties": {each.key: {**each.form.schema(), "description": each.help} for each in self.fields},
            "required": [each.key for each in self.fields if each.required],
            "additionalProperties": False,
        }


@dataclass(frozen=True)
class Key:
    """How YAML writes one field of a record: its purpose, its form, and its key where that is no Python name.

    ``form`` is None where it depends on the house or on the pages; ``record_of`` is then given it.
    """

    help: str
    form: Form | None = None
    name: str = ""


def record_of(build: type[Any], /, **forms: Form) -> Record:
    """The form of a dataclass whose fields are annotated with a ``Key``.

    A field without a default is required; fields without a ``Key`` are not written in YAML. A field ``line`` receives
    the line of the table.

    Parameters
    ----------
    build : the dataclass; its keys keep the order of its fields
    forms : the forms of the fields whose ``Key`` has none, by the field's name

    Raises
    ------
    TypeError   a field has no form, or ``forms`` names none of the fields

    Examples
    --------
    >>> from dataclasses import dataclass
    >>> from typing import Annotated
    >>> @dataclass(frozen=True, kw_only=True)
    ... class Rack:
    ...     name: Annotated[str, Key("what the house calls it", Words(limit=40))]
    ...     levels: Annotated[int, Key("how many levels it has", Count(high=12))] = 1
    ...     place: Annotated[str, Key("where it stands")]
    ...     line: int
    >>> form = record_of(Rack, place=Choice(words=("smoker", "oven")))
    >>> form.allowed
    'name, levels, place'
    >>> form.schema()["required"]
    ['name', 'place']
    """
    hints = get_type_hints(build, include_extras=True)
    marks = {
        name: mark
        for name, hint in hints.items()
        if get_origin(hint) is Annotated
        for mark in hint.__metadata__
        if isinstance(mark, Key)
    }
    if missing := sorted({name for name, mark in marks.items() if not mark.form} ^ set(forms)):
        raise TypeError(f"record_of({build.__name__}): forms to give: {', '.join(missing)}")
    names = {mark.name or name: name for name, mark in marks.items()}
    defaults = {each.name: each.default for each in fields(build)}
    keys = tuple(
        Field(
            key=key,
            form=marks[name].form or forms[name],
            help=marks[name].help,
            required=defaults[name] is MISSING,
            default=None if defaults[name] is MISSING else defaults[name],
        )
        for key, name in names.items()
    )

    def built(line: int, **values: Any) -> Any:
        located = {"line": line} if "line" in hints else {}
        return build(**{names[key]: value for key, value in values.items()}, **located)

    return Record(fields=keys, build=built)


def _kind(node: Node) -> str:
    return "a list" if isinstance(node, List) else "a table" if isinstance(node, Table) else ""
