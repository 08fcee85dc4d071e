"""A schedule by the clock: start and end of each step, and the steps that need somebody in the night.

Times are the local time of one kitchen, without a time zone; the cook allows for a change of the clocks. All times are
rounded to the minute, counted from the first step, so that consecutive steps still touch.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from functools import cache

from msgspec import Struct

from handbook.base.dates import FIRST, LAST
from handbook.base.errors import UnitError
from handbook.page.schedule import Schedule, ScheduledStep

NIGHT = (time(22, 0), time(6, 0))  # common practice, no source
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
FARTHEST = 2 * 1440  # minutes in either direction within which another time is sought
_DAY = 1440  # minutes
ROUND_STEP = 15  # minutes: shifts by quarters of an hour are tried first
_MOMENT = re.compile(r"(\d{4}-\d{2}-\d{2})[ T](\d{1,2}:\d{2})")
_TIMES = re.compile(r"(\d{1,2}):(\d{2})\s*(?:-|–|to)\s*(\d{1,2}):(\d{2})")


class Reminder(Struct, frozen=True, kw_only=True):
    """One repetition of an action inside a step, such as basting."""

    at: datetime
    do: str
    in_night: bool


class ClockStep(Struct, frozen=True, kw_only=True):
    """One step on the clock at its typical time.

    ``night`` is "hands-on" for a hands-on step in the night, "begins" for a waiting step that starts in the night,
    else empty.
    """

    scheduled: ScheduledStep
    start: datetime
    end: datetime
    reminders: tuple[Reminder, ...]
    night: str


class ClockPlan(Struct, frozen=True, kw_only=True):
    """All steps on the clock.

    ``finish_low`` and ``finish_high`` are the finish if all steps are shortest or longest. ``start_early`` is the start
    that still finishes in time if all steps are longest. ``is_open``: nobody knows how long the longest is.
    """

    steps: tuple[ClockStep, ...]
    start: datetime
    finish: datetime
    finish_low: datetime
    finish_high: datetime
    start_early: datetime
    is_open: bool = False

    @property
    def night_steps(self) -> tuple[ClockStep, ...]:
        """Steps that need somebody in the night."""
        return tuple(each for each in self.steps if each.night or any(one.in_night for one in each.reminders))


def clock_plan(
    schedule: Schedule,
    start: datetime | None = None,
    finish: datetime | None = None,
    night: tuple[time, time] = NIGHT,
) -> ClockPlan:
    """The steps of ``schedule`` by the clock, forward from a start or back from a finish. Exactly one of the two is
    given.

    Parameters
    ----------
    start, finish : naive datetimes; seconds are dropped
    night : first minute and end of the night; may span midnight; equal ends mean no night

    Raises
    ------
    ValueError   both or none of start and finish, or a datetime with a time zone
    OverflowError   a date before year 1 or after 9999

    Notes
    -----
    Source: sums of the steps' typical times (no empirical constant).
    """
    given = start if finish is None else finish
    if given is None or (start is not None and finish is not None):
        raise ValueError("either a start or a finish, not both")
    if given.tzinfo is not None:
        raise ValueError("wall-clock times have no time zone")
    given = given.replace(second=0, microsecond=0)
    total = schedule.total
    begin = given if finish is None else given - _minutes(total.typical)
    steps = tuple(_clock_step(each, begin, night) for each in schedule.steps)
    end = begin + _minutes(total.typical)
    return ClockPlan(
        steps=steps,
        start=begin,
        finish=end,
        finish_low=begin + _minutes(total.low),
        finish_high=begin + _minutes(total.high),
        start_early=end - _minutes(total.high),
        is_open=total.is_open,
    )


def nearest_shift(
    plan: ClockPlan, night: tuple[time, time], hands_on_only: bool, earliest: datetime | None
) -> int | None:
    """Minutes by which to move ``plan`` so that no step needs somebody in the night; None if two days do not suffice.

    Quarters of an hour are tried before single minutes, the nearest first, and the later of two equally near. With
    ``hands_on_only`` only hands-on steps are kept out of the night. The moved plan starts at ``earliest`` or later.
    """

    @cache
    def is_spared(minute: int) -> bool:
        by = timedelta(minutes=minute)
        return not any(_needs_somebody(each, by, night, hands_on_only) for each in plan.steps)

    for step in (ROUND_STEP, 1):
        # Whole days change nothing: the night is at the same time each day.
        if not any(is_spared(minute) for minute in range(0, _DAY, step)):
            continue
        for far in range(0, FARTHEST + 1, step):
            for shift in (far, -far):
                if _can_begin(plan, timedelta(minutes=shift), earliest) and is_spared(shift % _DAY):
                    return shift
    return None


def night_advice(
    plan: ClockPlan,
    is_finish: bool,
    night: tuple[time, time] = NIGHT,
    earliest: datetime | None = None,
    words: Callable[[datetime], str] | None = None,
) -> str:
    """Sentence on work in the night, with the nearest time to serve or start that avoids it, if there is one.

    ``earliest`` keeps a suggested start out of the past, unless the planned start is already past. ``words`` formats a
    moment. The page's planner gives the same sentence (site_build/theme/assets/planner.js); a test compares them.
    """
    if not plan.night_steps:
        return "Nobody has to be up in the night."
    in_words = words or format_moment
    earliest = None if earliest is None or plan.start < earliest else earliest
    finding = f"Somebody is up in the night for step {_numbers(plan.night_steps)}."

    def moved(shift: int) -> str:
        at = (plan.finish if is_finish else plan.start) + timedelta(minutes=shift)
        return f"{'served' if is_finish else 'start'} {in_words(at)}"

    shift = nearest_shift(plan, night, False, earliest)
    if shift is not None:
        return f"{finding} The nearest time that spares the night: {moved(shift)}."
    shift = nearest_shift(plan, night, True, earliest)
    if shift is None:
        return f"{finding} No time within two days either way keeps the hands-on steps out of the night."
    none = f"{finding} No time within two days either way spares the night"
    if shift == 0:
        return f"{none}; no hands-on step falls in it."
    return f"{none}; the nearest with no hands-on step in it: {moved(shift)}."


def format_moment(moment: datetime) -> str:
    """``Sat 21 Nov 18:00``, in English, whatever the machine's locale."""
    return f"{WEEKDAYS[moment.weekday()][:3]} {moment.day} {MONTHS[moment.month - 1]} {moment:%H:%M}"


