"""The review commands: compare two versions, sign a version, write the schemas."""

from __future__ import annotations

import datetime
import os
import shutil
import sys
from pathlib import Path
from stat import S_ISREG
from typing import NoReturn

import click

from handbook.base.dates import ALLOWED, FIRST, LAST
from handbook.base.errors import CONTROLS, HandbookError, printable
from handbook.catalogue.name_resolver import food_names, ingredient_names
from handbook.catalogue.tables import engine_tables
from handbook.folder.handbook import open_handbook
from handbook.folder.kitchen import HOUSE_FILE
from handbook.folder.read_text import decode_page
from handbook.page.vocabulary import Vocabulary
from site_build.base.files import write_file
from site_build.base.places import PlaceError, one_line, own_tree, real_place, source_place
from site_build.base.progress import Progress
from site_build.cli.methods_folder import MethodsFolder
from site_build.cli.terminal import fail, say, say_whole
from site_build.outputs.schemas import schema_texts
from site_build.record.figures import MOST_BYTES, FiguresError, Recorded, read_figures
from site_build.review.changes import CHANGED, SAME, STOPPED, Comparison
from site_build.review.compare import compare_recorded
from site_build.review.comparison import HOUSES, review
from site_build.review.edition import Reader, folder_edition
from site_build.review.report_html import html_text
from site_build.review.report_json import json_text
from site_build.review.report_markdown import LIMIT, markdown_text
from site_build.review.report_terminal import terminal_text
from site_build.review.signed import SIGNED_FILE, read_signed, with_signature

#: Exit code of a comparison that failed.
NOT_DONE = 3
FORMS = ("terminal", "markdown", "html", "json")
GATES = ("changes", "stops", "none")
_FOLDER = click.Path(path_type=Path, file_okay=False)
_FILE = click.Path(path_type=Path, dir_okay=False)


@click.command()
@click.argument("base", required=False)
@click.argument("head", required=False)
@click.option(
    "--folder", type=MethodsFolder(), default="methods", show_default=True, help="The folder of methods, kept in git."
)
@click.option(
    "--house",
    type=click.Choice(HOUSES),
    default="today",
    show_default=True,
    help="today: both in the newer house data, its effect reported apart; own: each in its own.",
)
@click.option("--from-fork", is_flag=True, help="Compare with the commit where HEAD left BASE, not with BASE itself.")
@click.option(
    "--recorded",
    "records",
    nargs=2,
    type=_FILE,
    help="Compare two builds' figures.json instead of revisions.",
)
@click.option(
    "--as",
    "form",
    type=click.Choice(FORMS),
    default="terminal",
    show_default=True,
    help="Form of the report.",
)
@click.option("--into", "file", type=_FILE, help="Write the report into this file.")
@click.option("--details", is_flag=True, help="Show details in the terminal that are otherwise only counted.")
@click.option("--most", type=click.IntRange(1000), default=LIMIT, show_default=True, help="Longest Markdown, in bytes.")
@click.option(
    "--gate",
    type=click.Choice(GATES),
    default="changes",
    show_default=True,
    help="What gives an exit code other than 0: every computed change (1) and stop (2), only stops (2), or nothing.",
)
def compare(base, head, folder, house, from_fork, records, form, file, details, most, gate) -> None:
    """Report what changes on the plate between revision BASE and revision HEAD (or the working tree).

    \b
    Exits with
      0  no computed change
      1  computed figures, findings, times, ingredients or steps changed
      2  a rule newly stops a method, or a page no longer builds
      3  the comparison could not be done
    """
    folder = _folder(folder)
    if bool(base) == bool(records):
        read = "both" if base else "nothing"
        _fail(f"BASE: read {read}; allowed: a revision BASE, or --recorded with two files")
    try:
        if records:
            found = compare_recorded(*(_read_record(each) for each in records), (records[0].name, records[1].name))
        else:
            with Progress() as progress:
                found = review(folder, base, head, house, from_fork, progress)
    except (HandbookError, OSError) as error:
        _fail(str(error))
    _say(found, form, file, own_tree(folder), details, most)
    sys.exit({"changes": found.code, "stops": found.code if found.code == STOPPED else SAME, "none": SAME}[gate])


