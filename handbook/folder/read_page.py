"""Reads one page: from its bytes to its parts, its report and every fault."""

from __future__ import annotations

from msgspec import Struct, field
from msgspec.structs import replace

from handbook.base.deadline import Overtime, deadline, overtime_fault, page_seconds
from handbook.base.errors import PageError, UnforeseenError
from handbook.base.forms import Reading, Words, read_yaml
from handbook.base.records import Field, Record
from handbook.folder.kitchen import Kitchen
from handbook.folder.page_text import PageText, split_page
from handbook.folder.read_text import decode_page
from handbook.folder.run_files import RunText, read_runs
from handbook.page.method import Method
from handbook.page.read_method import read_method
from handbook.report.method_report import Report
from handbook.report.model_budget import budget_faults
from handbook.report.safety_inputs import stop_faults
from handbook.runs.house_report import KitchenRuns, house_report

#: The front matter of a page of plain reading.
_PLAIN_HEAD = Record(fields=(Field(key="title", form=Words(limit=100), help="name of the page"),), build=dict)


class PageSource(Struct, frozen=True, kw_only=True):
    """The bytes of one page at ``path`` in the folder named ``folder``, with those of its runs."""

    folder: str
    path: str
    data: bytes
    runs: tuple[RunText, ...] = ()

    @property
    def file(self) -> str:
        """The name of the page in faults."""
        return f"{self.folder}/{self.path}"

    @property
    def name(self) -> str:
        """The name of the page's method."""
        return self.path.removesuffix(".md")


class Page(Struct, frozen=True, kw_only=True):
    """One page as read: its text, its method and report where they exist, and every fault, stops included.

    ``kitchen_runs`` is the result of its runs, None where it has none.
    """

    path: str
    text: PageText = field(default_factory=PageText)
    method: Method | None = None
    report: Report | None = None
    kitchen_runs: KitchenRuns | None = None
    faults: tuple[PageError, ...] = ()

    @property
    def is_method(self) -> bool:
        """Whether the page is meant as a method: it has calculation blocks or names a food."""
        return means_method(self.text)


def read_page(source: PageSource, kitchen: Kitchen) -> Page:
    """Read and evaluate one page in the house of ``kitchen``. Links and HTML of the author's words are not checked."""
    page, seconds = Page(path=source.path), page_seconds(len(source.runs))
    try:
        with deadline(seconds):
            page, method = _stated(source, kitchen)
            if method is not None:
                page = _computed(page, method, source, kitchen)
    except PageError as error:
        page = _with_faults(page, error)
    except Overtime:
        page = _with_faults(page, overtime_fault(source.file, seconds))
    except Exception as error:  # one page must not stop the others; the build still fails
        page = _with_faults(page, UnforeseenError.of(source.file, error))
    return page


def stated_page(source: PageSource, kitchen: Kitchen) -> Page:
    """The page as stated, without its runs and without figures."""
    return _stated(source, kitchen)[0]


def states_method(data: bytes, file: str) -> bool:
    """Whether the bytes of a page are those of a method."""
    content, fault = decode_page(data, file)
    return fault is None and means_method(split_page(content, file)[0])


def means_method(text: PageText) -> bool:
    """Whether a page is a method, with or without faults."""
    return text.is_method or (text.head is not None and "food:" in text.head.text)


def _stated(source: PageSource, kitchen: Kitchen) -> tuple[Page, Method | None]:
    """The page without figures, and its method where it can be computed."""
    content, fault = decode_page(source.data, source.file)
    if fault:
        return Page(path=source.path, faults=(fault,)), None
    text, faults = split_page(content, source.file)
    if not means_method(text):
        return Page(path=source.path, text=text, faults=(*faults, *_head_faults(text, source.file))), None
    blocks, words, measures = list(text.blocks), kitchen.words, kitchen.house.measures
    method, wrong = read_method(source.file, source.name, text.head, blocks, words, measures, kitchen.tables)
    if method is not None and (over := budget_faults(method)):
        method, wrong = None, [*wrong, *over]
    stated = None if wrong else method
    return Page(path=source.path, text=text, method=stated, faults=(*faults, *wrong)), method


def _computed(page: Page, method: Method, source: PageSource, kitchen: Kitchen) -> Page:
    """The page with its report, and with the faults that its runs, models and rules find.

    Of a faulty page only the faults: in ``method`` its faulty values are replaced as their fault lines suggest, so its
    figures are never shown.
    """
    is_faulty = page.method is None
    runs, faults = read_runs(source.runs, method, kitchen.house.measures)
    page = _with_faults(page, *faults)
    try:
        report, kitchen_runs = house_report(method, kitchen.house, kitchen.tables, () if is_faulty else runs)
    except PageError as error:
        return _with_faults(page, error)
    except Exception as error:
        if is_faulty:  # a replaced value may be outside the models; the page fails for its faults
            return page
        return _with_faults(page, UnforeseenError.of(source.file, error))
    page = _with_faults(page, *stop_faults(method, report.findings))
    return page if is_faulty else replace(page, report=report, kitchen_runs=kitchen_runs)


def _with_faults(page: Page, *faults: PageError) -> Page:
    return replace(page, faults=(*page.faults, *faults))


def _head_faults(text: PageText, file: str) -> list[PageError]:
    # MkDocs allows more keys in a front matter than a page of plain reading needs.
    if text.head is None:
        return []
    reading = Reading(file=file)
    read_yaml(_PLAIN_HEAD, text.head.text, reading, text.head.kind, text.head.line)
    return reading.faults
