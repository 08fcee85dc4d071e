"""The search's data on each page: its words by place, and its figures."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Sequence
from html.parser import HTMLParser
from xml.etree.ElementTree import Element

from msgspec import Struct
from msgspec.structs import replace

from handbook.base.formats import format_number, format_percent, format_temperature, format_time_range, shorten
from handbook.base.units import celsius
from handbook.catalogue.ingredients import Ingredient
from handbook.catalogue.other_names import said_of
from handbook.folder.read_page import Page
from handbook.page.steps import Step
from handbook.report.method_report import Report
from handbook.report.mixtures import MixtureReport
from site_build.base.html_tree import text_of
from site_build.base.said_words import bare, said
from site_build.html.local_list import TASKS, local_list
from site_build.reading.author_html import AuthorHtml
from site_build.reading.book import url_of

#: Places of a method page: the reader's name for it, its weight in the order of results, and its anchor.
PLACES = (
    ("name", 12.0, ""),
    ("food", 9.0, ""),
    ("kind of method", 8.0, ""),
    ("tag", 6.0, ""),
    ("ingredient", 5.0, "brine"),
    ("equipment", 4.0, ""),
    ("allergen", 4.0, ""),
    ("in short", 4.0, ""),
    ("keeper", 3.0, ""),
    ("step", 2.0, "steps"),
)
NAME, FOOD, KIND, TAG, INGREDIENT, EQUIPMENT, ALLERGEN, SUMMARY, KEEPER, STEP = range(len(PLACES))
HEADING_WEIGHT, TEXT_WEIGHT = 4.0, 1.0
MOST_BRIEF = 160  # characters
_HEADINGS = ("h1", "h2", "h3", "h4", "h5", "h6")


class Section(Struct, frozen=True, kw_only=True):
    """A stretch of a page under one anchor; the text before the first heading has neither anchor nor title."""

    anchor: str
    title: str
    text: str


class SearchFigure(Struct, frozen=True, kw_only=True):
    """A searchable figure in %, °C, mm or h, with the words that show it."""

    unit: str
    low: float
    high: float
    shown: str
    anchor: str


class SearchEntry(Struct, frozen=True, kw_only=True):
    """One page in the index."""

    url: str
    title: str
    kind: str
    food: str
    summary: str
    words: tuple[tuple[int, str], ...]
    sections: tuple[Section, ...]
    figures: tuple[SearchFigure, ...]


def method_entry(page: Page, author: AuthorHtml, further: Collection[str]) -> SearchEntry:
    """The entry of a method page, from its text and its computed figures. ``further``: anchors of the author's sections on
    "Understand it".
    """
    report = page.report
    sheet = report.method.front_matter
    parts = [part for each in report.mixtures for part in each.made.parts]
    words = [
        (NAME, sheet.title),
        (FOOD, " ".join([sheet.food, report.food.food_class, *report.food.house_names, *said_of(sheet.food, "food")])),
        (KIND, " ".join([sheet.kind, *(each.mixture.kind for each in report.saltings)])),
        (TAG, " ".join(sheet.tags)),
        (INGREDIENT, " ".join(_ingredient_names([part.ingredient for part in parts]))),
        (EQUIPMENT, " ".join([*sheet.equipment, *(step.place for step in report.method.steps)])),
        (ALLERGEN, " ".join(report.allergens)),
        (SUMMARY, sheet.summary),
        (KEEPER, sheet.keeper),
        (STEP, " ".join(step.do for step in report.method.steps)),
    ]
    written = (
        replace(each, anchor=f"why#{each.anchor}") if each.anchor in further else each
        for each in _sections_of(author.pieces, _block_anchors(page))
    )
    sections = (*written, *_further_sections(page))
    return SearchEntry(
        url=url_of(page.path),
        title=sheet.title,
        kind=sheet.kind,
        food=sheet.food,
        summary=sheet.summary,
        words=tuple(words),
        sections=sections,
        figures=tuple(_figures(report)),
    )


def _ingredient_names(ingredients: Sequence[Ingredient]) -> list[str]:
    """Each ingredient once, with its other names, here and elsewhere."""
    once = {each.name: each for each in ingredients}
    others = (said for each in once.values() for said in (*each.house_names, *said_of(each.name, "ingredient")))
    return [*once, *others]


def _further_sections(page: Page) -> Iterator[Section]:
    """The parts of a method's further pages, by readers' words; their anchors name the page: ``why#off``."""
    for layer in local_list(page).layers:
        for part in layer.parts if layer.key else ():
            yield Section(anchor=f"{layer.key}#{part.anchor}", title=bare(said(part.title)), text=TASKS[part.anchor])


def plain_entry(page: Page, author: AuthorHtml) -> SearchEntry:
    """The entry of a page of plain reading."""
    title = author.title or page.path.removesuffix(".md")
    first = next((text for piece in author.pieces for each in piece.iter("p") if (text := text_of(each)).strip()), "")
    return _page_entry(url_of(page.path), title, first, _sections_of(author.pieces, []))


def generated_entry(url: str, title: str, html: str) -> SearchEntry:
    """The entry of a generated page, from its finished HTML: a section for each id."""
    reader = _Sections()
    reader.feed(_DRAWING.sub("", html))  # half of some pages, and without words of an entry
    found = (Section(anchor=anchor, title=" ".join(name.split()), text=text) for anchor, name, text in reader.found)
    return _page_entry(url, title, reader.summary, found)


def _page_entry(url: str, title: str, summary: str, sections: Iterable[Section]) -> SearchEntry:
    return SearchEntry(
        url=url,
        title=title,
        kind="page",
        food="",
        summary=shorten(" ".join(summary.split()), MOST_BRIEF),
        words=((NAME, title),),
        sections=tuple(sections),
        figures=(),
    )


