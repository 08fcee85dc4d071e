"""A whole handbook with its reports, for tests: the site's makers keep of each page only what they show."""

from __future__ import annotations

from pathlib import Path

from msgspec import Struct
from msgspec.structs import asdict

from handbook.catalogue.tables import Tables
from handbook.folder.handbook import Handbook
from handbook.folder.kept_days import Day
from handbook.folder.kitchen import Kitchen
from handbook.folder.read_page import Page
from handbook.folder.source import FolderSource, read_source
from handbook.page.house import House
from site_build.build.cache import Cache
from site_build.build.gather import gather
from site_build.reading.author_html import AuthorHtml, author_html
from site_build.reading.book import GENERATED, url_of


class BookPage(Page, frozen=True, kw_only=True):
    """A page with its author's words and its address."""

    author: AuthorHtml

    @property
    def url(self) -> str:
        """Address from the site's root."""
        return url_of(self.path)


class Book(Struct, frozen=True, kw_only=True):
    """The whole handbook."""

    house: House
    tables: Tables
    pages: dict[str, BookPage]
    days: tuple[Day, ...] = ()

    @property
    def methods(self) -> tuple[BookPage, ...]:
        """Method pages by title."""
        found = (page for page in self.pages.values() if page.report)
        return tuple(sorted(found, key=lambda page: (page.report.method.front_matter.title.casefold(), page.path)))


def read_book(folder: Path, cache: Cache | None = None) -> Book:
    """Every page of ``folder`` computed, reports and all; its HTML is not made where ``cache`` holds it.

    Raises FaultsError with every fault that a build would find.
    """
    source = read_source(folder, frozenset(GENERATED))
    handbook = gather(source, cache or Cache()).handbook
    house, tables, pages = handbook.house, handbook.catalogue, {}
    for path in source.pages:
        found = handbook.page(path)
        words, _ = author_html(found.text, source.file(path), path)
        pages[path] = BookPage(**asdict(found), author=words)
    return Book(house=house, tables=tables, pages=pages, days=read_days(source, pages, house, tables))


def read_days(source: FolderSource, pages: dict[str, BookPage], house: House, tables: Tables) -> tuple[Day, ...]:
    """Every day of the folder, by name; ``pages`` are computed already.

    Raises FaultsError. A plan that is missing or out of date is no fault.
    """
    handbook = Handbook(source=source, kitchen=Kitchen(house=house, tables=tables), _pages=dict(pages))
    return tuple(handbook.day(path) for path in handbook.days)
