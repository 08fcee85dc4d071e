"""Titles of methods. Each is the name of one dish in the kitchen, so no two pages may share one."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping

from handbook.base.errors import PageError


def title_faults(
    folder: str, titles: Mapping[str, tuple[str, int]], new: Collection[str] = frozenset()
) -> list[PageError]:
    """A fault at each page whose title another page has too.

    ``titles`` are title and line by path. The fault is at the ``new`` page where only one of them is new, otherwise at
    the later path.
    """
    faults: list[PageError] = []
    first: dict[str, str] = {}
    for path, (title, line) in sorted(titles.items(), key=lambda each: (each[0] in new, each[0])):
        other = first.setdefault(title.casefold(), path)
        if other != path:
            faults.append(PageError(f"{folder}/{path}", line, "title", title, f"a title of its own ({other} has it)"))
    return faults


def stated_title(data: bytes) -> tuple[str, int]:
    """The title in the front matter of a page's bytes, and its line, without reading the rest; "" where it has none."""
    for number, line in enumerate(data.decode("utf-8", "replace").splitlines(), 1):
        if number > 1 and line.rstrip() in ("---", "..."):
            break
        if line.startswith("title:"):
            return line.removeprefix("title:").strip().strip("\"'"), number
    return "", 1


def earlier_names(data: bytes) -> tuple[str, ...]:
    """The earlier names (``was``) in the front matter of a page's bytes, without reading the rest."""
    head = data.decode("utf-8", "replace").split("\n---", 1)[0]
    listed = re.search(r"^was:[ \t]*(.*(?:\n[ \t]*- .*)*)", head, re.MULTILINE)
    found = re.split(r"[\[\],\n]|(?<=\s)- ", listed[1]) if listed else []
    return tuple(name for each in found if (name := each.strip().strip("\"'").removeprefix("- ").removesuffix(".md")))
