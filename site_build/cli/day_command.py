"""``handbook day``: plans several methods for the house's equipment and people, on the terminal and in a file."""

from __future__ import annotations

import os
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import click

from handbook.base.errors import FaultsError, HandbookError, PageError
from handbook.base.formats import format_mass, format_money, format_number
from handbook.days.day_check import check_day
from handbook.days.day_plan import DayWish, needs_of
from handbook.days.day_reasons import reasons
from handbook.days.day_solver import IMPOSSIBLE, SOLVED, solve
from handbook.days.day_tasks import problem_of
from handbook.days.planned_times import judge_plan, judged_mark
from handbook.days.read_day import kept_text
from handbook.days.shopping import Shopping, shopping
from handbook.folder.handbook import Handbook, open_handbook
from handbook.folder.kept_days import FOLDER, Day, kept_path, kitchen_of
from handbook.folder.kitchen import HOUSE_FILE
from handbook.page.clock import format_day
from handbook.page.house import House
from site_build.base.places import one_line, own_tree, source_place
from site_build.charts.day_rows import day_rows, letters, mark
from site_build.cli.terminal import fail, say, write_file
from site_build.html.calendar import CAUTION
from site_build.outputs.day_calendar import day_calendar

CELL = 30  # minutes of one character of the chart


def register(main: click.Group) -> None:
    """Add the command to the group."""
    main.add_command(day)


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--keep", is_flag=True, help="Keep the plan beside the wish, for the site.")
@click.option("--calendar", "ics", type=click.Path(path_type=Path, dir_okay=False), help="Write an .ics file as well.")
@click.option("--quiet", is_flag=True, help="Show no progress.")
def day(file: Path, keep: bool, ics: Path | None, quiet: bool) -> None:
    """Plan the methods of the wish FILE (such as methods/days/friday.yml) on the house's equipment and people.

    Prints the steps by the clock, who and what is taken when, and the shopping list; or why it cannot be done and what
    would mend it. Needs the extra "plan" (a constraint solver).
    """
    tell = _quiet if quiet else _tell
    try:
        made, house = _plan(file, tell)
        say(day_lines(made, house))
        tree = own_tree(file.resolve().parent.parent)
        if keep:
            target = file.with_name(kept_path(file.name))
            write_file(target, kept_text(made.plan, judged_mark(made.plan, made.reports)), tree)
        if ics:
            write_file(ics, day_calendar(made, datetime.now(UTC)), tree)
    except HandbookError as error:
        tell("")
        fail(str(error))


class NoPlanError(HandbookError):
    """A day that cannot be planned; the text gives the reasons, one per line."""


def _plan(file: Path, tell) -> tuple[Day, House]:
    handbook, wish = _read(file)
    tell("reading the methods")
    reports = handbook.reports(tuple(each.method for each in wish.wishes))
    house = handbook.house
    needs = {name: needs_of(report) for name, report in reports.items()}
    kitchen = kitchen_of(house)
    problem = problem_of(wish, needs, kitchen)
    tell("looking for a plan")
    answer = solve(problem, progress=lambda count: tell(f"looking for a better plan: {count} found"))
    if answer.status == IMPOSSIBLE:
        found = reasons(wish, needs, kitchen, lambda what: tell(f"no plan; trying: {what}"))
        tell("")
        raise NoPlanError("\n".join(_reason_lines(file, found)))
    if answer.status != SOLVED:
        raise NoPlanError(f"{one_line(file)}: no plan found within the limit of work; whether one exists is not known")
    faults = check_day(answer.plan, wish, needs, kitchen)
    if faults:
        raise NoPlanError(
            "\n".join(f"{one_line(file)}: the plan breaks a rule (please report this): {each}" for each in faults)
        )
    tell("the safety rules over the planned times")
    faults = judge_plan(answer.plan, reports, house, handbook.catalogue)
    if faults:
        raise NoPlanError("\n".join(f"{one_line(file)}: refused: {each}" for each in faults))
    tell("")
    return Day(wish=wish, reports=reports, plan=answer.plan, troubles=()), house


def _read(file: Path) -> tuple[Handbook, DayWish]:
    place = source_place(file)
    folder = place.parent.parent
    if not os.path.isfile(place) or place.parent.name != FOLDER or not os.path.isfile(folder / HOUSE_FILE):
        wanted = f"a wish file in the folder {FOLDER} of a methods folder with a {HOUSE_FILE}"
        raise FaultsError([PageError(str(file), 1, "file", "no such file", wanted)])
    handbook = open_handbook(folder)
    return handbook, handbook.wish(f"{FOLDER}/{file.name}")


