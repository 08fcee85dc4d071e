"""The house file: the settings of one kitchen, for all its methods."""

from __future__ import annotations

import datetime
import re
from functools import lru_cache
from math import pi
from typing import Annotated, Any, TypeVar

from babel import Locale, UnknownLocaleError
from msgspec import Struct
from msgspec.structs import asdict, replace

from handbook.base.errors import PageError
from handbook.base.forms import Choice, Date, Form, ListOf, Name, Reading, Words, YesNo, read_yaml
from handbook.base.records import Key, Record, record_of, rows_of
from handbook.base.units import MEASURES, Quantity, kelvin, parse_quantity
from handbook.base.wording import ENGLISH
from handbook.base.yaml_text import Text
from handbook.catalogue.name_resolver import find_item
from handbook.page.equipment import PLANNING_FORM, Pack, Planning, check_planning
from handbook.page.measure_forms import measure
from handbook.page.site_colours import COLOURS_FORM, Colours
from handbook.page.vocabulary import Vocabulary

#: The law that applies to the pages of a house that names no place.
NO_PLACE = "none named"
PLACES_OF_LAW = ("United States", "European Union", NO_PLACE)
DRY_MARGIN = 0.02  # m of rim above the brine that a container needs


class PriceForm(Form, frozen=True):
    """``3.20 per kg`` or ``0.90 per L``."""

    allowed = 'a price, such as "3.20 per kg" or "0.90 per L"'

    def read_text(self, node: Text, key: str, reading: Reading) -> Any:
        match = re.fullmatch(r"(\d{1,6}(?:\.\d{1,4})?) per (kg|g|lb|L|mL)", node.value)
        if match is None:
            return self._fault(node, key, reading)
        unit = parse_quantity(f"1 {match[2]}", "mass", "volume")
        return float(match[1]) / unit.low, unit.dimension


class Language(Form, frozen=True, kw_only=True):
    """A language that the Unicode locale data know, as a tag of BCP 47."""

    allowed = 'a language tag of BCP 47 with known number and date forms, such as "en-GB", "fi" or "pt-BR"'

    def read_text(self, node: Text, key: str, reading: Reading) -> Any:
        try:
            known = re.fullmatch(r"[A-Za-z]{2,3}(-[A-Za-z0-9]{2,8}){0,2}", node.value) and Locale.parse(node.value, "-")
        except (ValueError, UnknownLocaleError):
            known = None
        return str(known).replace("_", "-") if known else self._fault(node, key, reading)


_INNER = measure("length", 0, 3, 'an inner length above 0 and up to 3 m, such as "32 cm"')


class _Row(Struct, frozen=True, kw_only=True):
    # A row of the house file. Where it stands is no part of its value, by which pages are cached (kitchen_reads.py).
    line: int

    def __repr__(self) -> str:
        values = {name: value for name, value in asdict(self).items() if name != "line"}
        return f"{type(self).__name__}({values})"


class Container(_Row, frozen=True, kw_only=True):
    """A vessel with upright walls: inner sizes in m. A bag has no level: its volume is its capacity."""

    name: Annotated[str, Key("what the kitchen calls it", Words(limit=40))]
    length: Annotated[Quantity | None, Key("inner length", _INNER)] = None
    width: Annotated[Quantity | None, Key("inner width", _INNER)] = None
    diameter: Annotated[Quantity | None, Key("inner diameter, for a round one", _INNER)] = None
    height: Annotated[Quantity, Key("inner height", _INNER)]

    @property
    def area(self) -> float:
        """Inner base area in m2."""
        if self.diameter:
            return pi / 4 * self.diameter.low**2
        if self.length is None or self.width is None:
            raise ValueError(f"{self.name}: no inner size is stated")  # impossible in a checked house file
        return self.length.low * self.width.low

    @property
    def volume(self) -> float:
        """Volume in m3 up to the free rim."""
        return self.area * max(self.height.low - DRY_MARGIN, 0.0)


class Price(_Row, frozen=True, kw_only=True):
    """The price of one ingredient or of the food, per kg or per litre."""

    item: Annotated[str, Key("ingredient or food", Words(limit=80))]
    price: Annotated[tuple[float, str], Key("its price", PriceForm())]


