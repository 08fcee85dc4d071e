"""iCalendar files (RFC 5545), and a plan as one: an event for each step, for each reminder and for the end.

Times are "floating" local times (RFC 5545, 3.3.5, form 1): the kitchen's wall clock, wherever the file is opened.
The page's own planner writes the same bytes (theme/assets/planner.js); a test compares them.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta

from msgspec import Struct

from handbook.page.clock import ClockPlan
from handbook.page.method import Method
from handbook.page.schedule import ScheduledStep
from site_build.base.local_formats import format_time_range
from site_build.base.said_words import bare, later, said, say

NIGHT_WORDS = {"hands-on": later("In the night."), "begins": later("Begins in the night."), "": ""}
CAUTION = later("Planned times are no measurement: thermometer, scale and local codes decide.")
_FORM = "%Y%m%dT%H%M"
#: Lines with the plan's own times: not DTSTAMP, and not in words.
_PLAN_TIME = re.compile(r"^(UID:.*-|DTSTART:|DTEND:)(\d{8}T\d{4})")
_TIMED = ("UID:", "DTSTART:", "DTEND:")
LINE_OCTETS = 75  # RFC 5545, 3.1: longest line without its end


class Event(Struct, frozen=True, kw_only=True):
    """One event; ``key`` tells it from others of its file, and one that ``is_busy`` takes somebody's time."""

    key: str
    start: datetime
    end: datetime
    summary: str
    description: str
    place: str = ""
    is_busy: bool = False


def calendar(plan: ClockPlan, method: Method, stamp: datetime) -> str:
    """The text of an iCalendar file; ``stamp`` is the moment of writing, in UTC (DTSTAMP)."""
    return calendar_text(calendar_lines(plan, method, stamp))


def calendar_text(lines: list[str]) -> str:
    """The file of its content lines, folded."""
    return "".join(f"{fold(bare(line))}\r\n" for line in lines)


def calendar_lines(plan: ClockPlan, method: Method, stamp: datetime) -> list[str]:
    """The content lines of a plan's file, each whole."""
    name = f"{method.name.replace('/', '-')}-{plan.start:{_FORM}}"
    return event_lines(_events(plan, method), name, "Plan", stamp)


def event_lines(events: Iterable[Event], name: str, product: str, stamp: datetime) -> list[str]:
    """The content lines of a file of ``events``, whose ids begin with ``name``."""
    head = ["BEGIN:VCALENDAR", "VERSION:2.0", f"PRODID:-//Cook-method handbook//{product}//EN", "CALSCALE:GREGORIAN"]
    return [*head, *(line for each in events for line in _lines(each, name, stamp)), "END:VCALENDAR"]


def moved(lines: list[str], by: timedelta) -> list[str]:
    """The same plan at another time."""
    return [
        _PLAN_TIME.sub(lambda found: f"{found[1]}{datetime.fromisoformat(found[2]) + by:{_FORM}}", line)
        if line.startswith(_TIMED)
        else line
        for line in lines
    ]


def step_words(method: Method, scheduled: ScheduledStep) -> tuple[str, str]:
    """Summary and description of one step's event."""
    time = format_time_range(scheduled.duration)
    takes = (
        say("Takes %(time)s, hands-on.", time=time)
        if scheduled.step.hands_on
        else say("Takes %(time)s, waiting.", time=time)
    )
    description = f"{method.front_matter.title}. {takes}"
    if scheduled.step.core:
        description += f" {said(CAUTION)}"
    return f"{scheduled.number}. {scheduled.step.do}", description


def escape(text: str) -> str:
    """Text as a TEXT value (RFC 5545, 3.3.11)."""
    for sign in ("\\", ";", ","):
        text = text.replace(sign, f"\\{sign}")
    return text.replace("\n", "\\n")


def fold(line: str) -> str:
    """A content line folded into pieces of at most 75 octets, without splitting a character (RFC 5545, 3.1)."""
    left = line.encode()
    pieces, room = [], LINE_OCTETS
    while len(left) > room:
        end = room
        while left[end] & 0xC0 == 0x80:  # an octet within a character (RFC 3629, 3)
            end -= 1
        pieces.append(left[:end])
        left, room = left[end:], LINE_OCTETS - 1  # each further piece begins with a blank
    return b"\r\n ".join([*pieces, left]).decode()


def _events(plan: ClockPlan, method: Method) -> Iterator[Event]:
    title = method.front_matter.title
    for each in plan.steps:
        step, number = each.scheduled.step, each.scheduled.number
        summary, description = step_words(method, each.scheduled)
        if each.night:
            description += f" {said(NIGHT_WORDS[each.night])}"
        yield Event(
            key=str(number),
            start=each.start,
            end=each.end,
            summary=summary,
            description=description,
            place=said(step.place),
            is_busy=step.hands_on,
        )
        for count, one in enumerate(each.reminders, 1):
            description = f"{title}. {say('%(count)s of %(all)s.', count=count, all=len(each.reminders))}"
            yield Event(
                key=f"{number}-{count}",
                start=one.at,
                end=one.at,
                summary=f"{number}. {one.do}",
                description=description + (f" {said(NIGHT_WORDS['hands-on'])}" if one.in_night else ""),
                place=said(step.place),
                is_busy=True,
            )
    yield ready_event("end", plan.finish, title)


def ready_event(key: str, at: datetime, title: str) -> Event:
    """The moment at which a food is ready."""
    return Event(key=key, start=at, end=at, summary=say("Ready: %(title)s", title=title), description=said(CAUTION))


def _lines(each: Event, name: str, stamp: datetime) -> Iterator[str]:
    yield "BEGIN:VEVENT"
    yield f"UID:{name}-{each.key}@handbook.invalid"
    yield f"DTSTAMP:{stamp:%Y%m%dT%H%M%SZ}"
    yield f"DTSTART:{each.start:%Y%m%dT%H%M%S}"
    if each.end > each.start:  # one of no length has no DTEND: it must be later than DTSTART (RFC 5545, 3.8.2.2)
        yield f"DTEND:{each.end:%Y%m%dT%H%M%S}"
    yield f"SUMMARY:{escape(each.summary)}"
    yield f"DESCRIPTION:{escape(each.description)}"
    if each.place:
        yield f"LOCATION:{escape(each.place)}"
    yield f"TRANSP:{'OPAQUE' if each.is_busy else 'TRANSPARENT'}"
    yield from ("BEGIN:VALARM", "ACTION:DISPLAY", "TRIGGER:PT0S", f"DESCRIPTION:{escape(each.summary)}", "END:VALARM")
    yield "END:VEVENT"
