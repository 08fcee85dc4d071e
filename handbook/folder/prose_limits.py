"""Limits of a page's words, so that Markdown reads any page in bounded time.

Python-Markdown searches for the end of every open bracket: thousands of them take minutes. Lists within lists on one
line overflow its stack, and each table row gets as many cells as the heading. Real pages are far below these limits.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from handbook.base.errors import PageError

#: Characters outside the blocks: about forty printed pages.
MAX_PROSE = 60_000
#: Lines that are not blank.
MAX_LINES = 5_000
MAX_LINE = 5_000
MAX_OPEN = 100
MAX_LEVELS = 8
MAX_INDENT = 80
MAX_HEADINGS = 300
#: Characters with a meaning in Markdown, in one paragraph or table and on a page.
MAX_SIGNS = 3_000
MAX_SIGNS_ON_PAGE = 9_000
#: Cells of all tables, including the missing cells of short rows.
MAX_CELLS = 5_000
#: Opening characters, and the same with their ends before the next one of their kind.
_PAIRS = (
    ("[", re.compile(r"\[[^\[\]]*\]")),
    ("](", re.compile(r"\]\([^()\[\]]*\)")),
    ("<", re.compile(r"<[^<>]*>")),
)
_BLANKS = " \t"  # characters that Markdown strips; other Unicode blanks are words to it
_NESTED = re.compile(rf"(?:[ \t]*(?:[-*+>]|\d{{1,9}}[.)])(?=[ \t>])){{{MAX_LEVELS + 1},}}")
_QUOTES = re.compile(rf"(?:[ \t]*>){{{MAX_LEVELS + 1},}}")
_SIGNS = re.compile(r"[*_`\"'\\|<&\[]")
_WHICH = "signs of Markdown (*, _, `, quotes, |, <, &, [, backslash)"
_RULE = re.compile(r"[ \t]*(?:[-*_][ \t]*)+")
#: The line below a table's heading, also in quotes and lists, and rows of numbers with the same columns.
_DELIMITER = re.compile(r"[ \t|:>*+.)\d-]*")
_HEADING = re.compile(r"[ \t]{0,3}(?:#{1,6}|=+[ \t]*$|-+[ \t]*$)")


def prose_faults(file: str, lines: Sequence[tuple[int, str]]) -> list[PageError]:
    """Faults of a page's prose, given as (number in the file, line) without front matter and blocks.

    Each limit gives at most one fault, at the line that exceeds it.
    """
    faults: dict[str, PageError] = {}

    def fault(number: int, read: str, allowed: str) -> None:
        faults.setdefault(allowed, PageError(file, number, "text", read, allowed))

    length = opened = headings = signs = signs_before = written = cells = columns = 0
    ends = True  # whether a blank line ends a table; within a comment or a tag it does not
    for number, line in lines:
        length += len(line) + 1
        headings += _HEADING.match(line) is not None
        if length > MAX_PROSE:
            fault(number, f"more than {MAX_PROSE} characters", f"at most {MAX_PROSE} characters outside the blocks")
            break
        is_blank = not line.strip(_BLANKS)
        written += not is_blank
        if written > MAX_LINES:
            fault(number, f"more than {MAX_LINES} lines", f"at most {MAX_LINES} lines with text outside the blocks")
        ends = ends and line.count("<") == len(_PAIRS[-1][1].findall(line))
        columns = 0 if is_blank and ends else max(columns, _columns(line))
        cells += columns
        if cells > MAX_CELLS:
            allowed = f"at most {MAX_CELLS} cells (rows × columns) in the tables of a page"
            fault(number, f"more than {MAX_CELLS} cells", allowed)
        if headings > MAX_HEADINGS:
            fault(number, f"more than {MAX_HEADINGS} headings", f"at most {MAX_HEADINGS} headings and rules on a page")
        if len(line) > MAX_LINE:
            fault(number, f"a line of {len(line)} characters", f"lines of at most {MAX_LINE} characters")
        if len(line) - len(line.lstrip()) > MAX_INDENT:
            fault(number, "a line far to the right", f"at most {MAX_INDENT} blanks before a line")
        if (_NESTED.match(line) or _QUOTES.match(line)) and not _RULE.fullmatch(line):
            fault(number, line[:40], f"at most {MAX_LEVELS} lists or quotes within each other")
        signs_before = signs if is_blank else signs_before
        signs += len(_SIGNS.findall(line))
        if signs > MAX_SIGNS_ON_PAGE:
            fault(number, f"more than {MAX_SIGNS_ON_PAGE} signs", f"at most {MAX_SIGNS_ON_PAGE} {_WHICH} on a page")
        elif signs - signs_before > MAX_SIGNS:
            fault(number, f"more than {MAX_SIGNS} signs", f"at most {MAX_SIGNS} {_WHICH} in a paragraph or table")
        opened += _open_brackets(line)
        if opened > MAX_OPEN:
            allowed = f"at most {MAX_OPEN} brackets on a page that are opened and not closed on their line"
            fault(number, f"more than {MAX_OPEN} open brackets", allowed)
    return list(faults.values())


def _columns(line: str) -> int:
    """Columns of the table whose heading ends at ``line``; 0 where none ends there."""
    return line.count("|") + 1 if "|" in line and _DELIMITER.fullmatch(line) else 0


def _open_brackets(line: str) -> int:
    """Number of brackets, link targets and angle brackets of a line without an end before the next of their kind."""
    return sum(line.count(mark) - len(closed.findall(line)) for mark, closed in _PAIRS if mark in line)
