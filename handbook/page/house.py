"""The house file: what is true for one kitchen and all its methods."""

from __future__ import annotations

import datetime
import re
from dataclasses import dataclass, field, replace
from functools import lru_cache
from math import pi
from typing import Any

from handbook.base.errors import PageError
from handbook.base.forms import Choice, Date, Field, Form, ListOf, Measure, Name, Reading, Record, Words
from handbook.base.units import MEASURES, Quantity, kelvin, parse_quantity
from handbook.base.yaml_text import Text, parse_yaml
from handbook.page.equipment import PLANNING_FORM, Planning, check_planning
from handbook.page.method import Vocabulary

#: Whose law judges the pages of a house that names no place.
NO_PLACE = "none named"
PLACES_OF_LAW = ("United States", "European Union", NO_PLACE)
DRY_MARGIN = 0.02  # m of free rim that a container keeps


@dataclass(frozen=True, kw_only=True)
class Container:
    """A vessel with upright walls: inner sizes in m. A bag has no level and fits what its volume holds."""

    name: str
    length: Quantity | None
    width: Quantity | None
    diameter: Quantity | None
    height: Quantity
    line: int = field(repr=False)

    @property
    def area(self) -> float:
        """Inner base area in m2."""
        if self.diameter:
            return pi / 4 * self.diameter.low**2
        if self.length is None or self.width is None:
            raise ValueError(f"{self.name}: no inner size is stated")  # never in a house file that was read
        return self.length.low * self.width.low

    @property
    def volume(self) -> float:
        """Volume in m3 up to the free rim."""
        return self.area * max(self.height.low - DRY_MARGIN, 0.0)


@dataclass(frozen=True, kw_only=True)
class Price:
    """The price of one ingredient or of the food, per kg or per litre."""

    item: str
    price: tuple[float, str]
    line: int = field(repr=False)


@dataclass(frozen=True, kw_only=True)
class SignedException:
    """A signed-off exception to a stop of the safety rules: who, in which role, by which process, until when."""

    method: str
    rule: str
    by: str
    on: datetime.date
    reason: str
    line: int = field(repr=False)
    role: str = ""
    process: str = ""
    until: datetime.date | None = None

    def is_over(self, day: datetime.date) -> bool:
        """Whether the exception no longer holds on ``day``."""
        return self.until is not None and self.until < day


@dataclass(frozen=True, kw_only=True)
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
    place: str = NO_PLACE

    def price_of(self, item: str) -> tuple[float, str] | None:
        """(price per kg or per m3, "mass" or "volume"), or None where the house states none."""
        return next((each.price for each in self.prices if each.item == item), None)

    def exceptions_of(self, method: str) -> tuple[SignedException, ...]:
        """The signed exceptions of one method."""
        return tuple(each for each in self.exceptions if each.method == method)

    def without_exceptions(self) -> House:
        """The house as if no exception were signed."""
        return replace(self, exceptions=())


class PriceForm(Form):
    """``3.20 per kg`` or ``0.90 per L``."""

    allowed = 'a price, such as "3.20 per kg" or "0.90 per L"'

    def read_text(self, node: Text, key: str, reading: Reading) -> Any:
        match = re.fullmatch(r"(\d{1,6}(?:\.\d{1,4})?) per (kg|g|lb|L|mL)", node.value)
        if match is None:
            return self._fault(node, key, reading)
        unit = parse_quantity(f"1 {match[2]}", "mass", "volume")
        return float(match[1]) / unit.low, unit.dimension


def _one(dimension: str, low: float, high: float, limits: str, **more: bool) -> Measure:
    return Measure(dimensions=(dimension,), low=low, high=high, limits=limits, **more)


_INNER = _one("length", 0, 3, 'an inner length above 0 and up to 3 m, such as "32 cm"')


