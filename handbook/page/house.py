"""The house file: what is true for one kitchen and all its methods."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from math import pi

from handbook.base.errors import PageError
from handbook.base.forms import Choice, Date, Field, Form, ListOf, Measure, Name, Reading, Record, Words
from handbook.base.units import MEASURES, Quantity, kelvin, parse_quantity
from handbook.base.yaml_text import parse_yaml
from handbook.page.equipment import PLANNING_FORM, Planning, check_planning
from handbook.page.method import Vocabulary

DRY_MARGIN = 0.02  # m of free rim that a container keeps


@dataclass(frozen=True)
class Container:
    """A vessel with upright walls: inner sizes in m. A bag has no level and fits what its volume holds."""

    name: str
    length: Quantity | None
    width: Quantity | None
    diameter: Quantity | None
    height: Quantity
    line: int

    @property
    def area(self) -> float:
        """Inner base area in m2."""
        if self.diameter:
            return pi / 4 * self.diameter.low**2
        return self.length.low * self.width.low

    @property
    def volume(self) -> float:
        """Volume in m3 up to the free rim."""
        return self.area * max(self.height.low - DRY_MARGIN, 0.0)


@dataclass(frozen=True)
class Price:
    """The price of one ingredient or of the food, per kg or per litre."""

    item: str
    price: tuple[float, str]
    line: int


@dataclass(frozen=True)
class SignedException:
    """A signed-off exception to a stop of the safety rules."""

    method: str
    rule: str
    by: str
    on: str
    reason: str
    line: int


@dataclass(frozen=True)
class House:
    """One kitchen's settings. Lengths, masses, temperatures and fractions are quantities in SI."""

    kitchen: str
    measures: str
    scale_step: Quantity
    fine_scale_step: Quantity
    fine_scale_limit: Quantity
    household_tolerance: Quantity
    batches: tuple[Quantity, ...]
    thicknesses: tuple[Quantity, ...]
    thickness_spread: Quantity
    fridge: Quantity
    containers: tuple[Container, ...]
    currency: str
    prices: tuple[Price, ...]
    audience: str
    address: str
    repository: str
    exceptions: tuple[SignedException, ...]
    line: int
    planning: Planning | None = None

    def price_of(self, item: str) -> tuple[float, str] | None:
        """(price per kg or per m3, "mass" or "volume"), or None where the house states none."""
        return next((each.price for each in self.prices if each.item == item), None)


class PriceForm(Form):
    """``3.20 per kg`` or ``0.90 per L``."""

    allowed = 'a price, such as "3.20 per kg" or "0.90 per L"'

    def read_text(self, node, key, reading):
        match = re.fullmatch(r"(\d{1,6}(?:\.\d{1,4})?) per (kg|g|lb|L|mL)", node.value)
        if match is None:
            return self._fault(node, key, reading)
        unit = parse_quantity(f"1 {match[2]}", "mass", "volume")
        return float(match[1]) / unit.low, unit.dimension


def _one(dimension: str, low: float, high: float, limits: str, **more) -> Measure:
    return Measure((dimension,), low, high, limits, **more)


_INNER = _one("length", 0, 3, 'an inner length above 0 and up to 3 m, such as "32 cm"')


