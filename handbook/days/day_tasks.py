"""Translate wishes into tasks on the grid: loads, lengths, hands, vessels and room, as input of the solver."""

from __future__ import annotations

from datetime import datetime, timedelta
from math import ceil, floor

from msgspec import Struct, field

from handbook.base.errors import HandbookError
from handbook.days.day_plan import (
    COLD_KEPT,
    GRID,
    GROWING_STAGES,
    HEATED_PLACES,
    HOT,
    MAX_PARTS,
    SERVED_EARLY,
    SET_GOING,
    UNCOUNTED,
    BathLoad,
    DayKitchen,
    DayWish,
    MethodNeeds,
    Wish,
    box,
)
from handbook.page.container import fill
from handbook.page.equipment import CHAMBERS, STORES, Equipment
from handbook.page.house import Container
from handbook.page.schedule import ScheduledStep, repeat_starts
from handbook.page.steps import Step

_SLACK = 1e-6
ROOM_STEP = 1e-4  # m3: room is counted in tenths of a litre


class DayError(HandbookError):
    """No plan can meet the wish, whatever the hours; the text says why in one line."""


class TaskNeed(Struct, frozen=True, kw_only=True):
    """Work by hand from ``offset`` after the task's start, for ``size``, if the task lasts ``from_length`` or longer."""

    offset: int
    size: int
    do: str
    from_length: int = 0


class Task(Struct, frozen=True, kw_only=True):
    """One step of one load. Lengths in slots of the grid; ``room`` in tenths of a litre of its store."""

    wish: int
    load: int
    number: int
    mass: float
    after: int | None
    low: int
    typical: int
    high: int
    place: str
    room: int
    needs: tuple[TaskNeed, ...]
    is_hot: bool


class ResourceUse(Struct, frozen=True, kw_only=True):
    """A chamber or vessels in use over consecutive tasks: ``count`` of ``options``, each with its room in a store."""

    tasks: tuple[int, ...]
    kind: str
    options: tuple[str, ...]
    count: int
    rooms: tuple[int, ...]


class Ending(Struct, frozen=True, kw_only=True):
    """The last task of one load: its latest and earliest end, and the fridge room of the finished food."""

    task: int
    ready: int
    earliest: int
    room: int


class Problem(Struct, kw_only=True):
    """Input of the solver. Times are slots from ``origin``, the midnight before the wish begins."""

    origin: datetime
    begin: int
    end: int
    wish: DayWish
    kitchen: DayKitchen
    tasks: list[Task] = field(default_factory=list)
    holds: list[ResourceUse] = field(default_factory=list)
    endings: list[Ending] = field(default_factory=list)

    def slot(self, moment: datetime, up: bool = False) -> int:
        """The slot of a moment; with ``up`` the first slot that begins at it or later."""
        slots = (moment - self.origin).total_seconds() / GRID
        return ceil(slots) if up else floor(slots)

    def moment(self, slot: int) -> datetime:
        """The start of a slot by the clock."""
        return self.origin + timedelta(seconds=slot * GRID)


def problem_of(wish: DayWish, needs: dict[str, MethodNeeds], kitchen: DayKitchen) -> Problem:
    """Build the tasks of all wishes.

    Raises DayError where a step has no place in this kitchen or a batch no vessel.
    """
    origin = datetime.combine(wish.begin.date(), datetime.min.time())
    problem = Problem(origin=origin, begin=0, end=0, wish=wish, kitchen=kitchen)
    problem.begin, problem.end = problem.slot(wish.begin, up=True), problem.slot(wish.end)
    for index, each in enumerate(wish.wishes):
        _Chain(problem, index, each, needs[each.method]).add()
    return problem


def lengths(scheduled: ScheduledStep, factor: float) -> tuple[int, int, int]:
    """Shortest, typical and longest length in slots of a step with ``factor`` times the page's food."""
    step, duration = scheduled.step, scheduled.duration
    if step.hands_on or step.waits_for in ("core", "lethality"):
        grows = max(factor, 1.0) if step.hands_on and step.stage in GROWING_STAGES else 1.0
        return (_up(duration.high * grows),) * 3
    low, high = _up(duration.low), floor(duration.high / GRID + _SLACK)
    if low > high:
        return (_up(duration.high),) * 3
    typical = min(max(floor(duration.typical / GRID + 0.5), low), high)
    return (typical,) * 3 if step.until else (low, typical, high)


