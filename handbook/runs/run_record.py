"""One run of a method as a cook wrote it down: the records of a run's file and their fields."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from handbook.base.errors import PageError, RangeError
from handbook.base.forms import Choice, Count, Date, Field, ListOf, Measure, Number, Reading, Record, Words
from handbook.base.units import Quantity, kelvin
from handbook.base.yaml_text import parse_yaml
from handbook.brine.strength_reading import StrengthForm, StrengthReading, salt_from_reading
from handbook.page.method import Method
from handbook.runs.logger import DATES, DECIMALS, SEPARATORS, TIMES, UNITS, Log, LogSettings, read_log

#: The scale of taste: what each whole number means, for salt and for anything else that is tasted.
TASTE_SCALE = {
    -2: "far too little",
    -1: "a little too little",
    0: "right",
    1: "a little too much",
    2: "far too much",
}


@dataclass(frozen=True, kw_only=True)
class BrineReading:
    """One measured brine: read at ``at``, before the food went in, and ``spent`` at the end."""

    use: str
    strength: StrengthReading | None
    at: Quantity | None
    spent: StrengthReading | None
    spent_at: Quantity | None
    line: int


@dataclass(frozen=True, kw_only=True)
class StepReading:
    """What was measured of one step (number from 1): all at its end, ``core`` the highest and ``hold`` its time."""

    step: int
    time: Quantity | None
    temperature: Quantity | None
    chamber: Quantity | None
    weight: Quantity | None
    salt: Quantity | None
    ph: float | None
    core: Quantity | None
    hold: Quantity | None
    line: int


@dataclass(frozen=True, kw_only=True)
class Tasting:
    """Means of ``tasters`` on TASTE_SCALE; None where nobody was asked."""

    tasters: int
    salt: float | None
    sweet: float | None
    smoke: float | None
    firm: float | None
    words: str
    line: int


@dataclass(frozen=True, kw_only=True)
class RunRecord:
    """A run's file. ``batch`` is the green weight; None or empty is what was not measured."""

    on: datetime.date
    cook: str
    batch: Quantity
    thickness: Quantity | None
    brines: tuple[BrineReading, ...]
    steps: tuple[StepReading, ...]
    log: LogSettings | None
    taste: Tasting | None
    notes: str
    line: int

    def step(self, number: int) -> StepReading | None:
        """What was measured of step ``number``."""
        return next((each for each in self.steps if each.step == number), None)


@dataclass(frozen=True, eq=False, kw_only=True)
class Run:
    """One run, read without a fault. ``name`` is its file's name without ending, ``file`` as shown in errors."""

    name: str
    file: str
    record: RunRecord
    log: Log | None


def _measure(dimension: str, low: float, high: float, limits: str, **more) -> Measure:
    return Measure(dimensions=(dimension,), low=low, high=high, limits=limits, **more)


_WARM = _measure("temperature", kelvin(-40), kelvin(350), 'a temperature, -40 to 350 °C, such as "77 °C"')
_BRINE = _measure(
    "temperature", kelvin(0), kelvin(40), 'the temperature of the brine read, 0 to 40 °C, such as "12 °C"'
)
_TIME = _measure("time", 0, 400 * 86400, 'a time above 0 and up to 400 days, such as "7.5 h"')
_WEIGHT = _measure("mass", 0, 5000, 'the weight of all pieces together, above 0 and up to 5000 kg, such as "2.84 kg"')
_SALT = _measure("fraction", 0.0, 0.3, 'salt of the food as it then is, 0 to 30 %, such as "2.3 %"', may_be_zero=True)
_SCORE = Number(low=-2.0, high=2.0, what="a mean score (-2 far too little, 0 right, 2 far too much)")

