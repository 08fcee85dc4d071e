"""``handbook build``, ``handbook check`` and ``handbook preview``."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path

import click

from handbook.base.errors import FaultsError, HandbookError
from handbook.folder.kitchen import HOUSE_FILE
from site_build.base.places import one_line
from site_build.base.progress import Progress
from site_build.build.build_site import Choices, build_site, check_folder
from site_build.cli.methods_folder import MethodsFolder, site_of
from site_build.cli.terminal import fail, is_quiet, or_exit, say
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


def register(main: click.Group) -> None:
    """Add the commands to the group."""
    for each in (build, check, preview):
        main.add_command(each)


@click.command()
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
    summary = or_exit(build_site, folder, site, choices)
    _warn(summary.warnings)
    if not quiet:
        say(
            [
                f"{_count(summary.methods, 'method')}, {_count(summary.pages, 'page')}, {_count(len(summary.warnings), 'warning')}, "
                f"{summary.seconds:.1f} seconds{', nothing changed' if summary.is_unchanged else ''}: {one_line(site / 'index.html')}"
            ]
        )


@click.command()
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
            affected = or_exit(check_affected, folder, revision, progress)
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


@click.command()
@click.argument("folder", type=_FOLDER, default="methods")
@click.option("--port", type=click.IntRange(1024, 65535), default=8000, show_default=True, help="Port on this machine.")
@_CACHE
def preview(folder: Path, port: int, cache: Path | None) -> None:
    """Serve FOLDER on this machine and follow every edit; a faulty edit is named here and the page waits until it is mended."""
    from site_build.build.preview import serve

    if not os.path.isdir(folder):
        fail(f"{one_line(folder)}: read no folder; allowed: a folder of method pages with a {HOUSE_FILE}")
    or_exit(serve, folder, port, lambda text: say(text.split("\n"), err=True), cache)


def _warn(lines: Iterable[str]) -> None:
    say((f"warning: {line}" for line in lines), err=True)


def _count(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"
