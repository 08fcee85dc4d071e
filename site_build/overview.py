"""The pages of the whole handbook: what each needs from the book."""

from __future__ import annotations

from functools import lru_cache
from importlib.resources import files
from types import SimpleNamespace

import yaml

from handbook import diffusivity, solution
from handbook.lethality import organisms
from handbook.limits import limits
from handbook.safety import RULES
from handbook.sources import sources
from handbook.standing import span
from handbook.units import kitchen_volume
from site_build.book import Book
from site_build.contents import contents_values
from site_build.render import render
from site_build.standing_chart import standing_parts, together

MEASURE_WORDS = {"us": "US cup 237 mL", "metric": "metric cup 250 mL", "imperial": "imperial cup 284 mL"}
_KIND_ORDER = ("salt", "curing salt", "sugar", "syrup", "liquid", "seasoning", "additive", "spice")


def overview_html(path: str, book: Book) -> str:
    """The content of one generated page, by its file name such as ``brines.md``."""
    name = path.removesuffix(".md")
    values = _VALUES[name](book)
    return render(f"page_{name.replace('-', '_')}.html", book=book, methods=book.methods, root="", **values)


def _index(book: Book) -> dict:
    return contents_values(book)


def _side_by_side(book: Book) -> dict:
    return {}


def _brines(book: Book) -> dict:
    rows = [(page, each) for page in book.methods for each in page.report.saltings]
    strength = lambda row: row[1].strength.salt_mass_fraction if row[1].strength else 2.0  # noqa: E731 dry cures last
    return {"brines": sorted(rows, key=lambda row: (strength(row), row[0].url))}


def _weights(book: Book) -> dict:
    cup, tbsp, tsp = (kitchen_volume(name, book.house.measures) for name in ("cup", "tbsp", "tsp"))
    known = [each for each in book.tables.ingredients.values() if each.kg_per_m3]
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


def _strength(book: Book) -> dict:
    return {"rows": solution.strength_table()}


def _sources(book: Book) -> dict:
    used: dict[str, list[tuple[str, str]]] = {key: [] for key in sources()}
    for page in book.methods:
        for key in page.report.sources:
            used[key].append((page.url, page.report.method.sheet.title))
    return {"sources": [(sources()[key], pages) for key, pages in used.items()]}


def _glossary(book: Book) -> dict:
    return {"words": sorted(_words().items(), key=lambda item: item[0].casefold())}


def _figures(book: Book) -> dict:
    return {
        "models": models(),
        "diffusivities": diffusivity.all_diffusivities(),
        "organisms": tuple(organisms().values()),
        "standing": standing_parts(),
        "span": span,
        "together": together,
    }


def _limits(book: Book) -> dict:
    by_rule: dict[str, list] = {rule: [] for rule in RULES}
    for each in limits().values():
        by_rule[each.rule].append(each)
    return {"rules": [(rule, RULES[rule], rows) for rule, rows in by_rule.items() if rows]}


_HEAT_SOURCES = (
    "choi-okos-1986",
    "carslaw-jaeger-1959",
    "film-coefficients",
    "lewis-number",
    "hyland-wexler-1983",
    "latent-heat-line",
    "muscle-isotherm",
    "pork-drying-sintef",
    "biltong-2021",
    "salmon-cooking-2020",
    "meat-processing-table-6-1",
    "heat-estimates",
)


@lru_cache
def _words() -> dict[str, str]:
    return yaml.safe_load(files("site_build").joinpath("glossary.yml").read_text("utf-8"))


def _named_sources() -> dict[str, tuple[str, ...]]:
    """What a model's word in capitals stands for: the sources that its part of the engine names."""
    return {
        "SOLUTION": tuple(solution.SOURCES),
        "UPTAKE": tuple(key for each in diffusivity.all_diffusivities() for key in each.sources),
        "HEAT": _HEAT_SOURCES,
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
    "side-by-side": _side_by_side,
    "brines": _brines,
    "weights": _weights,
    "strength": _strength,
    "limits": _limits,
    "sources": _sources,
    "glossary": _glossary,
    "figures": _figures,
}