_BRINE_RECORD = Record(
    fields=(
        Field(key="use", form=Words(limit=40), help="name of the salting; the first one where left out", default=""),
        Field(key="strength", form=StrengthForm(), help="measured before the food went in"),
        Field(key="at", form=_BRINE, help="temperature of the brine when it was read"),
        Field(key="spent", form=StrengthForm(), help="measured when the food came out"),
        Field(key="spent_at", form=_BRINE, help="its temperature then"),
    ),
    build=BrineReading,
)
_STEP_RECORD = Record(
    fields=(
        Field(key="step", form=Count(low=1, high=400), help="number of the step on the method's page", required=True),
        Field(key="time", form=_TIME, help="how long it took"),
        Field(key="temperature", form=_WARM, help="of the surroundings, measured"),
        Field(key="chamber", form=_WARM, help="of smoker or oven, measured"),
        Field(key="weight", form=_WEIGHT, help="all pieces together at the end of the step"),
        Field(key="salt", form=_SALT, help="salt of the food at the end of the step, measured"),
        Field(key="ph", form=Number(low=2.0, high=9.0, what="a measured pH"), help="pH at the end of the step"),
        Field(key="core", form=_WARM, help="highest core that was read"),
        Field(key="hold", form=_TIME, help="how long the core was read there or above"),
    ),
    build=StepReading,
)
_TASTE_RECORD = Record(
    fields=(
        Field(key="tasters", form=Count(low=1, high=200), help="how many tasted", required=True),
        Field(key="salt", form=_SCORE, help="salt, mean of all tasters"),
        Field(key="sweet", form=_SCORE, help="sweetness"),
        Field(key="smoke", form=_SCORE, help="smoke"),
        Field(key="firm", form=_SCORE, help="firmness"),
        Field(key="words", form=Words(limit=400), help="what they said", default=""),
    ),
    build=Tasting,
)
_LOG_RECORD = Record(
    fields=(
        Field(
            key="begins_with",
            form=Count(low=1, high=400),
            help="number of the step at whose start the log's clock stands at its first row",
            required=True,
        ),
        Field(key="core", form=Words(limit=80), help="heading of the column of the core probe", default=""),
        Field(key="chamber", form=Words(limit=80), help="heading of the column of the chamber", default=""),
        Field(
            key="time",
            form=Choice(words=TIMES),
            help="how times are written, where the headings do not say",
            default="",
        ),
        Field(
            key="unit",
            form=Choice(words=UNITS),
            help="scale of the temperatures, where the headings do not say",
            default="",
        ),
        Field(
            key="date",
            form=Choice(words=DATES),
            help="which number of a date comes first, where it could be either",
            default="",
        ),
        Field(
            key="decimal", form=Choice(words=DECIMALS), help="sign before the decimals, where both occur", default=""
        ),
        Field(
            key="separator",
            form=Choice(words=tuple(SEPARATORS)),
            help="sign between the columns, where two would do",
            default="",
        ),
    ),
    build=LogSettings,
)
RUN_FORM = Record(
    fields=(
        Field(key="on", form=Date(), help="day of the run: that of the file's name", required=True),
        Field(key="cook", form=Words(limit=80), help="who made it", default=""),
        Field(key="batch", form=_WEIGHT, help="green weight of all pieces", required=True),
        Field(
            key="thickness",
            form=_measure("length", 0, 1.0, 'a measured thickness, such as "19-22 mm"', may_range=True),
            help="thickness of the pieces, measured",
        ),
        Field(key="brines", form=ListOf(form=_BRINE_RECORD, limit=20), help="brines measured", default=()),
        Field(
            key="steps", form=ListOf(form=_STEP_RECORD, limit=400), help="what was measured of each step", default=()
        ),
        Field(key="log", form=_LOG_RECORD, help="how to read the thermometer log beside this file"),
        Field(key="taste", form=_TASTE_RECORD, help="how it tasted"),
        Field(key="notes", form=Words(limit=1000), help="anything else", default=""),
    ),
    build=RunRecord,
)


def read_run(
    name: str, file: str, text: str, log_text: str | None, method: Method, measures: str = "us"
) -> tuple[Run | None, list[PageError]]:
    """One run of ``method``, or None and every fault of its file and of its log.

    ``name`` is the file's name without ending, ``file`` the path shown in errors (ending in .yml).
    """
    reading = Reading(file=file, measures=measures)
    try:
        record = RUN_FORM.read(parse_yaml(text, file, 1, "run"), "", reading)
    except PageError as fault:
        return None, [fault]
    log, faults = None, []
    if record is not None:
        _check(record, name, method, reading)
        if record.log is not None and log_text is not None:
            log, faults = read_log(log_text, file.removesuffix(".yml") + ".csv", record.log)
        elif record.log is not None:
            reading.fault(record.log.line, "log", "no file beside it", f"a thermometer log {name}.csv beside the run")
        elif log_text is not None:
            allowed = f"how to read {name}.csv: at least the step that it begins_with"
            reading.fault(record.line, "log", "nothing", allowed)
    faults = [*reading.faults, *faults]
    return (None if faults else Run(name=name, file=file, record=record, log=log)), faults


def _check(record: RunRecord, name: str, method: Method, reading: Reading) -> None:
    if name[:10] != record.on.isoformat():
        reading.fault(record.line, "on", record.on.isoformat(), f"the day in the file's name, {name[:10]}")
    count, seen = len(method.steps), set()
    for number, each in enumerate(record.steps, 1):
        if each.step > count:
            reading.fault(each.line, f"steps.{number}.step", str(each.step), f"a step of the method, 1 to {count}")
        if each.step in seen:
            reading.fault(each.line, f"steps.{number}.step", f"{each.step} twice", "each step once")
        seen.add(each.step)
        if each.hold is not None and each.core is None:
            reading.fault(each.line, f"steps.{number}.hold", each.hold.text, "a hold together with its core")
    if record.log is not None and record.log.begins_with > count:
        reading.fault(record.log.line, "log.begins_with", str(record.log.begins_with), f"a step, 1 to {count}")
    names = [each.name for each in method.saltings]
    for number, each in enumerate(record.brines, 1):
        if each.use and each.use not in names:
            allowed = f"a salting of the method: {', '.join(names)}" if names else "no brine: the method has no salting"
            reading.fault(each.line, f"brines.{number}.use", each.use, allowed)
        for what, at in (("strength", "at"), ("spent", "spent_at")):
            _check_reading(getattr(each, what), getattr(each, at), f"brines.{number}", what, at, each.line, reading)


def _check_reading(found: StrengthReading | None, warmth: Quantity | None, key: str, what: str, at: str, line, reading):
    if found is None or found.scale == "%":
        return
    if warmth is None:
        allowed = "the temperature at which the brine was read: a hydrometer needs it"
        reading.fault(line, f"{key}.{at}", "nothing", allowed)
        return
    try:
        salt_from_reading(found, warmth.low)
    except RangeError as error:
        reading.fault(line, f"{key}.{what}", found.text, error.allowed)
