"""The HTML of a method: three pages from the same computed views, with the author's words in the first."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from msgspec import Struct
from msgspec.structs import replace

from handbook.folder.kitchen import Kitchen
from handbook.folder.read_page import Page
from handbook.page.house import House
from handbook.report.method_report import Report
from handbook.report.mixtures import FormulaReport, MixtureReport, SaltingReport
from site_build.base.local_forms import local_day
from site_build.base.said_words import called, later, own, say, say_html
from site_build.charts.timing_chart import timing_chart
from site_build.html.acid import acid_html
from site_build.html.batch_data import json_block, tools_data
from site_build.html.brine_help import brine_help_html
from site_build.html.change_table import change_html
from site_build.html.curves import heat_html, middle_html, salt_html
from site_build.html.drying import drying_html
from site_build.html.local_list import LocalList, local_list
from site_build.html.make_sheet import head_html, keep_html, need_html, needed, steps_html
from site_build.html.overview import MEASURE_WORDS
from site_build.html.priced import with_cost
from site_build.html.render import render
from site_build.html.run_section import runs_html
from site_build.html.standing import is_caution
from site_build.html.tools import clock_html, example_address, kitchen_html, paper_html
from site_build.html.warmth import warmth_html
from site_build.reading.book import layer_path, url_of
from site_build.reading.sections import KEEPING, LEAD, LEAD_ON, NEED, REST, STEPS, WordsSection

_LEADS = {
    "immersion": later("A strong brine for a limited time: the food is taken out before equilibrium."),
    "equilibrium": later("Weighed so that all of it may be shared: the food cannot get saltier than the target."),
    "injection": later("Brine pumped into the food, by its share of green weight."),
    "dry cure": later("Salt weighed on green weight and rubbed on; all of it stays with the food."),
    "ferment brine": later("Vegetables under brine: salt settles between brine and vegetable."),
    "dry-salted ferment": later("Salt weighed on the vegetable, which makes its own brine."),
    "mixed in": later("Worked into the food by weight: it is even at once, and all of it stays."),
    "formula": later("The foods of the batch; shares of food and of meat block are of these weights."),
    "glaze": later("Brushed or poured on; it brings its own sugar and salt."),
}


def root_of(path: str) -> str:
    """The relative path from a page to the site's root: ``""`` or ``../`` for each folder."""
    return "../" * path.count("/")


class PageParts(Struct, frozen=True, kw_only=True):
    """The computed parts of a method, as HTML.

    ``head`` to ``after`` are the parts of the working sheet, in this order. ``why`` and ``proof`` are the contents of
    the further pages, the last one without the versions, which are known later. ``origin`` names the text's keeper.
    """

    head: str
    need: str
    steps: str
    keep: str
    after: str
    why: str
    proof: str
    origin: str

    def __iter__(self) -> Iterator[str]:
        return iter((self.head, self.need, self.steps, self.keep, self.after, self.why, self.proof))


#: Ids, and links within the page, in cleaned HTML.
_IDS, _LINK = re.compile(r'\sid="([^"]+)"'), re.compile(r'(<a\b[^>]*?\shref=")#([^"]+)')


def page_parts(page: Page, kitchen: Kitchen, mark: str) -> PageParts:
    """All computed parts of a method; ``mark`` is the page's version."""
    report, house, root = page.report, kitchen.house, root_of(page.path)
    local = local_list(page)
    return PageParts(
        head=head_html(report, house, root, local, mark),
        need=need_html(report),
        steps=steps_html(report, root, local),
        keep=keep_html(report),
        after=render("make_doors.html", report=report, local=local, root=root)
        + render("sheet_log.html", report=report, mark=mark)
        + kitchen_html(report)
        + paper_html(report, mark),
        why=_why_html(page, kitchen, root, local),
        proof=_proof_html(page, root, local),
        origin=say(
            "Text of %(day)s, kept by %(keeper)s.",
            day=local_day(report.method.front_matter.reviewed),
            keeper=own(report.method.front_matter.keeper),
        ),
    )


class MethodHtml(NamedTuple):
    """The contents of a method's three pages."""

    make: str
    why: str
    proof: str


