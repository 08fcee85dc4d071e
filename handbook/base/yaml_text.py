"""Read YAML as text with line numbers: no guessed types, no aliases, no code.

PyYAML would read ``1:30`` as 90, ``010`` as 8 and ``no`` as False. Here every value stays text, and the forms
(see forms.py) decide what it means.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any

import yaml
from msgspec import Struct

from handbook.base.errors import PageError

MAX_DEPTH = 12
MAX_EVENTS = 20_000
MAX_CHARACTERS = 200_000
#: Characters of one scalar. No form accepts more.
MAX_SCALAR = 4000


class Text(Struct, frozen=True, kw_only=True):
    """A scalar: its text and its line."""

    value: str
    line: int


class Table(Struct, frozen=True, kw_only=True):
    """A mapping: entries in file order, each (key, line of the key, node)."""

    entries: tuple[tuple[str, int, Node], ...]
    line: int


class List(Struct, frozen=True, kw_only=True):
    """A sequence of nodes."""

    items: tuple[Node, ...]
    line: int


Node = Text | Table | List
#: The number of a curing salt's type, which YAML would read as a comment.
_TYPE_NUMBER = re.compile(r"\b(cure|powder|salt|mix) #([12])\b", re.IGNORECASE)
#: Part of PyYAML's message for a mistake -> the correction.
_MENDS = (
    ("mapping values are not allowed", 'quotes round a text that holds a colon and a blank, such as "Brine: mix it"'),
    ("cannot start any token", "quotes round a text that begins with this sign; blanks, not tabs, at the beginning of a line"),
    ("did not find expected ',' or", "a closing bracket, or quotes round a text that holds brackets"),
    ("did not find expected '-'", "all lines of one list beginning under each other"),
    ("did not find expected key", "all keys of one table beginning under each other; quotes round the whole of a text"),
    ("found unexpected end of stream", "a closing quote"),
)  # fmt: skip
#: Makes a PageError from PyYAML's mark (None: the first line), what was read and what is allowed.
_Fault = Callable[[Any, str, str], PageError]


def parse_yaml(text: str, file: str, first_line: int = 1, key: str = "block") -> Node:
    """The node tree of one YAML document; ``first_line`` is the file's line of the text's first line.

    Raises PageError for malformed YAML, an alias or anchor, a tag, a duplicate key, a second document, or a text over
    the limits.
    """

    def fault(mark: Any, read: str, allowed: str) -> PageError:
        line = first_line + (mark.line if mark else 0)
        return PageError(file, line, key, read, allowed)

    if len(text) > MAX_CHARACTERS:
        raise fault(None, f"{len(text)} characters", f"at most {MAX_CHARACTERS} characters in one block")
    try:
        return _Builder(_with_type_numbers(text), first_line, fault).document()
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        problem = error.problem or error.context or "no YAML"
        usual = "well-formed YAML: key, colon, space, value"
        allowed = next((f"{usual}; {mend}" for said, mend in _MENDS if said in problem), usual)
        raise fault(mark, f"no YAML ({problem})", allowed) from None
    except yaml.YAMLError as error:
        raise fault(None, f"no YAML ({str(error).splitlines()[0]})", "plain text without control characters") from None


def nodes_in_place(text: str) -> Any:
    """PyYAML's own nodes of a text that ``parse_yaml`` reads, whose marks say at which characters each stands.

    None for an empty text. Raises PageError as ``parse_yaml`` does.
    """
    parse_yaml(text, "")
    return yaml.compose(_with_type_numbers(text), Loader=yaml.BaseLoader)


def _with_type_numbers(text: str) -> str:
    """The text with a no-break space between a curing salt's name and its number, so that YAML keeps them together."""
    return _TYPE_NUMBER.sub("\\1\u00a0#\\2", text)


class _Builder:
    """Builds the nodes from PyYAML's events one by one, so that the limits stop a hostile text before it is expanded."""

    def __init__(self, text: str, first_line: int, fault: _Fault):
        self.events = enumerate(yaml.parse(text, Loader=yaml.CBaseLoader))
        self.first_line, self.fault = first_line, fault

    def document(self) -> Node:
        """The only document of the text. An empty text is an empty table."""
        self._next()  # start of the stream
        if isinstance(self._next(), yaml.StreamEndEvent):
            return Table(entries=(), line=self.first_line)
        root = self._node(self._next(), 1)
        self._next()  # end of the document
        if not isinstance(event := self._next(), yaml.StreamEndEvent):
            raise self.fault(event.start_mark, "a second document", "one document (no line of three dashes)")
        return root

    def _next(self) -> Any:
        # Any: PyYAML gives its Event class the attributes of its kinds only at run time.
        count, event = next(self.events)
        if count > MAX_EVENTS:
            raise self.fault(event.start_mark, "too many values", f"at most {MAX_EVENTS} values in one block")
        return event

    def _node(self, event: Any, depth: int) -> Node:
        self._check(event, depth)
        line = self.first_line + event.start_mark.line
        if isinstance(event, yaml.ScalarEvent):
            return Text(value=event.value, line=line)
        if isinstance(event, yaml.SequenceStartEvent):
            return List(items=tuple(self._items(depth + 1)), line=line)
        return Table(entries=tuple(self._entries(depth + 1)), line=line)

    def _check(self, event: Any, depth: int) -> None:
        is_scalar = isinstance(event, yaml.ScalarEvent)
        if isinstance(event, yaml.AliasEvent) or event.anchor:
            raise self.fault(event.start_mark, "an anchor or alias", "every value written out (no & or *)")
        if event.tag:
            raise self.fault(event.start_mark, f"the tag {event.tag}", "values without tags (no !)")
        if depth > MAX_DEPTH and not is_scalar:
            raise self.fault(event.start_mark, "tables too deep", f"at most {MAX_DEPTH} levels")
        if is_scalar and len(event.value) > MAX_SCALAR:
            read, allowed = f"a text of {len(event.value)} characters", f"at most {MAX_SCALAR} characters in one value"
            raise self.fault(event.start_mark, read, allowed)

    def _items(self, depth: int) -> Iterator[Node]:
        while not isinstance(event := self._next(), yaml.SequenceEndEvent):
            yield self._node(event, depth)

    def _entries(self, depth: int) -> Iterator[tuple[str, int, Node]]:
        """The entries of a mapping. A comma within a value, as in ``{item: vinegar, cider}``, does not end it: YAML
        reads the rest as a key without a colon, which is appended to the value before.
        """
        seen: set[str] = set()
        held: tuple[str, int, Node] | None = None
        while not isinstance(event := self._next(), yaml.MappingEndEvent):
            key = self._node(event, depth)
            if not isinstance(key, Text):
                raise self.fault(event.start_mark, "a table or list as key", "a plain word as key")
            after = self._next()
            if held and isinstance(held[2], Text) and _has_no_colon(event, after):
                held = (*held[:2], Text(value=f"{held[2].value}, {key.value}", line=held[2].line))
                continue
            if key.value in seen:
                raise self.fault(event.start_mark, f"{key.value} twice", "each key once")
            seen.add(key.value)
            if held:
                yield held
            held = key.value, key.line, self._node(after, depth)
        if held:
            yield held


def _has_no_colon(key: Any, value: Any) -> bool:
    """Whether a flow mapping's key is followed by no colon: its empty value then begins where the key ends."""
    is_empty = isinstance(value, yaml.ScalarEvent) and not value.value and not value.style
    return is_empty and bool(value.start_mark.index == key.end_mark.index)
