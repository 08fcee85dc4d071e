"""One page as the site uses it: made by one process, cached, and assembled by another.

It contains only text, numbers and lists, so that it can be sent and cached as JSON.
"""

from __future__ import annotations

import zlib
from base64 import b64decode, b64encode
from collections.abc import Sequence

from msgspec import Struct, field

from handbook.base.deadline import Overtime, deadline, overtime_fault, page_seconds
from handbook.base.errors import PageError, UnforeseenError
from handbook.base.records import free_texts
from handbook.folder.kitchen import Kitchen, kept_kitchen
from handbook.folder.kitchen_reads import watched
from handbook.folder.read_page import Page, PageSource, read_page
from handbook.report.cost import Bill
from handbook.report.page_warnings import page_warnings
from site_build.base.said_words import worded
from site_build.charts.share_picture import png, svg, timing_shapes
from site_build.html.cautions import Caution, cautions_of
from site_build.html.contents import Card, card
from site_build.html.inspection_page import inspection_html
from site_build.html.overview import BrineRow, brine_rows
from site_build.html.pages import PageParts, page_parts
from site_build.html.side_by_side import compared_text
from site_build.html.tools import example_calendar
from site_build.outputs.search import Indexed, indexed
from site_build.outputs.search_entries import method_entry, plain_entry
from site_build.outputs.sharing import is_published, method_meta, picture_words
from site_build.reading.author_html import AuthorHtml, author_html
from site_build.reading.links import Link
from site_build.reading.own_ids import FRAME_IDS, METHOD_IDS
from site_build.reading.sections import WordsSection, further_anchors, words_sections
from site_build.record.figures import split_lines
from site_build.record.method_figures import figures_without_cost


class MadePage(Struct, frozen=True, kw_only=True):
    """The data of one page for the handbook's other pages. ``method`` is None on a page of plain reading and on a
    faulty method.
    """

    path: str
    title: str
    title_line: int
    is_method: bool
    links: list[Link]
    found: Indexed
    method: MadeMethod | None


class MadeMethod(Struct, frozen=True, kw_only=True):
    """The data of a method's page. ``longest`` is its longest time from start to finish in s, ``figures`` its
    compressed part of the record of figures, without the cost, which goes to ``cost_at``, ``warnings`` its warnings,
    ``was`` its earlier names, ``inspection`` its compressed inspector's folder, where it has one.
    """

    mark: str
    longest: float
    card: Card
    brines: list[BrineRow]
    sources: list[str]
    cautions: list[Caution]
    compared: str
    bill: Bill
    figures: str
    cost_at: int
    was: list[str] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    inspection: str = ""


class PageFiles(Struct, frozen=True, kw_only=True):
    """The content of the page and of the files beside it, loaded only where the page is written.

    ``words`` are the author's as cleaned HTML, in sections; ``own`` are the author's short texts within computed parts.
    """

    words: list[WordsSection]
    parts: PageParts | None = None
    meta: str = ""
    calendar: list[str] = field(default_factory=list)
    picture_svg: str = ""
    picture_png: str = ""
    own: list[str] = field(default_factory=list)


class PageJob(PageSource, frozen=True, kw_only=True):
    """All inputs of a page, and nothing else, so that equal jobs make equal pages on any machine."""

    house: tuple[tuple[str, bytes], ...]


class PageResult(Struct, frozen=True, kw_only=True):
    """The result of one job: the page's parts, or the faults that prevented them. ``engine`` is the version that made
    it, ``reads`` are the names of its reads of the house data.
    """

    path: str
    engine: str
    page: MadePage | None
    files: PageFiles | None
    faults: list[PageError] = field(default_factory=list)
    reads: list[str] = field(default_factory=list)


def make_page(job: PageJob, engine: str) -> PageResult:
    """Read, compute and render one page. Links to other pages are checked later, when all pages are known."""
    seconds, view = page_seconds(len(job.runs)), watched(kept_kitchen(job.folder, job.house))
    view.reads.update(("setting language", "wording"))
    try:
        with deadline(seconds), worded(view.kitchen.wording):
            made, files, faults = _made(job, view.kitchen)
    except Overtime:
        return unmade(job, engine, overtime_fault(job.file, seconds))
    reads = sorted(view.reads)
    return PageResult(path=job.path, engine=engine, page=made, files=files, faults=faults, reads=reads)


