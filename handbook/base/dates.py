"""The range of days that a handbook accepts, the same for pages, runs, day plans and signatures."""

from __future__ import annotations

import datetime
import re

#: Calendars, feeds and archives count from 1970 (POSIX time), archives to 2106 (RFC 1952: 32 bits of seconds). Years
#: outside are typing errors, and many programs misread them or refuse the whole file.
FIRST, LAST = datetime.date(1970, 1, 1), datetime.date(2099, 12, 31)
ALLOWED = "a day written year-month-day, such as 2026-03-09, in the years 1970 to 2099"
_FORM = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


def read_day(text: str) -> datetime.date | None:
    """The day that ``text`` names (ISO 8601, extended form), or None for any other text.

    >>> read_day("2026-03-09"), read_day("2026-W11-1"), read_day("0001-01-01")
    (datetime.date(2026, 3, 9), None, None)
    """
    if not _FORM.fullmatch(text):
        return None
    try:
        day = datetime.date.fromisoformat(text)
    except ValueError:
        return None
    return day if FIRST <= day <= LAST else None