@lru_cache(maxsize=8)
def house_form(rules: tuple[str, ...]) -> Record:
    """The house file's form; ``rules`` are the names of the rules and limits that an exception may set aside."""
    return Record(
        (
            Field("kitchen", Words(80), "the kitchen's name", True),
            Field("measures", Choice(MEASURES), "which cups and spoons", True),
            Field(
                "scale_step",
                _one("mass", 0, 0.1, 'a mass up to 100 g, such as "1 g"'),
                "step of the kitchen scale",
                default=parse_quantity("1 g", "mass"),
            ),
            Field(
                "fine_scale_step",
                _one("mass", 0, 0.1, 'a mass up to 100 g, such as "0.1 g"'),
                "step of the fine scale",
                default=parse_quantity("0.1 g", "mass"),
            ),
            Field(
                "fine_scale_limit",
                _one("mass", 0, 5, 'a mass up to 5 kg, such as "100 g"'),
                "amounts below this go on the fine scale",
                default=parse_quantity("20 g", "mass"),
            ),
            Field(
                "household_tolerance",
                _one("fraction", 0, 0.5, 'a share up to 50 %, such as "5 %"'),
                "error of a cup or spoon above which it is flagged",
                default=parse_quantity("5 %", "fraction"),
            ),
            Field(
                "batches", ListOf(_one("mass", 0, 5000, 'a mass above 0, such as "2 kg"'), 12), "batches to show", True
            ),
            Field(
                "thicknesses",
                ListOf(_one("length", 0.0005, 1, 'a length of 0.5 mm to 1 m, such as "20 mm"'), 20),
                "thicknesses of the tables of times",
                True,
            ),
            Field(
                "thickness_spread",
                _one("fraction", 0, 0.5, 'a share up to 50 %, such as "10 %"'),
                "how far hand-cut pieces vary",
                default=parse_quantity("10 %", "fraction"),
            ),
            Field(
                "fridge",
                _one("temperature", kelvin(-2), kelvin(10), 'a temperature, -2 to 10 °C, such as "3 °C"'),
                "the fridge's temperature",
                True,
            ),
            Field(
                "containers",
                ListOf(
                    Record(
                        (
                            Field("name", Words(40), "what the kitchen calls it", True),
                            Field("length", _INNER, "inner length"),
                            Field("width", _INNER, "inner width"),
                            Field("diameter", _INNER, "inner diameter, for a round one"),
                            Field("height", _INNER, "inner height", True),
                        ),
                        Container,
                    ),
                    50,
                    may_be_single=False,
                ),
                "the kitchen's vessels",
                True,
            ),
            Field("currency", Words(10), "currency of the prices", default=""),
            Field(
                "prices",
                ListOf(
                    Record(
                        (
                            Field("item", Words(80), "ingredient or food", True),
                            Field("price", PriceForm(), "its price", True),
                        ),
                        Price,
                    ),
                    400,
                    may_be_single=False,
                ),
                "prices",
                default=(),
            ),
            Field(
                "audience", Choice(("home", "retail", "commercial")), "whose safety guidance applies", default="home"
            ),
            Field("address", Words(200), "where the site is published", default=""),
            Field("repository", Words(200), "where the pages' sources stand", default=""),
            Field(
                "exceptions",
                ListOf(
                    Record(
                        (
                            Field("method", Words(80), "page name", True),
                            Field(
                                "rule",
                                Name("a rule or a limit", lambda: rules, "the handbook"),
                                "rule that is set aside",
                                True,
                            ),
                            Field("by", Words(80), "who signs", True),
                            Field("on", Date(), "day signed", True),
                            Field("reason", Words(400), "why", True),
                        ),
                        SignedException,
                    ),
                    100,
                    may_be_single=False,
                ),
                "signed-off exceptions to a stop",
                default=(),
            ),
            Field("planning", PLANNING_FORM, "what day plans reckon with: equipment, people, pack sizes"),
        ),
        House,
    )


def read_house(
    text: str, file: str, foods: tuple[str, ...], ingredients: tuple[str, ...], rules: tuple[str, ...]
) -> tuple[House | None, list[PageError]]:
    """The house file's settings, or None and every fault found; ``rules`` as for ``house_form``."""
    reading = Reading(file)
    try:
        node = parse_yaml(text, file, 1, "house")
    except PageError as fault:
        return None, [fault]
    house = house_form(rules).read(node, "", reading)
    if house is not None:
        _check(house, {*foods, *ingredients}, reading)
    return (None if reading.faults else house), reading.faults


def vocabulary(house: House, foods: tuple[str, ...], ingredients: tuple[str, ...]) -> Vocabulary:
    """The names that the pages of this house may use."""
    return Vocabulary(foods, ingredients, tuple(each.name for each in house.containers))


def _check(house: House, items: set[str], reading: Reading) -> None:
    names = [each.name for each in house.containers]
    for container in house.containers:
        if names.count(container.name) > 1:
            reading.fault(container.line, "containers.name", container.name, "each container's name once")
        box = container.length is not None and container.width is not None
        if box == (container.diameter is not None):
            reading.fault(container.line, "containers", container.name, "either length and width, or diameter")
    if house.planning is not None:
        check_planning(house.planning, items, reading)
    for price in house.prices:
        if price.item not in items:
            reading.fault(
                price.line,
                "prices.item",
                price.item,
                "an ingredient or a food of the handbook",
                reading.suggestion(price.item, items),
            )
