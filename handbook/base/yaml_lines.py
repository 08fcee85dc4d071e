"""Lines of YAML that the commands write: one line per row, so that two people's rows never conflict."""

from __future__ import annotations

import re

_PLAIN = re.compile(r"[A-Za-zÀ-ɏ0-9][\wÀ-ɏ°./+ %-]*")
_WORDS = ("yes", "no", "true", "false", "null", "on", "off")


def row_line(**values: object) -> str:
    """``- {key: value, ...}`` of the values that are not None.

    >>> row_line(at="2026-11-02 08:00", step=2, ph=None)
    '- {at: 2026-11-02 08:00, step: 2}'
    """
    return "- {" + ", ".join(f"{key}: {value}" for key, value in values.items() if value is not None) + "}"


def quoted(text: str) -> str:
    """Text as YAML reads it back: plain words unchanged, anything else in quotation marks.

    >>> quoted("Marit Osk"), quoted("wind: from the door")
    ('Marit Osk', '"wind: from the door"')
    """
    if _PLAIN.fullmatch(text) and text == text.strip() and text.casefold() not in _WORDS and not text.endswith("-"):
        return text
    return in_quotes(text)


def in_quotes(text: str) -> str:
    """Text in quotation marks, on one line."""
    return '"' + " ".join(text.split()).replace("\\", "\\\\").replace('"', '\\"') + '"'
