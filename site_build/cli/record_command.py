"""``handbook record``: a starter for the file of a run, or the sheet to fill in by hand."""

from __future__ import annotations

import os
from datetime import date
from pathlib import Path

import click

from handbook.base.errors import HandbookError, UnitError, printable
from handbook.base.formats import format_time_range
from handbook.base.units import parse_quantity
from handbook.folder.run_files import RUNS, is_run_name
from handbook.page.heated import has_curve
from handbook.report.method_report import Report
from handbook.runs.run_record import TASTE_SCALE
from site_build.base.places import one_line, own_tree
from site_build.cli.method_page import method_page
from site_build.cli.terminal import fail, say, write_file
from site_build.html.render import render


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
        fail(
            f'--on: read "{printable(name)}"; allowed: a day such as 2026-10-12, or 2026-10-12-b for the second run of a day'
        )
    try:
        if batch is not None:
            parse_quantity(batch, "mass")
        handbook, report = method_page(page)
    except UnitError as error:
        fail(f"--batch: {error}")
    except HandbookError as error:
        fail(str(error))
    if paper is not None:
        _write(paper, render("run_sheet.html", report=report, scale=TASTE_SCALE), page)
        return
    target = handbook.source.folder / RUNS / report.method.name / f"{name}.yml"
    _write(target, starter_run(report, name, batch), page)
    if batch is None:
        say(["Fill in the batch: until then the build says that it is missing."])


def starter_run(report: Report, name: str, batch: str | None) -> str:
    """A commented file for a run of ``report``'s method; ``batch`` as written, or None for a blank."""
    method = report.method
    lines = [
        f"# A run of: {method.front_matter.title}. Write down what you measured; leave out what you did not.",
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
        blank = 'strength: "_ °SAL", at: _ °C, spent: "_ °SAL", spent_at: _ °C'
        lines.append(f"#  - {{use: {each.mixture.name}, {blank}}}")
    lines += [
        "",
        "# Everything at the end of its step. weight: all pieces together. salt: by a test of the food. Take the # away",
        "# from the lines that you fill in, a figure for each _, and take out what you did not measure.",
        "#steps:",
    ]
    for each in report.schedule.steps:
        lines += [
            f"  # {each.number}. {each.step.do} (page: {_page_says(each)})",
            f"#  - {{{', '.join(_asked(each))}}}",
        ]
    lines += [
        "",
        f"# A thermometer log {name}.csv beside this file: time and core at least. Name what its headings leave open.",
        f"#log: {{begins_with: {_first_heat(report)}, core: heading of the core probe}}",
        "",
        "# Taste, mean of all tasters: " + ", ".join(f"{score} {words}" for score, words in TASTE_SCALE.items()) + ".",
        "#taste: {tasters: _, salt: _, sweet: _, smoke: _, firm: _, words: what they said}",
        "#notes: anything else",
    ]
    return "\n".join(lines) + "\n"


def _asked(timed) -> list[str]:
    """The possible measurements of one step, each with a blank that no form accepts, so that none passes for a
    measurement.
    """
    step = timed.step
    parts = [f"step: {timed.number}", "time: _ min" if timed.duration.typical < 7200 else "time: _ h"]
    if step.chamber:
        parts.append("chamber: _ °C")
    elif step.temperature:
        parts.append("temperature: _ °C")
    if step.core:
        parts += ["core: _ °C"] + (["hold: _ min"] if step.hold else [])
    if step.stage in ("salt", "rinse", "freshen", "rest", "smoke", "cook", "cool", "ferment"):
        parts.append("weight: _ kg")
    if step.stage in ("salt", "rinse", "freshen"):
        parts.append("salt: _ %")
    if step.final_ph is not None or step.stage == "ferment":
        parts.append("ph: _")
    return parts


def _page_says(timed) -> str:
    step = timed.step
    around = step.chamber or step.temperature
    said = [
        format_time_range(timed.duration),
        around.text if around else "",
        f"core {step.core.text}" if step.core else "",
    ]
    return ", ".join(each for each in said if each)


def _first_heat(report: Report) -> int:
    return next((number for number, step in enumerate(report.method.steps, 1) if has_curve(step)), 1)


def _write(target: Path, text: str, page: Path) -> None:
    if os.path.exists(target):
        fail(f'{one_line(target)}: read "an existing file"; allowed: another day or name; files are not overwritten')
    write_file(target, text, own_tree(page.resolve().parent), is_new=True, err=False)