#: A row of the house file that names a food or an ingredient.
_Item = TypeVar("_Item", Price, Pack)


class SignedException(_Row, frozen=True, kw_only=True):
    """A signed-off exception to a stop of the safety rules: who, in which role, by which process, until when."""

    method: Annotated[str, Key("page name", Words(limit=80))]
    rule: Annotated[str, Key("rule that is set aside")]
    by: Annotated[str, Key("who signs", Words(limit=80))]
    role: Annotated[str, Key("the signer's role", Words(limit=80))]
    reason: Annotated[str, Key("why", Words(limit=400))]
    process: Annotated[str, Key("the process document", Words(limit=120))]
    on: Annotated[datetime.date, Key("day signed", Date())]
    until: Annotated[datetime.date, Key("last day it holds", Date())]

    def is_over(self, day: datetime.date) -> bool:
        """Whether the exception no longer holds on ``day``."""
        return self.until < day

    def is_early(self, day: datetime.date) -> bool:
        """Whether the exception is dated later than ``day`` and does not hold yet."""
        return self.on > day


class House(Struct, frozen=True, kw_only=True):
    """One kitchen's settings. Lengths, masses, temperatures and fractions are quantities in SI."""

    kitchen: Annotated[str, Key("the kitchen's name", Words(limit=80))]
    measures: Annotated[str, Key("which cups and spoons", Choice(words=MEASURES))]
    degrees: Annotated[str, Key("which scale of temperature readers see first", Choice(words=("C", "F")))] = "C"
    scale_step: Annotated[
        Quantity, Key("step of the kitchen scale", measure("mass", 0, 0.1, 'a mass up to 100 g, such as "1 g"'))
    ] = parse_quantity("1 g", "mass")
    fine_scale_step: Annotated[
        Quantity, Key("step of the fine scale", measure("mass", 0, 0.1, 'a mass up to 100 g, such as "0.1 g"'))
    ] = parse_quantity("0.1 g", "mass")
    fine_scale_limit: Annotated[
        Quantity,
        Key("amounts below this go on the fine scale", measure("mass", 0, 5, 'a mass up to 5 kg, such as "100 g"')),
    ] = parse_quantity("20 g", "mass")
    household_tolerance: Annotated[
        Quantity,
        Key(
            "error of a cup or spoon above which it is flagged",
            measure("fraction", 0, 0.5, 'a share up to 50 %, such as "5 %"'),
        ),
    ] = parse_quantity("5 %", "fraction")
    batches: Annotated[
        tuple[Quantity, ...],
        Key("batches to show", ListOf(form=measure("mass", 0, 5000, 'a mass above 0, such as "2 kg"'), limit=12)),
    ]
    thicknesses: Annotated[
        tuple[Quantity, ...],
        Key(
            "thicknesses of the tables of times",
            ListOf(form=measure("length", 0.0005, 1, 'a length of 0.5 mm to 1 m, such as "20 mm"'), limit=20),
        ),
    ]
    thickness_spread: Annotated[
        Quantity, Key("how far hand-cut pieces vary", measure("fraction", 0, 0.5, 'a share up to 50 %, such as "10 %"'))
    ] = parse_quantity("10 %", "fraction")
    fridge: Annotated[
        Quantity,
        Key(
            "the fridge's temperature",
            measure("temperature", kelvin(-2), kelvin(10), 'a temperature, -2 to 10 °C, such as "3 °C"'),
        ),
    ]
    containers: Annotated[tuple[Container, ...], Key("the kitchen's vessels", rows_of(Container, 50))]
    currency: Annotated[str, Key("currency of the prices", Words(limit=10))] = ""
    prices: Annotated[tuple[Price, ...], Key("prices", rows_of(Price, 400))] = ()
    audience: Annotated[str, Key("whose safety guidance applies", Choice(words=("home", "retail", "commercial")))] = (
        "home"
    )
    place: Annotated[str, Key("whose law judges the pages", Choice(words=PLACES_OF_LAW))] = NO_PLACE
    language: Annotated[str, Key("language of the pages and of the site's words", Language())] = ENGLISH
    mark: Annotated[
        str, Key("a picture of the folder as the house's mark, such as pictures/mark.png", Words(limit=200))
    ] = ""
    colours: Annotated[Colours | None, Key("the site's own colours", COLOURS_FORM)] = None
    footer: Annotated[str, Key("a line of the house at the foot of each page", Words(limit=300))] = ""
    address: Annotated[str, Key("where the site is published", Words(limit=200))] = ""
    repository: Annotated[str, Key("address of the pages' sources", Words(limit=200))] = ""
    people_on_site: Annotated[
        bool, Key("whether the site names people in runs and batches: cooks, buyers", YesNo())
    ] = False
    exceptions: Annotated[tuple[SignedException, ...], Key("signed-off exceptions to a stop")] = ()
    planning: Annotated[
        Planning | None, Key("resources for day plans: equipment, people, pack sizes", PLANNING_FORM)
    ] = None
    line: int

    def price_of(self, item: str) -> tuple[float, str] | None:
        """(price per kg or per m3, "mass" or "volume"), or None where the house states none."""
        return next((each.price for each in self.prices if each.item == item), None)

    def exceptions_of(self, method: str) -> tuple[SignedException, ...]:
        """The signed exceptions of one method."""
        return tuple(each for each in self.exceptions if each.method == method)

    def without_exceptions(self) -> House:
        """The house as if no exception were signed."""
        return replace(self, exceptions=())

    def for_audience(self, audience: str) -> House:
        """The house as if the guidance for ``audience`` applied to it."""
        return replace(self, audience=audience)


