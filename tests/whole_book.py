"""A whole handbook with its reports, for tests: the site's makers keep of each page only what they show."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from handbook.base.errors import FaultsError
from handbook.catalogue.tables import Tables
from handbook.page.house import House
from site_build.build.cache import Cache
from site_build.build.gather import gather
from site_build.reading.author_html import author_html
from site_build.reading.book import GENERATED, Page
from site_build.reading.kept_days import Day, read_day, read_wish_file, wish_paths
from site_build.reading.read_page import decode_page, read_page
from site_build.reading.source import FolderSource, read_source


@dataclass(frozen=True, kw_only=True)
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


def read_book(folder: Path, cache: Cache | None = None) -> Book:
    """Every page of ``folder`` computed, reports and all; its HTML is not made where ``cache`` holds it.

    Raises FaultsError with every fault that a build would find.
    """
    source = read_source(folder, frozenset(GENERATED))
    kitchen = gather(source, cache or Cache()).kitchen
    house, tables = kitchen.house, kitchen.tables
    pages = {}
    for path in source.pages:
        text, _ = decode_page(source.contents[path], source.file(path))
        found = read_page(text, source.file(path), path, None, kitchen.words, house, tables, source.runs_of(path))
        words, _ = author_html(found.text, source.file(path), path)
        pages[path] = Page(path=path, text=found.text, report=found.report, experience=found.experience, author=words)
    return Book(house=house, tables=tables, pages=pages, days=read_days(source, pages, house, tables))


def read_days(source: FolderSource, pages: dict[str, Page], house: House, tables: Tables) -> tuple[Day, ...]:
    """Every day of the folder, by name; ``pages`` are the folder's pages by path, with their reports.

    Raises FaultsError with every fault of every wish and kept plan. A plan that is missing or out of date is no fault.
    """
    reports = {path.removesuffix(".md"): page.report for path, page in pages.items() if page.report}
    found, faults = [], []
    for path in wish_paths(source):
        try:
            wish = read_wish_file(source, path, tuple(reports), house)
            used = {each.method: reports[each.method] for each in wish.wishes}
            found.append(read_day(source, path, wish, used, house, tables))
        except FaultsError as error:
            faults += error.faults
    if faults:
        raise FaultsError(faults)
    return tuple(found)
