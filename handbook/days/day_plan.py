"""The records of a day's plan: the wish, the needs of each method, and the time of every step.

The rules of a plan; ``day_solver`` searches for a plan that keeps them, ``day_check`` checks any plan against them.

- **Grid**: every moment is a whole multiple of 5 min. Steps of one load follow each other without a gap.
- **Times**: a waiting step lasts any time inside its written range; where no multiple of 5 min lies inside, the next one
  above its longest. Heat that runs until a core is reached is planned at its longest, a brine that runs until its salt
  target at its typical time, work by hand at its longest. Work (preparing, rinsing, glazing, packing, serving) on more
  food than the page was written for takes longer in proportion: an estimate, never shorter than on the page.
- **Loads**: a batch above what a chamber's racks take is cut into equal loads, from the last waiting step with a range
  before that chamber on, else from the first step on. A chamber holds one load at a time.
- **Hands**: a step by hand takes one person all along; a repeated action, and the start of a waiting step (5 min, where
  no manual work ends just then), take one person as long as they last. Nobody is at two things at once, and all
  work lies inside people's hours, at night only where it is allowed.
- **Heat**: above 60 °C in smoker, oven or on the stove somebody is in the kitchen all the time.
- **Cold**: food in the fridge or freezer takes its room there, a vessel its outer box; finished food that keeps cold
  takes room until it is wanted. Food that is served ends at most 15 min early, food that keeps at most its keeping time.

The 5 min for a start, the 15 min and the 60 °C are common practice, no source.
"""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import Annotated

from msgspec import Struct

from handbook.base.forms import Count, ListOf, Number, Words
from handbook.base.records import Key, rows_of
from handbook.days.day_forms import MomentForm
from handbook.page.equipment import Planning
from handbook.page.finished_food import Keeping
from handbook.page.house import Container
from handbook.page.salting import Salting
from handbook.page.schedule import ScheduledStep
from handbook.report.method_report import Report

GRID = 300  # s
SET_GOING = 300  # s of one person, common practice, no source
SERVED_EARLY = 900  # s, common practice, no source
HOT = 333.15  # K above which a chamber is not left alone, common practice, no source
COLD_KEPT = 283.15  # K up to which finished food is kept in the fridge
#: Stages whose work grows with the amount of food.
GROWING_STAGES = ("prepare", "rinse", "glaze", "pack", "serve")
HEATED_PLACES = ("smoker", "oven", "stove")
#: Places that a house need not list: they have no limit.
UNCOUNTED = ("cellar", "room")
MAX_PARTS = 6  # vessels among which one batch may be divided


class Wish(Struct, frozen=True, kw_only=True):
    """One method wanted: its page's name, the green weight in kg, and when it is to be ready."""

    method: str
    batch: float
    ready: datetime
    line: int


class Shift(Struct, frozen=True, kw_only=True):
    """One person in the kitchen from ``start`` to ``end``."""

    who: str
    start: datetime
    end: datetime


class DayWish(Struct, frozen=True, kw_only=True):
    """The wish for one day: nothing begins before ``begin``; people work at night only if allowed."""

    name: str
    title: str
    begin: datetime
    night_allowed: bool
    night: tuple[time, time]
    wishes: tuple[Wish, ...]
    shifts: tuple[Shift, ...]
    file: str = ""

    @property
    def end(self) -> datetime:
        """When the last method is to be ready."""
        return max(each.ready for each in self.wishes)


class BathLoad(Struct, frozen=True, kw_only=True):
    """A wet brine that holds the food: volumes in m3 for 1 kg of green weight; the vessel that the page names."""

    brine: float
    food: float
    container: str | None


class MethodNeeds(Struct, frozen=True, kw_only=True):
    """The needs of a method for a plan. ``baths`` by step number; ``written_for`` in kg."""

    name: str
    title: str
    written_for: float
    steps: tuple[ScheduledStep, ...]
    baths: dict[int, BathLoad]
    keeping: Keeping | None


class DayKitchen(Struct, frozen=True, kw_only=True):
    """The resources of the house for a plan."""

    planning: Planning
    containers: tuple[Container, ...]


class Hand(Struct, frozen=True, kw_only=True):
    """One person at work inside a step."""

    who: Annotated[str, Key("who", Words(limit=60))]
    start: Annotated[datetime, Key("from", MomentForm())]
    end: Annotated[datetime, Key("to", MomentForm())]
    do: Annotated[str, Key("what", Words(limit=500))]


