"""Read wish files and kept plans of a day; write the text of a plan to keep."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import Annotated

from msgspec import Struct
from msgspec.structs import replace

from handbook.base.errors import FaultsError
from handbook.base.forms import Choice, Date, Name, Reading, Words, YesNo, read_yaml
from handbook.base.records import Key, Record, record_of, rows_of
from handbook.base.units import Quantity
from handbook.base.yaml_lines import in_quotes, row_line
from handbook.days.day_forms import DayHoursForm, MomentForm
from handbook.days.day_plan import DayPlan, DayWish, Hand, PlanStep, Wish, dated_shift, usual_shifts
from handbook.page.clock import NIGHT
from handbook.page.equipment import Planning
from handbook.page.measure_forms import measure

MAX_DAYS = 90  # between the beginning and the last wish


class _Wished(Struct, frozen=True, kw_only=True):
    method: Annotated[str, Key("name of the page, without .md")]
    batch: Annotated[Quantity, Key("green weight", measure("mass", 0, 5000, 'a mass above 0, such as "6 kg"'))]
    ready: Annotated[datetime | None, Key("when this one is wanted, if not with the rest", MomentForm())] = None
    line: int


class _Shift(Struct, frozen=True, kw_only=True):
    who: Annotated[str, Key("a person of the house file")]
    day: Annotated[date, Key("which day", Date())]
    hours: Annotated[
        tuple[time, time], Key("from when to when; an end before the start is on the next day", DayHoursForm())
    ]
    line: int


class _WishFile(Struct, frozen=True, kw_only=True):
    title: Annotated[str, Key("what the day is called", Words(limit=80))]
    begin: Annotated[datetime, Key("nothing begins before", MomentForm())]
    ready: Annotated[datetime, Key("when everything is wanted", MomentForm())]
    night: Annotated[bool, Key("whether hands may be at work in the night", YesNo())] = False
    night_hours: Annotated[tuple[time, time], Key("when it is night", DayHoursForm())] = NIGHT
    methods: Annotated[tuple[_Wished, ...], Key("the methods and their batches")]
    shifts: Annotated[tuple[_Shift, ...], Key("who is there when; left out: the usual hours of the house file")] = ()
    line: int


def wish_form(methods: tuple[str, ...], people: tuple[str, ...]) -> Record:
    """The form of a wish file, given the names of the method pages and of the people of the house."""
    return record_of(
        _WishFile,
        methods=rows_of(_Wished, 40, method=Name(kind="a method page", names=lambda: methods)),
        shifts=rows_of(_Shift, 400, who=Choice(words=people) if people else Words(limit=60)),
    )


def read_wish(text: str, file: str, name: str, methods: tuple[str, ...], planning: Planning | None) -> DayWish:
    """Read a wish file. Raises FaultsError with every fault and its line."""
    reading = Reading(file=file)
    if planning is None:
        reading.fault(1, "planning", "nothing", "a house file with planning: equipment, room_per_kg, people")
        raise FaultsError(reading.faults)
    people = tuple(each.name for each in planning.people)
    found: _WishFile | None = read_yaml(wish_form(methods, people), text, reading, "day")
    if found is not None:
        _check(found, reading)
    if found is None or reading.faults:
        raise FaultsError(reading.faults)
    wishes = tuple(
        Wish(method=each.method, batch=each.batch.low, ready=each.ready or found.ready, line=each.line)
        for each in found.methods
    )
    wish = DayWish(
        name=name,
        title=found.title,
        begin=found.begin,
        night_allowed=found.night,
        night=found.night_hours,
        wishes=wishes,
        shifts=(),
        file=file,
    )
    shifts = tuple(dated_shift(each.who, each.day, each.hours) for each in found.shifts)
    return replace(wish, shifts=shifts or usual_shifts(planning, wish.begin, wish.end))


def _check(found: _WishFile, reading: Reading) -> None:
    names = [each.method for each in found.methods]
    latest = found.begin + timedelta(days=MAX_DAYS)
    for each in found.methods:
        if names.count(each.method) > 1:
            reading.fault(each.line, "methods.method", each.method, "each method once, with its whole batch")
        ready = each.ready or found.ready
        if not found.begin < ready <= latest:
            line = each.line if each.ready else found.line
            words = f"a moment after the beginning and at most {MAX_DAYS} days later"
            reading.fault(line, "ready", f"{ready:%Y-%m-%d %H:%M}", words)


# --- kept plans


class _KeptPlan(Struct, frozen=True, kw_only=True):
    judged: Annotated[str, Key("mark of what was judged", Words(limit=80))]
    steps: Annotated[tuple[PlanStep, ...], Key("the steps by the clock", rows_of(PlanStep, 2000))]


def read_kept(text: str, file: str, wish: DayWish) -> tuple[DayPlan, str]:
    """Read a kept plan: the plan and the mark of what was judged. Raises FaultsError with every fault and its line."""
    reading = Reading(file=file)
    found: _KeptPlan | None = read_yaml(record_of(_KeptPlan), text, reading, "plan")
    if found is None:
        raise FaultsError(reading.faults)
    batches = {each.method: each.batch for each in wish.wishes}
    steps = tuple(replace(each, mass=_unrounded(each.mass, batches.get(each.method, 0.0))) for each in found.steps)
    return DayPlan(steps=steps), found.judged


def kept_text(plan: DayPlan, judged: str) -> str:
    """The text of a kept plan, one step to a line."""
    lines = ["# Made by `handbook day`. Not to be edited: change the wish and make it again.", f"judged: {judged}"]
    lines.append("steps:")
    for each in plan.steps:
        row = {
            "method": each.method,
            "load": each.load or None,
            "kg": f"{each.mass:.6g}",
            "step": each.number,
            "start": f"{each.start:%Y-%m-%d %H:%M}",
            "end": f"{each.end:%Y-%m-%d %H:%M}",
            "in": f"[{', '.join(map(in_quotes, each.units))}]" if each.units else None,
            "hands": f"[{', '.join(map(_hand, each.hands))}]" if each.hands else None,
        }
        lines.append(row_line(**row))
    return "\n".join(lines) + "\n"


def _hand(hand: Hand) -> str:
    start, end = f"{hand.start:%Y-%m-%d %H:%M}", f"{hand.end:%Y-%m-%d %H:%M}"
    return row_line(who=in_quotes(hand.who), start=start, end=end, do=in_quotes(hand.do)).removeprefix("- ")


def _unrounded(mass: float, batch: float) -> float:
    """Undo the rounding of a written mass: the equal part of the batch that it stands for."""
    for loads in range(1, 101):
        if batch and abs(mass - batch / loads) <= 1e-5 * batch / loads:
            return batch / loads
    return mass
