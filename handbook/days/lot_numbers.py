"""Lot numbers of batches, the same on labels, in day plans and in batch files."""

from __future__ import annotations

import datetime
import re
import unicodedata
from collections.abc import Iterable
from functools import lru_cache

_BATCH = re.compile(r"[a-z0-9][a-z0-9-]*-([0-9]{2})([0-9]{2})([0-9]{2})[b-z]?")
#: Letters that look alike (some of those of UTS 39, from memory), as capitals: Cyrillic and Greek, and the Latin ones.
_ALIKE = str.maketrans("АВЕКМНОРСТУХІЈЅΑΒΕΖΗΙΚΜΝΟΡΤΥΧ".lower(), "ABEKMHOPCTYXIJSABEZHIKMNOPTYX".lower())
_DAY = "%y%m%d"


def lot_number(method: str, day: datetime.date, taken: Iterable[str] = ()) -> str:
    """The lot number of a batch: its method, the day on which it begins, and a letter from b for further ones of a day.

    >>> lot_number("cellar-cabbage", datetime.date(2026, 11, 2), ["cellar-cabbage-261102"])
    'cellar-cabbage-261102b'
    """
    first, known = f"{lot_slug(method)}-{day:{_DAY}}", set(taken)
    letters = ["", *map(chr, range(ord("b"), ord("z") + 1))]
    return next((first + each for each in letters if first + each not in known), "")


def lot_slug(method: str) -> str:
    """The part of a lot number that names the method.

    >>> lot_slug("fish/Smoked char")
    'fish-smoked-char'
    """
    return re.sub(r"[^a-z0-9]+", "-", method.casefold()).strip("-") or "batch"


def is_lot_number(name: str) -> bool:
    """Whether ``name`` is the lot number of a batch."""
    return _day(name) is not None


def lot_day(lot: str) -> datetime.date:
    """The day on which the batch of a lot number began. Raises ValueError for any other name."""
    if (day := _day(lot)) is None:
        raise ValueError(lot)
    return day


def lot_key(lot: str) -> str:
    """A key that is equal for all spellings of one lot number: its letters and digits.

    Compatible forms are one (UAX 15, NFKC), digits of all scripts count by value, and Cyrillic and Greek letters that
    look like Latin ones count as these: a recall that finds one batch too many does less harm than one that misses a
    batch.

    >>> lot_key("J-1011") == lot_key("j 1011")
    True
    >>> lot_key("\N{CYRILLIC CAPITAL LETTER EN}-\N{ARABIC-INDIC DIGIT TWO}2") == lot_key("h22")
    True
    """
    signs = unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", lot).casefold()).translate(_ALIKE)
    return "".join(str(unicodedata.decimal(each, each)) for each in signs if each.isalnum())


@lru_cache(maxsize=50_000)
def _day(name: str) -> datetime.date | None:
    found = _BATCH.fullmatch(name)
    try:
        return datetime.date(2000 + int(found[1]), int(found[2]), int(found[3])) if found else None
    except ValueError:
        return None
