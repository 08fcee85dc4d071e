"""The generated pages of the whole handbook."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from importlib.resources import files
from types import SimpleNamespace

import yaml
from msgspec import Struct

from handbook.base.sources import sources
from handbook.base.units import kitchen_volume
from handbook.brine import hydrometer_scales, solution
from handbook.folder.kitchen import Kitchen
from handbook.folder.read_page import Page
from handbook.heat.lethality import organisms
from handbook.page.house import House
from handbook.safety.findings import RULES
from handbook.safety.limits import limits
from handbook.safety.not_judged import not_judged
from handbook.salt import diffusivity
from handbook.validation.comparisons import span
from handbook.validation.kept_times import kept_times
from site_build.base.said_words import later
from site_build.charts.points_chart import POINTS_NARROW, points_chart
from site_build.charts.standing_chart import standing_parts, together
from site_build.html.cautions import Caution
from site_build.html.cautions import together as caution_list
from site_build.html.contents import Card, contents_values
from site_build.html.render import render
from site_build.reading.book import url_of

#: Number of methods named at each source; the rest are counted.
MOST_USES = 24
MEASURE_WORDS = {
    "us": later("US cup 237 mL"),
    "metric": later("metric cup 250 mL"),
    "imperial": later("imperial cup 284 mL"),
}
_KIND_ORDER = ("salt", "curing salt", "sugar", "syrup", "liquid", "seasoning", "additive", "spice")


class BrineRow(Struct, frozen=True, kw_only=True):
    """One brine or cure in the table of all: its HTML and its place, from weak to strong, dry cures last."""

    html: str
    order: float


def brine_rows(page: Page) -> list[BrineRow]:
    """The rows of one method in the table of brines."""
    return [
        BrineRow(
            html=render(
                "brine_row.html", url=url_of(page.path), title=page.report.method.front_matter.title, each=each
            ),
            order=each.strength.salt_mass_fraction if each.strength else 2.0,
        )
        for each in page.report.saltings
    ]


class MethodRow(Struct, frozen=True, kw_only=True):
    """The data of one method in the overviews."""

    card: Card
    brines: Sequence[BrineRow]
    sources: Sequence[str]
    cautions: Sequence[Caution] = ()


class Overviews(Struct, frozen=True, kw_only=True):
    """The data of the generated pages. ``methods`` are in the order of their titles; plain pages, days and inspectors'
    folders are (address, title); ``in_progress`` is the number of open batches.
    """

    kitchen: Kitchen
    methods: Sequence[MethodRow]
    plain: Sequence[tuple[str, str]] = ()
    days: Sequence[tuple[str, str]] = ()
    folders: Sequence[tuple[str, str]] = ()
    in_progress: int = 0
    has_batches: bool = False

    @property
    def house(self) -> House:
        """The house's settings."""
        return self.kitchen.house


def overview_html(path: str, book: Overviews) -> str:
    """The content of one generated page, by its file name such as ``brines.md``."""
    name = path.removesuffix(".md")
    return render(f"page_{name.replace('-', '_')}.html", root="", **_VALUES[name](book))


def rests_on_methods(path: str) -> bool:
    """Whether a generated page depends on methods. The others depend only on the house and the engine."""
    return path in ("index.md", "brines.md", "sources.md", "cautions.md")


def shown_of(path: str, row: MethodRow) -> tuple:
    """Everything of one method that a generated page other than the contents shows."""
    return row.card.url, row.card.title, getattr(row, path.removesuffix(".md"))


def _index(book: Overviews) -> dict:
    cards = [each.card for each in book.methods]
    return {
        "kitchen_name": book.house.kitchen,
        "days": book.days,
        "plain_pages": book.plain,
        "folders": book.folders,
        "in_progress": book.in_progress,
        "has_batches": book.has_batches,
        **contents_values(cards),
    }


def _brines(book: Overviews) -> dict:
    rows = [(row.order, each.card.url, row) for each in book.methods for row in each.brines]
    return {"brines": [row for *_, row in sorted(rows, key=lambda each: each[:2])]}


