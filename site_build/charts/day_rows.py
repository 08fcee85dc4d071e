"""A day plan as rows on the clock: one row for each chamber, vessel, work place and person, one profile for each store."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from msgspec import Struct

from handbook.days.day_plan import COLD_KEPT, DayKitchen, MethodNeeds, PlanStep, box
from handbook.folder.kept_days import Day
from handbook.page.equipment import CHAMBERS, STORES

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


class DayBar(Struct, frozen=True, kw_only=True):
    """One activity: its mark on the chart, such as ``A5`` or ``A5/2`` (load 2), and its text."""

    start: datetime
    end: datetime
    mark: str
    is_hands: bool
    words: str


class DayRow(Struct, frozen=True, kw_only=True):
    """Bars that do not overlap; ``group`` is equipment or people."""

    name: str
    group: str
    bars: tuple[DayBar, ...]


class Profile(Struct, frozen=True, kw_only=True):
    """The fill of a store: (time, litres) from which each amount holds, and the store's litres."""

    name: str
    levels: tuple[tuple[datetime, float], ...]
    room: float

    def highest(self, start: datetime, end: datetime) -> float:
        """The maximum between two times, in litres."""
        before = [litres for moment, litres in self.levels if moment <= start]
        inside = [litres for moment, litres in self.levels if start < moment < end]
        return max([*before[-1:], *inside], default=0.0)


class DayRows(Struct, frozen=True, kw_only=True):
    """All rows of one plan, and the days and hours that it shows."""

    rows: tuple[DayRow, ...]
    profiles: tuple[Profile, ...]
    days: tuple[date, ...]
    hours: tuple[int, int]


def letters(day: Day) -> dict[str, str]:
    """A letter for each method, in the order of the wish."""
    return {each.method: LETTERS[number % 26] for number, each in enumerate(day.wish.wishes)}


def mark(step: PlanStep, letter: str) -> str:
    """The step's mark: method, number, and load where the batch is cut."""
    return f"{letter}{step.number}" + (f"/{step.load}" if step.load else "")


def day_rows(day: Day, needs: dict[str, MethodNeeds], kitchen: DayKitchen) -> DayRows:
    """The rows of a planned day."""
    marks = letters(day)
    by_name: dict[str, list[DayBar]] = {}
    people: dict[str, list[DayBar]] = {}
    for step in day.plan.steps:
        page = needs[step.method].steps[step.number - 1].step
        name = mark(step, marks[step.method])
        for place in _rows_of(step, page.place, kitchen):
            by_name.setdefault(place, []).append(
                DayBar(start=step.start, end=step.end, mark=name, is_hands=page.hands_on, words=page.do)
            )
        for hand in step.hands:
            people.setdefault(hand.who, []).append(
                DayBar(start=hand.start, end=hand.end, mark=name, is_hands=True, words=hand.do)
            )
    order = [each.name for each in (*kitchen.planning.equipment, *kitchen.containers)]
    rows = [row for name in order if name in by_name for row in _lanes(name, "equipment", by_name[name])]
    known = [each.name for each in kitchen.planning.people]
    # A plan that the site shows without names numbers them.
    others = sorted(people.keys() - set(known), key=lambda who: (len(who), who))
    rows += [
        DayRow(name=who, group="people", bars=tuple(sorted(people[who], key=_begins)))
        for who in (*known, *others)
        if who in people
    ]
    profiles = tuple(_profile(each, day, needs, kitchen) for each in kitchen.planning.equipment if each.place in STORES)
    days = _days(day.plan.steps[0].start.date(), day.wish.end.date())
    return DayRows(
        rows=tuple(rows), profiles=tuple(each for each in profiles if each.levels), days=days, hours=_hours(day)
    )


def _rows_of(step: PlanStep, place: str, kitchen: DayKitchen) -> tuple[str, ...]:
    if step.units:
        return step.units
    if place in CHAMBERS or place in STORES:
        return ()
    return tuple(each.name for each in kitchen.planning.at(place))


def _lanes(name: str, group: str, bars: list[DayBar]) -> list[DayRow]:
    """Overlapping bars, such as of two work tables, on separate rows; touching bars of one load on the same row."""
    lanes: list[list[DayBar]] = []
    for bar in sorted(bars, key=_begins):
        lane = next((each for each in lanes if each[-1].end <= bar.start), None)
        if lane is None:
            lanes.append([bar])
        else:
            lane.append(bar)
    several = len(lanes) > 1
    return [
        DayRow(name=f"{name} {number}" if several else name, group=group, bars=tuple(each))
        for number, each in enumerate(lanes, 1)
    ]


def _begins(bar: DayBar):
    return bar.start, bar.end, bar.mark


def _profile(equipment, day: Day, needs: dict[str, MethodNeeds], kitchen: DayKitchen) -> Profile:
    per_kg = kitchen.planning.room_per_kg.low
    boxes = {each.name: box(each) for each in kitchen.containers}
    changes: dict[datetime, float] = {}

    def add(start: datetime, end: datetime, room: float) -> None:
        changes[start] = changes.get(start, 0.0) + room
        changes[end] = changes.get(end, 0.0) - room

    ready = {each.method: each.ready for each in day.wish.wishes}
    for step in day.plan.steps:
        method = needs[step.method]
        if method.steps[step.number - 1].step.place == equipment.place:
            add(step.start, step.end, sum(boxes[name] for name in step.units) or step.mass * per_kg)
        if equipment.place == "fridge" and step.number == len(method.steps) and _keeps_cold(method):
            add(step.end, ready[step.method], step.mass * per_kg)
    levels, total = [], 0.0
    for moment in sorted(changes):
        total += changes[moment]
        levels.append((moment, max(total * 1000, 0.0)))
    return Profile(name=equipment.name, levels=tuple(levels), room=equipment.room.low * 1000)


def _keeps_cold(method: MethodNeeds) -> bool:
    keeping = method.keeping
    if method.steps[-1].step.stage == "serve" or keeping is None or keeping.time is None:
        return False
    return keeping.temperature is not None and keeping.temperature.high <= COLD_KEPT + 1e-6


def _days(first: date, last: date) -> tuple[date, ...]:
    return tuple(first + timedelta(days=number) for number in range((last - first).days + 1))


def _hours(day: Day) -> tuple[int, int]:
    """The hours of the clock in which anything begins, ends or is done by hand, on any of the days."""
    moments = [moment for step in day.plan.steps for moment in (step.start, step.end)]
    moments += [moment for step in day.plan.steps for hand in step.hands for moment in (hand.start, hand.end)]
    moments += [each.ready for each in day.wish.wishes]
    first = min(each.hour for each in moments)
    last = max(each.hour + bool(each.minute) for each in moments)
    return first, max(last, first + 1)
