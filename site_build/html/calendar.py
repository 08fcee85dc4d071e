"""A plan as an iCalendar file (RFC 5545): one event for each step, one for each reminder, one for the end.

Times are "floating" local times (RFC 5545, 3.3.5, form 1): the kitchen's wall clock, wherever the file is opened.
The page's own planner writes the same bytes (theme/assets/planner.js); a test compares them.
"""

from __future__ import annotations

import re
from datetime import datetime, timedelta

from handbook.base.formats import format_time_range
from handbook.page.clock import ClockPlan, ClockStep
from handbook.page.method import Method
from handbook.page.schedule import ScheduledStep
from site_build.base.local_forms import local
from site_build.base.said_words import bare, later, said, say

NIGHT_WORDS = {"hands-on": later("In the night."), "begins": later("Begins in the night."), "": ""}
CAUTION = later("Planned times are no measurement: thermometer, scale and local codes decide.")
_FORM = "%Y%m%dT%H%M"
#: Where the plan's own times stand: not in DTSTAMP, not in words.
_PLAN_TIME = re.compile(r"^(UID:.*-|DTSTART:|DTEND:)(\d{8}T\d{4})")
_LINE_OCTETS = 75  # RFC 5545, 3.1: longest line without its end


def calendar(plan: ClockPlan, method: Method, stamp: datetime) -> str:
    """The text of an iCalendar file; ``stamp`` is the moment of writing, in UTC (DTSTAMP)."""
    return calendar_text(calendar_lines(plan, method, stamp))


def calendar_text(lines: list[str]) -> str:
    """The file of its content lines, folded."""
    return "".join(f"{fold(bare(line))}\r\n" for line in lines)


def calendar_lines(plan: ClockPlan, method: Method, stamp: datetime) -> list[str]:
    """The content lines of the file, each whole."""
    events = []
    for each in plan.steps:
        number = each.scheduled.number
        summary, description = step_words(method, each.scheduled)
        events.append(
            _event(
                f"{number}",
                plan,
                method,
                stamp,
                each.start,
                each.end,
                summary,
                f"{description} {said(NIGHT_WORDS[each.night])}" if each.night else description,
                said(each.scheduled.step.place),
                each.scheduled.step.hands_on,
            )
        )
        events += _reminder_events(each, plan, method, stamp)
    events.append(
        _event(
            "end",
            plan,
            method,
            stamp,
            plan.finish,
            plan.finish,
            say("Ready: %(title)s", title=method.front_matter.title),
            said(CAUTION),
            "",
            False,
        )
    )
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Cook-method handbook//Plan//EN", "CALSCALE:GREGORIAN"]
    lines += [line for event in events for line in event]
    return [*lines, "END:VCALENDAR"]


def moved(lines: list[str], by: timedelta) -> list[str]:
    """The same plan at another time."""
    return [
        _PLAN_TIME.sub(lambda found: f"{found[1]}{datetime.strptime(found[2], _FORM) + by:{_FORM}}", line)
        for line in lines
    ]


def step_words(method: Method, scheduled: ScheduledStep) -> tuple[str, str]:
    """Summary and description of one step's event."""
    time = local(format_time_range(scheduled.duration))
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
    """A content line cut into pieces of at most 75 octets, no character split (RFC 5545, 3.1)."""
    if len(line.encode()) <= _LINE_OCTETS:
        return line
    pieces, piece, size = [], "", 0
    for character in line:
        octets = len(character.encode())
        if size + octets > _LINE_OCTETS:
            pieces.append(piece)
            piece, size = " ", 1
        piece += character
        size += octets
    return "\r\n".join([*pieces, piece])


def _reminder_events(each: ClockStep, plan: ClockPlan, method: Method, stamp: datetime) -> list[list[str]]:
    return [
        _event(
            f"{each.scheduled.number}-{count}",
            plan,
            method,
            stamp,
            one.at,
            one.at,
            f"{each.scheduled.number}. {one.do}",
            f"{method.front_matter.title}. "
            + say("%(count)s of %(all)s.", count=count, all=len(each.reminders))
            + (f" {said(NIGHT_WORDS['hands-on'])}" if one.in_night else ""),
            said(each.scheduled.step.place),
            True,
        )
        for count, one in enumerate(each.reminders, 1)
    ]


def _event(
    key: str,
    plan: ClockPlan,
    method: Method,
    stamp: datetime,
    start: datetime,
    end: datetime,
    summary: str,
    description: str,
    place: str,
    is_busy: bool,
) -> list[str]:
    name = method.name.replace("/", "-")
    lines = [
        "BEGIN:VEVENT",
        f"UID:{name}-{plan.start:%Y%m%dT%H%M}-{key}@handbook.invalid",
        f"DTSTAMP:{stamp:%Y%m%dT%H%M%SZ}",
        f"DTSTART:{start:%Y%m%dT%H%M%S}",
        # An event of no length has no DTEND: it must be later than DTSTART (RFC 5545, 3.8.2.2).
        *([f"DTEND:{end:%Y%m%dT%H%M%S}"] if end > start else []),
        f"SUMMARY:{escape(summary)}",
        f"DESCRIPTION:{escape(description)}",
        *([f"LOCATION:{escape(place)}"] if place else []),
        f"TRANSP:{'OPAQUE' if is_busy else 'TRANSPARENT'}",
        "BEGIN:VALARM",
        "ACTION:DISPLAY",
        "TRIGGER:PT0S",
        f"DESCRIPTION:{escape(summary)}",
        "END:VALARM",
        "END:VEVENT",
    ]
    return lines