class PlanStep(Struct, frozen=True, kw_only=True):
    """One step of one load (0: the whole batch) with its food in kg, chamber or vessels, and hands."""

    method: Annotated[str, Key("page name", Words(limit=80))]
    load: Annotated[int, Key("load, 0 for the whole batch", Count(low=0, high=100))] = 0
    mass: Annotated[float, Key("food in it", Number(low=0, high=5000, what="kilograms"), name="kg")]
    number: Annotated[int, Key("number of the step", Count(low=1, high=400), name="step")]
    start: Annotated[datetime, Key("from", MomentForm())]
    end: Annotated[datetime, Key("to", MomentForm())]
    units: Annotated[tuple[str, ...], Key("chamber or vessels", ListOf(form=Words(limit=40), limit=20), name="in")] = ()
    hands: Annotated[tuple[Hand, ...], Key("who is at work in it", rows_of(Hand, 600))] = ()


class DayPlan(Struct, frozen=True, kw_only=True):
    """All steps, in order of the clock."""

    steps: tuple[PlanStep, ...]

    def of(self, method: str) -> tuple[PlanStep, ...]:
        """The steps of one method."""
        return tuple(each for each in self.steps if each.method == method)

    def loads(self, method: str) -> int:
        """Number of loads of a method's batch; 1 where it stays whole."""
        return max((each.load for each in self.of(method)), default=0) or 1

    def begun(self, method: str) -> datetime:
        """When the first step of a method begins."""
        return min(each.start for each in self.of(method))


def needs_of(report: Report) -> MethodNeeds:
    """The needs of a day plan from a method's report."""
    method = report.method
    baths, running = {}, None
    for number, step in enumerate(method.steps, 1):
        salting = method.lies_in(step)
        running = _bath(report, salting) if salting else running if step.medium == "brine" else None
        if running is not None:
            baths[number] = running
    return MethodNeeds(
        name=method.name,
        title=method.front_matter.title,
        written_for=method.batches.written_for.low,
        steps=report.schedule.steps[: report.schedule.ready.number],  # leftovers are not part of a day's plan
        baths=baths,
        keeping=method.keeping,
    )


def box(container: Container) -> float:
    """The room in m3 that a vessel takes on a shelf: the box around it, wall thickness left out."""
    if container.diameter:
        return container.diameter.low**2 * container.height.low
    return container.area * container.height.low


def shift_parts(wish: DayWish) -> dict[str, list[tuple[datetime, datetime]]]:
    """The times at which each person may work: the shifts, without nights unless allowed."""
    found: dict[str, list[tuple[datetime, datetime]]] = {}
    for each in wish.shifts:
        parts = found.setdefault(each.who, [])
        parts += awake_parts(wish, each.start, each.end)
    return {who: sorted(parts) for who, parts in found.items()}


def awake_parts(wish: DayWish, start: datetime, end: datetime) -> list[tuple[datetime, datetime]]:
    """The parts between two times in which work is allowed."""
    return [(start, end)] if wish.night_allowed else _without_nights(start, end, wish.night)


def usual_shifts(planning: Planning, begin: datetime, end: datetime) -> tuple[Shift, ...]:
    """Everybody's usual hours from the day of ``begin`` to that of ``end``."""
    days = [begin.date() + timedelta(days=number) for number in range(-1, (end.date() - begin.date()).days + 1)]
    found = []
    for person in planning.people:
        for day in days:
            for each in person.hours:
                if each.weekday == day.weekday():
                    found.append(dated_shift(person.name, day, (each.start, each.end)))
    return tuple(each for each in found if each.end > begin and each.start < end)


def dated_shift(who: str, day: date, hours: tuple[time, time]) -> Shift:
    """Hours on a day; an end at or before the start is on the next day."""
    start, end = datetime.combine(day, hours[0]), datetime.combine(day, hours[1])
    return Shift(who=who, start=start, end=end if end > start else end + timedelta(days=1))


def _without_nights(start: datetime, end: datetime, night: tuple[time, time]) -> list[tuple[datetime, datetime]]:
    if night[0] == night[1]:
        return [(start, end)]
    parts, day = [], start.date() - timedelta(days=1)
    at = start
    while at < end:
        falls = datetime.combine(day, night[0])
        rises = datetime.combine(day, night[1])
        rises += timedelta(days=1) if rises <= falls else timedelta()
        if rises > at:
            if falls > at:
                parts.append((at, min(falls, end)))
            at = rises
        day += timedelta(days=1)
    return parts


def _bath(report: Report, salting: Salting) -> BathLoad | None:
    found = next(each for each in report.saltings if each.mixture.name == salting.name)
    if found.strength is None or found.strength.density is None or not salting.is_bath:
        return None
    batch = report.method.batches.written_for.low
    return BathLoad(
        brine=found.made.mass / found.strength.density / batch,
        food=1 / report.food.density,
        container=salting.container,
    )
