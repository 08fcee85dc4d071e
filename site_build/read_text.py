"""The bytes of a file of the methods folder as text."""

from __future__ import annotations

from handbook.errors import PageError

MAX_PAGE_BYTES = 400_000


def decode_page(data: bytes, file: str) -> tuple[str, PageError | None]:
    """A page's bytes as text, or the fault that keeps them from being one."""
    if len(data) > MAX_PAGE_BYTES:
        return "", PageError(file, 1, "file", f"{len(data)} bytes", f"at most {MAX_PAGE_BYTES} bytes")
    try:
        return data.decode("utf-8-sig"), None
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        return "", PageError(file, line, "file", "no UTF-8 text", "text saved as UTF-8")
