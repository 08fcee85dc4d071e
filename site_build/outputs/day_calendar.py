"""A day plan as an iCalendar file (RFC 5545): an event for each step, for each time of hands-on work, and for each end.

Times are floating local times, as in ``calendar``, whose escaping and folding it uses.
"""

from __future__ import annotations

from datetime import datetime

from handbook.folder.kept_days import Day
from site_build.base.said_words import said, say
from site_build.charts.day_rows import letters, mark
from site_build.html.calendar import CAUTION, calendar_text, escape


def day_calendar(day: Day, stamp: datetime) -> str:
    """The text of the calendar file of a planned day; ``stamp`` is the time of writing, in UTC."""
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Cook-method handbook//Day plan//EN", "CALSCALE:GREGORIAN"]
    for event in _events(day, stamp):
        lines += event
    return calendar_text([*lines, "END:VCALENDAR"])


def _events(day: Day, stamp: datetime):
    marks = letters(day)
    for step in day.plan.steps:
        method = day.reports[step.method].method
        page, name = method.steps[step.number - 1], mark(step, marks[step.method])
        key = f"{step.method.replace('/', '-')}-{step.number}-{step.load}"
        load = f" {say('Load %(load)s.', load=step.load)}" if step.load else ""
        where = ", ".join((*step.units, said(page.place)) if step.units else (said(page.place),))
        hands = f" {step.hands[0].who}." if page.hands_on else f" {say('Waiting.')}"
        words = f"{method.front_matter.title}.{load} {where}.{hands}" + (f" {said(CAUTION)}" if page.core else "")
        yield _event(day, stamp, key, step.start, step.end, f"{name} {page.do}", words, where, page.hands_on)
        for number, hand in enumerate(() if page.hands_on else step.hands, 1):
            summary = f"{name} {hand.who}: {hand.do}"
            yield _event(day, stamp, f"{key}-{number}", hand.start, hand.end, summary, f"{words}", where, True)
    for wish in day.wish.wishes:
        title = day.reports[wish.method].method.front_matter.title
        key = f"{wish.method.replace('/', '-')}-ready"
        yield _event(
            day, stamp, key, wish.ready, wish.ready, say("Ready: %(title)s", title=title), said(CAUTION), "", False
        )


def _event(day: Day, stamp: datetime, key: str, start, end, summary: str, words: str, where: str, is_busy: bool):
    return [
        "BEGIN:VEVENT",
        f"UID:{day.name}-{key}@handbook.invalid",
        f"DTSTAMP:{stamp:%Y%m%dT%H%M%SZ}",
        f"DTSTART:{start:%Y%m%dT%H%M%S}",
        *([f"DTEND:{end:%Y%m%dT%H%M%S}"] if end > start else []),
        f"SUMMARY:{escape(summary)}",
        f"DESCRIPTION:{escape(words)}",
        *([f"LOCATION:{escape(where)}"] if where else []),
        f"TRANSP:{'OPAQUE' if is_busy else 'TRANSPARENT'}",
        "BEGIN:VALARM",
        "ACTION:DISPLAY",
        "TRIGGER:PT0S",
        f"DESCRIPTION:{escape(summary)}",
        "END:VALARM",
        "END:VEVENT",
    ]
