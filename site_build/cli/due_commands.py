"""``handbook due``, ``recall``, ``stock`` and ``thermometer``: commands on all batches of a kitchen."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import click

from handbook.base.errors import FaultsError, HandbookError, UnitError, printable
from handbook.base.formats import format_mass, format_percent
from handbook.base.yaml_lines import quoted, row_line
from handbook.batches.batch_record import BatchRecord
from handbook.batches.batch_summary import BatchSummary, batch_summary
from handbook.batches.due_list import DueRow, TargetCourse, due_list
from handbook.batches.kitchen_lists import (
    CHECKED_IN,
    CHECKS_FORM,
    STOCK_FORM,
    OnShelf,
    on_shelf,
    read_list,
    still_to_buy,
)
from handbook.batches.recall import Recall, recall
from handbook.days.shopping import Needed, needed_items, shopping_of
from handbook.folder.batch_files import BATCHES, CHECKS, STOCK, batch_path, read_batch_files, stock_lines
from handbook.folder.handbook import Handbook, open_handbook
from handbook.folder.read_text import decode_page
from handbook.page.clock import format_day, format_moment
from site_build.base.places import own_tree
from site_build.cli.batch_commands import AT_OPTION, FOLDER_OPTION, append_line, moment_of
from site_build.cli.day_command import shopping_lines
from site_build.cli.terminal import fail, say, write_file
from site_build.html.render import render

_HEADS = {
    "late": "Late",
    "today": "Today",
    "waiting": "Waiting",
    "keeping": "Ready and keeping",
}


def register(main: click.Group) -> None:
    """Add the commands to the group."""
    for each in (due, recalled, stock, thermometer):
        main.add_command(each)


@click.command()
@FOLDER_OPTION
@AT_OPTION
def due(folder: Path, at: str | None) -> None:
    """What is due: late, today, waiting, and until when finished food must be eaten, sold or frozen."""
    handbook, records, when = _read(folder, at, only_open=at is None)
    rows = due_list(records, when)
    lines = [f"{handbook.house.kitchen}, {format_day(when)} {when:%H:%M}"]
    for group, head in _HEADS.items():
        own = [each for each in rows if each.group == group]
        if own:
            lines += ["", head, *(line for each in own for line in _row_lines(each, when))]
    if not rows:
        lines.append("nothing in progress")
    lines += _future_lines(records)
    say(lines)


@click.command("recall")
@click.argument("lot")
@FOLDER_OPTION
@AT_OPTION
@click.option("--into", type=click.Path(path_type=Path, dir_okay=False), help="Write a sheet to print (.html) as well.")
@click.option("--why", help="Call the batches back: adds a line to each of them.")
@click.option("--by", metavar="NAME", default="", help="Who calls them back.")
def recalled(lot: str, folder: Path, at: str | None, into: Path | None, why: str | None, by: str) -> None:
    """Everything that LOT touched: a raw lot, or the lot of a batch."""
    _, records, when = _read(folder, at)
    found = recall(lot, summaries(records))
    if not found.is_known:
        near = f". Did you mean {printable(found.near)}?" if found.near else ""
        fail(f'lot: read "{printable(lot)}"; allowed: a lot that a batch names{near}')
    say(recall_lines(found))
    if into is not None:
        write_file(
            into, render("recall_sheet.html", found=found, day=format_day, moment=format_moment(when)), own_tree(folder)
        )
    if why:
        for each in found.touched:
            append_line(folder, each.batch.lot, at, by, {"recalled": quoted(why)})


@click.command()
@FOLDER_OPTION
@AT_OPTION
@click.option("--item", help="Write a line: the food or ingredient that was counted, bought or lost.")
@click.option("--counted", help="All of it on the shelf, such as 2.5kg.")
@click.option("--bought", help="What came in.")
@click.option("--lost", help="Thrown away or spilt.")
@click.option("--lot", help="Lot of what came in.")
@click.option("--from", "source", help="From whom.")
@click.option("--by", metavar="NAME", default="", help="Who.")
@click.option(
    "--days", type=click.IntRange(0, 90), default=14, show_default=True, help="Day plans of so many days ahead count."
)
def stock(
    folder: Path,
    at: str | None,
    item: str | None,
    counted: str | None,
    bought: str | None,
    lost: str | None,
    lot: str | None,
    source: str | None,
    by: str,
    days: int,
) -> None:
    """What should stand on the shelf, what the coming day plans need, and what to buy; with --item, write a line."""
    handbook, records, when = _read(folder, at)
    if item is not None:
        values = {
            "item": quoted(item),
            "counted": counted,
            "bought": bought,
            "lost": lost,
            "lot": quoted(lot) if lot else None,
            "from": quoted(source) if source else None,
        }
        if item not in handbook.catalogue.foods and item not in handbook.catalogue.ingredients:
            fail(f'--item: read "{printable(item)}"; allowed: a food or an ingredient of the handbook: handbook names')
        _add_row(handbook, folder, f"{BATCHES}{when.year}/{STOCK}", STOCK_FORM, when, by, values)
        return
    lines, faults = stock_lines(handbook.source)
    if faults:
        fail(str(FaultsError(faults)))
    shelf = on_shelf(lines, summaries(records), when, lambda name: not name.startswith("water"))
    needed = _needed(handbook, records, when, when + timedelta(days=days))
    say(["On the shelf, by what was counted, bought and used since", *map(_shelf_line, shelf)])
    bought_list = shopping_of(still_to_buy(needed, shelf), handbook.house)
    say(
        ["", *shopping_lines(bought_list, handbook.house.currency)]
        if needed
        else ["", f"No day plan begins within {days} days."]
    )


def _shelf_line(each: OnShelf) -> str:
    if each.mass is None:
        held = "never counted"
    else:
        held = format_mass(each.mass) if each.mass >= 0 else f"{format_mass(-each.mass)} missing: count it"
    counted = f"counted {format_day(each.counted_at)}" if each.counted_at else f"batches used {format_mass(each.used)}"
    return f"  {held:>16}  {each.item} ({counted})"


@click.command()
@click.argument("name")
@click.argument("read")
@FOLDER_OPTION
@AT_OPTION
@click.option("--checked-in", type=click.Choice(CHECKED_IN), default=CHECKED_IN[0], show_default=True, help="In what.")
@click.option("--wanted", help="What it should read, such as the boiling point of this place.")
@click.option("--done", default="", help="What was done about it.")
@click.option("--by", metavar="NAME", default="", help="Who.")
def thermometer(
    name: str, read: str, folder: Path, at: str | None, checked_in: str, wanted: str | None, done: str, by: str
) -> None:
    """Write down the check of the thermometer NAME that read READ, such as "0.2 °C" in ice water."""
    values = {
        "thermometer": quoted(name),
        "in": checked_in,
        "read": quoted(read),
        "wanted": quoted(wanted) if wanted else None,
        "done": quoted(done) if done else None,
    }
    handbook, _, when = _read(folder, at)
    _add_row(handbook, folder, f"{BATCHES}{when.year}/{CHECKS}", CHECKS_FORM, when, by, values)


def summaries(records: list[BatchRecord]) -> list[BatchSummary]:
    """The summaries of ``records``."""
    return [batch_summary(batch_path(each.lot), each) for each in records]


def recall_lines(found: Recall) -> list[str]:
    """A recall as lines of text."""
    count = len(found.touched)
    lines = [f"Lot {found.lot} ({', '.join(found.items)}): {count} batch{'' if count == 1 else 'es'} touched"]
    lines += [f"  made from {each.item}, lot {each.lot}" for each in found.made_from]
    for each in found.touched:
        left = f", {format_mass(each.batch.left)} left" if each.batch.left else ""
        lines.append(
            f"  {each.batch.lot}  {each.batch.title}, {format_mass(each.batch.batch)}, {each.batch.state}{left}; through {' > '.join(each.through)}"
        )
        for one in each.batch.sent:
            mass = f" {format_mass(one.mass)}" if one.mass else ""
            lines.append(f"      {one.kind}{mass}{f', {one.to}' if one.to else ''}, {one.on}")
    return [*lines, "Food that left without a line stands nowhere; the licensing authority says who must be told."]


def course_words(each: TargetCourse, begun: datetime) -> str:
    """When a target is expected, in words."""
    target, expected = each.target, each.expected
    name = f"{format_percent(target.loss.low, 0)} loss" if target.loss else f"pH {target.ph:g}"
    if expected.reached is not None:
        return f"{name} reached {format_moment(begun + timedelta(seconds=expected.reached))}"
    if expected.typical is None or expected.low is None or expected.high is None:
        return f"{name}: {expected.why}"
    low, typical, high = (begun + timedelta(seconds=end) for end in (expected.low, expected.typical, expected.high))
    return f"{name} expected {format_day(typical)}, between {format_day(low)} and {format_day(high)}, by its own measurements"


def _future_lines(records: list[BatchRecord]) -> list[str]:
    """One line where entries are later than this machine's clock, since one of the clocks is wrong."""
    now = datetime.now() + timedelta(minutes=5)
    later = {record.lot: sum(each.at > now for each in record.entries) for record in records}
    lots = [lot for lot, count in later.items() if count]
    if not lots:
        return []
    count = sum(later.values())
    return ["", f"{count} lines are later than this machine's clock, the first in {lots[0]}; is a clock wrong?"]


