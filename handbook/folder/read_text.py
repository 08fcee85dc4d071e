"""The bytes of a file of the methods folder as text."""

from __future__ import annotations

import re

from handbook.base.errors import CONTROLS, PageError

MAX_PAGE_BYTES = 400_000
#: Git's marks in a text that two people changed at the same place.
_CONFLICT = re.compile(r"^<{7} .*?^={7}$.*?^>{7} ", re.M | re.S)


def decode_page(data: bytes, file: str) -> tuple[str, PageError | None]:
    """A page's bytes as text, or the fault that prevents it."""
    if len(data) > MAX_PAGE_BYTES:
        return "", PageError(file, 1, "file", f"{len(data)} bytes", f"at most {MAX_PAGE_BYTES} bytes")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        return "", PageError(file, line, "file", "no UTF-8 text", "text saved as UTF-8")
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    if found := CONTROLS.search(text):
        line = text[: found.start()].count("\n") + 1
        read = f"the character U+{ord(found[0]):04X}"
        return "", PageError(file, line, "file", read, "text without control and direction characters")
    if "<<<<<<< " in text and (found := _CONFLICT.search(text)):
        line = text[: found.start()].count("\n") + 1
        ends = [line + found[0].count("\n", 0, found[0].index("\n=======") + 1), line + found[0].count("\n")]
        read = f"two people's changes that git could not join, lines {line} to {ends[1]}"
        allowed = f"both changes, or one of them, without the marks of lines {line}, {ends[0]} and {ends[1]}"
        return "", PageError(file, line, "file", read, allowed)
    return text, None
