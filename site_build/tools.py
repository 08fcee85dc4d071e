"""The tools of a method's page: my batch, by the clock, kitchen view, what goes on paper.

Three hooks for pages.py, each a piece of HTML: ``tools_html`` after the head, ``clock_html`` after the author's words,
``paper_html`` at the end. One for the plugin: ``write_example_plans`` after the build.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from handbook.clock import WEEKDAYS, ClockPlan, clock_plan, following, night_advice
from handbook.evaluate import Report
from handbook.house import House
from site_build.batch_data import json_block, tools_data
from site_build.book import Book
from site_build.calendar import calendar
from site_build.render import render

#: The built example: served on a Saturday at 18:00.
SERVED = (5, 18, 0)
MOST_TIMES = 24  # more reminders than this are told by their first and last
HOUSEHOLD_WORDS = {"us": "US cups and spoons", "metric": "metric cups and spoons", "imperial": "imperial cups, spoons"}
#: Lines that a wall card holds at each size of type before it would run over one US Letter page.
CARD_LINES = ((20, "wall-card-large"), (28, ""), (37, "wall-card-small"))


def tools_html(report: Report, house: House) -> str:
    """The panels that only work with scripts, shown only then, and the data that all tools read."""
    wet = [each for each in report.saltings if each.columns[0].fill]
    return render(
        "tools_page.html",
        report=report,
        data=json_block(tools_data(report, house)),
        containers=[each.name for each in house.containers] if wet else [],
        has_thickness=bool(report.salted and report.salted.by_thickness),
        household_words=HOUSEHOLD_WORDS[house.measures],
    ) + render("tools_kitchen.html", report=report)


def clock_html(report: Report, calendar_address: str = "") -> str:
    """The steps by the clock, served Saturday 18:00; ``calendar_address`` is that plan's file, if one is written."""
    plan = example_plan(report, date(2000, 1, 1))  # which Saturday makes no difference: only its days are shown
    return render(
        "tools_clock.html",
        report=report,
        rows=_rows(plan),
        plan=plan,
        calendar_address=calendar_address,
        advice=night_advice(plan, True, words=_day),
        day=_day,
    )


def paper_html(report: Report, mark: str = "") -> str:
    """The wall card: one page, on paper only. ``mark`` is the version, so that a stale print can be spotted."""
    acts = [each for each in report.findings if each.level in ("stop", "act")]
    return render("wall_card.html", report=report, acts=acts, size=_card_size(report, acts), mark=mark)


def example_plan(report: Report, day: date) -> ClockPlan:
    """Served on the first Saturday at 18:00 that can still be reached by somebody who starts after ``day``."""
    lead = timedelta(days=1, seconds=report.schedule.total.high)
    return clock_plan(report.schedule, finish=following(day, *SERVED, lead))


def example_address(url: str) -> str:
    """The calendar file of a method's page, beside it."""
    return url.removesuffix(".html") + ".ics"


def write_example_plans(book: Book, site: Path, now: datetime) -> None:
    """One calendar file beside each method's page; ``now`` is the moment of the build, in UTC."""
    for page in book.methods:
        text = calendar(example_plan(page.report, now.date()), page.report.method, now.astimezone(UTC))
        target = site / example_address(page.url)
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(text.encode())


def _rows(plan: ClockPlan) -> list[tuple]:
    rows = []
    for each in plan.steps:
        times = [f"{one.at:%H:%M}" + (" (night)" if one.in_night else "") for one in each.reminders]
        told = f"{len(times)} times, {times[0]} to {times[-1]}" if len(times) > MOST_TIMES else ", ".join(times)
        rows.append((each, told, _before(plan, each.start), _before(plan, each.end)))
    return rows


def _before(plan: ClockPlan, moment: datetime) -> str:
    days = (plan.finish.date() - moment.date()).days
    return "" if days == 0 else "the day before" if days == 1 else f"{days} days before"


def _day(moment: datetime) -> str:
    return f"{WEEKDAYS[moment.weekday()][:3]} {moment:%H:%M}"


def _card_size(report: Report, acts: list) -> str:
    mixtures = sum(len(each.made.parts) + 2 for each in (*report.saltings, *report.glazes))
    lines = mixtures + sum(1 + len(each.step.do) // 60 for each in report.schedule.steps) + 2 * len(acts)
    return next((size for most, size in CARD_LINES if lines <= most), "wall-card-tiny")