@lru_cache(maxsize=8)
def house_form(rules: tuple[str, ...]) -> Record:
    """The house file's form; ``rules`` are the names of the rules and limits that an exception may set aside."""
    return Record(
        fields=(
            Field(key="kitchen", form=Words(limit=80), help="the kitchen's name", required=True),
            Field(key="measures", form=Choice(words=MEASURES), help="which cups and spoons", required=True),
            Field(
                key="scale_step",
                form=_one("mass", 0, 0.1, 'a mass up to 100 g, such as "1 g"'),
                help="step of the kitchen scale",
                default=parse_quantity("1 g", "mass"),
            ),
            Field(
                key="fine_scale_step",
                form=_one("mass", 0, 0.1, 'a mass up to 100 g, such as "0.1 g"'),
                help="step of the fine scale",
                default=parse_quantity("0.1 g", "mass"),
            ),
            Field(
                key="fine_scale_limit",
                form=_one("mass", 0, 5, 'a mass up to 5 kg, such as "100 g"'),
                help="amounts below this go on the fine scale",
                default=parse_quantity("20 g", "mass"),
            ),
            Field(
                key="household_tolerance",
                form=_one("fraction", 0, 0.5, 'a share up to 50 %, such as "5 %"'),
                help="error of a cup or spoon above which it is flagged",
                default=parse_quantity("5 %", "fraction"),
            ),
            Field(
                key="batches",
                form=ListOf(form=_one("mass", 0, 5000, 'a mass above 0, such as "2 kg"'), limit=12),
                help="batches to show",
                required=True,
            ),
            Field(
                key="thicknesses",
                form=ListOf(form=_one("length", 0.0005, 1, 'a length of 0.5 mm to 1 m, such as "20 mm"'), limit=20),
                help="thicknesses of the tables of times",
                required=True,
            ),
            Field(
                key="thickness_spread",
                form=_one("fraction", 0, 0.5, 'a share up to 50 %, such as "10 %"'),
                help="how far hand-cut pieces vary",
                default=parse_quantity("10 %", "fraction"),
            ),
            Field(
                key="fridge",
                form=_one("temperature", kelvin(-2), kelvin(10), 'a temperature, -2 to 10 °C, such as "3 °C"'),
                help="the fridge's temperature",
                required=True,
            ),
            Field(
                key="containers",
                form=ListOf(
                    form=Record(
                        fields=(
                            Field(key="name", form=Words(limit=40), help="what the kitchen calls it", required=True),
                            Field(key="length", form=_INNER, help="inner length"),
                            Field(key="width", form=_INNER, help="inner width"),
                            Field(key="diameter", form=_INNER, help="inner diameter, for a round one"),
                            Field(key="height", form=_INNER, help="inner height", required=True),
                        ),
                        build=Container,
                    ),
                    limit=50,
                    may_be_single=False,
                ),
                help="the kitchen's vessels",
                required=True,
            ),
            Field(key="currency", form=Words(limit=10), help="currency of the prices", default=""),
            Field(
                key="prices",
                form=ListOf(
                    form=Record(
                        fields=(
                            Field(key="item", form=Words(limit=80), help="ingredient or food", required=True),
                            Field(key="price", form=PriceForm(), help="its price", required=True),
                        ),
                        build=Price,
                    ),
                    limit=400,
                    may_be_single=False,
                ),
                help="prices",
                default=(),
            ),
            Field(
                key="audience",
                form=Choice(words=("home", "retail", "commercial")),
                help="whose safety guidance applies",
                default="home",
            ),
            Field(key="place", form=Choice(words=PLACES_OF_LAW), help="whose law judges the pages", default=NO_PLACE),
            Field(key="address", form=Words(limit=200), help="where the site is published", default=""),
            Field(key="repository", form=Words(limit=200), help="where the pages' sources stand", default=""),
            Field(
                key="exceptions",
                form=ListOf(
                    form=Record(
                        fields=(
                            Field(key="method", form=Words(limit=80), help="page name", required=True),
                            Field(
                                key="rule",
                                form=Name(kind="a rule or a limit", names=lambda: rules, of="the handbook"),
                                help="rule that is set aside",
                                required=True,
                            ),
                            Field(key="by", form=Words(limit=80), help="who signs", required=True),
                            Field(key="role", form=Words(limit=80), help="the signer's role", required=True),
                            Field(key="reason", form=Words(limit=400), help="why", required=True),
                            Field(key="process", form=Words(limit=120), help="the process document", required=True),
                            Field(key="on", form=Date(), help="day signed", required=True),
                            Field(key="until", form=Date(), help="last day it holds", required=True),
                        ),
                        build=SignedException,
                    ),
                    limit=100,
                    may_be_single=False,
                ),
                help="signed-off exceptions to a stop",
                default=(),
            ),
            Field(key="planning", form=PLANNING_FORM, help="what day plans reckon with: equipment, people, pack sizes"),
        ),
        build=House,
    )


def read_house(
    text: str, file: str, foods: tuple[str, ...], ingredients: tuple[str, ...], rules: tuple[str, ...]
) -> tuple[House | None, list[PageError]]:
    """The house file's settings, or None and every fault found; ``rules`` as for ``house_form``."""
    reading = Reading(file=file)
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
    return Vocabulary(foods=foods, ingredients=ingredients, containers=tuple(each.name for each in house.containers))


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
