"""The HTML of a method's page: its author's words with the computed parts in their places."""

from __future__ import annotations

import re

from site_build.blocks import marker
from site_build.book import Book, Page
from site_build.charts import timing_chart
from site_build.curves import heat_html, salt_html
from site_build.overview import MEASURE_WORDS
from site_build.render import render
from site_build.runs import runs_html
from site_build.standing_review import ReviewStanding
from site_build.tools import clock_html, example_address, paper_html, tools_html

_LEADS = {
    "immersion": "A strong brine for a limited time: the food is taken out before it comes to rest.",
    "equilibrium": "Weighed so that all of it may be shared: the food cannot get saltier than the target.",
    "injection": "Brine pumped into the food, by its share of green weight.",
    "dry cure": "Salt weighed on green weight and rubbed on; all of it stays with the food.",
    "ferment brine": "Vegetables under brine: salt settles between brine and vegetable.",
    "dry-salted ferment": "Salt weighed on the vegetable, which makes its own brine.",
}


#: Ids of computed parts: a heading of the author's by the same name makes way.
_OWN_IDS = re.compile(
    r'id="((?:brine|glaze|steps|pieces|keeping|salt|heat|safety|portion|clock|batch|kitchen|batch-sheet|runs)(?:-\d+)?)"'
)


def root_of(path: str) -> str:
    """The way from a page back to the site's root: ``""`` or ``../`` once per folder."""
    return "../" * path.count("/")


def method_html(page: Page, body: str, book: Book, standing: ReviewStanding) -> str:
    """The whole content of a method page: head, the author's ``body`` with computed parts in place, the rest.

    ``body`` is cleaned HTML in which a paragraph holding ``marker(n)`` stands for block n.
    """
    report, root = page.report, root_of(page.path)
    parts = _block_parts(page, book, root)
    body = _OWN_IDS.sub(r'id="\1-words"', body)
    for number in range(len(page.text.blocks)):
        # A heading with nothing under it but the block gives way to the block's own.
        place = re.compile(rf"(?:<h2[^>]*>[^<]*</h2>\s*)?<p>{marker(number)}</p>")
        part = parts.get(number, "")
        body = place.sub(lambda _, part=part: part, body)
    jumps = _jumps(page, book)
    mark = standing.marks[page.path]
    prices = bool(book.house.prices)
    after = salt_html(report, book.house, root) + heat_html(report, book.house, root)
    after += runs_html(report, page.kitchen, root)
    after += render("safety.html", findings=report.findings, root=root)
    portions = render("portion.html", report=report, root=root, currency=book.house.currency, has_prices=prices)
    return "".join(
        (
            render("head.html", report=report, root=root, jumps=jumps),
            tools_html(report, book.house),
            body,
            clock_html(report, example_address(page.url).split("/")[-1]),
            after,
            portions,
            render(
                "history.html",
                mark=mark,
                sign=standing.signs.get(page.path),
                root=root,
                rows=standing.rows.get(page.path, ()),
            ),
            paper_html(report, mark),
            render("batch_sheet.html", report=report, mark=mark),
        )
    )


def _block_parts(page: Page, book: Book, root: str) -> dict[int, str]:
    report, parts = page.report, {}
    seen = {"salting": 0, "glaze": 0}
    for number, block in enumerate(page.text.blocks):
        if block.kind in seen:
            index = seen[block.kind]
            seen[block.kind] += 1
            mixtures = report.saltings if block.kind == "salting" else report.glazes
            parts[number] = _mixture_html(mixtures[index], index, block.kind, book, root)
        elif block.kind == "steps":
            parts[number] = render(
                "steps.html",
                report=report,
                chart=timing_chart(report.schedule),
                root=root,
                has_repeats=any(each.repeats for each in report.schedule.steps),
            )
        elif block.kind in ("pieces", "keeping"):
            parts[number] = render(f"{block.kind}.html", report=report, root=root)
        else:
            parts[number] = ""
    return parts


def _mixture_html(each, index: int, kind: str, book: Book, root: str) -> str:
    name = each.mixture.name
    lead = _LEADS[each.mixture.kind] if kind == "salting" else "Brushed or poured on; it brings its own sugar and salt."
    return render(
        "mixture.html",
        each=each,
        id=_id(kind, index),
        title=name[:1].upper() + name[1:],
        root=root,
        lead=lead,
        measures=MEASURE_WORDS[book.house.measures],
    )


def _id(kind: str, index: int) -> str:
    word = {"salting": "brine", "glaze": "glaze"}[kind]
    return word if index == 0 else f"{word}-{index + 1}"


def _jumps(page: Page, book: Book) -> list[tuple[str, str]]:
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
    if page.report.course is not None:
        jumps.append(("heat", "Core temperature"))
    if page.kitchen is not None:
        jumps.append(("runs", "Runs"))
    return [*jumps, ("clock", "By the clock"), ("portion", "Portion and cost"), ("safety", "Safety")]
