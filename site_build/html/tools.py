"""The tools of a method's page: clock plan, kitchen view, wall card.

``example_calendar`` gives the calendar file of the page.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

from handbook.page.clock import NIGHT, WEEKDAYS, ClockPlan, clock_plan, following, night_advice
from handbook.report.method_report import Report
from site_build.base.local_forms import local_time
from site_build.base.said_words import say
from site_build.html.calendar import calendar_lines, calendar_text, moved
from site_build.html.render import render

#: The built example: served on a Saturday at 18:00.
SERVED = (5, 18, 0)
_SOME_DAY = date(2000, 1, 1)
MOST_TIMES = 24  # with more reminders only the first and the last are shown
#: Maximum number of lines of a wall card on one US Letter page, for each size of type.
CARD_LINES = ((20, "wall-card-large"), (28, ""), (37, "wall-card-small"))


def kitchen_html(report: Report) -> str:
    """The kitchen view, which its button opens."""
    return render("tools_kitchen.html", report=report)


def clock_html(report: Report, calendar_address: str) -> str:
    """The steps by the clock, served Saturday 18:00; ``calendar_address`` is that plan's file, if one is written."""
    plan = example_plan(report, _SOME_DAY)  # any Saturday will do: only the days are shown
    return render(
        "tools_clock.html",
        report=report,
        rows=_rows(plan),
        plan=plan,
        calendar_address=calendar_address,
        night=[f"{each:%H:%M}" for each in NIGHT],
        advice=night_advice(plan, True, words=_day),
        day=local_time,
    )


def paper_html(report: Report, mark: str) -> str:
    """The wall card: one page, on paper only. ``mark`` is the version, which identifies an outdated print."""
    acts = [each for each in report.findings if each.level in ("stop", "act")]
    return render("wall_card.html", report=report, acts=acts, size=_card_size(report, acts), mark=mark)


def example_plan(report: Report, day: date) -> ClockPlan:
    """Served on the first Saturday at 18:00 that can still be reached by somebody who starts after ``day``."""
    return clock_plan(report.schedule, finish=served(report.schedule.total.high, day))


def served(longest: float, day: date) -> datetime:
    """The first Saturday at 18:00 that a start after ``day`` can reach; ``longest`` is in s from the start."""
    return following(day, *SERVED, timedelta(days=1, seconds=longest))


def example_address(url: str) -> str:
    """The calendar file of a method's page, beside it."""
    return url.removesuffix(".html") + ".ics"


def example_calendar(report: Report) -> list[str]:
    """The lines of the built example's calendar file, on a Saturday of the year 2000: ``dated`` makes the file.

    Its stamp is the day of review: the plan is as old as the method, whenever it is built.
    """
    sheet = report.method.front_matter
    stamp = datetime(sheet.reviewed.year, sheet.reviewed.month, sheet.reviewed.day, tzinfo=UTC)
    return calendar_lines(example_plan(report, _SOME_DAY), report.method, stamp)


def dated(lines: list[str], longest: float, day: date) -> str:
    """The file of ``example_calendar`` for the first Saturday that can be reached after ``day``.

    ``longest`` is the method's longest time from start to finish in s.
    """
    return calendar_text(moved(lines, served(longest, day) - served(longest, _SOME_DAY)))


def _rows(plan: ClockPlan) -> list[tuple]:
    rows = []
    for each in plan.steps:
        times = [
            say("%(time)s (night)", time=f"{one.at:%H:%M}") if one.in_night else f"{one.at:%H:%M}"
            for one in each.reminders
        ]
        told = (
            say("%(num)s times, %(first)s to %(last)s", num=len(times), first=times[0], last=times[-1])
            if len(times) > MOST_TIMES
            else ", ".join(times)
        )
        rows.append((each, told, _before(plan, each.start), _before(plan, each.end)))
    return rows


def _before(plan: ClockPlan, moment: datetime) -> str:
    days = (plan.finish.date() - moment.date()).days
    return "" if days == 0 else say("the day before") if days == 1 else say("%(num)s days before", num=days)


def _day(moment: datetime) -> str:
    return f"{WEEKDAYS[moment.weekday()][:3]} {moment:%H:%M}"


def _card_size(report: Report, acts: list) -> str:
    mixtures = sum(len(each.made.parts) + 2 for each in report.mixtures)
    lines = mixtures + sum(1 + len(each.step.do) // 60 for each in report.schedule.steps) + 2 * len(acts)
    return next((size for most, size in CARD_LINES if lines <= most), "wall-card-tiny")
