"""``handbook batch``: begin a batch, write down what happens to it, end it, print its labels."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from handbook.base.did_you_mean import nearest
from handbook.base.errors import FaultsError, HandbookError, PageError, UnitError, printable
from handbook.base.units import Quantity, parse_quantity
from handbook.base.yaml_lines import quoted, row_line
from handbook.batches.batch_label import batch_label
from handbook.batches.batch_record import BatchRecord, read_batch
from handbook.batches.batch_remarks import remarks
from handbook.batches.batch_start import Start, start_text
from handbook.batches.batch_state import batch_state
from handbook.days.day_plan import DayPlan, Wish
from handbook.days.lot_numbers import lot_key, lot_number
from handbook.folder.batch_files import batch_path, batch_paths, lot_of, unread_batches
from handbook.folder.handbook import Handbook, open_handbook
from handbook.folder.read_text import decode_page
from handbook.page.clock import format_day, parse_moment
from handbook.report.method_report import Report
from site_build.base.places import one_line, own_tree
from site_build.cli.methods_folder import MethodsFolder
from site_build.cli.terminal import fail, say, write_file
from site_build.html.render import render
from site_build.record.method_figures import figures_without_cost

FOLDER_OPTION = click.option(
    "--in",
    "folder",
    type=MethodsFolder(),
    default="methods",
    show_default=True,
    help="Folder of the handbook.",
)
AT_OPTION = click.option("--at", metavar="MOMENT", help='When, such as "2026-11-02 08:00"; default: now.')
_BY = click.option("--by", metavar="NAME", default="", help="Who.")
#: Measurements of a line, by option: the file's key and what the terminal says of it.
_TEXTS = {
    "weight": "All pieces together, such as 6.4kg.",
    "salt": 'Salt of the food, such as "2.6 %".',
    "ph": "pH.",
    "aw": "Water activity.",
    "temperature": 'Of the surroundings, such as "4 °C".',
    "chamber": "Of smoker or oven.",
    "core": "Of the coldest core.",
    "hold": "How long the core stayed there or above.",
    "frozen": "Weight put into the freezer.",
    "amount": "How much of it went, with --went.",
    "to": "To whom, or the lot of the batch that it went into.",
    "words": "Anything else.",
}


def register(main: click.Group) -> None:
    """Add the commands to the group."""
    main.add_command(batch)


@click.group()
def batch() -> None:
    """Begin a batch, write down what happens to it, end it, print its labels.

    A batch is one file, batches/<year>/<lot>.yml in the handbook's folder. Lines are added at its end and never changed.
    """


@batch.command()
@click.argument("method")
@click.argument("amount")
@FOLDER_OPTION
@AT_OPTION
@_BY
@click.option("--thickness", default="", help='Of the pieces as measured, such as "19-22 mm".')
@click.option(
    "--lot", "lots", multiple=True, metavar="ITEM=LOT", help="Lot of a raw material; may be given several times."
)
@click.option("--reach", multiple=True, help='What it must reach beside what its page says: "35 % loss" or "pH 4.6".')
def start(
    method: str,
    amount: str,
    folder: Path,
    at: str | None,
    by: str,
    thickness: str,
    lots: tuple[str, ...],
    reach: tuple[str, ...],
) -> None:
    """Begin a batch of METHOD with AMOUNT green weight, such as 7.3kg."""
    try:
        handbook = open_handbook(folder)
        report, mark = _versioned(handbook, method.removesuffix(".md"))
        begun = moment_of(at)
        text = start_text(
            report,
            Start(
                lot=_new_lot(handbook, report.method.name, begun),
                version=mark,
                batch=parse_quantity(amount, "mass"),
                begun=begun,
                by=by,
                thickness=thickness,
                lots=_raw_lots(lots, report),
                reach=[_target(each) for each in reach],
            ),
        )
    except (HandbookError, ValueError) as error:
        fail(str(error))
    _write_new(folder, text)


@batch.command()
@click.argument("lot")
@FOLDER_OPTION
@AT_OPTION
@_BY
@click.option("--step", type=click.IntRange(1, 400), help="Number of the step.")
@click.option("--begun", "state", flag_value="begun", help="The step begins.")
@click.option("--done", "state", flag_value="done", help="The step is done.")
@click.option("--taste", metavar="N,SALT", help='Tasters and their mean score of salt, such as "6,0.5".')
@click.option("--used", metavar="ITEM=LOT", help="A further lot of a raw material.")
@click.option("--went", type=click.Choice(["eaten", "sold", "given", "used"]), help="Where finished food went.")
@click.option("--corrects", metavar="MOMENT", help="The moment of an earlier line that is wrong; it no longer counts.")
def note(
    lot: str,
    folder: Path,
    at: str | None,
    by: str,
    step: int | None,
    state: str | None,
    taste: str | None,
    used: str | None,
    went: str | None,
    corrects: str | None,
    **texts: str | None,
) -> None:
    """Add a line to the batch LOT: a step, a measurement, a lot used, where food went."""
    tasters, _, score = (taste or "").partition(",")
    item, _, raw = (used or "").partition("=")
    values = {
        "step": step,
        "is": state,
        **{name: quoted(text) for name, text in texts.items() if name not in ("to", "words") and text is not None},
        "taste": f"{{tasters: {quoted(tasters)}, salt: {quoted(score)}}}" if taste else None,
        "item": quoted(item) if used else None,
        "lot": quoted(raw) if used else None,
        "went": went,
        **{name: quoted(texts[name] or "") for name in ("to", "words") if texts[name]},
        "corrects": quoted(corrects) if corrects else None,
    }
    if not any(value is not None for value in values.values()):
        fail("note: read nothing; allowed: a step, a measurement, a lot, where it went, or words")
    append_line(folder, lot, at, by, values)


for _name, _help in _TEXTS.items():
    note = click.option(f"--{_name}", help=_help)(note)


@batch.command()
@click.argument("lot")
@FOLDER_OPTION
@AT_OPTION
@_BY
@click.option("--why", default="all of it is gone", show_default=True, help="Why nothing more is to be done.")
def end(lot: str, folder: Path, at: str | None, by: str, why: str) -> None:
    """End the batch LOT: from now on it is a run that its method learns from."""
    append_line(folder, lot, at, by, {"ended": quoted(why)})


@batch.command()
@click.argument("lot")
@FOLDER_OPTION
@AT_OPTION
@_BY
@click.option("--why", required=True, help="Why it is thrown away.")
def discard(lot: str, folder: Path, at: str | None, by: str, why: str) -> None:
    """Throw the batch LOT away and say why. Nothing is learned from it."""
    append_line(folder, lot, at, by, {"discarded": quoted(why)})


@batch.command()
@click.argument("lot")
@FOLDER_OPTION
@click.option("--into", type=click.Path(path_type=Path, dir_okay=False), required=True, help="File to print (.html).")
@click.option("--count", type=click.IntRange(1, 200), default=8, show_default=True, help="How many labels.")
def label(lot: str, folder: Path, into: Path, count: int) -> None:
    """Labels of the batch LOT, to print: name, ingredients, allergens, lot, days, keeping."""
    handbook, record, _ = batch_of(folder, lot)
    found = batch_label(record)
    if found.refusal:
        fail(f"{record.lot}: no label: {found.refusal}")
    if found.packed is None or found.is_planned:
        say([f"{record.lot}: not all steps are done, so days that are not known yet stay blank"], err=True)
    write_file(
        into,
        render("labels.html", label=found, count=count, kitchen=handbook.house.kitchen, day=format_day),
        own_tree(folder),
    )


@batch.command("from-day")
@click.argument("wish", type=click.Path(path_type=Path, dir_okay=False))
@_BY
def from_day(wish: Path, by: str) -> None:
    """Begin the batches of the day plan WISH, such as methods/days/friday.yml, at the plan's own times."""
    folder = wish.resolve().parent.parent
    try:
        handbook = open_handbook(folder)
        day = handbook.day(f"days/{wish.name}")
        if day.plan is None:
            raise FaultsError(
                [PageError(str(wish), 1, "plan", day.troubles[0], "a plan that still fits: handbook day --keep")]
            )
        texts = [_planned_text(handbook, each, day.plan, by) for each in day.wish.wishes]
    except HandbookError as error:
        fail(str(error))
    for text in texts:
        _write_new(folder, text)