def _weights(book: Overviews) -> dict:
    cup, tbsp, tsp = (kitchen_volume(name, book.house.measures) for name in ("cup", "tbsp", "tsp"))
    known = [each for each in book.kitchen.tables.ingredients.values() if each.kg_per_m3]
    groups = []
    for kind in _KIND_ORDER:
        rows = [
            (each, tuple(end * cup for end in each.kg_per_m3), each.kg_per_m3[1] * tbsp, each.kg_per_m3[1] * tsp)
            for each in known
            if each.kind == kind
        ]
        if rows:
            groups.append((kind, rows))
    return {"groups": groups, "measure_words": MEASURE_WORDS[book.house.measures]}


def _strength(book: Overviews) -> dict:
    return {"rows": hydrometer_scales.strength_table()}


def _sources(book: Overviews) -> dict:
    used: dict[str, list[tuple[str, str]]] = {key: [] for key in sources()}
    for each in book.methods:
        for key in each.sources:
            used[key].append((each.card.url, each.card.title))
    return {"sources": [(sources()[key], pages) for key, pages in used.items()], "most": MOST_USES}


def _glossary(book: Overviews) -> dict:
    return {"words": sorted(glossary().items(), key=lambda item: item[0].casefold())}


def _figures(book: Overviews) -> dict:
    return {
        "models": models(),
        "diffusivities": diffusivity.all_diffusivities(),
        "organisms": tuple(organisms().values()),
        "standing": standing_parts(),
        "times": (("wide", points_chart(kept_times())), ("narrow", points_chart(kept_times(), POINTS_NARROW))),
        "span": span,
        "together": together,
    }


def _limits(book: Overviews) -> dict:
    by_rule: dict[str, list] = {rule: [] for rule in RULES}
    for each in limits().values():
        by_rule[each.rule].append(each)
    rules = [(rule, RULES[rule], rows) for rule, rows in by_rule.items() if rows]
    return {"rules": rules, "titles": RULES, "not_judged": not_judged()}


def _cautions(book: Overviews) -> dict:
    found = caution_list((each.card.url, each.card.title, each.cautions) for each in book.methods)
    rules = [each.rule for each, _ in found]
    firsts = {rule: number for number, rule in reversed(list(enumerate(rules)))}
    anchors = [rule if firsts[rule] == number else "" for number, rule in enumerate(rules)]
    rows = [(each, pages, anchor) for (each, pages), anchor in zip(found, anchors, strict=True)]
    return {"cautions": rows, "count": len(book.methods), "most": MOST_USES}


@lru_cache
def glossary() -> dict[str, str]:
    """The words of the trade with their meanings."""
    return yaml.safe_load(files("site_build").joinpath("glossary.yml").read_text("utf-8"))


def _named_sources() -> dict[str, tuple[str, ...]]:
    """The sources that the engine names for a model's placeholder in capitals."""
    return {
        "SOLUTION": tuple(solution.SOURCES),
        "UPTAKE": tuple(key for each in diffusivity.all_diffusivities() for key in each.sources),
        "LETHALITY": ("general-method", *(each.source for each in organisms().values())),
    }


@lru_cache
def models() -> tuple[SimpleNamespace, ...]:
    """The models of the page "How the figures are made", their sources resolved."""
    found = []
    for entry in yaml.safe_load(files("site_build").joinpath("models.yml").read_text("utf-8")):
        keys = _named_sources().get(entry["sources"]) if isinstance(entry["sources"], str) else entry["sources"]
        found.append(SimpleNamespace(**{**entry, "sources": tuple(dict.fromkeys(keys))}))
    return tuple(found)


_VALUES = {
    "index": _index,
    "side-by-side": lambda book: {},
    "brines": _brines,
    "weights": _weights,
    "strength": _strength,
    "limits": _limits,
    "cautions": _cautions,
    "sources": _sources,
    "glossary": _glossary,
    "figures": _figures,
}
