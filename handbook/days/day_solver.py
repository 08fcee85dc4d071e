"""Search for a plan: tasks are interval variables of a constraint solver (OR-Tools CP-SAT, an optional extra).

One worker, a fixed seed and a limit in deterministic work: the same wish gives the same plan on every machine.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from itertools import count
from typing import Any

from msgspec import Struct

from handbook.days.day_plan import GRID, DayPlan, Hand, PlanStep, awake_parts, shift_parts
from handbook.days.day_tasks import ROOM_STEP, DayError, Ending, Problem, ResourceUse, Task, TaskNeed
from handbook.page.equipment import CHAMBERS, STORES

WORK_LIMIT = 12.0  # of the solver's deterministic time, roughly seconds
LATEST = 14 * 24 * 3600 // GRID  # slots by which a relaxed wish may be late
EARLIEST = 7 * 24 * 3600 // GRID  # slots by which a relaxed beginning may be early
SPARE = "another "
HELPER = "a helper"
SOLVED, IMPOSSIBLE, UNKNOWN = "solved", "impossible", "not known"
MISSING = "day: read no constraint solver; allowed: the package installed with its extra: pip install 'cook-method-handbook[plan]'"


class RelaxedRule(Struct, frozen=True, kw_only=True):
    """A rule that a search may exceed: its ``kind``, and the place, store or wish that it limits.

    Kinds: chamber, vessel, hands, room, places, late (of one wish), early (the beginning).
    """

    kind: str
    what: str = ""


class RelaxationCost(Struct, frozen=True, kw_only=True):
    """By how much a rule is exceeded: slots, tenths of a litre or places; when, as (first, last) slots."""

    rule: RelaxedRule
    amount: int
    spans: tuple[tuple[int, int], ...] = ()


class Answer(Struct, frozen=True, kw_only=True):
    """The result of a search: ``status`` is SOLVED, IMPOSSIBLE or UNKNOWN."""

    status: str
    plan: DayPlan | None = None
    excess: tuple[RelaxationCost, ...] = ()


def solve(
    problem: Problem,
    relaxed: tuple[RelaxedRule, ...] = (),
    work_limit: float = WORK_LIMIT,
    progress: Callable[[int], None] | None = None,
) -> Answer:
    """Search for a plan of the problem within the work limit.

    With ``relaxed`` rules, find the least excess that makes a plan possible. ``progress`` is called with the number of plans
    found so far. Raises DayError where the solver is not installed.
    """
    cp = _solver()
    model = _Model(cp, problem, frozenset(relaxed))
    runner = cp.CpSolver()
    runner.parameters.num_workers = 1
    runner.parameters.random_seed = 7
    runner.parameters.max_deterministic_time = work_limit
    status = runner.solve(model.model, _counter(cp, progress)) if progress else runner.solve(model.model)
    if status in (cp.OPTIMAL, cp.FEASIBLE):
        return Answer(status=SOLVED, plan=model.plan(runner), excess=model.excess(runner))
    if status == cp.MODEL_INVALID:
        raise RuntimeError(model.model.validate())
    return Answer(status=IMPOSSIBLE if status == cp.INFEASIBLE else UNKNOWN)


def _solver() -> Any:
    """The solver's module, untyped because it is an optional extra."""
    try:
        from ortools.sat.python import cp_model
    except ImportError:
        raise DayError(MISSING) from None
    return cp_model


def _counter(cp: Any, progress: Callable[[int], None]) -> Any:
    """A callback of the solver that passes the number of plans found to ``progress``."""
    found = count(1)
    return type("Counter", (cp.CpSolverSolutionCallback,), {"on_solution_callback": lambda _: progress(next(found))})()


