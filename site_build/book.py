"""A folder of methods, read and evaluated as a whole: every fault of every page in one go."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from pathlib import Path

from handbook.errors import FaultsError, PageError
from handbook.evaluate import Report
from handbook.house import House
from handbook.house_report import Experience
from handbook.tables import Tables
from site_build.addresses import address_faults
from site_build.blocks import PageText
from site_build.days import Day, read_days
from site_build.kitchen import Kitchen
from site_build.pictures import picture_faults
from site_build.read_page import decode_page, read_page
from site_build.run_files import run_texts, stray_runs
from site_build.source import Source, read_source

#: Pages that the generator makes: their file in the methods folder's terms, and their title.
GENERATED = {
    "index.md": "Methods",
    "brines.md": "Brines side by side",
    "weights.md": "What a cup weighs",
    "strength.md": "Brine strength",
    "limits.md": "Safety limits",
    "sources.md": "Sources",
    "glossary.md": "Words of the trade",
    "figures.md": "How the figures are made",
    "side-by-side.md": "Two methods side by side",
}


def url_of(path: str) -> str:
    """A page's address from the site's root, by its path in the methods folder."""
    return path.removesuffix(".md") + ".html"


@dataclass(frozen=True)
class Page:
    """One Markdown page: its path in the folder, its text taken apart, and if it is a method its report and its runs."""

    path: str
    text: PageText
    report: Report | None
    experience: Experience | None = None

    @property
    def url(self) -> str:
        """Address from the site's root."""
        return url_of(self.path)


@dataclass(frozen=True)
class Book:
    """The whole handbook."""

    house: House
    tables: Tables
    pages: dict[str, Page]
    days: tuple[Day, ...] = ()

    @property
    def methods(self) -> tuple[Page, ...]:
        """Method pages by title."""
        found = (page for page in self.pages.values() if page.report)
        return tuple(sorted(found, key=lambda page: (page.report.method.sheet.title.casefold(), page.path)))


def read_book(folder: Path, progress: Callable[[str, int, int], None] = lambda *_: None) -> Book:
    """Read and evaluate every page of ``folder`` here and now, reports and all.

    ``progress`` is called with (what, done, total). Files are named in errors as ``<folder>/<path>``.

    Raises
    ------
    FaultsError   every fault of the house file and of every page
    """
    source = read_source(folder, frozenset(GENERATED))
    kitchen = source.kitchen()
    faults = list(source.faults)
    known = known_paths(source)
    pages: dict[str, Page] = {}
    for done, path in enumerate(source.pages, 1):
        progress("methods computed", done, len(source.pages))
        content, fault = decode_page(source.contents[path], source.file(path))
        if fault:
            faults.append(fault)
            continue
        runs = run_texts(path, source.folder.name, source.runs, source.contents.__getitem__)
        found = read_page(content, source.file(path), path, known, kitchen.words, kitchen.house, kitchen.tables, runs)
        faults += found.faults
        pages[path] = Page(path, found.text, found.report, found.experience)
    sheets = {path: page.report.method.sheet for path, page in pages.items() if page.report}
    faults += folder_faults(source, kitchen, {path: (each.title, each.line) for path, each in sheets.items()})
    if faults:
        raise FaultsError(faults)
    return Book(kitchen.house, kitchen.tables, pages, read_days(source, pages, kitchen.house, kitchen.tables))


def known_paths(source: Source) -> set[str]:
    """Every path that a page may lead to."""
    return {*source.digests, *source.unread, *GENERATED}


def folder_faults(
    source: Source, kitchen: Kitchen, titles: dict[str, tuple[str, int]], pictures: Collection[str] | None = None
) -> list[PageError]:
    """Faults that no page shows alone: the house's addresses, pictures, two methods of one title.

    ``titles`` are title and line by path; only ``pictures`` are opened, where they are given.
    """
    paths = list(source.published if pictures is None else pictures)
    faults = address_faults(kitchen.house, source.folder.name) + picture_faults(source.folder, paths)
    faults += stray_runs(source.folder.name, source.runs, set(titles))
    seen: dict[str, str] = {}
    for path, (title, line) in sorted(titles.items()):
        first = seen.setdefault(title.casefold(), path)
        if first != path:
            faults.append(PageError(source.file(path), line, "title", title, f"a title of its own ({first} has it)"))
    return faults
