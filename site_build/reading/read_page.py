"""One page's text to its parts, its report and its faults, wherever the text comes from."""

from __future__ import annotations

from dataclasses import dataclass

from handbook.base.errors import PageError, UnforeseenError
from handbook.base.forms import Field, Reading, Record, Words
from handbook.base.yaml_text import parse_yaml
from handbook.catalogue.tables import Tables
from handbook.page.house import House
from handbook.page.ingredient_lines import check_lines
from handbook.page.method import Method, Vocabulary
from handbook.page.read_method import read_method
from handbook.report.evaluate import Report
from handbook.report.model_budget import budget_faults
from handbook.report.safety_inputs import stop_faults
from handbook.runs.house_report import KitchenRuns, house_report
from site_build.base.deadline import Overtime, deadline, overtime_fault, page_seconds
from site_build.reading.author_html import author_html
from site_build.reading.links import check_links
from site_build.reading.page_text import PageText, split_page
from site_build.reading.read_text import decode_page
from site_build.reading.run_files import RunText, read_runs

__all__ = ["ReadPage", "decode_page", "means_method", "read_page"]
#: The front matter of a page of plain reading.
_PLAIN_HEAD = Record(fields=(Field(key="title", form=Words(limit=100), help="name of the page"),), build=dict)


@dataclass(frozen=True, kw_only=True)
class ReadPage:
    """A page as read: its text, its method and report where they could be had, and every fault, stops included.

    ``experience`` is what its runs have brought, None where it has none.
    """

    path: str
    text: PageText
    method: Method | None
    report: Report | None
    faults: tuple[PageError, ...]
    experience: KitchenRuns | None = None

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
    the folder's files: without them the author's words and their links are left to whoever knows the folder.
    """
    text, method, report, experience, faults = PageText(head=None, blocks=()), None, None, None, []
    seconds = page_seconds(len(runs))
    try:
        with deadline(seconds):
            text, method, faults, found = read_parts(content, file, path, known, words, house, tables)
            faults += found
            if method is not None and not found:
                made, wrong = read_runs(runs, method, house.measures)
                faults += wrong
                report, experience = house_report(method, house, tables, made)
                faults += stop_faults(method, report.findings)
    except PageError as error:
        faults.append(error)
    except Overtime:
        faults.append(overtime_fault(file, seconds))
    except Exception as error:  # one page must not keep the others from being read; the build fails all the same
        faults.append(UnforeseenError.of(file, error))
    return ReadPage(path=path, text=text, method=method, report=report, faults=tuple(faults), experience=experience)


def read_parts(
    content: str, file: str, path: str, known: set[str] | None, words: Vocabulary, house: House, tables: Tables
) -> tuple[PageText, Method | None, list[PageError], list[PageError]]:
    """The same without runs and without computing anything.

    Returns the page's text, its method if one could be read, the faults of the text, and those of the method.
    """
    text, faults = split_page(content, file)
    if known is not None:
        author, wrong = author_html(text, file, path)
        faults += wrong + check_links(file, path, author.links, known)
    if not means_method(text):
        return text, None, faults + _head_faults(text, file), []
    method, found = read_method(file, path.removesuffix(".md"), text.head, list(text.blocks), words, house.measures)
    return text, method, faults, found or [*budget_faults(method), *check_lines(method, tables)]


def means_method(text: PageText) -> bool:
    """Whether a page is a method, well written or not."""
    return text.is_method or (text.head is not None and "food:" in text.head.text)


def _head_faults(text: PageText, file: str) -> list[PageError]:
    # MkDocs takes more keys from a front matter than a page of plain reading has use for.
    if text.head is None:
        return []
    reading = Reading(file=file)
    try:
        _PLAIN_HEAD.read(parse_yaml(text.head.text, file, text.head.line, text.head.kind), "", reading)
    except PageError as fault:
        return [fault]
    return reading.faults
