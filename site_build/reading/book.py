"""What a handbook is made of: its pages, those that the generator adds, and the faults that only all of them show."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field

from handbook.base.did_you_mean import Names
from handbook.base.errors import PageError
from handbook.report.evaluate import Report
from handbook.runs.house_report import KitchenRuns
from site_build.reading.addresses import address_faults
from site_build.reading.author_html import AuthorHtml
from site_build.reading.kitchen import Kitchen
from site_build.reading.page_text import PageText
from site_build.reading.pictures import picture_faults
from site_build.reading.run_files import stray_runs
from site_build.reading.source import FolderSource

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


@dataclass(frozen=True, kw_only=True)
class Page:
    """One Markdown page: its path in the folder, its text taken apart, and if it is a method its report and its runs.
    ``author`` is what its author wrote as HTML.
    """

    path: str
    text: PageText
    report: Report | None
    experience: KitchenRuns | None = None
    author: AuthorHtml = field(default_factory=AuthorHtml)

    @property
    def url(self) -> str:
        """Address from the site's root."""
        return url_of(self.path)


def known_paths(source: FolderSource) -> Names:
    """Every path that a page may lead to."""
    return Names((*source.digests, *source.unread, *GENERATED))


def folder_faults(
    source: FolderSource,
    kitchen: Kitchen,
    titles: dict[str, tuple[str, int]],
    methods: set[str],
    pictures: Collection[str] | None = None,
) -> list[PageError]:
    """Faults that no page shows alone: the house's addresses, pictures, runs of no method, two methods of one title.

    ``titles`` are title and line by path, ``methods`` the pages that mean to be methods, faulty ones too; only
    ``pictures`` are opened, where they are given.
    """
    paths = list(source.published if pictures is None else pictures)
    faults = address_faults(kitchen.house, source.folder.name) + picture_faults(source.folder, paths)
    faults += stray_runs(source.folder.name, source.runs, methods)
    seen: dict[str, str] = {}
    for path, (title, line) in sorted(titles.items()):
        first = seen.setdefault(title.casefold(), path)
        if first != path:
            faults.append(PageError(source.file(path), line, "title", title, f"a title of its own ({first} has it)"))
    return faults
