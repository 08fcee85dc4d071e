"""What a kitchen has to work with on a day: chambers, stores, places to work, people and their hours, pack sizes.

Read from ``planning`` in the house file. A chamber (smoker, oven) holds one load at a time, because its heat was judged
for one load alone; a store (fridge, freezer) is filled by volume; every other place is counted.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import time

from handbook.base.forms import Choice, Count, Field, Form, ListOf, Measure, Reading, Record, Words
from handbook.base.units import Quantity, kelvin
from handbook.page.clock import WEEKDAYS
from handbook.page.method import PLACES

CHAMBERS = ("smoker", "oven")
STORES = ("fridge", "freezer")
_DAYS = tuple(each[:3] for each in WEEKDAYS)
_HOURS = re.compile(r"(\d{1,2}):(\d{2})\s*(?:-|–|to)\s*(\d{1,2}):(\d{2})")


@dataclass(frozen=True, kw_only=True)
class Equipment:
    """One line of equipment. ``holds`` is the food that a chamber's racks take, ``room`` the volume of a store.

    ``reaches`` are the chamber temperatures that it can keep, None where the house states none: any.
    """

    name: str
    place: str
    count: int
    holds: Quantity | None
    room: Quantity | None
    reaches: Quantity | None
    line: int

    def can_keep(self, chamber: Quantity | None) -> bool:
        """Whether the wanted chamber temperature lies in what it reaches."""
        if chamber is None or self.reaches is None:
            return True
        return self.reaches.low - 1e-6 <= chamber.low and chamber.high <= self.reaches.high + 1e-6


@dataclass(frozen=True)
class WeekHours:
    """Hours on one weekday (Monday = 0); an end at or before the start is on the next day."""

    weekday: int
    start: time
    end: time


@dataclass(frozen=True, kw_only=True)
class Person:
    """Somebody who works here, and the usual hours of a week."""

    name: str
    hours: tuple[WeekHours, ...]
    line: int


@dataclass(frozen=True, kw_only=True)
class Pack:
    """The size in which one item is bought: mass in kg or volume in m3."""

    item: str
    size: Quantity
    line: int


@dataclass(frozen=True, kw_only=True)
class Planning:
    """Everything that a day plan needs to know of a kitchen. ``room_per_kg``: m3 of store for 1 kg of food on racks."""

    equipment: tuple[Equipment, ...]
    room_per_kg: Quantity
    people: tuple[Person, ...]
    packs: tuple[Pack, ...]
    line: int

    def at(self, place: str) -> tuple[Equipment, ...]:
        """The equipment that stands at a place."""
        return tuple(each for each in self.equipment if each.place == place)

    def pack_of(self, item: str) -> Pack | None:
        """How an item is bought, where the house says so."""
        return next((each for each in self.packs if each.item == item), None)


class HoursForm(Form):
    """``Sat 07:00-19:00``."""

    allowed = 'a weekday and hours, such as "Sat 07:00-19:00"'

    def read_text(self, node, key, reading):
        day, _, rest = node.value.partition(" ")
        hours = parse_hours(rest)
        if day not in _DAYS or hours is None:
            return self._fault(node, key, reading, suggestion=reading.suggestion(day, _DAYS) if hours else "")
        return WeekHours(_DAYS.index(day), *hours)


def parse_hours(text: str) -> tuple[time, time] | None:
    """``07:00-19:00`` as two times of day, or None; equal ends are no hours.

    >>> parse_hours("07:00-19:00")
    (datetime.time(7, 0), datetime.time(19, 0))
    """
    match = _HOURS.fullmatch(text.strip())
    try:
        numbers = [int(part) for part in match.groups()]
        start, end = time(*numbers[:2]), time(*numbers[2:])
    except (AttributeError, ValueError):
        return None
    return None if start == end else (start, end)


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
    """Record what is wrong when the lines are seen together: names twice, sizes missing, items not known."""
    for each in planning.equipment:
        _check_equipment(each, planning, reading)
    names = [each.name for each in planning.people]
    for each in planning.people:
        if names.count(each.name) > 1:
            reading.fault(each.line, "planning.people.name", each.name, "each person's name once")
    for each in planning.packs:
        if each.item not in items:
            wanted = "an ingredient or a food of the handbook"
            reading.fault(each.line, "planning.packs.item", each.item, wanted, reading.suggestion(each.item, items))


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
