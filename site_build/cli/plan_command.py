"""``handbook plan``: one method's steps by the clock, on the terminal and as a calendar file."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import click

from handbook.base.errors import HandbookError, UnitError
from handbook.page.clock import (
    NIGHT,
    ClockPlan,
    ClockStep,
    clock_plan,
    format_day,
    night_advice,
    parse_moment,
    parse_night,
)
from handbook.report.method_report import Report
from site_build.base.places import own_tree
from site_build.cli.method_page import method_page
from site_build.cli.terminal import fail, say, write_file
from site_build.html.calendar import CAUTION, calendar


def register(main: click.Group) -> None:
    """Add the command to the group."""
    main.add_command(plan)


@click.command()
@click.argument("page", type=click.Path(path_type=Path))
@click.option("--served", metavar="MOMENT", help='When it is to be ready, such as "2026-11-21 18:00".')
@click.option("--start", metavar="MOMENT", help="When the first step begins.")
@click.option("--night", metavar="TIMES", help="Hours without work. Default: 22:00-06:00.")
@click.option("--calendar", "file", type=click.Path(path_type=Path, dir_okay=False), help="Write an .ics file as well.")
def plan(page: Path, served: str | None, start: str | None, night: str | None, file: Path | None) -> None:
    """Give the steps of the method PAGE clock times, from a start or back from when it is served."""
    if (served is None) == (start is None):
        fail("plan: read both or none of --served and --start; allowed: one of them")
    moment = _parsed("--served" if served else "--start", parse_moment, served or start)
    hours = _parsed("--night", parse_night, night) if night else NIGHT
    try:
        _, report = method_page(page)
    except HandbookError as error:
        fail(str(error))
    made = clock_plan(report.schedule, None if served else moment, moment if served else None, hours)
    advice = night_advice(made, served is not None, hours, datetime.now())
    say(plan_lines(made, report, advice, is_served=served is not None))
    if file:
        write_file(file, calendar(made, report.method, datetime.now(UTC)), own_tree(page.resolve().parent))


def plan_lines(made: ClockPlan, report: Report, advice: str, is_served: bool) -> list[str]:
    """The plan as lines of text, with a heading for each day; ``advice`` says who works in the night."""
    lines = [report.method.front_matter.title, *_summary(made, is_served), ""]
    day = None
    for each in made.steps:
        if each.start.date() != day:
            day = each.start.date()
            lines.append(format_day(each.start))
        lines += _step_lines(each)
    ready = f"{format_day(made.finish)}  {made.finish:%H:%M}  ready"
    return [*lines, ready, "", advice, CAUTION]


def _summary(made: ClockPlan, is_served: bool) -> list[str]:
    if is_served:
        lines = [f"served {_moment(made.finish)}: begin {_moment(made.start)}"]
        if made.is_open:
            lines.append("or begin earlier: how long a slow piece takes is not known")
        elif made.start_early < made.start:
            lines.append(f"to be sure, if every step takes its longest: begin {_moment(made.start_early)}")
        return lines
    lines = [f"started {_moment(made.start)}: ready {_moment(made.finish)}"]
    if made.is_open:
        lines.append(f"{_moment(made.finish_low)} at the soonest, slow pieces later")
    elif made.finish_low < made.finish_high:
        lines.append(f"between {_moment(made.finish_low)} and {_moment(made.finish_high)}")
    return lines


def _step_lines(each: ClockStep) -> list[str]:
    step = each.scheduled.step
    hands = "hands-on" if step.hands_on else "waiting"
    mark = {"hands-on": "  ! hands-on in the night", "begins": "  ! begins in the night", "": ""}[each.night]
    later = "" if each.end.date() == each.start.date() else f" ({format_day(each.end)})"
    lines = [
        f"  {each.start:%H:%M}  {each.scheduled.number}. {step.do}",
        f"         {step.place}, {hands}, until {each.end:%H:%M}{later}{mark}",
    ]
    shown = None
    for one in each.reminders:
        day = "" if one.at.date() == (shown or each.start.date()) else f"  ({format_day(one.at)})"
        shown = one.at.date()
        lines.append(f"         {one.at:%H:%M}  {one.do}{day}{'  ! in the night' if one.in_night else ''}")
    return lines


def _moment(moment: datetime) -> str:
    return f"{format_day(moment)} {moment:%H:%M}"


def _parsed(option: str, parse, text: str):
    try:
        return parse(text)
    except UnitError as error:
        fail(f"{option}: {error}")