class _Chain:
    """The tasks of one wish: of the whole batch up to the cut, then load by load."""

    def __init__(self, problem: Problem, index: int, wish: Wish, needs: MethodNeeds) -> None:
        self.problem, self.index, self.wish, self.needs = problem, index, wish, needs
        self.kitchen = problem.kitchen
        self.factor = wish.batch / needs.written_for

    def add(self) -> None:
        """Add the tasks, uses and endings to the problem. The cut leaves each load at least its last step."""
        loads, cut = self._loads()
        steps, batch = self.needs.steps, self.wish.batch
        last = None
        before = []
        for each in steps[:cut]:
            last = self._append(self._task(each, 0, batch, last))
            before.append(last)
        self._hold(before)
        for load in range(1, loads + 1):
            after, indices = last, []
            for each in steps[cut:]:
                after = self._append(self._task(each, load if loads > 1 else 0, batch / loads, after))
                indices.append(after)
            self._hold(indices)
            self._end(indices[-1], batch / loads)

    def _loads(self) -> tuple[int, int]:
        """The number of loads, and the index of the first step done load by load."""
        loads, first = 1, None
        for index, each in enumerate(self.needs.steps):
            if each.step.place in CHAMBERS:
                most = max(one.holds.low for one in self._chambers(each.step) if one.holds is not None)
                wanted = ceil(self.wish.batch / most - _SLACK)
                if wanted > 1 and first is None:
                    first = index
                loads = max(loads, wanted)
        if first is None:
            return 1, 0
        flexible = [index for index in range(first) if _is_flexible(self.needs.steps[index])]
        return loads, flexible[-1] if flexible else 0

    def _chambers(self, step: Step) -> list[Equipment]:
        """The chambers of the step's place that keep its temperature; raise DayError where there are none."""
        found = self.kitchen.planning.at(step.place)
        fitting = [each for each in found if each.can_keep(step.chamber)]
        if not fitting:
            wanted = f" that keeps {step.chamber.text}" if found and step.chamber else ""
            raise DayError(f"{self.needs.title}: the house has no {step.place}{wanted} (planning.equipment)")
        return fitting

    def _task(self, scheduled: ScheduledStep, load: int, mass: float, after: int | None) -> Task:
        step = scheduled.step
        if step.place not in CHAMBERS and step.place not in UNCOUNTED and not self.kitchen.planning.at(step.place):
            raise DayError(f"{self.needs.title}: the house has no {step.place} (planning.equipment)")
        low, typical, high = lengths(scheduled, mass / self.needs.written_for)
        room = 0
        if step.place in STORES and scheduled.number not in self.needs.baths:
            room = ceil(mass * self.kitchen.planning.room_per_kg.low / ROOM_STEP - _SLACK)
        warmest = max((each.high for each in (step.chamber, step.temperature) if each), default=0.0)
        return Task(
            wish=self.index, load=load, number=scheduled.number, mass=mass, after=after, low=low, typical=typical, high=high, place=step.place, room=room,
            needs=self._needs(scheduled, low, high, mass), is_hot=step.place in HEATED_PLACES and warmest > HOT,
        )  # fmt: skip

    def _needs(self, scheduled: ScheduledStep, low: int, high: int, mass: float) -> tuple[TaskNeed, ...]:
        step = scheduled.step
        if step.hands_on:
            return (TaskNeed(offset=0, size=low, do=step.do),)
        found = []
        before = self.needs.steps[scheduled.number - 2].step if scheduled.number > 1 else None
        if before is None or not before.hands_on:
            found.append(TaskNeed(offset=0, size=_up(SET_GOING), do="set going"))
        if step.repeat is not None:
            grows = max(mass / self.needs.written_for, 1.0)
            takes = _up(step.repeat.takes.high * grows) if step.repeat.takes else _up(SET_GOING)
            for at in repeat_starts(step, high * GRID):
                begins = floor(at / GRID + _SLACK)
                found.append(TaskNeed(offset=begins, size=takes, do=step.repeat.do, from_length=begins + 1))
        return tuple(found)

    def _append(self, task: Task) -> int:
        self.problem.tasks.append(task)
        return len(self.problem.tasks) - 1

    def _hold(self, indices: list[int]) -> None:
        """Add the uses of chambers and vessels over runs of consecutive tasks."""
        run: list[int] = []
        for index in [*indices, None]:
            if run and (index is None or not self._same_run(run[-1], index)):
                self._add_hold(tuple(run))
                run = []
            if index is not None and self._kind(self.problem.tasks[index]):
                run.append(index)

    def _kind(self, task: Task) -> str:
        if task.place in CHAMBERS:
            return task.place
        return "vessel" if task.number in self.needs.baths else ""

    def _same_run(self, left: int, right: int) -> bool:
        one, two = self.problem.tasks[left], self.problem.tasks[right]
        if self._kind(one) != self._kind(two):
            return False
        if one.place in CHAMBERS:
            return bool(set(self._names(one)) & set(self._names(two)))
        return self.needs.baths[one.number] == self.needs.baths[two.number]

    def _names(self, task: Task) -> list[str]:
        step = self.needs.steps[task.number - 1].step
        return [
            each.name
            for each in self._chambers(step)
            if each.holds is not None and each.holds.low >= task.mass * (1 - _SLACK)
        ]

    def _add_hold(self, run: tuple[int, ...]) -> None:
        tasks = [self.problem.tasks[index] for index in run]
        kind = self._kind(tasks[0])
        if kind in CHAMBERS:
            names = [name for name in self._names(tasks[0]) if all(name in self._names(each) for each in tasks[1:])]
            if not names:  # no single chamber suits all tasks: each has its own
                for index in run:
                    self._add_hold((index,))
                return
            self.problem.holds.append(
                ResourceUse(tasks=run, kind=kind, options=tuple(names), count=1, rooms=(0,) * len(names))
            )
            return
        found, count = vessels(self.kitchen, self.needs.baths[tasks[0].number], tasks[0].mass)
        if not found:
            raise DayError(f"{self.needs.title}: no vessels of the house hold {tasks[0].mass:g} kg with its brine")
        rooms = tuple(ceil(box(each) / ROOM_STEP - _SLACK) for each in found)
        self.problem.holds.append(
            ResourceUse(tasks=run, kind=kind, options=tuple(each.name for each in found), count=count, rooms=rooms)
        )

    def _end(self, index: int, mass: float) -> None:
        keeping, last = self.needs.keeping, self.needs.steps[-1].step
        early: float = SERVED_EARLY
        room = 0
        if last.stage != "serve" and keeping is not None and keeping.time is not None:
            early = keeping.time.low
            if keeping.temperature is not None and keeping.temperature.high <= COLD_KEPT + _SLACK:
                room = ceil(mass * self.kitchen.planning.room_per_kg.low / ROOM_STEP - _SLACK)
        ready = self.problem.slot(self.wish.ready)
        self.problem.endings.append(Ending(task=index, ready=ready, earliest=ready - floor(early / GRID), room=room))


def vessels(kitchen: DayKitchen, bath: BathLoad, mass: float) -> tuple[list[Container], int]:
    """The vessels that can hold a batch in its brine, and the least number of them that it takes.

    The page's own vessel where it holds the batch; else those in which the brine covers the food; else those that do not
    overflow.
    """
    for count in range(1, MAX_PARTS + 1):
        part = mass / count
        fills = [fill(each, bath.food * part, bath.brine * part) for each in kitchen.containers]
        found = [each for each in fills if not each.overflows]
        named = [each.container for each in found if each.container.name == bath.container]
        if named and count == 1:
            return named, 1
        covered = [each for each in found if each.covers]
        chosen = covered if len(covered) >= count else found
        if len(chosen) >= count:
            return [each.container for each in chosen], count
    return [], 0


def _is_flexible(scheduled: ScheduledStep) -> bool:
    low, _, high = lengths(scheduled, 1.0)
    return high > low


def _up(seconds: float) -> int:
    return max(ceil(seconds / GRID - _SLACK), 1)