def batch_of(folder: Path, lot: str) -> tuple[Handbook, BatchRecord, str]:
    """The handbook, the batch of the lot number ``lot`` and the text of its file; ends with its faults."""
    try:
        handbook = open_handbook(folder)
    except HandbookError as error:
        fail(str(error))
    source = handbook.source
    if unread := unread_batches(source.faults, source.file("")):
        fail(str(FaultsError(unread)))
    known = {lot_of(path): path for path in batch_paths(source.contents)}
    alike = [lot] if lot in known else [each for each in known if lot_key(each) == lot_key(lot)]
    if len(alike) > 1:
        fail(f'lot: read "{printable(lot)}"; allowed: one lot number: {" or ".join(alike)}')
    path = known[alike[0]] if alike else None
    if path is None:
        near = nearest(lot, list(known))
        fail(
            f'lot: read "{printable(lot)}"; allowed: the lot number of a batch in {one_line(folder)}'
            + (f". Did you mean {near}?" if near else "")
        )
    text = source.contents[path].decode("utf-8", "replace")
    record, faults = _read(handbook, path, source.contents[path])
    if record is None:
        fail(str(FaultsError(faults)))
    return handbook, record, text


def moment_of(at: str | None) -> datetime:
    """The moment of an option, or now to the minute. Raises UnitError."""
    return parse_moment(at) if at else datetime.now().replace(second=0, microsecond=0)