def format_day(moment: datetime) -> str:
    """``Sat 21 Nov 2026``, in English, whatever the machine's locale."""
    return f"{WEEKDAYS[moment.weekday()][:3]} {moment.day} {MONTHS[moment.month - 1]} {moment.year}"


def parse_moment(text: str) -> datetime:
    """A moment written as ``2026-11-21 18:00``.

    Raises UnitError for anything else.

    >>> parse_moment("2026-11-21 18:00")
    datetime.datetime(2026, 11, 21, 18, 0)
    """
    allowed = "a day and a time, such as 2026-11-21 18:00, in the years 1970 to 2099"
    match = _MOMENT.fullmatch(" ".join(text.split()))
    try:
        moment = datetime.fromisoformat(f"{match[1]} {match[2]:0>5}") if match else None
    except ValueError:
        moment = None
    if moment is None or not FIRST <= moment.date() <= LAST:
        raise UnitError(text, allowed)
    return moment


def parse_night(text: str) -> tuple[time, time]:
    """The night written as ``22:00-06:00``.

    Raises UnitError for anything else.

    >>> parse_night("23:00-05:30")
    (datetime.time(23, 0), datetime.time(5, 30))
    """
    found = two_times(text)
    if found is None:
        raise UnitError(text, "two times of day, such as 22:00-06:00")
    return found


def two_times(text: str) -> tuple[time, time] | None:
    """Two times of day written as ``22:00-06:00``, or None for any other text.

    >>> two_times("7:00 to 19:30"), two_times("25:00-26:00")
    ((datetime.time(7, 0), datetime.time(19, 30)), None)
    """
    match = _TIMES.fullmatch(text.strip())
    if match is None:
        return None
    first, first_minute, last, last_minute = (int(part) for part in match.groups())
    try:
        return time(first, first_minute), time(last, last_minute)
    except ValueError:
        return None


def following(day: date, weekday: int, hour: int, minute: int, after: timedelta = timedelta()) -> datetime:
    """The first ``weekday`` (Monday = 0) at the given time, at least ``after`` later than the start of ``day``."""
    earliest = datetime.combine(day, time()) + after
    moment = datetime.combine(earliest.date(), time(hour, minute))
    moment += timedelta(days=(weekday - moment.weekday()) % 7)
    return moment if moment >= earliest else moment + timedelta(days=7)


def is_night(moment: datetime, night: tuple[time, time]) -> bool:
    """Whether a moment lies in the night, from its start up to but not including its end."""
    first, last = night
    at = moment.time()
    return first <= at < last if first <= last else at >= first or at < last


def touches_night(start: datetime, end: datetime, night: tuple[time, time]) -> bool:
    """Whether any part of a span lies in the night. A span of no length counts as a moment."""
    if night[0] == night[1]:
        return False
    if is_night(start, night):
        return True
    nightfall = datetime.combine(start.date(), night[0])
    nightfall += timedelta(days=1) if nightfall < start else timedelta()
    return nightfall < end


def _clock_step(scheduled: ScheduledStep, begin: datetime, night: tuple[time, time]) -> ClockStep:
    start, end = begin + _minutes(scheduled.start.typical), begin + _minutes(scheduled.end.typical)
    repeat = scheduled.step.repeat
    reminders = tuple(
        Reminder(at=at, do=repeat.do, in_night=is_night(at, night))
        for at in (begin + _minutes(scheduled.start.typical + offset) for offset in scheduled.repeats)
        if repeat is not None
    )
    if scheduled.step.hands_on:
        word = "hands-on" if touches_night(start, end, night) else ""
    else:
        word = "begins" if is_night(start, night) else ""
    return ClockStep(scheduled=scheduled, start=start, end=end, reminders=reminders, night=word)


def _can_begin(plan: ClockPlan, by: timedelta, earliest: datetime | None) -> bool:
    """Whether the plan moved ``by`` starts at ``earliest`` or later, in the years of the calendar."""
    try:
        begins, _ = plan.start + by, plan.finish_high + by + timedelta(days=2)
    except OverflowError:
        return False
    return earliest is None or begins >= earliest


def _needs_somebody(each: ClockStep, by: timedelta, night: tuple[time, time], hands_on_only: bool) -> bool:
    if each.scheduled.step.hands_on and touches_night(each.start + by, each.end + by, night):
        return True
    if hands_on_only:
        return False
    return is_night(each.start + by, night) or any(is_night(one.at + by, night) for one in each.reminders)


def _numbers(steps: tuple[ClockStep, ...]) -> str:
    return ", ".join(str(each.scheduled.number) for each in steps)


def _minutes(seconds: float) -> timedelta:
    return timedelta(minutes=int(seconds / 60 + 0.5))
