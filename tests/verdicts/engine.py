"""The one place where the table meets the handbook: a page's text in, its findings and faults out."""

from __future__ import annotations

import functools

import yaml
from msgspec import Struct

from handbook.base.errors import PageError, UnforeseenError
from handbook.catalogue import foods
from handbook.catalogue.tables import Tables, engine_tables
from handbook.folder.kitchen import Kitchen
from handbook.folder.read_page import PageSource, stated_page
from handbook.page.house import House, read_house
from handbook.report.evaluate import evaluate
from handbook.safety.findings import Finding
from handbook.safety.limits import rules_and_limits
from tests.verdicts.cases import Case

#: A kitchen that states nothing but what a house file asks for.
_HOUSE = """
kitchen: The Net Loft, a teaching kitchen on Lake Ennisk
measures: us
batches: [2 kg]
thicknesses: [20 mm]
fridge: 3 °C
containers:
  - {name: crock, diameter: 24 cm, height: 32 cm}
  - {name: bin, length: 50 cm, width: 36 cm, height: 34 cm}
"""


class Judged(Struct, frozen=True):
    """What the handbook says of one page. ``faults`` are faults of page or house, stops not among them."""

    findings: tuple[Finding, ...]
    faults: tuple[str, ...]

    @property
    def verdict(self) -> str:
        """fault, stop, act or clear: the worst that the page gets."""
        levels = {each.level for each in self.findings}
        return "fault" if self.faults else next((each for each in ("stop", "act") if each in levels), "clear")

    def decisive(self, level: str) -> tuple[str, ...]:
        """The words of every finding of a level, or of every fault."""
        if level == "fault":
            return self.faults
        return tuple(_words(each) for each in self.findings if each.level == level)


def judge(case: Case) -> Judged:
    """The page of a case, read and evaluated in the house of the case."""
    tables = engine_tables()
    if case.food:
        added = foods.load([case.food])
        tables = Tables(foods={each.name: each for each in added}, ingredients=tables.ingredients)
    house, wrong = _house(case, tables)
    if house is None:
        return Judged((), tuple(map(str, wrong)))
    source = PageSource(folder="verdicts", path=f"{case.id}.md", data=case.text.encode())
    try:
        page = stated_page(source, Kitchen(house=house, tables=tables))
        if page.method is None or page.faults:
            return Judged((), tuple(map(str, page.faults)))
        return Judged(evaluate(page.method, house, tables).findings, ())
    except PageError as error:
        return Judged((), (str(error),))
    except Exception as error:  # a crash is one wrong line of the table, not the end of it
        return Judged((), (str(UnforeseenError.of(f"{case.id}.md", error)),))


def _words(finding: Finding) -> str:
    parts = (
        finding.rule,
        finding.topic,
        finding.title,
        finding.verdict,
        finding.figure,
        finding.printed,
        finding.message,
    )
    return " | ".join(filter(None, parts))


def heading(finding: Finding) -> str:
    """What a finding is about: its rule, limit, topic and title, without what it says."""
    return " | ".join((finding.rule, finding.limit, finding.topic, finding.title))


def _house(case: Case, tables: Tables) -> tuple[House | None, list[PageError]]:
    place = "" if case.place == "none named" else case.place
    exceptions = tuple(tuple(each.items()) for each in case.exceptions)
    return _read_house(case.audience, place, exceptions, tuple(tables.foods), tuple(tables.ingredients))


@functools.lru_cache
def _read_house(audience: str, place: str, exceptions: tuple, food_names: tuple[str, ...], items: tuple[str, ...]):
    values = {"audience": audience, **({"place": place} if place else {})}
    values |= {"exceptions": [dict(each) for each in exceptions]} if exceptions else {}
    text = _HOUSE + yaml.safe_dump(values, allow_unicode=True, sort_keys=False)
    return read_house(text, "house.yml", food_names, items, rules_and_limits())
