"""A method of the trade as a hand notes it: the page, figures worked by hand, the verdicts, and what mends a refusal."""

from __future__ import annotations

import functools
from typing import Any

import yaml
from msgspec import Struct, field

from handbook.base.errors import PageError
from handbook.catalogue.tables import engine_tables
from handbook.folder.kitchen import Kitchen
from handbook.folder.read_page import PageSource, stated_page
from handbook.page.house import House, read_house
from handbook.report.cost import cost
from handbook.report.evaluate import evaluate
from handbook.report.method_report import Report
from handbook.safety.limits import rules_and_limits
from tests.verdicts.pages import ITEMS, changed, page_text

#: Whose kitchen a verdict is for: audience, and place of the law.
KITCHENS = {"home": ("home", ""), "retail": ("retail", "United States"), "plant": ("commercial", "United States")}
_HOUSE = """
kitchen: The Net Loft, a teaching kitchen on Lake Ennisk
measures: us
batches: [2 kg]
thicknesses: [20 mm]
fridge: 3 °C
containers:
  - {name: tall jar, diameter: 15 cm, height: 26 cm}
  - {name: crock, diameter: 24 cm, height: 32 cm}
  - {name: bin, length: 50 cm, width: 36 cm, height: 34 cm}
currency: crowns
prices:
  - {item: "salt, fine sea", price: 2.00 per kg}
  - {item: "curing salt, 6.25 % sodium nitrite (type 1)", price: 10.00 per kg}
  - {item: "curing salt, 6.25 % nitrite + 4 % nitrate (type 2)", price: 12.00 per kg}
  - {item: "sugar, white granulated", price: 1.50 per kg}
  - {item: "vinegar, distilled 5 %", price: 2.00 per kg}
  - {item: "water, tap", price: 0.01 per kg}
  - {item: honey, price: 12.00 per kg}
  - {item: "chicken thigh, with skin", price: 7.00 per kg}
  - {item: "chicken whole, meat and skin", price: 6.00 per kg}
  - {item: "pork loin, whole, lean+fat", price: 9.00 per kg}
  - {item: "pork shoulder, Boston blade, lean+fat", price: 6.00 per kg}
  - {item: "pork belly", price: 7.50 per kg}
  - {item: "pork leg (fresh ham), whole, lean+fat", price: 8.00 per kg}
  - {item: "beef eye of round, lean+fat", price: 14.00 per kg}
  - {item: "char, Arctic", price: 20.00 per kg}
  - {item: "trout, rainbow, wild", price: 18.00 per kg}
  - {item: "cod, Atlantic", price: 12.00 per kg}
  - {item: "cabbage, green", price: 1.00 per kg}
  - {item: carrot, price: 1.20 per kg}
  - {item: beet, price: 1.50 per kg}
  - {item: "egg, whole", price: 5.00 per kg}
"""


class Note(Struct, frozen=True, kw_only=True):
    """One method. ``page`` is in the compact notation of tests/verdicts/pages.py; ``figures`` are worked by hand.

    verdicts : kitchen -> clear, act or stop
    finds, mends : words of the refusal, and of what it says would mend it
    """

    name: str
    family: str
    says: str
    page: str
    figures: dict[str, float]
    verdicts: dict[str, str]
    finds: tuple[str, ...] = ()
    mends: tuple[str, ...] = ()
    within: dict[str, float] = field(default_factory=dict)

    @property
    def text(self) -> str:
        """The page as an author writes it."""
        page = yaml.load(self.page, Loader=yaml.BaseLoader)
        return page_text(changed({}, {"title": self.name.replace("-", " ").capitalize(), **page}))


@functools.cache
def house(kitchen: str) -> House:
    """The house of one kind of kitchen."""
    audience, place = KITCHENS[kitchen]
    text = _HOUSE + f"audience: {audience}\n" + (f"place: {place}\n" if place else "")
    tables = engine_tables()
    found, faults = read_house(text, "house.yml", tuple(tables.foods), tuple(tables.ingredients), rules_and_limits())
    assert found is not None and not faults, faults
    return found


