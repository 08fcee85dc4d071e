"""The HTML of a method's page: its author's words with the computed parts in their places."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from handbook.folder.kitchen import Kitchen
from handbook.folder.read_page import Page
from handbook.page.house import House
from site_build.charts.timing_chart import timing_chart
from site_build.html.brine_help import brine_help_html, wet_saltings
from site_build.html.change_table import change_html
from site_build.html.curves import heat_html, salt_html
from site_build.html.overview import MEASURE_WORDS
from site_build.html.priced import with_cost
from site_build.html.render import render
from site_build.html.run_section import runs_html
from site_build.html.tools import clock_html, example_address, paper_html, tools_html
from site_build.reading.book import url_of

_LEADS = {
    "immersion": "A strong brine for a limited time: the food is taken out before it comes to rest.",
    "equilibrium": "Weighed so that all of it may be shared: the food cannot get saltier than the target.",
    "injection": "Brine pumped into the food, by its share of green weight.",
    "dry cure": "Salt weighed on green weight and rubbed on; all of it stays with the food.",
    "ferment brine": "Vegetables under brine: salt settles between brine and vegetable.",
    "dry-salted ferment": "Salt weighed on the vegetable, which makes its own brine.",
}


def root_of(path: str) -> str:
    """The way from a page back to the site's root: ``""`` or ``../`` once per folder."""
    return "../" * path.count("/")


@dataclass(frozen=True, kw_only=True)
class PageParts:
    """The computed parts of a method's page in the order they stand; ``blocks`` go where the author's blocks stood."""

    head: str
    blocks: list[str]
    after: str
    paper: str

    def __iter__(self) -> Iterator[str]:
        return iter((self.head, *self.blocks, self.after, self.paper))


def page_parts(page: Page, kitchen: Kitchen, mark: str) -> PageParts:
    """Everything computed on a method's page, as HTML; ``mark`` is the page's version."""
    report, house, root = page.report, kitchen.house, root_of(page.path)
    after = (
        clock_html(report, example_address(url_of(page.path)).split("/")[-1]),
        salt_html(report, house, root),
        brine_help_html(report, house, root),
        heat_html(report, house, root),
        runs_html(report, page.experience, root),
        change_html(report, house, kitchen.tables, root),
        render("safety.html", findings=report.findings, root=root),
        render("portion.html", report=report, root=root),
    )
    return PageParts(
        head=render("head.html", report=report, root=root, jumps=_jumps(page)) + tools_html(report, house),
        blocks=_block_parts(page, house, root),
        after="".join(after),
        paper=paper_html(report, mark) + render("batch_sheet.html", report=report, mark=mark),
    )


def method_html(
    parts: PageParts, words: Sequence[str], path: str, mark: str, cost: str, sign, rows: Sequence = ()
) -> str:
    """The whole content of a method page: the author's ``words``, cleaned, one piece more than there are blocks, with
    the computed parts between them. ``cost`` is its ``cost_html``, ``sign`` says whether this version was reviewed,
    ``rows`` what past changes moved.
    """
    body = words[0] + "".join(part for pair in zip(parts.blocks, words[1:], strict=True) for part in pair)
    history = render("history.html", mark=mark, sign=sign, root=root_of(path), rows=rows)
    return with_cost("".join((parts.head, body, parts.after, history, parts.paper)), cost)


def _block_parts(page: Page, house: House, root: str) -> list[str]:
    report, parts = page.report, []
    seen = {"salting": 0, "glaze": 0}
    for block in page.text.blocks:
        if block.kind in seen:
            index = seen[block.kind]
            seen[block.kind] += 1
            mixtures = report.saltings if block.kind == "salting" else report.glazes
            parts.append(_mixture_html(mixtures[index], index, block.kind, house, root))
        elif block.kind == "steps":
            parts.append(
                render(
                    "steps.html",
                    report=report,
                    chart=timing_chart(report.schedule),
                    root=root,
                    has_repeats=any(each.repeats for each in report.schedule.steps),
                )
            )
        elif block.kind in ("pieces", "keeping"):
            parts.append(render(f"{block.kind}.html", report=report, root=root))
        else:
            parts.append("")
    return parts


def _mixture_html(each, index: int, kind: str, house: House, root: str) -> str:
    name = each.mixture.name
    lead = _LEADS[each.mixture.kind] if kind == "salting" else "Brushed or poured on; it brings its own sugar and salt."
    return render(
        "mixture.html",
        each=each,
        id=_id(kind, index),
        title=name[:1].upper() + name[1:],
        root=root,
        lead=lead,
        measures=MEASURE_WORDS[house.measures],
    )


def _id(kind: str, index: int) -> str:
    word = {"salting": "brine", "glaze": "glaze"}[kind]
    return word if index == 0 else f"{word}-{index + 1}"


def _jumps(page: Page) -> list[tuple[str, str]]:
    jumps, seen = [], {"salting": 0, "glaze": 0}
    names = {
        "salting": [each.mixture.name for each in page.report.saltings],
        "glaze": [each.mixture.name for each in page.report.glazes],
    }
    for block in page.text.blocks:
        if block.kind in seen:
            index = seen[block.kind]
            seen[block.kind] += 1
            jumps.append((_id(block.kind, index), names[block.kind][index].capitalize()))
        elif block.kind in ("steps", "pieces", "keeping"):
            jumps.append(
                (block.kind, {"steps": "Steps and time", "pieces": "Pieces", "keeping": "Keeping"}[block.kind])
            )
    if page.report.salted is not None:
        jumps.append(("salt", "How salty, and when"))
    if wet_saltings(page.report):
        jumps.append(("off", "If the brine is off"))
    if page.report.course is not None:
        jumps.append(("heat", "Core temperature"))
    if page.experience is not None:
        jumps.append(("runs", "Runs"))
    more = (("change", "If you change something"), ("clock", "By the clock"))
    return [*jumps, *more, ("portion", "Portion and cost"), ("safety", "Safety")]
