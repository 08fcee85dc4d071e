"""The lines of a batch's file as text: one line per row, so that two people's rows never conflict."""

from __future__ import annotations

import re

from handbook.base.units import Quantity

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
    return '"' + " ".join(text.split()).replace("\\", "\\\\").replace('"', '\\"') + '"'


def mass_text(kg: float) -> str:
    """A weight for a file: grams, tenths below 20 g.

    >>> mass_text(7.3), mass_text(0.0123)
    ('7300 g', '12.3 g')
    """
    grams = kg * 1000
    return f"{grams:.1f} g" if grams < 20 else f"{grams:.0f} g"


def temperature_text(quantity: Quantity) -> str:
    """A temperature as its page writes it."""
    return quoted(quantity.text)