class _Model:
    """The constraint model of one problem. Variables and expressions of the solver are typed as Any."""

    def __init__(self, cp: Any, problem: Problem, relaxed: frozenset[RelaxedRule]) -> None:
        self.model = cp.CpModel()
        self.problem, self.relaxed = problem, relaxed
        self.costs: list[Any] = []  # minimised with relaxed rules
        self.wishes: list[Any] = []  # minimised without
        self.excesses: list[tuple[RelaxedRule, Any, list[tuple[Any, Any]]]] = []
        self.is_late = {each.what for each in relaxed if each.kind == "late"}
        self.first = problem.begin - (EARLIEST if self._may("early") else 0)
        self.last = problem.end + (LATEST if self.is_late else 0)
        self.starts: list[Any] = []
        self.sizes: list[Any] = []
        self.ends: list[Any] = []
        self.intervals: list[Any] = []
        for task in problem.tasks:
            self._add_task(task)
        self.by_unit: dict[str, list[Any]] = {}
        self.by_store: dict[str, list[tuple[Any, int]]] = {place: [] for place in STORES}
        self.chosen: list[dict[str, Any]] = [self._add_hold(each) for each in problem.holds]
        for name, intervals in self.by_unit.items():
            if not name.startswith(SPARE):
                self.model.add_no_overlap(intervals)
        for each in problem.endings:
            self._add_ending(each)
        self._add_places()
        self.hands = self._add_hands()
        self._add_company()
        if rule := self._may("early"):
            self._add_early(rule)
        self.model.minimize(sum(self.costs) if relaxed else sum(self.wishes))

    def _may(self, kind: str, what: str = "") -> RelaxedRule | None:
        found = RelaxedRule(kind=kind, what=what)
        return found if found in self.relaxed else None

    def _add_task(self, task: Task) -> None:
        model, name = self.model, len(self.starts)
        start = (
            self.ends[task.after] if task.after is not None else model.new_int_var(self.first, self.last, f"s{name}")
        )
        if task.low == task.high:
            size, end = task.low, start + task.low
        else:
            size = model.new_int_var(task.low, task.high, f"d{name}")
            end = model.new_int_var(self.first, self.last, f"e{name}")
            off = model.new_int_var(0, task.high - task.low, f"o{name}")
            model.add_abs_equality(off, size - task.typical)
            self.wishes.append(off)
        self.starts.append(start)
        self.sizes.append(size)
        self.ends.append(end)
        self.intervals.append(model.new_interval_var(start, size, end, f"t{name}"))

    def _add_hold(self, hold: ResourceUse) -> dict[str, Any]:
        """Choose the units of one use; return the literal of each unit by name."""
        model = self.model
        start, end = self.starts[hold.tasks[0]], self.ends[hold.tasks[-1]]
        longest = sum(self.problem.tasks[each].high for each in hold.tasks)
        names, rooms = list(hold.options), list(hold.rooms)
        relaxed = self._may("vessel" if hold.kind == "vessel" else "chamber", hold.kind)
        if relaxed:
            spares = [f"{SPARE}{hold.kind} {number}" for number in range(1, hold.count + 1)]
            names, rooms = names + spares, rooms + [min(hold.rooms)] * len(spares)
        chosen = {name: model.new_bool_var(name) for name in names}
        by_room = sorted(set(rooms))
        self.wishes += [chosen[name] * by_room.index(room) for name, room in zip(names, rooms, strict=True)]
        model.add(sum(chosen.values()) == hold.count)
        for name, room in zip(names, rooms, strict=True):
            size = model.new_int_var(0, longest, "h")
            taken = model.new_optional_interval_var(start, size, end, chosen[name], f"h {name}")
            self.by_unit.setdefault(name, []).append(taken)
            for each in hold.tasks if room else ():
                place = self.problem.tasks[each].place
                if place in STORES:
                    inside = model.new_optional_interval_var(
                        self.starts[each], self.sizes[each], self.ends[each], chosen[name], "r"
                    )
                    self.by_store[place].append((inside, room))
            if relaxed and name.startswith(SPARE):
                used = model.new_int_var(0, longest, "u")
                model.add(used >= size).only_enforce_if(chosen[name])
                self.costs.append(used)
                self.excesses.append((relaxed, used, [(start, end)]))
        return chosen

    def _add_ending(self, each: Ending) -> None:
        model, end = self.model, self.ends[each.task]
        wish = self.problem.tasks[each.task].wish
        relaxed = self._may("late", str(wish))
        ready: Any = each.ready
        if relaxed:
            late = model.new_int_var(0, LATEST, "late")
            ready = ready + late
            self.costs.append(late)
            self.excesses.append((relaxed, late, []))
        model.add(end <= ready)
        model.add(end >= ready - (each.ready - each.earliest))
        early = model.new_int_var(0, each.ready - each.earliest, "early")
        model.add(early == ready - end)
        self.wishes.append(early)
        if each.room:
            kept = model.new_interval_var(end, early, ready, "kept")
            self.by_store["fridge"].append((kept, each.room))

    def _add_places(self) -> None:
        """Limit counted places by their number, and stores by their room."""
        planning = self.problem.kitchen.planning
        for equipment in planning.equipment:
            if equipment.place in self.by_store:
                room = equipment.room.low if equipment.room else 0.0
                filled = [
                    (taken, task.room)
                    for taken, task in zip(self.intervals, self.problem.tasks, strict=True)
                    if task.place == equipment.place and task.room
                ]
                filled += self.by_store[equipment.place]
                self._add_cumulative("room", equipment.place, filled, int(room / ROOM_STEP + 1e-6))
            elif equipment.place not in CHAMBERS:
                tasks = zip(self.intervals, self.problem.tasks, strict=True)
                placed = [(taken, 1) for taken, task in tasks if task.place == equipment.place]
                self._add_cumulative("places", equipment.place, placed, equipment.count)
        if not planning.at("fridge") and self.by_store["fridge"]:
            raise DayError("finished food keeps cold, and the house has no fridge (planning.equipment)")

    def _add_cumulative(self, kind: str, place: str, filled: list[tuple[Any, int]], room: int) -> None:
        if not filled:
            return
        capacity: Any = room
        relaxed = self._may(kind, place)
        if relaxed:
            most = sum(amount for _, amount in filled)
            more = self.model.new_int_var(0, most, "more")
            self.costs.append(more)
            self.excesses.append((relaxed, more, []))
            capacity = room + more
        self.model.add_cumulative([each for each, _ in filled], [amount for _, amount in filled], capacity)

    def _add_hands(self) -> list[tuple[int, TaskNeed, dict[str, Any], Any]]:
        """Assign the work: (task, need, literal by person, literal that the work takes place)."""
        model, found = self.model, []
        helper = self._may("hands")
        free = {who: self._absences(parts) for who, parts in shift_parts(self.problem.wish).items()}
        if helper:
            free[HELPER] = self._nights()
        for number, task in enumerate(self.problem.tasks):
            for need in task.needs:
                wanted = self._wanted(number, task, need)
                start = self.starts[number] + need.offset
                doers = {}
                for who, busy in free.items():
                    doers[who] = model.new_bool_var(who)
                    busy.append(model.new_optional_fixed_size_interval_var(start, need.size, doers[who], "w"))
                model.add(sum(doers.values()) == wanted)
                if helper:
                    self.costs.append(doers[HELPER] * need.size)
                    self.excesses.append((helper, doers[HELPER] * need.size, [(start, start + need.size)]))
                found.append((number, need, doers, wanted))
        for busy in free.values():
            model.add_no_overlap(busy)
        return found

    def _wanted(self, number: int, task: Task, need: TaskNeed) -> Any:
        """Whether the need arises: certain, impossible, or a literal that follows the task's length."""
        if need.from_length <= task.low:
            return 1
        if need.from_length > task.high:
            return 0
        wanted = self.model.new_bool_var("wanted")
        self.model.add(self.sizes[number] >= need.from_length).only_enforce_if(wanted)
        self.model.add(self.sizes[number] < need.from_length).only_enforce_if(wanted.negated())
        return wanted

    def _absences(self, parts: list[tuple[datetime, datetime]]) -> list[Any]:
        """Fixed intervals outside of ``parts``, in which nobody is available."""
        slots = [(self.problem.slot(start, up=True), self.problem.slot(end)) for start, end in parts]
        return [
            self.model.new_fixed_size_interval_var(start, end - start, "away")
            for start, end in gaps(slots, self.first, self.last + 24 * 3600 // GRID)
        ]

    def _nights(self) -> list[Any]:
        start, end = self.problem.moment(self.first), self.problem.moment(self.last) + timedelta(days=1)
        return self._absences(awake_parts(self.problem.wish, start, end))

    def _add_company(self) -> None:
        """Keep hot tasks out of the time in which the kitchen is empty."""
        hot = [taken for taken, task in zip(self.intervals, self.problem.tasks, strict=True) if task.is_hot]
        if not hot:
            return
        if self._may("hands"):
            alone = self._nights()
        else:
            parts = [part for each in shift_parts(self.problem.wish).values() for part in each]
            alone = self._absences(parts)
        for each in hot:
            self.model.add_no_overlap([each, *alone])

    def _add_early(self, rule: RelaxedRule) -> None:
        earlier = self.model.new_int_var(0, EARLIEST, "earlier")
        for start, task in zip(self.starts, self.problem.tasks, strict=True):
            if task.after is None:
                self.model.add(start >= self.problem.begin - earlier)
        self.costs.append(earlier)
        self.excesses.append((rule, earlier, []))

    def plan(self, runner: Any) -> DayPlan:
        """The plan that the solver found."""
        units: dict[int, tuple[str, ...]] = {}
        for hold, chosen in zip(self.problem.holds, self.chosen, strict=True):
            names = tuple(name for name, literal in chosen.items() if runner.value(literal))
            units |= dict.fromkeys(hold.tasks, names)
        hands: dict[int, list[Hand]] = {}
        moment = self.problem.moment
        for number, need, doers, wanted in self.hands:
            if runner.value(wanted):
                who = next(name for name, literal in doers.items() if runner.value(literal))
                start = runner.value(self.starts[number]) + need.offset
                hands.setdefault(number, []).append(
                    Hand(who=who, start=moment(start), end=moment(start + need.size), do=need.do)
                )
        steps = [
            PlanStep(
                method=self.problem.wish.wishes[task.wish].method,
                load=task.load,
                mass=task.mass,
                number=task.number,
                start=moment(runner.value(self.starts[number])),
                end=moment(runner.value(self.ends[number])),
                units=units.get(number, ()),
                hands=tuple(hands.get(number, ())),
            )
            for number, task in enumerate(self.problem.tasks)
        ]
        order = {each.method: index for index, each in enumerate(self.problem.wish.wishes)}
        steps.sort(key=lambda each: (each.start, order[each.method], each.load, each.number))
        return DayPlan(steps=tuple(steps))

    def excess(self, runner: Any) -> tuple[RelaxationCost, ...]:
        """By how much each relaxed rule is exceeded in the plan found."""
        found: dict[RelaxedRule, list[tuple[int, list[tuple[int, int]]]]] = {}
        for relaxed, amount, spans in self.excesses:
            value = runner.value(amount)
            if value:
                held = [(runner.value(start), runner.value(end)) for start, end in spans]
                found.setdefault(relaxed, []).append((value, held))
        return tuple(
            RelaxationCost(
                rule=each,
                amount=max(value for value, _ in rows) if each.kind == "late" else sum(value for value, _ in rows),
                spans=tuple(sorted(span for _, spans in rows for span in spans)),
            )
            for each, rows in found.items()
        )


def gaps(spans: list[tuple[int, int]], first: int, last: int) -> list[tuple[int, int]]:
    """The parts between ``first`` and ``last`` outside of all spans.

    >>> gaps([(2, 4), (3, 6)], 0, 9)
    [(0, 2), (6, 9)]
    """
    found, at = [], first
    for start, end in sorted(span for span in spans if span[1] > first and span[0] < last):
        if start > at:
            found.append((at, start))
        at = max(at, end)
    return [*found, (at, last)] if at < last else found
