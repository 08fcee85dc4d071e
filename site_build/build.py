"""Build beside the site that stands, then swap: a failed build leaves the last good site as it was."""

from __future__ import annotations

import logging
import shutil
import time
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

from mkdocs.commands.build import build as mkdocs_build
from mkdocs.config import load_config
from mkdocs.exceptions import Abort, ConfigurationError, PluginError

from handbook.errors import HandbookError
from handbook.house import vocabulary
from handbook.resolve import ingredient_names
from site_build.book import Book
from site_build.recorded import write_figures
from site_build.schemas import write_schemas


class BuildError(HandbookError):
    """The build could not be done; the text says why, a line per fault."""


@dataclass(frozen=True)
class Summary:
    """What a build made."""

    pages: int
    methods: int
    warnings: tuple[str, ...]
    seconds: float


class _Warnings(logging.Handler):
    def __init__(self):
        super().__init__(logging.WARNING)
        self.lines: list[str] = []
        self.errors: list[str] = []

    def emit(self, record):
        (self.errors if record.levelno >= logging.ERROR else self.lines).append(record.getMessage())


def build_site(
    folder: Path, site: Path, strict: bool = False, shows_progress: bool = True, history: bool = False
) -> Summary:
    """Build ``folder`` of methods into ``site``; with ``strict`` a warning is a fault, with ``history`` pages show
    what their past changes moved.

    Raises BuildError; the old ``site`` then stands untouched.
    """
    started = time.monotonic()
    folder, site = folder.resolve(), site.resolve()
    _check_places(folder, site)
    beside = site.parent / f".{site.name}-building"
    warnings = _Warnings()
    logger = logging.getLogger("mkdocs")
    logger.addHandler(warnings)
    logger.propagate = False
    try:
        shutil.rmtree(beside, ignore_errors=True)
        config = site_config(folder, beside, shows_progress, history)
        mkdocs_build(config)
        _write_data(config.plugins["handbook"].book, beside)
        if strict and warnings.lines:
            raise BuildError("\n".join(f"warning: {line}" for line in warnings.lines))
        swap(beside, site)
    except Abort as error:  # MkDocs has logged what it is about
        raise BuildError("\n".join(warnings.errors) or str(error)) from None
    except (PluginError, ConfigurationError) as error:
        raise BuildError(str(error)) from None
    except OSError as error:
        raise BuildError(f"{error.filename or site}: cannot be written ({error.strerror})") from None
    finally:
        logger.removeHandler(warnings)
        shutil.rmtree(beside, ignore_errors=True)
    book = config.plugins["handbook"].book
    pages = sum(1 for _ in site.rglob("*.html"))
    return Summary(pages, len(book.methods), tuple(warnings.lines), time.monotonic() - started)


def _write_data(book: Book, site: Path) -> None:
    """The figures of the build, for comparing, and the schemas that editors check pages by."""
    write_figures(book, site)
    write_schemas(vocabulary(book.house, tuple(book.tables.foods), ingredient_names(book.tables)), site / "schemas")


def site_config(folder: Path, site: Path, shows_progress: bool = True, history: bool = False, **more):
    """MkDocs' configuration for a folder of methods without a mkdocs.yml of its own."""
    with files("site_build").joinpath("mkdocs.yml").open("rb") as base:
        return load_config(
            base,
            docs_dir=str(folder),
            site_dir=str(site),
            plugins=[{"handbook": {"progress": shows_progress, "history": history}}],
            **more,
        )


def swap(beside: Path, site: Path) -> None:
    """Put the finished ``beside`` in the place of ``site``."""
    if not (beside / "index.html").is_file():
        raise BuildError(f"{beside}: no index page was written")
    old = site.parent / f".{site.name}-old"
    shutil.rmtree(old, ignore_errors=True)
    if site.exists():
        site.rename(old)
    try:
        beside.rename(site)
    except OSError:
        if old.exists():
            old.rename(site)
        raise
    shutil.rmtree(old, ignore_errors=True)


def _check_places(folder: Path, site: Path) -> None:
    if not folder.is_dir():
        raise BuildError(f"{folder.name}: read no folder; allowed: a folder of method pages with a house.yml")
    if site == folder or site.is_relative_to(folder) or folder.is_relative_to(site):
        raise BuildError(f"{site.name}: read a folder that holds or lies in the methods; allowed: a folder beside them")
    if site.exists() and not site.is_dir():
        raise BuildError(f"{site.name}: read a file; allowed: a new folder or an earlier site")
    if site.is_dir() and any(site.iterdir()) and not (site / "index.html").is_file():
        raise BuildError(f"{site.name}: read a folder with other files; allowed: an empty folder or an earlier site")
