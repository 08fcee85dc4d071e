"""Finds a page's front matter and calculation blocks, with the line numbers of the file.

MkDocs removes the front matter before its events and ignores a malformed one; therefore this module reads the whole
text.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from msgspec import Struct

from handbook.base.did_you_mean import nearest
from handbook.base.errors import PageError
from handbook.folder.prose_limits import prose_faults
from handbook.page.method import BLOCKS
from handbook.page.read_method import BlockText

_FENCE = re.compile(r"^(?P<mark>`{3,}|~{3,})\s*(?P<word>[^`~]*)$")
#: Fence words for code that is shown and not computed.
PLAIN_FENCES = ("", "text", "yaml", "markdown")


class PageText(Struct, frozen=True, kw_only=True):
    """A split page: front matter, calculation blocks, and the author's words before, between and after them.

    ``stretches``, the lines of each, are one more than there are blocks. ``prose`` is every line of them outside
    fences, with its number in the file. Words over a limit of prose_limits.py are not ``is_bounded``: Markdown may need
    minutes for them.
    """

    head: BlockText | None = None
    blocks: tuple[BlockText, ...] = ()
    stretches: tuple[tuple[str, ...], ...] = ((),)
    prose: tuple[tuple[int, str], ...] = ()
    is_bounded: bool = True

    @property
    def body(self) -> str:
        """The author's words as one text, with a placeholder line for each block. For comparison, not for display."""
        return self.joined([f"handbook-block-{number}-here" for number in range(len(self.blocks))])

    @property
    def paragraphs(self) -> list[str]:
        """The paragraphs of the author's words, each as one line."""
        parts = (part for stretch in self.stretches for part in re.split(r"\n\s*\n", "\n".join(stretch)))
        return [line for each in parts if (line := " ".join(each.split()))]

    @property
    def is_method(self) -> bool:
        """Whether the page has calculation blocks. A page without them is plain reading."""
        return bool(self.blocks)

    def joined(self, marks: Sequence[str]) -> str:
        """The author's words with one of ``marks``, as a separate paragraph, in place of each block."""
        lines = [*self.stretches[0]]
        for mark, stretch in zip(marks, self.stretches[1:], strict=True):
            lines += ["", mark, "", *stretch]
        return "\n".join(lines)


def split_page(text: str, file: str) -> tuple[PageText, list[PageError]]:
    """Split a page into its parts.

    Faults are an open fence, an unknown fence word, an unfinished front matter, and violations of prose_limits.py.
    """
    lines = text.replace("\r\n", "\n").replace("\r", "\n").removeprefix("\ufeff").split("\n")
    faults: list[PageError] = []
    head, start = _head(lines, file, faults)
    blocks: list[BlockText] = []
    stretches: list[list[str]] = [[]]
    prose: list[tuple[int, str]] = []
    bounded: list[tuple[int, str]] = []
    number = start
    while number < len(lines):
        fence = _FENCE.match(lines[number])
        if fence is None:
            stretches[-1].append(lines[number])
            prose.append((number + 1, lines[number]))
            bounded.append(prose[-1])
            number += 1
            continue
        end = _fence_end(lines, number, fence["mark"])
        word = fence["word"].strip()
        if end is None:
            faults.append(PageError(file, number + 1, word or "fence", "no end", f"a closing line of {fence['mark']}"))
            break
        if word in BLOCKS:
            blocks.append(BlockText(kind=word, text="\n".join(lines[number + 1 : end]), line=number + 2))
            stretches.append([])
        else:
            if word not in PLAIN_FENCES:
                allowed = f"a block ({', '.join(BLOCKS)}) or plain text ({', '.join(PLAIN_FENCES[1:])})"
                faults.append(PageError(file, number + 1, "block", word, allowed, nearest(word, BLOCKS)))
            stretches[-1] += lines[number : end + 1]
            # Markdown may end a fence elsewhere, so its content has the limits of prose.
            bounded += [(at + 1, lines[at]) for at in range(number, end + 1)]
        number = end + 1
    limits = prose_faults(file, bounded)
    return PageText(
        head=head,
        blocks=tuple(blocks),
        stretches=tuple(map(tuple, stretches)),
        prose=tuple(prose),
        is_bounded=not limits,
    ), faults + limits


def _head(lines: list[str], file: str, faults: list[PageError]) -> tuple[BlockText | None, int]:
    if lines[0].rstrip() != "---":
        return None, 0
    for number, line in enumerate(lines[1:], 1):
        if line.rstrip() in ("---", "..."):
            return BlockText(kind="front matter", text="\n".join(lines[1:number]), line=2), number + 1
    faults.append(PageError(file, 1, "front matter", "no end", "a closing line of three dashes"))
    return None, len(lines)


def _fence_end(lines: list[str], start: int, mark: str) -> int | None:
    for number in range(start + 1, len(lines)):
        found = _FENCE.match(lines[number])
        if found and not found["word"].strip() and found["mark"].startswith(mark):
            return number
    return None
