"""Typed access to the YAML nodes of the handbook's own data files."""

from __future__ import annotations

from handbook.base.errors import SourceError
from handbook.base.yaml_text import List, Node, Table, Text


def as_table(node: Node) -> Table:
    """The node as a mapping. Raises SourceError for a text or a list."""
    if not isinstance(node, Table):
        raise SourceError(f"line {node.line}: read a text or a list; allowed: a table")
    return node


def as_list(node: Node) -> tuple[Node, ...]:
    """The items of a list. Raises SourceError for a text or a table."""
    if not isinstance(node, List):
        raise SourceError(f"line {node.line}: read a text or a table; allowed: a list")
    return node.items


def as_text(node: Node) -> str:
    """The text of a scalar. Raises SourceError for a table or a list.

    >>> as_text(Text(value="63", line=4))
    '63'
    """
    if not isinstance(node, Text):
        raise SourceError(f"line {node.line}: read a table or a list; allowed: a text")
    return node.value


def texts_of(table: Table, key: str) -> tuple[str, ...]:
    """The texts of the list under ``key``; none where the table has no such key."""
    return tuple(as_text(item) for name, _, node in table.entries if name == key for item in as_list(node))
