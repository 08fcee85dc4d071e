"""``handbook plan``: one method's steps by the clock, on the terminal and as a calendar file."""

from __future__ import annotations

import os
from datetime import UTC, datetime
from pathlib import Path

import click

from handbook.base.errors import FaultsError, HandbookError, PageError, UnitError
from handbook.page.clock import (
    MONTHS,
    NIGHT,
    WEEKDAYS,
    ClockPlan,
    ClockStep,
    clock_plan,
    night_advice,
    parse_moment,
    parse_night,
)
from handbook.page.house import House
from handbook.report.evaluate import Report
from site_build.base.places import own_tree
from site_build.cli.terminal import fail, say, write_file
from site_build.html.calendar import CAUTION, calendar
from site_build.reading.book import GENERATED
from site_build.reading.file_names import name_faults
from site_build.reading.folder_files import list_folder, read_files
from site_build.reading.kitchen import HOUSE_FILE, HOUSE_FILES, read_kitchen
from site_build.reading.read_page import decode_page, read_page
from site_build.reading.run_files import RUNS, method_page, run_texts


def register(main: click.Group) -> None:
    """Add the command to the group."""
    main.add_command(plan)


@click.command()
@click.argument("page", type=click.Path(path_type=Path))
@click.option("--served", metavar="MOMENT", help='When it is to be ready, such as "2026-11-21 18:00".')
@click.option("--start", metavar="MOMENT", help="When the first step begins.")
@click.option("--night", metavar="TIMES", help="When nobody should have to be up. Default: 22:00-06:00.")
@click.option("--calendar", "file", type=click.Path(path_type=Path, dir_okay=False), help="Write an .ics file as well.")
def plan(page: Path, served: str | None, start: str | None, night: str | None, file: Path | None) -> None:
    """Give the steps of the method PAGE clock times, from a start or back from when it is served."""
    if (served is None) == (start is None):
        fail("plan: read both or none of --served and --start; allowed: one of them")
    moment = _parsed("--served" if served else "--start", parse_moment, served or start)
    hours = _parsed("--night", parse_night, night) if night else NIGHT
    try:
        report = read_method_page(page)
    except HandbookError as error:
        fail(str(error))
    made = clock_plan(report.schedule, None if served else moment, moment if served else None, hours)
    advice = night_advice(made, served is not None, hours, datetime.now())
    say(plan_lines(made, report, advice, is_served=served is not None))
    if file:
        write_file(file, calendar(made, report.method, datetime.now(UTC)), own_tree(page.resolve().parent))


def read_method_page(page: Path) -> Report:
    """The report of one method page: that of method_and_house."""
    return method_and_house(page)[0]


def method_and_house(page: Path) -> tuple[Report, House]:
    """The report of one method page and its house, by the house file of the nearest folder above it.

    Raises FaultsError with every fault of the page or of its house file.
    """
    place = page.parent.resolve() / page.name
    folder = next((each for each in place.parents if os.path.isfile(each / HOUSE_FILE)), None)
    wanted = f"a method page in a folder with a {HOUSE_FILE}"
    missing = FaultsError([PageError(str(page), 1, "page", "no such page", wanted)])
    if folder is None:
        raise missing
    path = place.relative_to(folder).as_posix()
    known, contents = _files_of_page(folder, path)
    if path not in contents:
        raise missing
    kitchen, faults = read_kitchen(folder.name, contents)
    text, fault = decode_page(contents[path], f"{folder.name}/{path}")
    faults += [fault] if fault else []
    if faults:
        raise FaultsError(faults)
    runs = run_texts(path, folder.name, contents, contents.__getitem__)
    read = read_page(text, f"{folder.name}/{path}", path, known, kitchen.words, kitchen.house, kitchen.tables, runs)
    faults = list(read.faults)
    if read.report is None and not faults:
        faults = [PageError(f"{folder.name}/{path}", 1, "page", "no method", "a page with calculation blocks")]
    if faults:
        raise FaultsError(faults)
    return read.report, kitchen.house


def plan_lines(made: ClockPlan, report: Report, advice: str, is_served: bool) -> list[str]:
    """The plan as lines of text, a heading for each day; ``advice`` says who is up in the night."""
    lines = [report.method.sheet.title, *_summary(made, is_served), ""]
    day = None
    for each in made.steps:
        if each.start.date() != day:
            day = each.start.date()
            lines.append(format_day(each.start))
        lines += _step_lines(each)
    ready = f"{format_day(made.finish)}  {made.finish:%H:%M}  ready"
    return [*lines, ready, "", advice, CAUTION]


def format_day(moment: datetime) -> str:
    """``Sat 21 Nov 2026``, in the handbook's language whatever the machine's."""
    return f"{WEEKDAYS[moment.weekday()][:3]} {moment.day} {MONTHS[moment.month - 1]} {moment.year}"


def _files_of_page(folder: Path, path: str) -> tuple[set[str], dict[str, bytes]]:
    """Every path that the page at ``path`` may lead to, and the bytes of all that it is made from, read as a build
    reads them.

    Raises FaultsError where a build would refuse one of them.
    """

    def is_needed(each: str) -> bool:
        return each == path or each in HOUSE_FILES or method_page(each) == path

    found = list_folder(folder)
    contents = {each: data for each, data, _ in read_files(found, is_needed)}
    above = (path, f"{RUNS}{path.removesuffix('.md')}/")
    refused = {each for each in found.refused if is_needed(each) or any(one.startswith(f"{each}/") for one in above)}
    files = {f"{folder.name}/{each}" for each in refused}
    faults = [each for each in found.faults if not found.is_whole or each.file in files]
    faults += name_faults(folder.name, [each for each in contents if each == path])
    if faults:
        raise FaultsError(faults)
    return {*found.sizes, *found.refused, *GENERATED}, contents


def _summary(made: ClockPlan, is_served: bool) -> list[str]:
    if is_served:
        lines = [f"served {_moment(made.finish)}: begin {_moment(made.start)}"]
        if made.start_early < made.start:
            lines.append(f"to be sure, if every step takes its longest: begin {_moment(made.start_early)}")
        return lines
    lines = [f"started {_moment(made.start)}: ready {_moment(made.finish)}"]
    if made.finish_low < made.finish_high:
        lines.append(f"between {_moment(made.finish_low)} and {_moment(made.finish_high)}")
    return lines


def _step_lines(each: ClockStep) -> list[str]:
    step = each.timed.step
    hands = "hands-on" if step.hands_on else "waiting"
    mark = {"hands-on": "  ! hands-on in the night", "begins": "  ! begins in the night", "": ""}[each.night]
    later = "" if each.end.date() == each.start.date() else f" ({format_day(each.end)})"
    lines = [
        f"  {each.start:%H:%M}  {each.timed.number}. {step.do}",
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
