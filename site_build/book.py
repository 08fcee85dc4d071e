"""A folder of methods, read and evaluated as a whole: every fault of every page in one go."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from handbook.errors import FaultsError, PageError
from handbook.evaluate import Report
from handbook.house import House, read_house, vocabulary
from handbook.method import Vocabulary
from handbook.resolve import ingredient_names
from handbook.tables import Tables
from site_build.addresses import address_faults
from site_build.blocks import PageText
from site_build.file_names import entry_fault, name_faults
from site_build.house_tables import house_tables
from site_build.pictures import picture_faults
from site_build.read_page import decode_page, read_page

HOUSE_FILE = "house.yml"
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


@dataclass(frozen=True)
class Page:
    """One Markdown page: its path in the folder, its text taken apart, and its report if it is a method."""

    path: str
    text: PageText
    report: Report | None

    @property
    def url(self) -> str:
        """Address from the site's root."""
        return self.path.removesuffix(".md") + ".html"


@dataclass(frozen=True)
class Book:
    """The whole handbook."""

    house: House
    tables: Tables
    pages: dict[str, Page]

    @property
    def methods(self) -> tuple[Page, ...]:
        """Method pages by title."""
        found = (page for page in self.pages.values() if page.report)
        return tuple(sorted(found, key=lambda page: (page.report.method.sheet.title.casefold(), page.path)))


def read_book(folder: Path, progress: Callable[[str, int, int], None] = lambda *_: None) -> Book:
    """Read and evaluate every page of ``folder``.

    ``progress`` is called with (what, done, total). Files are named in errors as ``<folder>/<path>``.

    Raises
    ------
    FaultsError   every fault of the house file and of every page
    """
    faults: list[PageError] = []
    paths = _paths(folder, faults)
    if any(fault.file.endswith((HOUSE_FILE, ".csv")) for fault in faults):
        raise FaultsError(faults)  # house data from elsewhere is not even read
    tables, found = house_tables(folder)
    faults += found
    house = _house(folder, tables)
    words = vocabulary(house, tuple(tables.foods), ingredient_names(tables))
    faults += address_faults(house, folder.name) + picture_faults(folder, paths)
    known = {path for path in paths} | set(GENERATED)
    pages: dict[str, Page] = {}
    markdown = [path for path in paths if path.endswith(".md")]
    for done, path in enumerate(markdown, 1):
        progress("methods computed", done, len(markdown))
        page, found = _page(folder, path, known, words, house, tables)
        faults += found
        if page:
            pages[path] = page
    faults += _same_titles(folder, pages)
    if faults:
        raise FaultsError(faults)
    return Book(house, tables, pages)


def _house(folder: Path, tables: Tables) -> House:
    file = f"{folder.name}/{HOUSE_FILE}"
    path = folder / HOUSE_FILE
    if not path.is_file():
        raise FaultsError([PageError(file, 1, "house", "nothing", f"a house file {HOUSE_FILE} in the methods folder")])
    text, fault = _text(path, file)
    if fault:
        raise FaultsError([fault])
    house, faults = read_house(text, file, tuple(tables.foods), tuple(tables.ingredients))
    if faults:
        raise FaultsError(faults)
    return house


def _paths(folder: Path, faults: list[PageError]) -> list[str]:
    found, root = [], folder.resolve()
    for path in sorted(folder.rglob("*")):
        relative = path.relative_to(folder).as_posix()
        if any(part.startswith(".") for part in relative.split("/")):
            continue
        if fault := entry_fault(path, root):
            faults.append(PageError(f"{folder.name}/{relative}", 1, "file", *fault))
            continue
        if not path.is_file():
            continue
        if relative in GENERATED:
            faults.append(
                PageError(
                    f"{folder.name}/{relative}", 1, "file", relative, "another name: the generator makes this page"
                )
            )
            continue
        found.append(relative)
    faults += name_faults(folder.name, found, GENERATED)
    return found


def _page(folder: Path, path: str, known: set[str], words: Vocabulary, house: House, tables: Tables):
    file = f"{folder.name}/{path}"
    content, fault = _text(folder / path, file)
    if fault:
        return None, [fault]
    found = read_page(content, file, path, known, words, house, tables)
    return Page(path, found.text, found.report), list(found.faults)


def _text(path: Path, file: str) -> tuple[str, PageError | None]:
    try:
        return decode_page(path.read_bytes(), file)
    except OSError as error:
        return "", PageError(file, 1, "file", f"no text ({error.strerror})", "a readable file")


def _same_titles(folder: Path, pages: dict[str, Page]) -> list[PageError]:
    seen: dict[str, str] = {}
    faults = []
    for path, page in sorted(pages.items()):
        if page.report is None:
            continue
        title = page.report.method.sheet.title
        if title.casefold() in seen:
            faults.append(
                PageError(
                    f"{folder.name}/{path}",
                    page.report.method.sheet.line,
                    "title",
                    title,
                    f"a title of its own ({seen[title.casefold()]} has it)",
                )
            )
        seen.setdefault(title.casefold(), path)
    return faults