@lru_cache(maxsize=8)
def house_form(rules: tuple[str, ...]) -> Record:
    """The house file's form; ``rules`` are the names of the rules and limits that an exception may set aside."""
    rule = Name(kind="a rule or a limit", names=lambda: rules, of="the handbook")
    return record_of(House, exceptions=rows_of(SignedException, 100, rule=rule))


def read_house(
    text: str, file: str, foods: tuple[str, ...], ingredients: tuple[str, ...], rules: tuple[str, ...]
) -> tuple[House | None, list[PageError]]:
    """The house file's settings, or None and every fault found; ``rules`` as for ``house_form``.

    Items of prices and packs may be said as on pages; the settings hold the names of the tables.
    """
    reading = Reading(file=file)
    house: House | None = read_yaml(house_form(rules), text, reading, "house")
    if house is not None:
        _check(house, reading)
        prices = _named("prices", house.prices, foods, ingredients, reading)
        house = replace(house, prices=prices)
        if house.planning is not None:
            packs = _named("planning.packs", house.planning.packs, foods, ingredients, reading)
            house = replace(house, planning=replace(house.planning, packs=packs))
    return (None if reading.faults else house), reading.faults


def vocabulary(house: House, foods: tuple[str, ...], ingredients: tuple[str, ...]) -> Vocabulary:
    """The names that the pages of this house may use."""
    return Vocabulary(foods=foods, ingredients=ingredients, containers=tuple(each.name for each in house.containers))


def _check(house: House, reading: Reading) -> None:
    names = [each.name for each in house.containers]
    for container in house.containers:
        if names.count(container.name) > 1:
            reading.fault(container.line, "containers.name", container.name, "each container's name once")
        box = container.length is not None and container.width is not None
        if box == (container.diameter is not None):
            reading.fault(container.line, "containers", container.name, "either length and width, or diameter")
    if house.planning is not None:
        check_planning(house.planning, reading)


def _named(
    key: str, rows: tuple[_Item, ...], foods: tuple[str, ...], ingredients: tuple[str, ...], reading: Reading
) -> tuple[_Item, ...]:
    """The rows, with the tables' names in place of the cook's."""
    found: list[_Item] = []
    for row in rows:
        names, question = find_item(row.item, foods, ingredients)
        if not names:
            wanted = "an ingredient or a food of the handbook"
            reading.fault(row.line, f"{key}.item", row.item, wanted, question)
        found += [replace(row, item=name) for name in names]
    return tuple(found)