def _figures(report: Report) -> Iterator[SearchFigure]:
    for each in report.saltings:
        yield from _brine_figures(each)
    if report.saltings and not report.unknown_salt:
        salt = report.salt
        shown = f"{format_percent(salt.typical)} salt in the finished food"
        yield SearchFigure(unit="%", low=salt.low * 100, high=salt.high * 100, shown=shown, anchor="why#salt")
    yield from _temperature_figures(report.method.steps)
    thickness, rows = report.method.pieces.thickness, report.salted.by_thickness if report.salted else ()
    yield _millimetres(thickness.low, thickness.high, "pieces {} mm thick", "pieces")
    if rows:
        yield _millimetres(rows[0].thickness, rows[-1].thickness, "times for pieces of {} mm", "why#by-thickness")
    total = report.schedule.total
    shown = f"start to finish {format_time_range(total)}"
    yield SearchFigure(unit="h", low=total.low / 3600, high=total.high / 3600, shown=shown, anchor="steps")


def _brine_figures(salting: MixtureReport) -> Iterator[SearchFigure]:
    name, pump = salting.mixture.name, salting.mixture.pump
    if salting.strength:
        part = salting.strength.salt_mass_fraction
        shown = f"{format_percent(part)} salt in the {name if 'brine' in name else f'brine ({name})'}"
        yield SearchFigure(unit="%", low=part * 100, high=part * 100, shown=shown, anchor="brine")
    if salting.mixture.kind == "injection" and pump:
        shown = f"pumped {format_percent(pump.middle, 0)}"
        yield SearchFigure(unit="%", low=pump.low * 100, high=pump.high * 100, shown=shown, anchor="brine")


def _temperature_figures(steps: Sequence[Step]) -> Iterator[SearchFigure]:
    """Each temperature of the steps once."""
    seen = set()
    for step in steps:
        for word, temperature in (("core", step.core), ("chamber", step.chamber), (step.place, step.temperature)):
            if temperature and (word, temperature.low) not in seen:
                seen.add((word, temperature.low))
                low, high = celsius(temperature.low), celsius(temperature.high)
                shown = f"{word} {format_temperature(temperature.low)}"
                yield SearchFigure(unit="°C", low=low, high=high, shown=shown, anchor="steps")


def _millimetres(low: float, high: float, words: str, anchor: str) -> SearchFigure:
    """A length in m, or two, as a figure; ``words`` has braces in its place."""
    ends = dict.fromkeys(format_number(end * 1000, 0) for end in (low, high))
    return SearchFigure(unit="mm", low=low * 1000, high=high * 1000, shown=words.format("–".join(ends)), anchor=anchor)


def _block_anchors(page: Page) -> list[str]:
    """The anchor of each calculation block of a page, in order."""
    seen: Counter[str] = Counter()
    anchors = []
    for block in page.text.blocks:
        seen[block.kind] += 1
        word = {"salting": "brine", "batches": ""}.get(block.kind, block.kind)
        anchors.append(word if seen[block.kind] == 1 else f"{word}-{seen[block.kind]}")
    return anchors


def _sections_of(pieces: Sequence[Element], block_anchors: Sequence[str]) -> Iterator[Section]:
    """The author's words by the top-level headings of the page.

    A heading directly before its computed block leads to the block's anchor; the page's own title leads to the top.
    """
    section, may_give_way = Section(anchor="", title="", text=""), False
    for number, piece in enumerate(pieces):
        if number and may_give_way and not section.text.strip():
            section = replace(section, anchor=block_anchors[number - 1])
        may_give_way = False
        section = replace(section, text=f"{section.text} {piece.text or ''}")
        for element in piece:
            if element.tag not in _HEADINGS:
                section = replace(section, text=f"{section.text} {text_of(element)} {element.tail or ''}")
                continue
            if section.title or section.text.strip():
                yield section
            anchor = "" if element.tag == "h1" else element.get("id", "")
            section, may_give_way = (
                Section(anchor=anchor, title=" ".join(text_of(element).split()), text=element.tail or ""),
                bool(anchor),
            )
    if section.title or section.text.strip():
        yield section


_DRAWING = re.compile(r"<svg\b.*?</svg>", re.S)


class _Sections(HTMLParser):
    """Text of a finished page by the nearest id before it; the first heading after an id names its section."""

    _NAMES = ("h2", "h3", "dt", "caption", "th")
    _SILENT = ("script", "style", "form", "nav", "header", "footer")

    def __init__(self):
        super().__init__()
        self.found: list[list[str]] = []
        self.summary = ""
        self._silent, self._inside, self._name_of, self._in_summary = 0, False, -1, False

    def handle_starttag(self, tag, attrs):
        attributes = dict(attrs)
        if tag == "main":
            self._inside = True
        if not self._inside:
            return
        self._in_summary = "page-summary" in (attributes.get("class") or "")
        if tag in self._SILENT:
            self._silent += 1
        if attributes.get("id") and tag in ("section", "div", "li", "h2", "h3"):
            self.found.append([attributes["id"], "", ""])
        if tag in self._NAMES and self.found and not self.found[-1][1]:
            self._name_of = len(self.found) - 1

    def handle_endtag(self, tag):
        if tag == "main":
            self._inside = False
        if tag in self._SILENT and self._silent:
            self._silent -= 1
        if tag in self._NAMES:
            self._name_of = -1
        if tag == "p":
            self._in_summary = False

    def handle_data(self, data):
        if not self._inside:
            return
        if self._in_summary:
            self.summary += data
        if self._silent or not self.found:
            return
        if self._name_of >= 0:
            self.found[self._name_of][1] += data
        else:
            self.found[-1][2] += f" {data}"
