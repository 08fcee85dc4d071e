"""A day plan as an iCalendar file: an event for each step, for each time of hands-on work, and for each end."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from handbook.folder.kept_days import Day
from site_build.base.said_words import said, say
from site_build.charts.day_rows import letters, mark
from site_build.html.calendar import CAUTION, Event, calendar_text, event_lines, ready_event


def day_calendar(day: Day, stamp: datetime) -> str:
    """The text of the calendar file of a planned day; ``stamp`` is the time of writing, in UTC."""
    return calendar_text(event_lines(_events(day), day.wish.name, "Day plan", stamp))


def _events(day: Day) -> Iterator[Event]:
    marks = letters(day)
    for step in day.plan.steps:
        method = day.reports[step.method].method
        page, name = method.steps[step.number - 1], mark(step, marks[step.method])
        key = f"{step.method.replace('/', '-')}-{step.number}-{step.load}"
        load = f" {say('Load %(load)s.', load=step.load)}" if step.load else ""
        where = ", ".join((*step.units, said(page.place)))
        hands = f" {step.hands[0].who}." if page.hands_on else f" {say('Waiting.')}"
        words = f"{method.front_matter.title}.{load} {where}.{hands}" + (f" {said(CAUTION)}" if page.core else "")
        yield Event(
            key=key,
            start=step.start,
            end=step.end,
            summary=f"{name} {page.do}",
            description=words,
            place=where,
            is_busy=page.hands_on,
        )
        for number, hand in enumerate(() if page.hands_on else step.hands, 1):
            yield Event(
                key=f"{key}-{number}",
                start=hand.start,
                end=hand.end,
                summary=f"{name} {hand.who}: {hand.do}",
                description=words,
                place=where,
                is_busy=True,
            )
    for wish in day.wish.wishes:
        title = day.reports[wish.method].method.front_matter.title
        yield ready_event(f"{wish.method.replace('/', '-')}-ready", wish.ready, title)