@click.command()
@click.argument("into", type=_FOLDER, default="schemas")
@click.option("--folder", type=MethodsFolder(), default="methods", show_default=True, help="The folder of methods.")
def schemas(into: Path, folder: Path) -> None:
    """Write JSON Schemas of front matter, blocks, house file and reports INTO a folder, for editors that read them.

    Where FOLDER holds a handbook, its own foods, ingredients and containers are among the names.
    """
    try:
        folder = source_place(folder)
        words = _words(folder)
        texts, tree = schema_texts(words), own_tree(folder)
        real_place(into, tree).mkdir(parents=True, exist_ok=True)
        for name, text in texts.items():
            write_file(into / name, text, tree)
    except (HandbookError, OSError) as error:
        _fail(str(error))
    say([f"wrote {len(texts)} schemas into {one_line(into)}"])


@click.command()
@click.argument("method")
@click.option("--by", required=True, help="Who reviewed it.")
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), help="Day of the review; default: today.")
@click.option("--folder", type=MethodsFolder(), default="methods", show_default=True, help="The folder of methods.")
def sign(method: str, by: str, on: datetime.datetime | None, folder: Path) -> None:
    """Sign the present version of METHOD in FOLDER as reviewed: adds a line to signed.yml."""
    day = on.date() if on else datetime.date.today()
    if CONTROLS.search(by) or "\n" in by:
        _fail(f'--by: read "{printable(by)}"; allowed: a name on one line, without control characters')
    if not FIRST <= day <= LAST:
        _fail(f'--on: read "{day.isoformat()}"; allowed: {ALLOWED}')
    folder = _folder(folder)
    page, path = f"{method}.md", folder / SIGNED_FILE
    edition = folder_edition(folder, "")
    if edition.file_faults:
        _fail("\n".join(map(str, edition.file_faults)))
    kitchen, faults = edition.kitchen()
    version = Reader().version(edition, page, kitchen, faults)
    if version.figures is None or version.faults:
        _fail(
            "\n".join(version.faults)
            or f'METHOD: read "{printable(method)}"; allowed: a method of {folder.name}, without .md'
        )
    try:
        text, fault = decode_page(edition.held.get(SIGNED_FILE, b""), f"{folder.name}/{SIGNED_FILE}")
        if fault:
            _fail(str(fault))
        signed = with_signature(text, method, version.figures.mark, by, day)
        read_signed(signed, f"{folder.name}/{SIGNED_FILE}", {each.removesuffix(".md") for each in edition.pages})
        write_file(path, signed, own_tree(folder))
    except (HandbookError, OSError) as error:
        _fail(str(error))
    say([f"signed {method} {version.figures.mark}: {printable(by)}, {day.isoformat()}"])


def register(main: click.Group) -> None:
    """Add the review commands to the main command."""
    for command in (compare, schemas, sign):
        main.add_command(command)


def _say(found: Comparison, form: str, file: Path | None, tree: Path, details: bool, most: int) -> None:
    if form == "terminal":
        width = shutil.get_terminal_size().columns if file is None else 100
        text = terminal_text(found, width, details)
    else:
        text = {
            "markdown": lambda: markdown_text(found, most),
            "html": lambda: html_text(found),
            "json": lambda: json_text(found),
        }[form]()
    if file is None:
        say_whole(text)
        return
    try:
        write_file(file, click.unstyle(text) if form == "terminal" else text, tree)
    except HandbookError as error:
        _fail(str(error))
    except OSError as error:
        _fail(f"{one_line(file)}: cannot be written ({error.strerror})")
    said = {
        SAME: "no computed change",
        CHANGED: "computed changes",
        STOPPED: "a new stop or a page that no longer builds",
    }
    say([f"{said[found.code]}: {one_line(file)}"], err=True)


def _folder(folder: Path) -> Path:
    try:
        return source_place(folder)
    except PlaceError as error:
        _fail(str(error))


def _read_record(path: Path) -> Recorded:
    try:
        state = path.stat()
        if not S_ISREG(state.st_mode) or state.st_size > MOST_BYTES:
            raise FiguresError(
                f"{one_line(path.name)}: read no file of at most {MOST_BYTES} bytes; allowed: a figures.json"
            )
        with path.open("rb") as file:
            return read_figures(file.read(MOST_BYTES + 1).decode("utf-8"), one_line(path.name))
    except UnicodeDecodeError:
        raise FiguresError(
            f"{one_line(path.name)}: read no UTF-8 text; allowed: a figures.json that a build wrote"
        ) from None
    except OSError as error:
        raise FiguresError(f"{one_line(path)}: cannot be read ({error.strerror})") from None


def _words(folder: Path) -> Vocabulary:
    if not os.path.isfile(folder / HOUSE_FILE):
        tables = engine_tables()
        return Vocabulary(foods=food_names(tables), ingredients=ingredient_names(tables), containers=())
    return open_handbook(folder).kitchen.words


def _fail(text: str) -> NoReturn:
    fail(text, NOT_DONE)