def _row_lines(each: DueRow, at: datetime) -> list[str]:
    when = f"{format_moment(each.when):>16}" if each.when else f"{'':>16}"
    lines = [f"  {when}  {each.record.lot}: {each.what}"]
    if each.latest is not None and each.group == "late":
        lines.append(f"{'':20}should have been done by {format_moment(each.latest)}")
    elif each.earliest is not None and each.latest is not None and each.earliest != each.latest:
        lines.append(f"{'':20}between {format_moment(each.earliest)} and {format_moment(each.latest)}")
    if each.state.left and each.state.current is None:
        lines.append(f"{'':20}{format_mass(each.state.left)} left by its weights")
    lines += [f"{'':20}then {moment:%H:%M} {words}" for moment, words in each.then]
    lines += [f"{'':20}{course_words(course, each.record.begun)}" for course in each.courses]
    lines += [f"{'':20}outside: {one.words}; {one.check}" for one in each.remarks if one.at.date() == at.date()]
    return lines


def _needed(handbook: Handbook, records: list[BatchRecord], first: datetime, last: datetime) -> tuple[Needed, ...]:
    """Needs of the day plans that begin from ``first`` to ``last``, without their batches that have begun."""
    begun = {(each.method, each.begun.date()) for each in records}
    wishes = []
    for path in handbook.days:
        wish = handbook.wish(path)
        if first <= wish.end and wish.begin <= last:
            wishes += [
                each
                for each in wish.wishes
                if not any(
                    (each.method, (wish.begin + timedelta(days=n)).date()) in begun
                    for n in range((wish.end - wish.begin).days + 1)
                )
            ]
    return needed_items(tuple(wishes), handbook.reports(tuple(each.method for each in wishes))) if wishes else ()


