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


@dataclass(frozen=True, kw_only=True)
class _Wished:
    method: str
    batch: object
    ready: dates.datetime | None
    line: int


@dataclass(frozen=True, kw_only=True)
class _Shift:
    who: str
    day: dates.date
    hours: tuple[dates.time, dates.time]
    line: int


@dataclass(frozen=True, kw_only=True)
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
        fields=(
            Field(
                key="method",
                form=Name(kind="a method page", names=lambda: methods),
                help="name of the page, without .md",
                required=True,
            ),
            Field(
                key="batch",
                form=Measure(dimensions=("mass",), low=0, high=5000, limits='a mass above 0, such as "6 kg"'),
                help="green weight",
                required=True,
            ),
            Field(key="ready", form=MomentForm(), help="when this one is wanted, if not with the rest"),
        ),
        build=_Wished,
    )
    shift = Record(
        fields=(
            Field(
                key="who",
                form=Choice(words=people) if people else Words(limit=60),
                help="a person of the house file",
                required=True,
            ),
            Field(key="day", form=Date(), help="which day", required=True),
            Field(
                key="hours",
                form=DayHoursForm(),
                help="from when to when; an end before the start is on the next day",
                required=True,
            ),
        ),
        build=_Shift,
    )
    return Record(
        fields=(
            Field(key="title", form=Words(limit=80), help="what the day is called", required=True),
            Field(key="begin", form=MomentForm(), help="nothing begins before", required=True),
            Field(key="ready", form=MomentForm(), help="when everything is wanted", required=True),
            Field(key="night", form=YesNo(), help="whether hands may be at work in the night", default=False),
            Field(key="night_hours", form=DayHoursForm(), help="when it is night", default=NIGHT),
            Field(
                key="methods",
                form=ListOf(form=wished, limit=40, may_be_single=False),
                help="the methods and their batches",
                required=True,
            ),
            Field(
                key="shifts",
                form=ListOf(form=shift, limit=400, may_be_single=False),
                help="who is there when; left out: the usual hours of the house file",
                default=(),
            ),
        ),
        build=_File,
    )


def read_wish(
    text: str, file: str, name: str, methods: tuple[str, ...], planning: Planning | None
) -> tuple[DayWish | None, list[PageError]]:
    """The wish of one file, or None and every fault."""
    reading = Reading(file=file)
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
    wishes = tuple(
        Wish(method=each.method, batch=each.batch.low, ready=each.ready or found.ready, line=each.line)
        for each in found.methods
    )
    made = DayWish(
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
    fields=(
        Field(key="who", form=Words(limit=60), help="who", required=True),
        Field(key="start", form=MomentForm(), help="from", required=True),
        Field(key="end", form=MomentForm(), help="to", required=True),
        Field(key="do", form=Words(limit=500), help="what", required=True),
    ),
    build=lambda who, start, end, do, line: Hand(who=who, start=start, end=end, do=do),
)
_STEP = Record(
    fields=(
        Field(key="method", form=Words(limit=80), help="page name", required=True),
        Field(key="load", form=Count(low=0, high=100), help="load, 0 for the whole batch", default=0),
        Field(key="kg", form=Number(low=0, high=5000, what="kilograms"), help="food in it", required=True),
        Field(key="step", form=Count(low=1, high=400), help="number of the step", required=True),
        Field(key="start", form=MomentForm(), help="from", required=True),
        Field(key="end", form=MomentForm(), help="to", required=True),
        Field(key="in", form=ListOf(form=Words(limit=40), limit=20), help="chamber or vessels", default=()),
        Field(
            key="hands",
            form=ListOf(form=_HAND, limit=600, may_be_single=False),
            help="who is at work in it",
            default=(),
        ),
    ),
    build=lambda method, load, kg, step, start, end, hands, line, **more: PlanStep(
        method=method, load=load, mass=kg, number=step, start=start, end=end, units=more["in"], hands=hands
    ),
)


@dataclass(frozen=True, kw_only=True)
class Kept:
    """A plan as kept beside its wish. ``judged`` stands for the figures and times that the safety rules judged."""

    judged: str
    steps: tuple[PlanStep, ...]
    line: int


_KEPT = Record(
    fields=(
        Field(key="judged", form=Words(limit=80), help="mark of what was judged", required=True),
        Field(
            key="steps",
            form=ListOf(form=_STEP, limit=2000, may_be_single=False),
            help="the steps by the clock",
            required=True,
        ),
    ),
    build=Kept,
)


def read_kept(text: str, file: str, wish: DayWish) -> tuple[DayPlan | None, str, list[PageError]]:
    """The plan of a kept file and its mark, or None and every fault."""
    reading = Reading(file=file)
    try:
        node = parse_yaml(text, file, 1, "plan")
    except PageError as fault:
        return None, "", [fault]
    found = _KEPT.read(node, "", reading)
    if found is None:
        return None, "", reading.faults
    batches = {each.method: each.batch for each in wish.wishes}
    steps = tuple(replace(each, mass=_whole(each.mass, batches.get(each.method, 0.0))) for each in found.steps)
    return DayPlan(name=wish.name, steps=steps), found.judged, []


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
