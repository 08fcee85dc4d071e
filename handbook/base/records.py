"""Forms of tables, derived from records.

The annotations of the record hold each key's form, help and default. The reader, the error texts and the editor
schemas use them, so a key is defined once.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache, lru_cache
from typing import Annotated, Any, get_origin, get_type_hints

from msgspec import NODEFAULT, Struct, structs

from handbook.base.forms import Form, ListOf, Reading, Words
from handbook.base.yaml_text import Node, Table


class Field(Struct, frozen=True, kw_only=True):
    """One key of a table: its form, whether it is required, and its help text."""

    key: str
    form: Form
    help: str
    required: bool = False
    default: Any = None


class Record(Form, frozen=True, kw_only=True):
    """A table of fields. ``build`` (a frozen record) takes the fields' keys and ``line`` as keywords."""

    fields: tuple[Field, ...]
    build: Callable[..., Any]

    @property
    def allowed(self) -> str:
        return ", ".join(each.key for each in self.fields)

    def read(self, node: Node, key: str, reading: Reading) -> Any:
        if not isinstance(node, Table):
            return self._fault(node, key, reading)
        prefix = f"{key}." if key else ""
        before, is_lost = len(reading.faults), False
        known = {each.key: each for each in self.fields}
        values = {each.key: each.default for each in self.fields}
        written = {name for name, _, _ in node.entries}
        for name, line, value in node.entries:
            found = name
            if name not in known:
                found = reading.suggestion(name, known)
                reading.fault(line, prefix + name, name, self.allowed, found)
                if not found or found in written or not reading.stands_in:
                    is_lost = True
                    continue
                written.add(found)
            values[found] = known[found].form.read(value, prefix + name, reading)
            is_lost = is_lost or values[found] is None
        for each in self.fields:
            if each.required and each.key not in written:
                reading.fault(node.line, prefix + each.key, "nothing", each.form.allowed)
                values[each.key] = each.form.stand_in()
                is_lost = is_lost or values[each.key] is None
        if is_lost or (len(reading.faults) > before and not reading.stands_in):
            return None
        return self.build(**values, line=node.line)

    def schema(self) -> dict[str, Any]:
        return {
            "type": "object",
            "properties": {each.key: {**each.form.schema(), "description": each.help} for each in self.fields},
            "required": [each.key for each in self.fields if each.required],
            "additionalProperties": False,
        }


class Key(Struct, frozen=True):
    """How YAML writes one field of a record: its purpose, its form, and its key where that is no Python name.

    ``form`` is None where it depends on the house or on the pages; ``record_of`` is then given it. A field that
    ``is_filled_later`` may be left out although it has no default: its reader fills it from others.
    """

    help: str
    form: Form | None = None
    name: str = ""
    is_filled_later: bool = False


def record_of(build: type[Struct], kind: Callable[..., Record] = Record, /, **forms: Form) -> Record:
    """The form of a record whose fields are annotated with a ``Key``.

    A field without a default is required; fields without a ``Key`` are not written in YAML. A field ``line`` receives
    the line of the table.

    Parameters
    ----------
    build : the record; its keys keep the order of its fields
    kind : makes the form from its fields and ``build``, where it reads more than a plain table
    forms : the forms of the fields whose ``Key`` has none, by the field's name

    Raises
    ------
    TypeError   a field has no form, or ``forms`` names none of the fields

    Examples
    --------
    >>> from msgspec import defstruct
    >>> from handbook.base.forms import Choice, Count, Words
    >>> keys = [
    ...     ("name", Annotated[str, Key("what the house calls it", Words(limit=40))]),
    ...     ("levels", Annotated[int, Key("how many levels it has", Count(high=12))], 1),
    ...     ("place", Annotated[str, Key("where it is")]),
    ...     ("line", int),
    ... ]
    >>> Rack = defstruct("Rack", keys, kw_only=True)
    >>> form = record_of(Rack, place=Choice(words=("smoker", "oven")))
    >>> form.allowed
    'name, levels, place'
    >>> form.schema()["required"]
    ['name', 'place']
    """
    hints = _hints(build)
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
    defaults = {each.name: each.default for each in structs.fields(build)}
    keys = tuple(
        Field(
            key=key,
            form=marks[name].form or forms[name],
            help=marks[name].help,
            required=defaults[name] is NODEFAULT and not marks[name].is_filled_later,
            default=None if defaults[name] is NODEFAULT else defaults[name],
        )
        for key, name in names.items()
    )

    def built(line: int, **values: Any) -> Any:
        located = {"line": line} if "line" in hints else {}
        return build(**{names[key]: value for key, value in values.items()}, **located)

    return kind(fields=keys, build=built)


def free_texts(record: Any) -> set[str]:
    """The author's free texts of a record and of the records in it, without words of closed lists."""
    if isinstance(record, (tuple, list)):
        return {text for each in record for text in free_texts(each)}
    if not isinstance(record, Struct):
        return set()
    found: set[str] = set()
    for name, is_free in _texts_of(type(record)):
        value = getattr(record, name, None)
        if is_free:
            found.update(text for text in (value if isinstance(value, tuple) else (value,)) if isinstance(text, str))
        else:
            found |= free_texts(value)
    return found


@cache
def _hints(build: type[Struct]) -> dict[str, Any]:
    """The annotations of a record. The library parses each of them anew whenever it is asked."""
    return get_type_hints(build, include_extras=True)


@lru_cache
def _texts_of(build: type[Struct]) -> tuple[tuple[str, bool], ...]:
    """Each field of a record, and whether it holds free texts of the author."""
    hints = _hints(build)
    forms = {each: _form_of(hints.get(each)) for each in build.__struct_fields__}
    return tuple((name, isinstance(form, Words)) for name, form in forms.items())


def _form_of(hint: Any) -> Form | None:
    """The form of a field, of one entry where it is a list."""
    marks = hint.__metadata__ if get_origin(hint) is Annotated else ()
    form = next((mark.form for mark in marks if isinstance(mark, Key)), None)
    return form.form if isinstance(form, ListOf) else form


def rows_of(build: type[Struct], limit: int, /, **forms: Form) -> ListOf:
    """A list of 1 to ``limit`` tables, each as ``record_of`` reads it."""
    return ListOf(form=record_of(build, **forms), limit=limit, may_be_single=False)
