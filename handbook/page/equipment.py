"""Resources of a kitchen for day plans: chambers, stores, places to work, people and their hours, pack sizes.

Read from ``planning`` in the house file. A chamber (smoker, oven) holds one load at a time, because its heat is computed
for one load alone. A store (fridge, freezer) is filled by volume. Other places are counted.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import time
from typing import Any

from handbook.base.forms import Choice, Count, Field, Form, ListOf, Measure, Reading, Record, Words
from handbook.base.units import Quantity, kelvin
from handbook.base.yaml_text import Text
from handbook.page.clock import WEEKDAYS, two_times
from handbook.page.method import PLACES

CHAMBERS = ("smoker", "oven")
STORES = ("fridge", "freezer")
_DAYS = tuple(each[:3] for each in WEEKDAYS)


@dataclass(frozen=True, kw_only=True)
class Equipment:
    """One line of equipment. ``holds`` is the food that a chamber's racks hold, ``room`` the volume of a store.

    ``reaches`` is the range of chamber temperatures that it can keep; None means any.
    """

    name: str
    place: str
    count: int
    holds: Quantity | None
    room: Quantity | None
    reaches: Quantity | None
    line: int

    def can_keep(self, chamber: Quantity | None) -> bool:
        """Whether it can keep the chamber temperature of a step."""
        if chamber is None or self.reaches is None:
            return True
        return self.reaches.low - 1e-6 <= chamber.low and chamber.high <= self.reaches.high + 1e-6


@dataclass(frozen=True)
class WeekHours:
    """Hours on one weekday (Monday = 0). An end at or before the start is on the next day."""

    weekday: int
    start: time
    end: time


@dataclass(frozen=True, kw_only=True)
class Person:
    """A person who works here, with the usual hours of a week."""

    name: str
    hours: tuple[WeekHours, ...]
    line: int


@dataclass(frozen=True, kw_only=True)
class Pack:
    """The pack size in which an item is bought, by mass or volume."""

    item: str
    size: Quantity
    line: int


@dataclass(frozen=True, kw_only=True)
class Planning:
    """Resources of a kitchen for day plans. ``room_per_kg`` is the volume of store that 1 kg of food on racks takes."""

    equipment: tuple[Equipment, ...]
    room_per_kg: Quantity
    people: tuple[Person, ...]
    packs: tuple[Pack, ...]
    line: int

    def at(self, place: str) -> tuple[Equipment, ...]:
        """The equipment at a place."""
        return tuple(each for each in self.equipment if each.place == place)

    def pack_of(self, item: str) -> Pack | None:
        """The pack of an item; None where the house states none."""
        return next((each for each in self.packs if each.item == item), None)


class HoursForm(Form):
    """``Sat 07:00-19:00``."""

    allowed = 'a weekday and hours, such as "Sat 07:00-19:00"'

    def read_text(self, node: Text, key: str, reading: Reading) -> Any:
        day, _, rest = node.value.partition(" ")
        hours = parse_hours(rest)
        if day not in _DAYS or hours is None:
            return self._fault(node, key, reading, suggestion=reading.suggestion(day, _DAYS) if hours else "")
        return WeekHours(_DAYS.index(day), *hours)


def parse_hours(text: str) -> tuple[time, time] | None:
    """``07:00-19:00`` as two times of day. None for any other text or for equal ends.

    >>> parse_hours("07:00-19:00")
    (datetime.time(7, 0), datetime.time(19, 0))
    """
    hours = two_times(text)
    return None if hours is None or hours[0] == hours[1] else hours


PLANNING_FORM = Record(
    fields=(
        Field(
            key="equipment",
            form=ListOf(
                form=Record(
                    fields=(
                        Field(key="name", form=Words(limit=40), help="what the kitchen calls it", required=True),
                        Field(
                            key="place",
                            form=Choice(words=PLACES),
                            help="where the steps that use it happen",
                            required=True,
                        ),
                        Field(
                            key="count", form=Count(low=1, high=100), help="how many: burners, work tables", default=1
                        ),
                        Field(
                            key="holds",
                            form=Measure(
                                dimensions=("mass",),
                                low=0,
                                high=1000,
                                limits='a mass above 0 and up to 1000 kg, such as "4 kg"',
                            ),
                            help="smoker and oven: food that its racks take at once",
                        ),
                        Field(
                            key="room",
                            form=Measure(
                                dimensions=("volume",), low=0, high=100, limits='a volume above 0, such as "240 L"'
                            ),
                            help="fridge and freezer: usable room",
                        ),
                        Field(
                            key="reaches",
                            form=Measure(
                                dimensions=("temperature",),
                                low=kelvin(-60),
                                high=kelvin(400),
                                limits='a range of temperatures, such as "40-120 °C"',
                                may_range=True,
                            ),
                            help="smoker and oven: temperatures that it keeps",
                        ),
                    ),
                    build=Equipment,
                ),
                limit=60,
                may_be_single=False,
            ),
            help="chambers, stores and places to work",
            required=True,
        ),
        Field(
            key="room_per_kg",
            form=Measure(
                dimensions=("volume",), low=0, high=0.1, limits='a volume above 0 and up to 100 L, such as "8 L"'
            ),
            help="room in a fridge that 1 kg of food on racks or in dishes takes",
            required=True,
        ),
        Field(
            key="people",
            form=ListOf(
                form=Record(
                    fields=(
                        Field(key="name", form=Words(limit=60), help="who works here", required=True),
                        Field(
                            key="hours",
                            form=ListOf(form=HoursForm(), limit=40),
                            help="usual hours of a week",
                            default=(),
                        ),
                    ),
                    build=Person,
                ),
                limit=60,
                may_be_single=False,
            ),
            help="who works here",
            required=True,
        ),
        Field(
            key="packs",
            form=ListOf(
                form=Record(
                    fields=(
                        Field(key="item", form=Words(limit=80), help="ingredient or food", required=True),
                        Field(
                            key="size",
                            form=Measure(
                                dimensions=("mass", "volume"),
                                low=0,
                                high=100,
                                limits='a mass or volume above 0, such as "500 g" or "1 L"',
                            ),
                            help="smallest amount that it is sold in",
                            required=True,
                        ),
                    ),
                    build=Pack,
                ),
                limit=400,
                may_be_single=False,
            ),
            help="pack sizes for the shopping list",
            default=(),
        ),
    ),
    build=Planning,
)


def check_planning(planning: Planning, items: set[str], reading: Reading) -> None:
    """Record faults across the lines: duplicate names, missing sizes, unknown items."""
    for each in planning.equipment:
        _check_equipment(each, planning, reading)
    names = [each.name for each in planning.people]
    for person in planning.people:
        if names.count(person.name) > 1:
            reading.fault(person.line, "planning.people.name", person.name, "each person's name once")
    for pack in planning.packs:
        if pack.item not in items:
            wanted = "an ingredient or a food of the handbook"
            reading.fault(pack.line, "planning.packs.item", pack.item, wanted, reading.suggestion(pack.item, items))


def _check_equipment(each: Equipment, planning: Planning, reading: Reading) -> None:
    key, fault = "planning.equipment", reading.fault
    if [one.name for one in planning.equipment].count(each.name) > 1:
        fault(each.line, f"{key}.name", each.name, "each piece of equipment's name once")
    if each.place in CHAMBERS and each.holds is None:
        fault(each.line, f"{key}.holds", "nothing", f'the food that a {each.place} takes at once, such as "4 kg"')
    if each.place in CHAMBERS and each.count != 1:
        fault(each.line, f"{key}.count", str(each.count), f"one line, with a name of its own, for each {each.place}")
    if each.place in STORES and each.room is None:
        fault(each.line, f"{key}.room", "nothing", f'the usable room of a {each.place}, such as "240 L"')
    if each.place not in CHAMBERS and planning.at(each.place)[0] is not each:
        fault(each.line, f"{key}.place", f"{each.place} twice", f"one line for the {each.place}, all of it together")
    for field, places in (("holds", CHAMBERS), ("reaches", CHAMBERS), ("room", STORES)):
        if getattr(each, field) is not None and each.place not in places:
            fault(each.line, f"{key}.{field}", getattr(each, field).text, f"only for {' and '.join(places)}")