def unmade(job: PageJob, engine: str, fault: PageError) -> PageResult:
    """The result of a job that was not completed."""
    return PageResult(path=job.path, engine=engine, page=_bare(job, is_method=True), files=None, faults=[fault])


def _made(job: PageJob, kitchen: Kitchen) -> tuple[MadePage, PageFiles | None, list[PageError]]:
    page = read_page(job, kitchen)
    faults, author = list(page.faults), AuthorHtml()
    try:
        author, wrong = author_html(page.text, job.file, job.path)
        faults += wrong
        if not faults:
            return *made_page(page, author, kitchen), []
    except Exception as error:  # one page must not stop the others; the build still fails
        faults.append(UnforeseenError.of(job.file, error))
    return _bare(job, page.is_method, author.links), None, faults


def _bare(job: PageJob, is_method: bool, links: Sequence[Link] = ()) -> MadePage:
    """The known data of a page that has a fault."""
    return MadePage(
        path=job.path,
        title="",
        title_line=1,
        is_method=is_method,
        links=list(links),
        found=Indexed(shown=[]),
        method=None,
    )


def made_page(page: Page, author: AuthorHtml, kitchen: Kitchen) -> tuple[MadePage, PageFiles]:
    """The site's data of a page without a fault, and its files."""
    return _plain(page, author) if page.report is None else _method(page, author, kitchen)


def _plain(page: Page, author: AuthorHtml) -> tuple[MadePage, PageFiles]:
    author.free_ids(FRAME_IDS)
    made = MadePage(
        path=page.path,
        title=author.title or page.path.removesuffix(".md"),
        title_line=1,
        is_method=False,
        links=list(author.links),
        found=indexed(plain_entry(page, author)),
        method=None,
    )
    return made, PageFiles(words=[WordsSection(place="", anchor="", title="", html="".join(author.shown))])


def _method(page: Page, author: AuthorHtml, kitchen: Kitchen) -> tuple[MadePage, PageFiles]:
    report, house = page.report, kitchen.house
    sheet = report.method.front_matter
    figures = figures_without_cost(report, page.text, house, kitchen.tables)
    lines, cost_at = split_lines(page.path, figures)
    method = MadeMethod(
        mark=figures.mark,
        longest=report.schedule.total.high,
        card=card(page),
        brines=brine_rows(page),
        sources=list(report.sources),
        cautions=cautions_of(report.findings),
        compared=compared_text(page),
        bill=report.bill,
        figures=pack(lines),
        cost_at=cost_at,
        was=list(sheet.was),
        warnings=[str(each) for each in page_warnings(report)],
        inspection=pack(inspection_html(report, kitchen)) if sheet.inspection else "",
    )
    shapes = timing_shapes(report, house.kitchen)
    parts = page_parts(page, kitchen, figures.mark)
    author.free_ids(FRAME_IDS | METHOD_IDS, list(parts))
    words = words_sections(author.pieces, [each.kind for each in page.text.blocks])
    files = PageFiles(
        words=words,
        parts=parts,
        meta=str(method_meta(page, house)),
        calendar=example_calendar(report),
        own=sorted(free_texts(report.method)),
        picture_svg=svg(shapes, picture_words(report)),
        picture_png=b64encode(png(shapes)).decode() if is_published(house) else "",
    )
    made = MadePage(
        path=page.path,
        title=sheet.title,
        title_line=sheet.line,
        is_method=True,
        links=list(author.links),
        found=indexed(method_entry(page, author, further_anchors(words))),
        method=method,
    )
    return made, files


def pack(text: str) -> str:
    """A long text that is rarely read, compressed."""
    return b64encode(zlib.compress(text.encode(), 1)).decode()


def unpack(text: str) -> str:
    """The text before compression."""
    return zlib.decompress(b64decode(text)).decode()