def method_html(
    parts: PageParts, words: Sequence[WordsSection], path: str, mark: str, cost: str, sign, rows: Sequence
) -> MethodHtml:
    """The three contents. ``words`` are the author's, cleaned; ``cost`` is the method's ``cost_html``; ``sign`` is the
    review state of this version, ``rows`` the effects of past changes.
    """
    history = render("history.html", mark=mark, sign=sign, root=root_of(path), rows=rows, origin=parts.origin)
    lead = "".join(f'<div class="lead">{own(each.html)}</div>' for each in words if each.place == LEAD)
    lead_on, need, steps, keeping, rest = (_words(words, each, path) for each in (LEAD_ON, NEED, STEPS, KEEPING, REST))
    keepers = say_html("The keeper's words")
    end = f'<section class="keepers" aria-label="{keepers}">{rest}</section>' if rest else ""
    make = (
        f'{parts.head}<div class="work-table wide"><div class="work-left">{parts.need}{need}</div>'
        f'<div class="work-right">{lead}{lead_on}{parts.steps}{steps}{parts.keep}{keeping}{end}</div></div>'
        f"{parts.after}"
    )
    return MethodHtml(make=make, why=with_cost(parts.why, cost) + _further(words, path), proof=parts.proof + history)


def _words(words: Sequence[WordsSection], place: str, path: str) -> str:
    """The author's sections of one part of the sheet. For a further section: its title as a link, and its ids."""
    sections = [each for each in words if each.place == place]
    ids = {each.anchor: [found for found in _IDS.findall(each.html) if found != each.anchor] for each in sections}
    return render("words.html", sections=sections, ids=ids, why=_address(layer_path(path, "why")))


def _further(words: Sequence[WordsSection], path: str) -> str:
    """The sections that do not fit on the sheet. Their links to parts of the sheet lead back to it."""
    sections = [each for each in words if each.is_further]
    here = {each.anchor for each in sections} | {found for each in sections for found in _IDS.findall(each.html)}
    make = _address(path)

    def led(link: re.Match[str]) -> str:
        return link[0] if link[2] in here else f"{link[1]}{make}#{link[2]}"

    moved = [replace(each, html=_LINK.sub(led, each.html)) for each in sections]
    return render("words_further.html", sections=moved) if moved else ""


def _address(path: str) -> str:
    return url_of(path).rpartition("/")[2]


def _why_html(page: Page, kitchen: Kitchen, root: str, local: LocalList) -> str:
    report, house = page.report, kitchen.house
    return "".join(
        (
            render(
                "layer_head.html", report=report, local=local, layer="why", data=json_block(tools_data(report, house))
            ),
            salt_html(report, house, root),
            middle_html(report, root),
            brine_help_html(report, house, root),
            heat_html(report, house, root),
            drying_html(report, root),
            acid_html(report, root),
            warmth_html(report, root),
            change_html(report, house, kitchen.tables, root, local),
            _amounts_html(page, house, root),
            _timing_html(page),
            clock_html(report, example_address(url_of(page.path)).split("/")[-1]),
            runs_html(report, page.kitchen_runs, root, local, house.people_on_site),
            render("portion.html", report=report, root=root),
        )
    )


def _proof_html(page: Page, root: str, local: LocalList) -> str:
    report = page.report
    cautions = [each for each in report.findings if is_caution(each)]
    findings = [each for each in report.findings if not is_caution(each)]
    return "".join(
        (
            render("layer_head.html", report=report, local=local, layer="proof", data=""),
            render("safety.html", findings=findings, cautions=cautions, root=root),
            render("sources_here.html", report=report, root=root),
        )
    )


def _timing_html(page: Page) -> str:
    schedule = page.report.schedule
    return render(
        "timing.html",
        report=page.report,
        chart=timing_chart(schedule),
        has_repeats=any(each.repeats for each in schedule.steps),
    )


def _amounts_html(page: Page, house: House, root: str) -> str:
    parts = [_mixture_html(each, house, root, page.report) for each in needed(page.report)]
    return render("amounts.html", parts=parts) if parts else ""


def _lead(each: MixtureReport) -> str:
    """One sentence on the kind of mixture."""
    if isinstance(each, SaltingReport):
        return _LEADS["mixed in" if each.is_mixed else each.mixture.kind]
    return _LEADS["formula" if isinstance(each, FormulaReport) else "glaze"]


def _mixture_html(mixture, house: House, root: str, report: Report) -> str:
    each = mixture.each
    name = each.mixture.name
    return render(
        "mixture.html",
        each=each,
        unknown=report.unknown_salt,
        soaks=report.food.name in report.unknown_salt,
        id=f"amounts-{mixture.number + 1}",
        title=called(name[:1].upper() + name[1:]),
        root=root,
        lead=_lead(each),
        measures=MEASURE_WORDS[house.measures],
    )
