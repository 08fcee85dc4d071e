"""Read YAML as text with line numbers: no types guessed, no aliases, no code.

PyYAML would read ``1:30`` as 90, ``010`` as 8 and ``no`` as False; here every value stays the text that was
written, and the forms (see forms.py) decide what it means.
"""

from __future__ import annotations

from dataclasses import dataclass

import yaml

from handbook.errors import PageError

MAX_DEPTH = 12
MAX_EVENTS = 20_000
MAX_CHARACTERS = 200_000
#: Of one scalar: no form takes more, and nothing longer is worth quoting in a fault.
MAX_SCALAR = 4000


@dataclass(frozen=True)
class Text:
    """A scalar: its words and the line they stand on."""

    value: str
    line: int


@dataclass(frozen=True)
class Table:
    """A mapping: entries in the order written, each (key, line of the key, node)."""

    entries: tuple[tuple[str, int, Node], ...]
    line: int


@dataclass(frozen=True)
class List:
    """A sequence of nodes."""

    items: tuple[Node, ...]
    line: int


Node = Text | Table | List


def parse_yaml(text: str, file: str, first_line: int = 1, key: str = "block") -> Node:
    """The node tree of one YAML document; ``first_line`` is the file's line of the text's first line.

    Raises PageError for malformed YAML, an alias or anchor, a tag, a duplicate key, a second document, or a text over
    the limits.
    """

    def fault(mark, read: str, allowed: str) -> PageError:
        line = first_line + (mark.line if mark else 0)
        return PageError(file, line, key, read, allowed)

    if len(text) > MAX_CHARACTERS:
        raise fault(None, f"{len(text)} characters", f"at most {MAX_CHARACTERS} characters in one block")
    try:
        _check_events(text, fault)
        root = yaml.compose(text, Loader=yaml.CSafeLoader)
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        problem = error.problem or error.context or "no YAML"
        raise fault(mark, f"no YAML ({problem})", "well-formed YAML: key, colon, space, value") from None
    except yaml.YAMLError as error:
        raise fault(None, f"no YAML ({str(error).splitlines()[0]})", "plain text without control characters") from None
    if root is None:
        return Table((), first_line)
    return _node(root, first_line, fault)


def _check_events(text: str, fault) -> None:
    # Events come one by one, so a bomb is seen before anything is built from it.
    depth = 0
    for count, event in enumerate(yaml.parse(text, Loader=yaml.CSafeLoader)):
        if count > MAX_EVENTS:
            raise fault(event.start_mark, "too many values", f"at most {MAX_EVENTS} values in one block")
        if isinstance(event, yaml.AliasEvent) or getattr(event, "anchor", None):
            raise fault(event.start_mark, "an anchor or alias", "every value written out (no & or *)")
        if getattr(event, "tag", None) and not isinstance(event, yaml.DocumentStartEvent):
            raise fault(event.start_mark, f"the tag {event.tag}", "values without tags (no !)")
        depth += isinstance(event, yaml.CollectionStartEvent) - isinstance(event, yaml.CollectionEndEvent)
        if depth > MAX_DEPTH:
            raise fault(event.start_mark, "tables too deep", f"at most {MAX_DEPTH} levels")
        if isinstance(event, yaml.ScalarEvent) and len(event.value) > MAX_SCALAR:
            read, allowed = f"a text of {len(event.value)} characters", f"at most {MAX_SCALAR} characters in one value"
            raise fault(event.start_mark, read, allowed)


def _node(node: yaml.Node, first_line: int, fault) -> Node:
    line = first_line + node.start_mark.line
    if isinstance(node, yaml.ScalarNode):
        return Text(node.value, line)
    if isinstance(node, yaml.SequenceNode):
        return List(tuple(_node(each, first_line, fault) for each in node.value), line)
    entries, seen = [], set()
    for key_node, value_node in node.value:
        if not isinstance(key_node, yaml.ScalarNode):
            raise fault(key_node.start_mark, "a table or list as key", "a plain word as key")
        if key_node.value in seen:
            raise fault(key_node.start_mark, f"{key_node.value} twice", "each key once")
        seen.add(key_node.value)
        entries.append((key_node.value, first_line + key_node.start_mark.line, _node(value_node, first_line, fault)))
    return Table(tuple(entries), line)
