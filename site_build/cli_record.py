"""``handbook record``: a starter for the file of a run, or the sheet to fill in by hand."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path

import click

from handbook.errors import HandbookError, UnitError
from handbook.evaluate import Report
from handbook.run_record import TASTE_SCALE
from handbook.units import parse_quantity
from site_build.book import HOUSE_FILE
from site_build.cli_plan import read_method_page
from site_build.render import render
from site_build.run_files import RUNS, is_run_name


def register(main: click.Group) -> None:
    """Add the command to the group."""
    main.add_command(record)


@click.command()
@click.argument("page", type=click.Path(path_type=Path))
@click.option("--on", "name", metavar="DAY", help="Day of the run, such as 2026-10-12; 2026-10-12-b for a second one.")
@click.option("--batch", metavar="WEIGHT", help='Green weight of this batch, such as "2.84 kg".')
@click.option(
    "--paper",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write a sheet to print and fill in by hand (.html) instead.",
)
def record(page: Path, name: str | None, batch: str | None, paper: Path | None) -> None:
    """Start the record of one run of the method PAGE: runs/<method>/<day>.yml beside it, with the method's own steps."""
    name = name or date.today().isoformat()
    if not is_run_name(name):
        _fail(f'--on: read "{name}"; allowed: a day such as 2026-10-12, or 2026-10-12-b for the second run of a day')
    try:
        if batch is not None:
            parse_quantity(batch, "mass")
        report = read_method_page(page)
    except UnitError as error:
        _fail(f"--batch: {error}")
    except HandbookError as error:
        _fail(str(error))
    if paper is not None:
        _write(paper, render("run_sheet.html", report=report, scale=TASTE_SCALE))
        return
    folder = next(each for each in page.resolve().parents if (each / HOUSE_FILE).is_file())
    target = folder / RUNS / report.method.name / f"{name}.yml"
    _write(target, starter_run(report, name, batch))
    if batch is None:
        click.echo("Fill in the batch: until then the build says that it is missing.")


def starter_run(report: Report, name: str, batch: str | None) -> str:
    """A commented file for a run of ``report``'s method; ``batch`` as written, or None to be filled in."""
    method = report.method
    lines = [
        f"# A run of: {method.sheet.title}. Write down what you measured; leave out what you did not.",
        f"on: {name[:10]}",
        "#cook: your name",
        f"batch: {batch or ''}".rstrip() + "        # green weight of all pieces, as weighed",
        f'#thickness: "{method.pieces.thickness.text}"        # as measured, thinnest to thickest',
    ]
    wet = [each for each in report.saltings if each.strength]
    if wet:
        lines += [
            "",
            "# Brine as read, with its own temperature: °SAL (salometer), SG (hydrometer) or % (salt by mass).",
            "#brines:",
        ]
    for each in wet:
        degrees = each.strength.degrees_salometer
        shown = f"{degrees:.0f} °SAL" if degrees is not None else f"{100 * each.strength.salt_mass_fraction:.1f} %"
        lines.append(
            f'#  - {{use: {each.mixture.name}, strength: "{shown}", at: 4 °C, spent: "{shown}", spent_at: 4 °C}}'
        )
    lines += [
        "",
        "# Everything at the end of its step. weight: all pieces together. salt: by a test of the food. Take the # away",
        "# from the lines that you fill in; the figures here are those of the page, not measurements.",
        "#steps:",
    ]
    for each in report.schedule.steps:
        lines += [f"  # {each.number}. {each.step.do}", f"#  - {{{', '.join(_asked(each))}}}"]
    lines += [
        "",
        f"# A thermometer log {name}.csv beside this file: time and core at least. Name what its headings leave open.",
        f"#log: {{begins_with: {_first_heat(report)}, core: heading of the core probe}}",
        "",
        "# Taste, mean of all tasters: " + ", ".join(f"{score} {words}" for score, words in TASTE_SCALE.items()) + ".",
        "#taste: {tasters: 4, salt: 0, sweet: 0, smoke: 0, firm: 0, words: what they said}",
        "#notes: anything else",
    ]
    return "\n".join(lines) + "\n"


def _asked(timed) -> list[str]:
    step, duration = timed.step, timed.duration.typical
    time = f"{duration / 60:.0f} min" if duration < 7200 else f"{duration / 3600:.1f} h"
    parts = [f"step: {timed.number}", f"time: {time}"]
    if step.chamber:
        parts.append(f"chamber: {step.chamber.middle - 273.15:.0f} °C")
    elif step.temperature:
        parts.append(f"temperature: {step.temperature.middle - 273.15:.0f} °C")
    if step.core:
        parts.append(f"core: {step.core.low - 273.15:.0f} °C")
        if step.hold:
            parts.append(f"hold: {step.hold.low / 60:.0f} min")
    if step.stage in ("salt", "rinse", "freshen", "rest", "smoke", "cook", "cool", "ferment"):
        parts.append("weight: 0.00 kg")
    if step.stage in ("salt", "rinse", "freshen"):
        parts.append("salt: 0.0 %")
    if step.final_ph is not None or step.stage == "ferment":
        parts.append("ph: 4.0")
    return parts


def _first_heat(report: Report) -> int:
    return next((number for number, step in enumerate(report.method.steps, 1) if step.stage in ("smoke", "cook")), 1)


def _write(target: Path, text: str) -> None:
    if target.exists():
        _fail(f'{target}: read "a file that is there"; allowed: another day or name: nothing is written over')
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(text, "utf-8")
    except OSError as error:
        _fail(f"{target}: cannot be written ({error.strerror})")
    click.echo(f"wrote {target}")


def _fail(text: str) -> None:
    click.echo(text, err=True)
    sys.exit(1)
