"""The ``handbook`` command."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path

import click

from handbook import __version__
from handbook.base.errors import FaultsError, HandbookError, format_fault, printable
from handbook.catalogue.name_resolver import food_names
from handbook.folder.kitchen import HOUSE_FILE
from site_build.base.places import one_line, own_tree, source_place
from site_build.base.progress import Progress
from site_build.build.build_site import Choices, build_site, check_folder
from site_build.cli import adjust_command as cli_adjust
from site_build.cli import batch_commands as cli_batch
from site_build.cli import begin_command as cli_begin
from site_build.cli import day_command as cli_day
from site_build.cli import due_commands as cli_due
from site_build.cli import manual_command as cli_manual
from site_build.cli import names_command as cli_names
from site_build.cli import paper_command as cli_paper
from site_build.cli import plan_command as cli_plan
from site_build.cli import record_command as cli_record
from site_build.cli import review_commands as cli_review
from site_build.cli import upgrade_command as cli_upgrade
from site_build.cli import words_command as cli_words
from site_build.cli.methods_folder import MethodsFolder, site_of
from site_build.cli.names_command import tables_of
from site_build.cli.report_options import add_report_options
from site_build.cli.starter import FAMILIES, family_page, refused_name, starter_house, starter_page
from site_build.cli.terminal import fail, is_quiet, say, write_file
from site_build.review.comparison import check_affected

_FOLDER = MethodsFolder()
_WORKERS = click.option(
    "--workers", type=click.IntRange(0, 256), default=0, help="Processes that compute; default: one for each processor."
)
_CACHE = click.option(
    "--cache",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Folder for cached results, outside the handbook's own tree; default: in your cache folder.",
)
_CLUSTER = click.option(
    "--cluster", metavar="ADDRESS", default="", help="Compute on the Dask cluster of this scheduler."
)


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, message="handbook %(version)s")
def main() -> None:
    """Turn a folder of cook's methods into a handbook site with computed brine, salt, heat and safety figures.

    A folder of methods holds one Markdown file for each method and a house file, house.yml.

    \b
    First steps:
      handbook begin my-kitchen            begin a handbook of your own, ready to push
      handbook new methods/my-method.md    write a commented starter page
      handbook check methods               say what is wrong, write nothing
      handbook build methods --into site   write the site
      handbook preview methods             serve it here and follow every edit
    """


@main.command()
@click.argument("folder", type=_FOLDER, default="methods")
@click.option(
    "--into",
    "site",
    type=click.Path(path_type=Path),
    help="Folder of the site; default: site beside the methods, .site in them where they are the top of a repository.",
)
@click.option("--strict", is_flag=True, help="A warning is a fault: nothing is written.")
@click.option(
    "--history", is_flag=True, help="Show on each page what its past changes moved (from git; slow the first time)."
)
@click.option("--fresh", is_flag=True, help="Make everything anew, without cached results.")
@_CACHE
@_WORKERS
@_CLUSTER
@click.option("--quiet", is_flag=True, help="Print only warnings and faults.")
def build(
    folder: Path,
    site: Path | None,
    strict: bool,
    history: bool,
    fresh: bool,
    cache: Path | None,
    workers: int,
    cluster: str,
    quiet: bool,
) -> None:
    """Write the site of FOLDER (default: methods). A failed build leaves the last site as it was.

    A site is replaced only where an earlier build made it, with anything added to it. Cached results are in your cache folder, or in DIR, and
    may be deleted at any time; delete the sites too, because builds then no longer recognise them.
    """
    site = site or site_of(folder)
    choices = Choices(
        strict=strict,
        shows_progress=not quiet,
        history=history,
        is_preview=False,
        is_fresh=fresh,
        workers=workers,
        cluster=cluster,
        cache=cache,
    )
    summary = _or_exit(build_site, folder, site, choices)
    _warn(summary.warnings)
    if not quiet:
        say(
            [
                f"{_count(summary.methods, 'method')}, {_count(summary.pages, 'page')}, {_count(len(summary.warnings), 'warning')}, "
                f"{summary.seconds:.1f} seconds{', nothing changed' if summary.is_unchanged else ''}: {one_line(site / 'index.html')}"
            ]
        )


@main.command()
@click.argument("folder", type=_FOLDER, default="methods")
@click.option(
    "--changed-since",
    "revision",
    metavar="REV",
    help="Compute only pages that changes since this git revision can affect.",
)
@click.option("--strict", is_flag=True, help="A warning is a fault.")
@_CACHE
@_WORKERS
@_CLUSTER
def check(folder: Path, revision: str | None, strict: bool, cache: Path | None, workers: int, cluster: str) -> None:
    """Read and compute everything in FOLDER, report every fault and what the pages flag, write nothing."""
    if not os.path.isdir(folder):
        fail(f"{one_line(folder)}: read no folder; allowed: a folder of method pages with a {HOUSE_FILE}")
    if revision is not None:
        with Progress() as progress:
            affected = _or_exit(check_affected, folder, revision, progress)
        if affected.faults:
            fail("\n".join(affected.faults))
        say([f"{len(affected.pages)} of {affected.of} pages can be affected: no fault found"])
        return
    choices = Choices(workers=workers, cluster=cluster, cache=cache, shows_progress=not is_quiet())
    try:
        found = check_folder(folder, choices)
    except HandbookError as error:
        _warn(error.warnings if isinstance(error, FaultsError) else ())
        fail(str(error))
    _warn(found.warnings)
    if strict and found.warnings:
        fail(f"{_count(len(found.warnings), 'warning')}, each a fault in a strict run")
    say([f"{_count(found.methods, 'method')}: no fault found"])


@main.command()
@click.argument("folder", type=_FOLDER, default="methods")
@click.option("--port", type=click.IntRange(1024, 65535), default=8000, show_default=True, help="Port on this machine.")
@_CACHE
def preview(folder: Path, port: int, cache: Path | None) -> None:
    """Serve FOLDER on this machine and follow every edit; a faulty edit is named here and the page waits until it is mended."""
    from site_build.build.preview import serve

    if not os.path.isdir(folder):
        fail(f"{one_line(folder)}: read no folder; allowed: a folder of method pages with a {HOUSE_FILE}")
    _or_exit(serve, folder, port, lambda text: say(text.split("\n"), err=True), cache)


@main.command()
@click.argument("page", type=click.Path(path_type=Path))
@click.option("--food", default="", help="A food of the handbook.")
@click.option("--kind", default="cook", show_default=True, help="Kind of method, without a family.")
@click.option("--family", type=click.Choice(tuple(FAMILIES)), help="A family: its page has blanks that check asks for.")
def new(page: Path, food: str, kind: str, family: str | None) -> None:
    """Write a commented starter page at PAGE, and a house file beside it where there is none."""
    if page.suffix != ".md":
        fail(f'PAGE: read "{printable(page.name)}"; allowed: a name that ends in .md')
    if fault := refused_name(page.stem):
        fail(f"PAGE: {fault}")
    if os.path.exists(page):
        fail(f'PAGE: read "{one_line(page)}"; allowed: a page that does not exist yet')
    tables = tables_of(page.parent)
    found = food_names(tables).resolve(food)
    if food and not found.name:
        fail(f"--food: {format_fault(food, 'a food of the handbook; handbook names lists them', found.question)}")
    if family:
        text = family_page(family, page.stem, food=found.name)
    else:
        text = _or_exit(starter_page, page.stem, found.name or "trout, rainbow, farmed", kind, tables)
    _or_exit(source_place, page)
    house = page.parent / HOUSE_FILE
    for file, written in ((house, starter_house()), (page, text)):
        if file == page or not os.path.exists(house):
            write_file(file, written, own_tree(page.parent), is_new=True, err=False)


for _part in (
    cli_begin, cli_names, cli_plan, cli_day, cli_batch, cli_due, cli_adjust, cli_record, cli_paper, cli_review, cli_words, cli_manual, cli_upgrade,
):  # fmt: skip
    _part.register(main)
#: These run until they are ended, or open something: there is nothing to report.
add_report_options(main, ("preview", "manual"))


def _warn(lines: Iterable[str]) -> None:
    say((f"warning: {line}" for line in lines), err=True)


def _or_exit(job, *arguments):
    try:
        return job(*arguments)
    except HandbookError as error:
        fail(str(error))


def _count(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"


if __name__ == "__main__":
    main()
