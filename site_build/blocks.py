"""Find a page's front matter and calculation blocks, with the file's own line numbers.

MkDocs cuts the front matter off before its events and swallows a malformed one; so the whole text is read here.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from handbook.errors import PageError
from handbook.method import BLOCKS
from handbook.read_method import BlockText, suggest_block
from site_build.prose import prose_faults

_FENCE = re.compile(r"^(?P<mark>`{3,}|~{3,})\s*(?P<word>[^`~]*)$")
#: Neither part of a link runs over the beginning of the next one, so that a line is read in one pass.
_LINK = re.compile(r"(?P<picture>!?)\[(?P<words>[^\]\[]*)\]\((?P<target><[^<>]*>|[^)\s<>\[\]]*)(?:\s+\"[^\"\[]*\")?\)")
#: Fence words that only show code and compute nothing.
PLAIN_FENCES = ("", "text", "yaml", "markdown")


@dataclass(frozen=True)
class Link:
    """One Markdown link or picture of a page."""

    target: str
    words: str
    is_picture: bool
    line: int


@dataclass(frozen=True)
class PageText:
    """A page taken apart: head, calculation blocks, links, and the body with a marker where each block stood."""

    head: BlockText | None
    blocks: tuple[BlockText, ...]
    links: tuple[Link, ...]
    body: str

    @property
    def title(self) -> str:
        """The first heading of a plain page, or an empty text."""
        return next((line[2:].strip() for line in self.body.splitlines() if line.startswith("# ")), "")

    @property
    def is_method(self) -> bool:
        """Whether the page calculates: a page without blocks is plain reading."""
        return bool(self.blocks)


def marker(number: int) -> str:
    """The line that stands for block ``number`` until its computed part is put there."""
    return f"handbook-block-{number}-here"


def split_page(text: str, file: str) -> tuple[PageText, list[PageError]]:
    """Take a page apart.

    Faults are an open fence, an unknown fence word, a front matter that does not end, and what prose.py refuses.
    """
    lines = text.replace("\r\n", "\n").replace("\r", "\n").removeprefix("\ufeff").split("\n")
    faults: list[PageError] = []
    head, start = _head(lines, file, faults)
    blocks, links, body, prose = [], [], [], []
    number = start
    while number < len(lines):
        fence = _FENCE.match(lines[number])
        if fence is None:
            body.append(lines[number])
            prose.append((number + 1, lines[number]))
            links += _links(lines[number], number + 1)
            number += 1
            continue
        end = _fence_end(lines, number, fence["mark"])
        word = fence["word"].strip()
        if end is None:
            faults.append(PageError(file, number + 1, word or "fence", "no end", f"a closing line of {fence['mark']}"))
            break
        if word in BLOCKS:
            blocks.append(BlockText(word, "\n".join(lines[number + 1 : end]), number + 2))
            body += ["", marker(len(blocks) - 1), ""]
        else:
            if word not in PLAIN_FENCES:
                allowed = f"a block ({', '.join(BLOCKS)}) or plain text ({', '.join(PLAIN_FENCES[1:])})"
                faults.append(PageError(file, number + 1, "block", word, allowed, suggest_block(word)))
            body += lines[number : end + 1]
            # Markdown may not end a fence where we do: what stands in it is bounded like prose.
            prose += [(at + 1, lines[at]) for at in range(number, end + 1)]
        number = end + 1
    faults += prose_faults(file, prose)
    return PageText(head, tuple(blocks), tuple(links), "\n".join(body)), faults


def _head(lines: list[str], file: str, faults: list[PageError]) -> tuple[BlockText | None, int]:
    if lines[0].rstrip() != "---":
        return None, 0
    for number, line in enumerate(lines[1:], 1):
        if line.rstrip() in ("---", "..."):
            return BlockText("front matter", "\n".join(lines[1:number]), 2), number + 1
    faults.append(PageError(file, 1, "front matter", "no end", "a closing line of three dashes"))
    return None, len(lines)


def _fence_end(lines: list[str], start: int, mark: str) -> int | None:
    for number in range(start + 1, len(lines)):
        found = _FENCE.match(lines[number])
        if found and not found["word"].strip() and found["mark"].startswith(mark):
            return number
    return None


def _links(line: str, number: int) -> list[Link]:
    line = re.sub(r"`[^`]*`", "", line)
    return [
        Link(match["target"].strip("<>"), match["words"], bool(match["picture"]), number)
        for match in _LINK.finditer(line)
    ]
