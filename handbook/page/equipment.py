"""Resources of a kitchen for day plans: chambers, stores, places to work, people and their hours, pack sizes.

Read from ``planning`` in the house file. A chamber (smoker, oven) holds one load at a time, because its heat is computed
for one load alone. A store (fridge, freezer) is filled by volume. Other places are counted.
"""

from __future__ import annotations

from datetime import time
from typing import Annotated, Any

from msgspec import Struct

from handbook.base.forms import Choice, Count, Form, ListOf, Measure, Reading, Words
from handbook.base.records import Key, record_of, rows_of
from handbook.base.units import Quantity, kelvin
from handbook.base.yaml_text import Text
from handbook.page.clock import WEEKDAYS, two_times
from handbook.page.measure_forms import measure
from handbook.page.steps import PLACES

CHAMBERS = ("smoker", "oven")
STORES = ("fridge", "freezer")
_DAYS = tuple(each[:3] for each in WEEKDAYS)


class WeekHours(Struct, frozen=True):
    """Hours on one weekday (Monday = 0). An end at or before the start is on the next day."""

    weekday: int
    start: time
    end: time


class HoursForm(Form, frozen=True):
    """``Sat 07:00-19:00``."""

    allowed = 'a weekday and hours, such as "Sat 07:00-19:00"'

    def read_text(self, node: Text, key: str, reading: Reading) -> Any:
        day, _, rest = node.value.partition(" ")
        hours = parse_hours(rest)
        if day not in _DAYS or hours is None:
            return self._fault(node, key, reading, suggestion=reading.suggestion(day, _DAYS) if hours else "")
        return WeekHours(_DAYS.index(day), *hours)


class Equipment(Struct, frozen=True, kw_only=True):
    """One line of equipment. ``holds`` is the food that a chamber's racks hold, ``room`` the volume of a store.

    ``reaches`` is the range of chamber temperatures that it can keep; None means any.
    """

    name: Annotated[str, Key("what the kitchen calls it", Words(limit=40))]
    place: Annotated[str, Key("where the steps that use it happen", Choice(words=PLACES))]
    count: Annotated[int, Key("how many: burners, work tables", Count(low=1, high=100))] = 1
    holds: Annotated[
        Quantity | None,
        Key(
            "smoker and oven: food that its racks take at once",
            measure("mass", 0, 1000, 'a mass above 0 and up to 1000 kg, such as "4 kg"'),
        ),
    ] = None
    room: Annotated[
        Quantity | None,
        Key("fridge and freezer: usable room", measure("volume", 0, 100, 'a volume above 0, such as "240 L"')),
    ] = None
    reaches: Annotated[
        Quantity | None,
        Key(
            "smoker and oven: temperatures that it keeps",
            measure(
                "temperature", kelvin(-60), kelvin(400), 'a range of temperatures, such as "40-120 °C"', may_range=True
            ),
        ),
    ] = None
    line: int

    def can_keep(self, chamber: Quantity | None) -> bool:
        """Whether it can keep the chamber temperature of a step."""
        if chamber is None or self.reaches is None:
            return True
        return self.reaches.low - 1e-6 <= chamber.low and chamber.high <= self.reaches.high + 1e-6


class Person(Struct, frozen=True, kw_only=True):
    """A person who works here, with the usual hours of a week."""

    name: Annotated[str, Key("who works here", Words(limit=60))]
    hours: Annotated[tuple[WeekHours, ...], Key("usual hours of a week", ListOf(form=HoursForm(), limit=40))] = ()
    line: int


class Pack(Struct, frozen=True, kw_only=True):
    """The pack size in which an item is bought, by mass or volume."""

    item: Annotated[str, Key("ingredient or food", Words(limit=80))]
    size: Annotated[
        Quantity,
        Key(
            "smallest amount that it is sold in",
            Measure(
                dimensions=("mass", "volume"),
                low=0,
                high=100,
                limits='a mass or volume above 0, such as "500 g" or "1 L"',
            ),
        ),
    ]
    line: int


class Planning(Struct, frozen=True, kw_only=True):
    """Resources of a kitchen for day plans. ``room_per_kg`` is the volume of store that 1 kg of food on racks takes."""

    equipment: Annotated[tuple[Equipment, ...], Key("chambers, stores and places to work", rows_of(Equipment, 60))]
    room_per_kg: Annotated[
        Quantity,
        Key(
            "room in a fridge that 1 kg of food on racks or in dishes takes",
            measure("volume", 0, 0.1, 'a volume above 0 and up to 100 L, such as "8 L"'),
        ),
    ]
    people: Annotated[tuple[Person, ...], Key("who works here", rows_of(Person, 60))]
    packs: Annotated[tuple[Pack, ...], Key("pack sizes for the shopping list", rows_of(Pack, 400))] = ()
    line: int

    def at(self, place: str) -> tuple[Equipment, ...]:
        """The equipment at a place."""
        return tuple(each for each in self.equipment if each.place == place)

    def pack_of(self, item: str) -> Pack | None:
        """The pack of an item; None where the house states none."""
        return next((each for each in self.packs if each.item == item), None)


PLANNING_FORM = record_of(Planning)


def parse_hours(text: str) -> tuple[time, time] | None:
    """``07:00-19:00`` as two times of day. None for any other text or for equal ends.

    >>> parse_hours("07:00-19:00")
    (datetime.time(7, 0), datetime.time(19, 0))
    """
    hours = two_times(text)
    return None if hours is None or hours[0] == hours[1] else hours


def check_planning(planning: Planning, reading: Reading) -> None:
    """Record faults across the lines: duplicate names, missing sizes."""
    for each in planning.equipment:
        _check_equipment(each, planning, reading)
    names = [each.name for each in planning.people]
    for person in planning.people:
        if names.count(person.name) > 1:
            reading.fault(person.line, "planning.people.name", person.name, "each person's name once")


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
