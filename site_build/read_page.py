"""One page's text to its parts, its report and its faults, wherever the text comes from."""

from __future__ import annotations

from dataclasses import dataclass

from handbook.errors import PageError
from handbook.evaluate import Report
from handbook.house import House
from handbook.house_report import Experience, house_report
from handbook.judge import stop_faults
from handbook.method import Method, Vocabulary
from handbook.read_method import read_method
from handbook.resolve import check_lines
from handbook.tables import Tables
from site_build.blocks import PageText, split_page
from site_build.links import check_links
from site_build.read_text import decode_page
from site_build.run_files import RunText, read_runs

__all__ = ["ReadPage", "decode_page", "means_method", "read_page"]


@dataclass(frozen=True)
class ReadPage:
    """A page as read: its text, its method and report where they could be had, and every fault, stops included.

    ``experience`` is what its runs have brought, None where it has none.
    """

    path: str
    text: PageText
    method: Method | None
    report: Report | None
    faults: tuple[PageError, ...]
    experience: Experience | None = None

    @property
    def is_method(self) -> bool:
        """Whether the page means to be a method: it has calculation blocks or names a food."""
        return means_method(self.text)


def read_page(
    content: str,
    file: str,
    path: str,
    known: set[str] | None,
    words: Vocabulary,
    house: House,
    tables: Tables,
    runs: tuple[RunText, ...] = (),
) -> ReadPage:
    """Read and evaluate one page.

    ``file`` is named in faults, ``path`` is the page's path in its folder, ``runs`` are the files of its runs, ``known``
    the folder's files: without them the links are left to whoever knows the folder.
    """
    text, faults = split_page(content, file)
    faults += check_links(file, path, text.links, known) if known is not None else []
    if not means_method(text):
        return ReadPage(path, text, None, None, tuple(faults))
    method, found = read_method(file, path.removesuffix(".md"), text.head, list(text.blocks), words, house.measures)
    found = found or (check_lines(method, tables) if method else [])
    report = experience = None
    if method is not None and not found:
        made, found = read_runs(runs, method, house.measures)
        try:
            report, experience = house_report(method, house, tables, made)
            found += stop_faults(method, report.findings)
        except PageError as error:
            found.append(error)
    return ReadPage(path, text, method, report, (*faults, *found), experience)


def means_method(text: PageText) -> bool:
    """Whether a page is a method, well written or not."""
    return text.is_method or (text.head is not None and "food:" in text.head.text)