@functools.cache
def judged(name: str, text: str, kitchen: str) -> Report | str:
    """The report of a page in one kind of kitchen, or the faults for which it has none."""
    tables = engine_tables()
    source = PageSource(folder="trade", path=f"{name}.md", data=text.encode())
    page = stated_page(source, Kitchen(house=house(kitchen), tables=tables))
    if page.method is None or page.faults:
        return "\n".join(map(str, page.faults))
    try:
        return evaluate(page.method, house(kitchen), tables)
    except PageError as error:
        return str(error)


def verdict(report: Report) -> str:
    """The worst that a page gets."""
    levels = {each.level for each in report.findings}
    return next((each for each in ("stop", "act") if each in levels), "clear")


def refusal(report: Report) -> str:
    """The words of every stop: what it is about, how the page stands, the limit as printed, what mends it."""
    stops = [each for each in report.findings if each.level == "stop"]
    return " ".join(
        f"{each.rule} {each.title} {each.figure} {each.printed} {each.message} {each.mend}" for each in stops
    )


def figure(report: Report, name: str, kitchen: str = "home") -> float:
    """A figure of the report by the name that the notebook gives it."""
    what, _, which = name.partition(": ")
    return float(_READ[what](report, which, kitchen))


def _weigh(report: Report, which: str, _: str) -> float:
    """g of an ingredient in the batch as written, in all mixtures; of a mixture's name before a slash in that alone."""
    item = ITEMS.get(which, which)
    parts = [part for each in (*report.saltings, *report.glazes) for part in each.made.parts]
    found = [part.mass.typical for part in parts if part.ingredient.name == item]
    assert found, (which, [part.ingredient.name for part in parts])
    return 1000 * sum(found)


def _brine(read: Any) -> Any:
    def value(report: Report, which: str, _: str) -> float:
        strength = next(each.strength for each in report.saltings if not which or each.mixture.name == which)
        assert strength is not None
        return float(read(strength))

    return value


def _equilibrium(read: Any) -> Any:
    return lambda report, which, _: read(report.saltings[int(which or 1) - 1].equilibrium)


def _cost(report: Report, _: str, kitchen: str) -> float:
    return cost(report.bill, house(kitchen)).total


def _hours(report: Report, _: str, __: str) -> float:
    return report.schedule.total.typical / 3600


def _step_hours(report: Report, which: str, _: str) -> float:
    return report.schedule.steps[int(which) - 1].duration.typical / 3600


_READ = {
    "weigh": _weigh,
    "brine %": _brine(lambda each: 100 * each.salt_mass_fraction),
    "salometer": _brine(lambda each: each.at_scale.salometer),
    "SG": _brine(lambda each: each.at_scale.specific_gravity),
    "salt settled %": _equilibrium(lambda each: 100 * each.salt_mass_fraction.typical),
    "water-phase salt settled %": _equilibrium(lambda each: 100 * each.water_phase_salt.typical),
    "nitrite ppm": _equilibrium(lambda each: each.ingoing_nitrite_ppm),
    "nitrate ppm": _equilibrium(lambda each: each.ingoing_nitrate_ppm),
    "finished salt %": lambda report, _, __: 100 * report.salt.typical,
    "yield %": lambda report, _, __: 100 * report.finished.ratio.typical,
    "portion g": lambda report, _, __: 1000 * report.portion.mass.typical,
    "cost": _cost,
    "cost per kg": lambda report, _, kitchen: cost(report.bill, house(kitchen)).per_finished_kg.typical,
    "hours": _hours,
    "step hours": _step_hours,
    "keeps days": lambda report, _, __: report.method.keeping.time.low / 86400,
    "food fat %": lambda report, _, __: 100 * report.food.fat,
    "food water %": lambda report, _, __: 100 * report.food.water,
    "brine acid %": lambda report, _, __: 100 * report.sour.pickles[0].brine_acid,
    "acid settled %": lambda report, _, __: 100 * report.sour.pickles[0].acid,
    "pH settled": lambda report, _, __: report.sour.pickles[0].ph.typical,
}
