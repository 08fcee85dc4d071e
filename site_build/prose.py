"""Limits of a page's own words, so that Markdown reads any page in bounded time.

Python-Markdown looks for the end of every bracket that is opened: thousands of open ones take it minutes, and lists
within lists on one line overrun its stack. No page that a cook writes comes near these limits.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from handbook.errors import PageError

#: Characters outside blocks and fences: about forty printed pages.
MAX_PROSE = 60_000
MAX_LINE = 5_000
MAX_OPEN = 100
MAX_LEVELS = 8
MAX_INDENT = 80
MAX_HEADINGS = 300
#: Signs that Markdown acts on, in one paragraph or table and on a page.
MAX_SIGNS = 3_000
MAX_SIGNS_ON_PAGE = 9_000
#: What opens, and that with its end before the next of its kind begins.
_PAIRS = (
    ("[", re.compile(r"\[[^\[\]]*\]")),
    ("](", re.compile(r"\]\([^()\[\]]*\)")),
    ("<", re.compile(r"<[^<>]*>")),
)
_NESTED = re.compile(rf"(?:[ \t]*(?:[-*+>]|\d{{1,9}}[.)])(?=[ \t>])){{{MAX_LEVELS + 1},}}")
_QUOTES = re.compile(rf"(?:[ \t]*>){{{MAX_LEVELS + 1},}}")
_SIGNS = re.compile(r"[*_`\"'\\|<&\[]")
_WHICH = "signs of Markdown (*, _, `, quotes, |, <, &, [, backslash)"
_RULE = re.compile(r"[ \t]*(?:[-*_][ \t]*)+")
_HEADING = re.compile(r"[ \t]{0,3}(?:#{1,6}|=+[ \t]*$|-+[ \t]*$)")


def prose_faults(file: str, lines: Sequence[tuple[int, str]]) -> list[PageError]:
    """Faults of a page's prose, given as (number in the file, line) without front matter, blocks and fences.

    Each limit is told at most once, at the line that passes it.
    """
    faults: dict[str, PageError] = {}

    def fault(number: int, read: str, allowed: str) -> None:
        faults.setdefault(allowed, PageError(file, number, "text", read, allowed))

    length = opened = headings = signs = signs_before = 0
    for number, line in lines:
        length += len(line) + 1
        headings += _HEADING.match(line) is not None
        if length > MAX_PROSE:
            fault(number, f"more than {MAX_PROSE} characters", f"at most {MAX_PROSE} characters outside the blocks")
            break
        if headings > MAX_HEADINGS:
            fault(number, f"more than {MAX_HEADINGS} headings", f"at most {MAX_HEADINGS} headings and rules on a page")
        if len(line) > MAX_LINE:
            fault(number, f"a line of {len(line)} characters", f"lines of at most {MAX_LINE} characters")
        if len(line) - len(line.lstrip()) > MAX_INDENT:
            fault(number, "a line far to the right", f"at most {MAX_INDENT} blanks before a line")
        if (_NESTED.match(line) or _QUOTES.match(line)) and not _RULE.fullmatch(line):
            fault(number, line[:40], f"at most {MAX_LEVELS} lists or quotes within each other")
        signs_before = signs if not line.strip() else signs_before
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


def _open_brackets(line: str) -> int:
    """How many brackets, link targets and angles of a line find no end before the next of their kind begins."""
    return sum(line.count(mark) - len(closed.findall(line)) for mark, closed in _PAIRS if mark in line)