def append_line(folder: Path, lot: str, at: str | None, by: str, values: dict[str, object]) -> None:
    """Add a line to a batch's file, which must read without a fault afterwards; ends with the faults otherwise."""
    handbook, record, text = batch_of(folder, lot)
    try:
        when = moment_of(at)
    except UnitError as error:
        fail(f"--at: {error}")
    line = row_line(at=f"{when:%Y-%m-%d %H:%M}", by=quoted(by) if by else None, **values)
    if record.entries == () and "\nentries:" not in text:
        line = f"entries:\n{line}"
    path = batch_path(record.lot)
    changed = text.rstrip("\n") + f"\n{line}\n"
    newer, faults = _read(handbook, path, changed.encode("utf-8", "surrogatepass"))
    if newer is None:
        fail(str(FaultsError(faults)) + f"\nnothing was written to {one_line(folder / path)}")
    last = max((each.at for each in record.entries), default=record.begun)
    if when < last and values.get("corrects") is None:
        say(
            [
                f"note: this line's clock, {when:%Y-%m-%d %H:%M}, stands before that of the last line, {last:%Y-%m-%d %H:%M}"
            ],
            err=True,
        )
    write_file(folder / path, changed, own_tree(folder), err=False)
    said = {each.words for each in remarks(record)}
    for each in remarks(newer):
        if each.words not in said:
            say([f"outside: {each.words}; {each.check}"])


def _read(handbook: Handbook, path: str, data: bytes) -> tuple[BatchRecord | None, list[PageError]]:
    text, fault = decode_page(data, handbook.source.file(path))
    if fault:
        return None, [fault]
    return read_batch(lot_of(path), handbook.source.file(path), text, handbook.house.measures)


def _versioned(handbook: Handbook, name: str) -> tuple[Report, str]:
    report = handbook.report(name)
    page = handbook.page(f"{name}.md")
    return report, figures_without_cost(report, page.text, handbook.house, handbook.catalogue).mark


def _new_lot(handbook: Handbook, method: str, begun: datetime) -> str:
    taken = [lot_of(path) for path in batch_paths(handbook.source.contents)]
    lot = lot_number(method, begun.date(), taken)
    if not lot:
        read, allowed = f"a 26th batch of {method} on one day", "at most 25 of one method on a day"
        raise FaultsError([PageError(handbook.source.folder.name, 1, "lot", read, allowed)])
    return lot


def _raw_lots(lots: tuple[str, ...], report: Report) -> list[tuple[str, str]]:
    items = [report.method.front_matter.food]
    items += [part.ingredient.name for each in (*report.saltings, *report.glazes) for part in each.made.parts]
    found = []
    for each in lots:
        item, sign, lot = (part.strip() for part in each.partition("="))
        if not sign or item not in items:
            near = nearest(item, items)
            raise UnitError(
                each,
                f"ITEM=LOT with an item of the method: {'; '.join(dict.fromkeys(items))}",
                f"{near}={lot}" if near else "",
            )
        found.append((item, lot))
    return found


def _target(text: str) -> str:
    words = text.casefold().split()
    if len(words) == 2 and words[0] == "ph":
        return f"ph: {words[1]}"
    share = text.casefold().removesuffix("loss").strip()
    return f"loss: {parse_quantity(share, 'fraction').text}"


def _planned_text(handbook: Handbook, wish: Wish, plan: DayPlan, by: str) -> str:
    """The start of a planned batch; a batch in loads is one batch, from the first load's beginning to the last one's end."""
    report, mark = _versioned(handbook, wish.method)
    times: dict[int, tuple[datetime, datetime]] = {}
    for step in plan.of(wish.method):
        begin, end = times.get(step.number, (step.start, step.end))
        times[step.number] = min(begin, step.start), max(end, step.end)
    begun = plan.begun(wish.method)
    amount = Quantity(low=wish.batch, high=wish.batch, dimension="mass", text=f"{wish.batch:g} kg")
    lot = _new_lot(handbook, wish.method, begun)
    return start_text(report, Start(lot=lot, version=mark, batch=amount, begun=begun, by=by, times=times))


def _write_new(folder: Path, text: str) -> None:
    """Write a new batch's file, once it reads without a fault."""
    lot = next(line.removeprefix("lot: ") for line in text.split("\n") if line.startswith("lot: "))
    path = batch_path(lot)
    text, fault = decode_page(text.encode("utf-8", "surrogatepass"), f"{folder.name}/{path}")
    if fault:
        fail(str(fault))
    record, faults = read_batch(lot, f"{folder.name}/{path}", text)
    if record is None:
        fail(str(FaultsError(faults)))
    write_file(folder / path, text, own_tree(folder.resolve()), is_new=True, err=False)
    current = batch_state(record).current
    say([f"lot {lot}: step 1 until {current.usual:%Y-%m-%d %H:%M}" if current else f"lot {lot}"])
