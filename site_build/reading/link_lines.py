"""Finds the line of a page on which a link of its HTML was written.

Markdown does not keep line numbers. Each address is therefore searched in the author's words, in the order of the
links: first where an address may begin, then anywhere, then by the link's words. Escapes of Markdown and HTML and
blanks are removed on both sides.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Sequence
from functools import cached_property
from html import unescape
from itertools import accumulate

#: Text before an address: a link's bracket, an angle bracket, an attribute's equals sign, a definition's colon.
_ADDRESS = re.compile(r"(?:\]\(\s*<?|<|=\s*[\"']?|[\"']|\]:\s*<?)([^\s()<>\"']+)")
#: Markdown treats only some backslashes as escapes.
_LEFT_OUT = re.compile(r"[\s\\]+")
#: Addresses that are searched letter by letter, each at the cost of one pass over the page.
_MOST_SEARCHES = 200


class LinkLines:
    """Finds the lines of addresses in ``prose``, the numbered lines of a page's words."""

    def __init__(self, prose: Sequence[tuple[int, str]]):
        self._prose = prose
        self._last = next((number for number, line in prose if line.strip()), 1)
        self._searches = 0

    def next_of(self, target: str, words: str) -> int:
        """The line of the next link to ``target`` that shows ``words``; the line of the previous link where it is not
        found.
        """
        lines = self._addresses.get(_squeezed(target)) if target else None
        if lines:
            self._last = lines.pop(0) if len(lines) > 1 else lines[0]
        else:
            self._last = self._found(target) or self._found(words) or self._last
        return self._last

    def address_at(self, line: int, words: str) -> str:
        """The address that the line seems to give to ``words``, or an empty text."""
        written = unescape(dict(self._prose).get(line, ""))
        found = _ADDRESS.search(written, max(written.find(words), 0)) or _ADDRESS.search(written)
        return found[1] if found else ""

    @cached_property
    def _addresses(self) -> dict[str, list[int]]:
        found: dict[str, list[int]] = defaultdict(list)
        for number, line in self._prose:
            for address in _ADDRESS.findall(unescape(line)):
                found[_squeezed(address)].append(number)
        return found

    @cached_property
    def _text(self) -> tuple[str, list[int]]:
        """All lines as one text, and the position at which each begins."""
        lines = [_squeezed(unescape(line)) for _, line in self._prose]
        return "".join(lines), [0, *accumulate(map(len, lines))]

    def _found(self, wanted: str) -> int | None:
        wanted = _squeezed(wanted)
        if not wanted or self._searches >= _MOST_SEARCHES:
            return None
        self._searches += 1
        text, starts = self._text
        at = text.find(wanted)
        return None if at < 0 else self._prose[bisect_right(starts, at) - 1][0]


def _squeezed(text: str) -> str:
    return _LEFT_OUT.sub("", text)
