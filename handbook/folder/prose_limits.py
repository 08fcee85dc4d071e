"""Limits of a page's own words, so that Markdown reads any page in bounded time.

Python-Markdown looks for the end of every bracket that is opened: thousands of open ones take it minutes, lists within
lists on one line overrun its stack, and each row of a table gets as many cells as the heading has, written or not. No
page that a cook writes comes near these limits.
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
#: Signs that Markdown acts on, in one paragraph or table and on a page.
MAX_SIGNS = 3_000
MAX_SIGNS_ON_PAGE = 9_000
#: Cells of all tables, those that a short row leaves out counted too.
MAX_CELLS = 5_000
#: What opens, and that with its end before the next of its kind begins.
_PAIRS = (
    ("[", re.compile(r"\[[^\[\]]*\]")),
    ("](", re.compile(r"\]\([^()\[\]]*\)")),
    ("<", re.compile(r"<[^<>]*>")),
)
_BLANKS = " \t"  # what Markdown takes for nothing; other blanks of Unicode are words to it
_NESTED = re.compile(rf"(?:[ \t]*(?:[-*+>]|\d{{1,9}}[.)])(?=[ \t>])){{{MAX_LEVELS + 1},}}")
_QUOTES = re.compile(rf"(?:[ \t]*>){{{MAX_LEVELS + 1},}}")
_SIGNS = re.compile(r"[*_`\"'\\|<&\[]")
_WHICH = "signs of Markdown (*, _, `, quotes, |, <, &, [, backslash)"
_RULE = re.compile(r"[ \t]*(?:[-*_][ \t]*)+")
#: The line below a table's heading, in quotes and lists too, and rows of numbers, which count the same columns.
_DELIMITER = re.compile(r"[ \t|:>*+.)\d-]*")
_HEADING = re.compile(r"[ \t]{0,3}(?:#{1,6}|=+[ \t]*$|-+[ \t]*$)")


def prose_faults(file: str, lines: Sequence[tuple[int, str]]) -> list[PageError]:
    """Faults of a page's prose, given as (number in the file, line) without front matter and blocks.

    Each limit is told at most once, at the line that passes it.
    """
    faults: dict[str, PageError] = {}

    def fault(number: int, read: str, allowed: str) -> None:
        faults.setdefault(allowed, PageError(file, number, "text", read, allowed))

    length = opened = headings = signs = signs_before = written = cells = columns = 0
    ends = True  # whether a blank line ends a table: not within a comment or a tag
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
    """Columns of the table whose heading ends at ``line``, 0 where it ends none."""
    return line.count("|") + 1 if "|" in line and _DELIMITER.fullmatch(line) else 0


def _open_brackets(line: str) -> int:
    """How many brackets, link targets and angles of a line find no end before the next of their kind begins."""
    return sum(line.count(mark) - len(closed.findall(line)) for mark, closed in _PAIRS if mark in line)
