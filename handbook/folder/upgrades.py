"""Changes of the keys of pages and of the house file between versions, and the upgrade of older files.

Only the keys are changed: the cook's words, comments and order stay. Unreadable files are left unchanged, since
``check`` reports their faults.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Any

import yaml
from msgspec import Struct

from handbook.base.errors import PageError
from handbook.base.yaml_text import nodes_in_place
from handbook.folder.read_text import decode_page


class RenamedKey(Struct, frozen=True, kw_only=True):
    """A key renamed in version ``since``. ``block`` is its place: a block, front matter, house."""

    block: str
    old: str
    new: str
    since: str


class AskedKey(Struct, frozen=True, kw_only=True):
    """A key that is required in each row of a list since version ``since``, with the question of its blank."""

    block: str
    rows: str
    key: str
    question: str
    since: str


#: No key of a page or of a house file has been renamed yet.
RENAMED: tuple[RenamedKey, ...] = ()
#: Keys that a signed exception requires since the rules follow the food.
ASKED = tuple(
    AskedKey(block="house", rows="exceptions", key=key, question=question, since="0.1.0")
    for key, question in (
        ("role", "<the signer's role>"),
        ("process", "<the process document>"),
        ("until", "<last day it holds, such as 2027-06-30>"),
    )
)
_FENCE = re.compile(r"^```(\w*)$")
#: First and last character of the replaced text, and the new text.
_Edit = tuple[int, int, str]


def upgraded(path: str, data: bytes) -> str | None:
    """The text of an older page or house file with the keys of this version; None where nothing changes."""
    if decode_page(data, path)[1] is not None:
        return None
    text = data.decode("utf-8")
    edits: list[_Edit] = []
    for block, start, end in _parts(path, text):
        try:
            top = nodes_in_place(text[start:end])
        except (PageError, yaml.YAMLError):
            continue
        part = [*_renames(top, [each for each in RENAMED if each.block == block])]
        part += _blanks(top, text[start:end], [each for each in ASKED if each.block == block])
        edits += [(start + at, start + to, new) for at, to, new in part]
    for at, to, new in sorted(edits, reverse=True):
        text = text[:at] + new + text[to:]
    return text if edits else None


def _parts(path: str, text: str) -> Iterator[tuple[str, int, int]]:
    """The YAML of a file: the name of each part, and its first and last character."""
    if path == "house.yml":
        yield "house", len(text) - len(text.removeprefix("\ufeff")), len(text)
    if not path.endswith(".md"):
        return
    block, start, at = "", 0, 0
    for number, line in enumerate(text.splitlines(keepends=True)):
        bare, fence = line.rstrip(), _FENCE.match(line.rstrip())
        if number == 0 and bare.removeprefix("\ufeff") == "---":
            block, start = "front matter", len(line)
        elif block and (bare in ("---", "...") if block == "front matter" else fence):
            yield block, start, at
            block = ""
        elif fence and not block:
            block, start = fence[1] or "no block", at + len(line)
        at += len(line)


def _renames(node: Any, renamed: Sequence[RenamedKey]) -> Iterator[_Edit]:
    """The keys of a node, at any depth, that have been renamed."""
    pairs = node.value if isinstance(node, yaml.MappingNode) else ()
    for key, value in pairs:
        for each in renamed:
            if key.value == each.old:
                yield key.start_mark.index, key.end_mark.index, each.new
        yield from _renames(value, renamed)
    for item in node.value if isinstance(node, yaml.SequenceNode) else ():
        yield from _renames(item, renamed)


def _blanks(top: Any, text: str, asked: Sequence[AskedKey]) -> Iterator[_Edit]:
    """A blank for each missing key of a list's rows, in the row's own style."""
    for key, rows in top.value if isinstance(top, yaml.MappingNode) else ():
        wanted = [each for each in asked if each.rows == key.value]
        for row in rows.value if wanted and isinstance(rows, yaml.SequenceNode) else ():
            if not isinstance(row, yaml.MappingNode):
                continue
            known = {each.value for each, _ in row.value}
            if missing := [f'{each.key}: "{each.question}"' for each in wanted if each.key not in known]:
                yield _added(row, text, missing)


def _added(row: Any, text: str, missing: list[str]) -> _Edit:
    if row.flow_style:
        at = row.value[-1][1].end_mark.index if row.value else row.start_mark.index + 1
        return at, at, (", " if row.value else "") + ", ".join(missing)
    end = "\r\n" if "\r\n" in text else "\n"
    at = text.find(end, _last_character(row, text))
    at = len(text) if at < 0 else at
    return at, at, "".join(f"{end}{' ' * row.value[0][0].start_mark.column}{each}" for each in missing)


def _last_character(node: Any, text: str) -> int:
    """The end of a node. PyYAML gives the start of the next node as the end of one in a block."""
    if isinstance(node, yaml.ScalarNode) or node.flow_style or not node.value:
        return len(text[: node.end_mark.index].rstrip())
    last = node.value[-1]
    return _last_character(last[1] if isinstance(last, tuple) else last, text)
