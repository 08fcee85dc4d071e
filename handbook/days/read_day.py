"""Reading what is wished of a day, and a plan that was kept; writing a plan to keep. Every fault has its line."""

from __future__ import annotations

import datetime as dates
from dataclasses import dataclass, replace

from handbook.base.errors import PageError, UnitError
from handbook.base.forms import (
    Choice,
    Count,
    Date,
    Field,
    Form,
    ListOf,
    Measure,
    Name,
    Number,
    Reading,
    Record,
    Words,
    YesNo,
)
from handbook.base.yaml_text import parse_yaml
from handbook.days.day_plan import DayPlan, DayWish, Hand, PlanStep, Wish, dated_shift, usual_shifts
from handbook.page.clock import NIGHT, parse_moment
from handbook.page.equipment import Planning, parse_hours

MAX_DAYS = 90  # between the beginning and the last wish


@dataclass(frozen=True)
class _Wished:
    method: str
    batch: object
    ready: dates.datetime | None
    line: int


@dataclass(frozen=True)
class _Shift:
    who: str
    day: dates.date
    hours: tuple[dates.time, dates.time]
    line: int


@dataclass(frozen=True)
class _File:
    title: str
    begin: dates.datetime
    ready: dates.datetime
    night: bool
    night_hours: tuple[dates.time, dates.time]
    methods: tuple[_Wished, ...]
    shifts: tuple[_Shift, ...]
    line: int


class MomentForm(Form):
    """``2026-11-28 18:00``."""

    allowed = "a day and a time, such as 2026-11-28 18:00, in the years 1970 to 2099"

    def read_text(self, node, key, reading):
        try:
            return parse_moment(node.value)
        except UnitError:
            return self._fault(node, key, reading)


class DayHoursForm(Form):
    """``07:00-19:00``."""

    allowed = "two different times of day, such as 07:00-19:00"

    def read_text(self, node, key, reading):
        return parse_hours(node.value) or self._fault(node, key, reading)


def wish_form(methods: tuple[str, ...], people: tuple[str, ...]) -> Record:
    """The form of a wish file."""
    wished = Record(
        (
            Field("method", Name("a method page", lambda: methods), "name of the page, without .md", True),
            Field("batch", Measure(("mass",), 0, 5000, 'a mass above 0, such as "6 kg"'), "green weight", True),
            Field("ready", MomentForm(), "when this one is wanted, if not with the rest"),
        ),
        _Wished,
    )
    shift = Record(
        (
            Field("who", Choice(people) if people else Words(60), "a person of the house file", True),
            Field("day", Date(), "which day", True),
            Field("hours", DayHoursForm(), "from when to when; an end before the start is on the next day", True),
        ),
        _Shift,
    )
    return Record(
        (
            Field("title", Words(80), "what the day is called", True),
            Field("begin", MomentForm(), "nothing begins before", True),
            Field("ready", MomentForm(), "when everything is wanted", True),
            Field("night", YesNo(), "whether hands may be at work in the night", default=False),
            Field("night_hours", DayHoursForm(), "when it is night", default=NIGHT),
            Field("methods", ListOf(wished, 40, may_be_single=False), "the methods and their batches", True),
            Field(
                "shifts",
                ListOf(shift, 400, may_be_single=False),
                "who is there when; left out: the usual hours of the house file",
                default=(),
            ),
        ),
        _File,
    )


def read_wish(
    text: str, file: str, name: str, methods: tuple[str, ...], planning: Planning | None
) -> tuple[DayWish | None, list[PageError]]:
    """The wish of one file, or None and every fault."""
    reading = Reading(file)
    if planning is None:
        reading.fault(1, "planning", "nothing", "a house file with planning: equipment, room_per_kg, people")
        return None, reading.faults
    people = tuple(each.name for each in planning.people)
    try:
        node = parse_yaml(text, file, 1, "day")
    except PageError as fault:
        return None, [fault]
    found = wish_form(methods, people).read(node, "", reading)
    if found is None:
        return None, reading.faults
    _check(found, reading)
    if reading.faults:
        return None, reading.faults
    wishes = tuple(Wish(each.method, each.batch.low, each.ready or found.ready, each.line) for each in found.methods)
    made = DayWish(name, found.title, found.begin, found.night, found.night_hours, wishes, (), file)
    shifts = tuple(dated_shift(each.who, each.day, each.hours) for each in found.shifts)
    return replace(made, shifts=shifts or usual_shifts(planning, made.begin, made.end)), []