def day_lines(made: Day, house: House) -> list[str]:
    """The plan as lines of text: the steps by the clock, the chart, the shopping list."""
    lines = [made.wish.title, ""]
    marks = letters(made)
    for each in made.wish.wishes:
        title = made.reports[each.method].method.front_matter.title
        loads = made.plan.loads(each.method)
        cut = f", in {loads} loads" if loads > 1 else ""
        lines.append(f"  {marks[each.method]}  {title}, {format_mass(each.batch)}{cut}: ready {_moment(each.ready)}")
    bought = shopping(made.wish.wishes, made.reports, house)
    parts = (clock_lines(made), chart_lines(made, kitchen_of(house)), shopping_lines(bought, house.currency))
    return [*lines, *(line for part in parts for line in ("", *part)), "", CAUTION]


def clock_lines(made: Day) -> list[str]:
    """Every start and every hands-on time, with a heading for each day."""
    lines, today = [], None
    for moment, text in clock_entries(made):
        if moment.date() != today:
            today = moment.date()
            lines.append(format_day(moment))
        lines.append(f"  {moment:%H:%M}  {text}")
    return lines


def clock_entries(made: Day) -> list[tuple[datetime, str]]:
    """(time, words) in order."""
    found, marks = [], letters(made)
    for step in made.plan.steps:
        page = made.reports[step.method].method.steps[step.number - 1]
        name = mark(step, marks[step.method])
        where = ", ".join(step.units) or page.place
        who = next((each.who for each in step.hands if each.start == step.start), "")
        until = f"{step.end:%H:%M}" if step.end.date() == step.start.date() else _moment(step.end)
        found.append((step.start, f"{name}  {page.do} [{where}, until {until}{f', {who}' if who else ''}]"))
        found += [
            (each.start, f"{name}  {each.do} [{each.who}]")
            for each in step.hands
            if each.start != step.start and not page.hands_on
        ]
    for each in made.wish.wishes:
        found.append(
            (each.ready, f"{marks[each.method]}  ready: {made.reports[each.method].method.front_matter.title}")
        )
    return sorted(found, key=lambda each: each[0])


def chart_lines(made: Day, kitchen) -> list[str]:
    """Chart of people and equipment: one character for each half hour, the method's letter, + where several start."""
    needs = {name: needs_of(report) for name, report in made.reports.items()}
    shown = day_rows(made, needs, kitchen)
    width = max(len(each.name) for each in (*shown.rows, *shown.profiles)) + 2
    lines = []
    first, last = shown.hours
    for date in shown.days:
        start = datetime.combine(date, datetime.min.time()) + timedelta(hours=first)
        cells = [start + timedelta(minutes=CELL * number) for number in range((last - first) * 60 // CELL)]
        hours = "".join(f"{first + number:02d}".ljust(60 // CELL) for number in range(last - first))
        lines += [f"{format_day(start)}", f"{'':{width}}{hours}"]
        for row in shown.rows:
            line = "".join(_cell(row.bars, cell) for cell in cells)
            if line.strip("."):
                lines.append(f"{row.name:{width}}{line}")
        for each in shown.profiles:
            most = each.highest(cells[0], cells[-1] + timedelta(minutes=CELL))
            lines.append(f"{each.name:{width}}at most {most:.0f} of {each.room:.0f} L")
    return lines


def shopping_lines(found: Shopping, currency: str) -> list[str]:
    """The shopping list as lines of text."""
    lines = ["To buy (water from the tap)"]
    for each in found.lines:
        amount = f"{each.packs} x {each.pack_text}" if each.packs else format_mass(each.bought)
        price = format_money(each.price, currency) if each.price is not None else "no price known"
        lines.append(f"  {amount:>14}  {each.need.item} (needed {format_mass(each.need.mass)})  {price}")
    lines.append(f"  {format_money(found.total, currency)} for what has a price")
    if found.unpriced:
        lines.append(f"  without a price: {format_number(len(found.unpriced), 0)}")
    return lines


def _cell(bars, start: datetime) -> str:
    end = start + timedelta(minutes=CELL)
    found = sorted({each.mark[0] for each in bars if each.start < end and start < each.end})
    return "." if not found else found[0] if len(found) == 1 else "+"


def _reason_lines(file: Path, found) -> list[str]:
    lines = [f"{one_line(file)}: no plan is possible"]
    lines += [f"  {each.short}" for each in found if each.short]
    mends = [mend for each in found for mend in each.mends]
    return [*lines, "  each of these alone is enough:", *(f"  - {mend}" for mend in mends)] if mends else lines


def _moment(moment: datetime) -> str:
    return f"{format_day(moment)[:10].strip()} {moment:%H:%M}"


_WIDTH = [0]


def _tell(text: str) -> None:
    """The current search on one line of the terminal, rewritten in place."""
    if not sys.stderr.isatty():
        return
    click.echo(f"\r{text[:78]:{_WIDTH[0]}}" + ("" if text else "\r"), err=True, nl=False)
    _WIDTH[0] = len(text[:78])


def _quiet(_: str) -> None:
    pass