def _read(folder: Path, at: str | None, *, only_open: bool = False) -> tuple[Handbook, list[BatchRecord], datetime]:
    try:
        handbook = open_handbook(folder)
        return handbook, read_batch_files(handbook.source, handbook.house.measures, only_open=only_open), moment_of(at)
    except UnitError as error:
        fail(f"--at: {error}")
    except HandbookError as error:
        fail(str(error))


def _add_row(handbook: Handbook, folder: Path, path: str, form, when: datetime, by: str, values: dict) -> None:
    """Add a row to one of the kitchen's lists, which must read without a fault afterwards."""
    old, fault = decode_page(handbook.source.contents.get(path, b""), handbook.source.file(path))
    if fault:
        fail(str(fault))
    text = f"{old.rstrip()}\n" if old.strip() else ""
    text += row_line(at=f"{when:%Y-%m-%d %H:%M}", by=quoted(by) if by else None, **values) + "\n"
    text, fault = decode_page(text.encode("utf-8", "surrogatepass"), handbook.source.file(path))
    _, faults = ((), [fault]) if fault else read_list(form, text, f"{folder.name}/{path}", "list")
    if faults:
        fail(str(FaultsError(faults)))
    if path not in handbook.source.contents:
        write_file(folder / path, text, own_tree(folder), is_new=True, err=False)
    else:
        write_file(folder / path, text, own_tree(folder), err=False)
