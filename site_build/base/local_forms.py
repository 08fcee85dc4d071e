"""Numbers, dates and units in the forms of the house's language. English is left as the engine prints it.

The engine's own sentences are English and keep decimal points. Figures alone in a table or beside a label are converted
here.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, datetime
from functools import lru_cache

from babel import Locale
from babel.dates import format_date, format_skeleton, match_skeleton
from babel.numbers import format_currency, get_decimal_symbol, is_currency

from handbook.base import formats
from handbook.page.clock import MONTHS, WEEKDAYS, format_day, format_moment
from site_build.base.languages import NEUTRAL
from site_build.base.said_words import BEGIN, END, say, wording_now

MONTH_NAMES = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
_WORD = re.compile(r"[^\W\d_]+")
_POINT = re.compile(r"(?<=\d)\.(?=\d)")
#: The blank of a temperature in a text: neither within a tag, where the next angle bracket closes it, nor in a script's data.
#: It begins with the signs themselves, for which the library looks fastest.
_DEGREES = re.compile(r" °(?<=\d °)(?=[CF](?![^<>]*(?:>|</script)))")
_ISOLATE, _END_OF_ISOLATE = "\u2066", "\u2069"
#: Words within figures that the engine prints or that a cook writes in a quantity.
UNIT_WORDS = (
    "days",
    "day",
    "weeks",
    "week",
    "months",
    "month",
    "cups",
    "cup",
    "tbsp",
    "tsp",
    "or more",
    "to",
    "portions",
)
_UNIT_WORD = re.compile(rf"\b({'|'.join(UNIT_WORDS)})\b")


def local(text: object) -> str:
    """A figure with its units in the form of the language: ``2.5 days`` becomes ``2,5 päivää``."""
    said = str(text)
    if wording_now().is_english:
        return said
    mark = decimal_mark()
    said = _POINT.sub(mark, said) if mark != "." else said
    said = _UNIT_WORD.sub(lambda found: say(found[0]), said)
    # A figure with its unit keeps its order in a line that runs the other way (Unicode's isolates, UAX #9).
    return f"{_ISOLATE}{said}{_END_OF_ISOLATE}" if said and is_right_to_left() else said


def local_alone(text: str) -> str:
    """A figure as the language writes it where it stands alone; with words it is an English sentence and stays as it is."""
    words = filter(str.isalpha, _WORD.findall(text))  # raised figures are no words
    return local(text) if all(len(word) < 2 or word in NEUTRAL or word in UNIT_WORDS for word in words) else text


def bind_degrees(html: str) -> str:
    """A page whose temperatures do not break over two lines: no break between figure and degree sign."""
    return _DEGREES.sub("\N{NO-BREAK SPACE}°", html)


def decimal_mark() -> str:
    """The sign between ones and tenths."""
    return "." if wording_now().is_english else get_decimal_symbol(locale_now())


def locale_now() -> Locale:
    """The forms of the house's language."""
    return _locale(wording_now().language)


def is_right_to_left() -> bool:
    """Whether the language is written from right to left."""
    return locale_now().text_direction == "rtl"


def local_day(day: date) -> str:
    """``Sat 21 Nov 2026``."""
    return format_day(day) if _is_plain() else _named(_by_skeleton(day, "yMMMEd"))


def local_long_day(day: date) -> str:
    """``Saturday 21 Nov 2026``, in other languages with the whole name of the month."""
    if _is_plain():
        return f"{WEEKDAYS[day.weekday()]} {day.day} {MONTHS[day.month - 1]} {day.year}"
    return _named(format_date(day, "full", locale=locale_now()))


def local_month_day(day: date) -> str:
    """``21 November 2026``."""
    if _is_plain():
        return f"{day.day} {MONTH_NAMES[day.month - 1]} {day.year}"
    return _named(format_date(day, "long", locale=locale_now()))


def local_date(day: date | str) -> str:
    """A day in figures: ``2026-11-21`` in plain English (ISO 8601). ``day`` may be a text in this form too."""
    day = date.fromisoformat(day) if isinstance(day, str) else day
    return day.isoformat() if _is_plain() else _named(format_date(day, "short", locale=locale_now()))


def local_time(moment: datetime) -> str:
    """``Sat 18:00``."""
    if _is_plain():
        return f"{WEEKDAYS[moment.weekday()][:3]} {moment:%H:%M}"
    return _named(_by_skeleton(moment, "EHm"))


def local_moment(moment: datetime) -> str:
    """``Sat 21 Nov 18:00``."""
    if _is_plain():
        return format_moment(moment)
    return _named(_by_skeleton(moment, "MMMEd", "Hm"))


def local_money(value: float, currency: str) -> str:
    """An amount of money. A code of ISO 4217 is written in the form of the language, any other word after the figure."""
    if not _is_plain() and is_currency(currency):
        return _named(format_currency(value, currency, locale=locale_now()))
    return f"{local(formats.format_number(value, 2))} {_named(currency)}".strip()


def localized(form: Callable[..., str]) -> Callable[..., str]:
    """One of the engine's formats, in the form of the language."""

    def local_form(*values, **more) -> str:
        return local(form(*values, **more))

    return local_form


def _by_skeleton(at: date | datetime, *skeletons: str) -> str:
    """A day or a time in the form of the locale data for each skeleton, or for the nearest one available.

    Most languages have no form for day and time together, so their general pattern joins the two.
    """
    locale = locale_now()
    known = locale.datetime_skeletons
    parts = []
    for each in skeletons:
        near = each if each in known else match_skeleton(each, known)
        parts.append(format_skeleton(near, at, locale=locale) if near else format_date(at, "medium", locale=locale))
    if len(parts) == 1:
        return parts[0]
    return str(locale.datetime_formats["medium"]).replace("{1}", parts[0]).replace("{0}", parts[1]).replace("'", "")


def _is_plain() -> bool:
    return wording_now().language == "en"


def _named(text: str) -> str:
    return text if wording_now().is_english else f"{BEGIN}{text}{END}"


@lru_cache(maxsize=4)
def _locale(language: str) -> Locale:
    return Locale.parse(language, "-")