def _check(found: _File, reading: Reading) -> None:
    names = [each.method for each in found.methods]
    latest = found.begin + dates.timedelta(days=MAX_DAYS)
    for each in found.methods:
        if names.count(each.method) > 1:
            reading.fault(each.line, "methods.method", each.method, "each method once, with its whole batch")
        ready = each.ready or found.ready
        if not found.begin < ready <= latest:
            line = each.line if each.ready else found.line
            words = f"a moment after the beginning and at most {MAX_DAYS} days later"
            reading.fault(line, "ready", f"{ready:%Y-%m-%d %H:%M}", words)


# --- a plan that was kept

_HAND = Record(
    (
        Field("who", Words(60), "who", True),
        Field("start", MomentForm(), "from", True),
        Field("end", MomentForm(), "to", True),
        Field("do", Words(500), "what", True),
    ),
    lambda who, start, end, do, line: Hand(who, start, end, do),
)
_STEP = Record(
    (
        Field("method", Words(80), "page name", True),
        Field("load", Count(0, 100), "load, 0 for the whole batch", default=0),
        Field("kg", Number(0, 5000, "kilograms"), "food in it", True),
        Field("step", Count(1, 400), "number of the step", True),
        Field("start", MomentForm(), "from", True),
        Field("end", MomentForm(), "to", True),
        Field("in", ListOf(Words(40), 20), "chamber or vessels", default=()),
        Field("hands", ListOf(_HAND, 600, may_be_single=False), "who is at work in it", default=()),
    ),
    lambda method, load, kg, step, start, end, hands, line, **more: PlanStep(
        method, load, kg, step, start, end, more["in"], hands
    ),
)


@dataclass(frozen=True)
class Kept:
    """A plan as kept beside its wish. ``judged`` stands for the figures and times that the safety rules judged."""

    judged: str
    steps: tuple[PlanStep, ...]
    line: int


_KEPT = Record(
    (
        Field("judged", Words(80), "mark of what was judged", True),
        Field("steps", ListOf(_STEP, 2000, may_be_single=False), "the steps by the clock", True),
    ),
    Kept,
)


def read_kept(text: str, file: str, wish: DayWish) -> tuple[DayPlan | None, str, list[PageError]]:
    """The plan of a kept file and its mark, or None and every fault."""
    reading = Reading(file)
    try:
        node = parse_yaml(text, file, 1, "plan")
    except PageError as fault:
        return None, "", [fault]
    found = _KEPT.read(node, "", reading)
    if found is None:
        return None, "", reading.faults
    batches = {each.method: each.batch for each in wish.wishes}
    steps = tuple(replace(each, mass=_whole(each.mass, batches.get(each.method, 0.0))) for each in found.steps)
    return DayPlan(wish.name, steps), found.judged, []


def kept_text(plan: DayPlan, judged: str) -> str:
    """The text of a kept plan, one step to a line."""
    lines = ["# Made by `handbook day`. Not to be edited: change the wish and make it again.", f"judged: {judged}"]
    lines.append("steps:")
    for each in plan.steps:
        parts = [f"method: {each.method}"]
        parts += [f"load: {each.load}"] if each.load else []
        parts += [f"kg: {each.mass:.6g}", f"step: {each.number}"]
        parts += [f"start: {each.start:%Y-%m-%d %H:%M}", f"end: {each.end:%Y-%m-%d %H:%M}"]
        parts += [f"in: [{', '.join(_quoted(name) for name in each.units)}]"] if each.units else []
        if each.hands:
            parts.append(f"hands: [{', '.join(_hand(hand) for hand in each.hands)}]")
        lines.append(f"- {{{', '.join(parts)}}}")
    return "\n".join(lines) + "\n"


def _hand(hand: Hand) -> str:
    return (
        f"{{who: {_quoted(hand.who)}, start: {hand.start:%Y-%m-%d %H:%M}, end: {hand.end:%Y-%m-%d %H:%M}, "
        f"do: {_quoted(hand.do)}}}"
    )


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _whole(mass: float, batch: float) -> float:
    """A mass written with six digits, put back to the part of the batch that it was."""
    for loads in range(1, 101):
        if batch and abs(mass - batch / loads) <= 1e-5 * batch / loads:
            return batch / loads
    return mass
