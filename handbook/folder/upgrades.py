"""What changed in the keys of pages and of the house file from version to version, and an older file rewritten.

Files are changed line by line: what the cook wrote, comments and order stay.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class RenamedKey:
    """A key that has another name since version ``since``. ``block`` is where it stands: a block, front matter, house."""

    block: str
    old: str
    new: str
    since: str


@dataclass(frozen=True, kw_only=True)
class AskedKey:
    """A key that each row of a list must have since version ``since``, with the question that a blank asks."""

    block: str
    rows: str
    key: str
    question: str
    since: str


#: No key of a page or of a house file has been renamed yet: this is where the first one will stand.
RENAMED: tuple[RenamedKey, ...] = ()
#: A signed exception has said in which role, by which process and until when since the rules follow the food.
ASKED = tuple(
    AskedKey(block="house", rows="exceptions", key=key, question=question, since="0.1.0")
    for key, question in (
        ("role", "<the signer's role>"),
        ("process", "<the process document>"),
        ("until", "<last day it holds, such as 2027-06-30>"),
    )
)
_FENCE = re.compile(r"^```(\w*)\s*$")


def upgraded(
    path: str, data: bytes, renamed: Sequence[RenamedKey] = RENAMED, asked: Sequence[AskedKey] = ASKED
) -> str | None:
    """The text of an older page or house file with the keys of this version, or None where nothing changes."""
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        return None  # check says so
    lines = text.split("\n")
    blocks = ["house"] * len(lines) if path == "house.yml" else _blocks(lines) if path.endswith(".md") else []
    if not blocks:
        return None
    for each in renamed:
        lines = [
            _renamed(line, each) if block == each.block else line for line, block in zip(lines, blocks, strict=True)
        ]
    for rows in dict.fromkeys(each.rows for each in asked if each.block in blocks):
        lines = _asked(lines, rows, [each for each in asked if each.rows == rows])
    made = "\n".join(lines)
    return None if made == text else made


def _blocks(lines: list[str]) -> list[str]:
    """The block of each line of a page: its front matter, a fenced block, or "" for prose."""
    found, block = [], ""
    for number, line in enumerate(lines):
        fence = _FENCE.match(line)
        if number == 0 and line.rstrip() == "---":
            block = "front matter"
            found.append("")
        elif block == "front matter" and line.rstrip() in ("---", "..."):
            block = ""
            found.append("")
        elif fence and block != "front matter":
            block = "" if block else fence[1]
            found.append("")
        else:
            found.append(block)
    return found


def _renamed(line: str, rename: RenamedKey) -> str:
    """A line with a key renamed, where it begins a line, a row or an entry between braces; never within quotes."""
    pattern = rf"(?P<before>^[ \t]*(?:- )?\{{?[ \t]*|[{{,][ \t]*){re.escape(rename.old)}(?=:(?:\s|$))"
    parts = re.split(r"(\"[^\"]*\"|'[^']*'|#.*$)", line)
    return "".join(
        part if number % 2 else re.sub(pattern, lambda found: found["before"] + rename.new, part)
        for number, part in enumerate(parts)
    )


def _asked(lines: list[str], rows: str, keys: Sequence[AskedKey]) -> list[str]:
    """The lines with a blank for each key that a row of the list ``rows`` does not have."""
    made: list[str] = []
    at = 0
    while at < len(lines):
        made.append(lines[at])
        at += 1
        if re.match(rf"^{rows}:\s*(#.*)?$", made[-1]):
            while at < len(lines) and (not lines[at].strip() or lines[at][0] in " -#"):
                end = at + 1
                while lines[at].lstrip().startswith("- ") and end < len(lines) and _goes_on(lines[end], lines[at]):
                    end += 1
                made += _with_blanks(lines[at:end], keys)
                at = end
    return made


def _goes_on(line: str, first: str) -> bool:
    """Whether a line belongs to the row that ``first`` begins."""
    depth = len(first) - len(first.lstrip())
    return bool(line.strip()) and len(line) - len(line.lstrip()) > depth


def _with_blanks(row: list[str], keys: Sequence[AskedKey]) -> list[str]:
    if not row[0].lstrip().startswith("- "):
        return row
    text = "\n".join(row)
    missing = [each for each in keys if not re.search(rf"(?:^|[\s{{,]){each.key}:\s", text)]
    if not missing:
        return row
    if row[0].lstrip().startswith("- {"):
        close = text.rindex("}")
        blanks = "".join(f', {each.key}: "{each.question}"' for each in missing)
        return (text[:close] + blanks + text[close:]).split("\n")
    indent = " " * (len(row[0]) - len(row[0].lstrip()) + 2)
    return [*row, *(f'{indent}{each.key}: "{each.question}"' for each in missing)]
