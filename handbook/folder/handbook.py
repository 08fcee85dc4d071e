"""A whole handbook: its house, its foods and ingredients, its pages, and the report of each method.

>>> from pathlib import Path
>>> handbook_folder(Path("/nowhere/page.md")) is None
True
"""

from __future__ import annotations

import os
from functools import cached_property
from os import PathLike
from pathlib import Path

from msgspec import Struct, field

from handbook.base.did_you_mean import Names, nearest
from handbook.base.errors import FaultsError, PageError
from handbook.catalogue.tables import Tables
from handbook.days.day_plan import DayWish
from handbook.folder.batch_files import batch_file_faults
from handbook.folder.file_names import DATA
from handbook.folder.kept_days import Day, day_file_faults, read_day, read_wish_file, wish_paths
from handbook.folder.kitchen import HOUSE_FILE, Kitchen
from handbook.folder.read_page import Page, read_page, states_method
from handbook.folder.run_files import RUNS, stray_runs
from handbook.folder.source import FolderSource, read_source
from handbook.folder.titles import title_faults
from handbook.page.house import House
from handbook.report.method_report import Report


class Handbook(Struct, frozen=True, kw_only=True, dict=True):
    """A handbook in the state of its folder when it was opened. Each page is computed at its first use."""

    source: FolderSource
    kitchen: Kitchen
    _pages: dict[str, Page] = field(default_factory=dict)

    @property
    def house(self) -> House:
        """The house's settings."""
        return self.kitchen.house

    @property
    def catalogue(self) -> Tables:
        """The foods and ingredients that pages may name, including the house's own."""
        return self.kitchen.tables

    @cached_property
    def methods(self) -> tuple[str, ...]:
        """Names of the methods in order: the paths, without ``.md``, of pages meant as methods."""
        return tuple(path.removesuffix(".md") for path in self.source.pages if self._means_method(path))

    @property
    def days(self) -> tuple[str, ...]:
        """Paths of the wish files of day plans."""
        return tuple(wish_paths(self.source))

    def page(self, path: str) -> Page:
        """One page of the folder with its faults, computed if it is a method. Raises KeyError for an unknown path."""
        if path not in self._pages:
            self._pages[path] = read_page(self.source.page(path), self.kitchen)
        return self._pages[path]

    def report(self, name: str) -> Report:
        """Every figure of the method ``name``.

        Raises
        ------
        FaultsError   every fault of its page, stops of the safety rules included
        """
        path, file = f"{name}.md", self.source.file(f"{name}.md")
        if refused := self._refused(path):
            raise FaultsError(refused)
        if path not in self.source.pages:
            guess = nearest(name, Names(self.methods))
            raise FaultsError([PageError(file, 1, "page", f"no page {name}", "a method of the handbook", guess)])
        page = self.page(path)
        if page.faults:
            raise FaultsError(list(page.faults))
        if page.report is None:
            raise FaultsError([PageError(file, 1, "page", "no method", "a page with calculation blocks")])
        return page.report

    def reports(self, names: tuple[str, ...]) -> dict[str, Report]:
        """The reports of several methods, by name. Raises FaultsError with the faults of all of them."""
        found, faults = {}, []
        for name in names:
            try:
                found[name] = self.report(name)
            except FaultsError as error:
                faults += error.faults
        if faults:
            raise FaultsError(faults)
        return found

    def wish(self, path: str) -> DayWish:
        """The content of the wish file at ``path``. Raises FaultsError."""
        return read_wish_file(self.source, path, self.methods, self.house)

    def day(self, path: str) -> Day:
        """The day of the wish file at ``path``, with its kept plan. Raises FaultsError."""
        wish = self.wish(path)
        reports = self.reports(tuple(each.method for each in wish.wishes))
        return read_day(self.source, path, wish, reports, self.house, self.catalogue)

    def faults(self) -> list[PageError]:
        """Every fault of the handbook's files, in order of file and line: pages, runs, titles, day plans.

        The generator checks what only a site has: links, pictures, the author's HTML.
        """
        pages = {path: self.page(path) for path in self.source.pages}
        faults = [*self.source.faults, *(fault for page in pages.values() for fault in page.faults)]
        meant = {path for path, page in pages.items() if page.is_method}
        faults += stray_runs(self.source.folder.name, self.source.runs, meant)
        heads = {path: page.method.front_matter for path, page in pages.items() if page.method}
        faults += title_faults(self.source.folder.name, {path: (head.title, head.line) for path, head in heads.items()})
        told = {str(fault) for fault in faults}  # the faults of a batch that counts as a run are already among them
        own = batch_file_faults(self.source, self.house.measures)
        faults += [fault for fault in own if str(fault) not in told]
        if faults:
            faults += day_file_faults(self.source, self.methods, self.house)
        else:
            for path in self.days:
                try:
                    self.day(path)
                except FaultsError as error:
                    faults += error.faults
        return FaultsError(faults).faults

    def _refused(self, path: str) -> list[PageError]:
        """Refused files of the page at ``path``: itself, its runs, the folders above."""
        folder, runs = self.source.folder.name, f"{RUNS}{path.removesuffix('.md')}/"

        def concerns(file: str) -> bool:
            each = file.removeprefix(folder).removeprefix("/")
            return (
                each in ("", path)
                or each.startswith(runs)
                or path.startswith(f"{each}/")
                or runs.startswith(f"{each}/")
            )

        return [fault for fault in self.source.faults if concerns(fault.file)]

    def _means_method(self, path: str) -> bool:
        if path in self._pages:
            return self._pages[path].is_method
        return states_method(self.source.contents[path], path)


def open_handbook(folder: str | PathLike[str]) -> Handbook:
    """Open the handbook in ``folder``: its house file and its own foods are read at once, its pages on request.

    Raises
    ------
    FaultsError   every fault of the house's files
    """
    source = read_source(Path(folder).resolve(), wanted=_is_read)
    return Handbook(source=source, kitchen=source.kitchen())


def handbook_folder(path: Path) -> Path | None:
    """The folder of the handbook that ``path`` lies in: the nearest one above with a house file."""
    return next((each for each in path.resolve().parents if os.path.isfile(each / HOUSE_FILE)), None)


def _is_read(path: str) -> bool:
    return path.endswith((".md", *DATA))
