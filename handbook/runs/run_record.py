"""One run of a method as recorded by a cook: the records of a run's file and their fields."""

from __future__ import annotations

import datetime
from typing import Annotated

from msgspec import Struct

from handbook.base.errors import PageError, RangeError
from handbook.base.forms import Count, Date, ListOf, Reading, Words, read_yaml
from handbook.base.records import Key, record_of
from handbook.base.units import Quantity
from handbook.brine.strength_reading import StrengthForm, StrengthReading, salt_from_reading
from handbook.page.method import Method
from handbook.runs.logger import Log, LogSettings, read_log
from handbook.runs.measured_forms import AW, BRINE, PH, SALT, SCORE, THICKNESS, TIME, WARM, WEIGHT

#: The scale of taste: the meaning of each whole number.
TASTE_SCALE = {
    -2: "far too little",
    -1: "a little too little",
    0: "right",
    1: "a little too much",
    2: "far too much",
}


class BrineReading(Struct, frozen=True, kw_only=True):
    """The measured strength of one brine: fresh, before the food goes in, and spent, when it comes out."""

    use: Annotated[str, Key("name of the salting; the first one where left out", Words(limit=40))] = ""
    strength: Annotated[StrengthReading | None, Key("measured before the food went in", StrengthForm())] = None
    at: Annotated[Quantity | None, Key("temperature of the brine when it was read", BRINE)] = None
    spent: Annotated[StrengthReading | None, Key("measured when the food came out", StrengthForm())] = None
    spent_at: Annotated[Quantity | None, Key("its temperature then", BRINE)] = None
    line: int


class StepReading(Struct, frozen=True, kw_only=True):
    """The measurements of one step of the method; steps are numbered from 1."""

    step: Annotated[int, Key("number of the step on the method's page", Count(low=1, high=400))]
    time: Annotated[Quantity | None, Key("how long it took", TIME)] = None
    temperature: Annotated[Quantity | None, Key("of the surroundings, measured", WARM)] = None
    chamber: Annotated[Quantity | None, Key("of smoker or oven, measured", WARM)] = None
    weight: Annotated[Quantity | None, Key("all pieces together at the end of the step", WEIGHT)] = None
    salt: Annotated[Quantity | None, Key("salt of the food at the end of the step, measured", SALT)] = None
    ph: Annotated[float | None, Key("pH at the end of the step", PH)] = None
    aw: Annotated[float | None, Key("water activity at the end of the step, measured", AW)] = None
    core: Annotated[Quantity | None, Key("highest core that was read", WARM)] = None
    hold: Annotated[Quantity | None, Key("how long the core was read there or above", TIME)] = None
    line: int


class Tasting(Struct, frozen=True, kw_only=True):
    """Mean scores of all tasters on TASTE_SCALE; None where not asked."""

    tasters: Annotated[int, Key("how many tasted", Count(low=1, high=200))]
    salt: Annotated[float | None, Key("salt, mean of all tasters", SCORE)] = None
    sweet: Annotated[float | None, Key("sweetness", SCORE)] = None
    smoke: Annotated[float | None, Key("smoke", SCORE)] = None
    firm: Annotated[float | None, Key("firmness", SCORE)] = None
    words: Annotated[str, Key("what they said", Words(limit=400))] = ""
    line: int


class RunRecord(Struct, frozen=True, kw_only=True):
    """A run's file. Values that were not measured are None or empty."""

    on: Annotated[datetime.date, Key("day of the run: that of the file's name", Date())]
    cook: Annotated[str, Key("who made it", Words(limit=80))] = ""
    batch: Annotated[Quantity, Key("green weight of all pieces", WEIGHT)]
    hung: Annotated[
        Quantity | None, Key("weight as filled, before it loses any; green weight where left out", WEIGHT)
    ] = None
    thickness: Annotated[Quantity | None, Key("thickness of the pieces, measured", THICKNESS)] = None
    brines: Annotated[
        tuple[BrineReading, ...], Key("brines measured", ListOf(form=record_of(BrineReading), limit=20))
    ] = ()
    steps: Annotated[
        tuple[StepReading, ...], Key("what was measured of each step", ListOf(form=record_of(StepReading), limit=400))
    ] = ()
    log: Annotated[
        LogSettings | None, Key("how to read the thermometer log beside this file", record_of(LogSettings))
    ] = None
    taste: Annotated[Tasting | None, Key("how it tasted", record_of(Tasting))] = None
    notes: Annotated[str, Key("anything else", Words(limit=1000))] = ""
    line: int

    @property
    def filled(self) -> float:
        """Weight in kg to which a loss of weight is relative: as filled, else green weight."""
        return (self.hung or self.batch).low

    def step(self, number: int) -> StepReading | None:
        """The measurements of step ``number``."""
        return next((each for each in self.steps if each.step == number), None)


RUN_FORM = record_of(RunRecord)


class Run(Struct, frozen=True, eq=False, kw_only=True):
    """One run, read without a fault. ``name`` is its file's name without ending, ``file`` as shown in errors."""

    name: str
    file: str
    record: RunRecord
    log: Log | None


def read_run(
    name: str, file: str, text: str, log_text: str | None, method: Method, measures: str
) -> tuple[Run | None, list[PageError]]:
    """One run of ``method``, or None and every fault of its file and of its log.

    ``name`` is the file's name without ending, ``file`` the path shown in errors (ending in .yml).
    """
    reading = Reading(file=file, measures=measures)
    record: RunRecord | None = read_yaml(RUN_FORM, text, reading, "run")
    log, log_faults = None, list[PageError]()
    if record is not None:
        _check(record, name, method, reading)
        log, log_faults = beside_log(record, file, log_text)
    faults = [*reading.faults, *log_faults]
    if record is None or faults:
        return None, faults
    return Run(name=name, file=file, record=record, log=log), []


def beside_log(record: RunRecord, file: str, log_text: str | None) -> tuple[Log | None, list[PageError]]:
    """The thermometer log beside the run's ``file``, and its faults, such as a log without settings in the run."""
    log = f"{file.removesuffix('.yml')}.csv"
    name = log.rpartition("/")[2]
    if record.log is not None and log_text is not None:
        return read_log(log_text, log, record.log)
    if record.log is not None:
        allowed = f"a thermometer log {name} beside the run"
        return None, [PageError(file, record.log.line, "log", "no file beside it", allowed)]
    if log_text is not None:
        allowed = f"how to read {name}: at least the step that it begins_with"
        return None, [PageError(file, record.line, "log", "nothing", allowed)]
    return None, []


def _check(record: RunRecord, name: str, method: Method, reading: Reading) -> None:
    if name[:10] != record.on.isoformat():
        reading.fault(record.line, "on", record.on.isoformat(), f"the day in the file's name, {name[:10]}")
    count, seen = len(method.steps), set[int]()
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
    for number, brine in enumerate(record.brines, 1):
        if brine.use and brine.use not in names:
            allowed = f"a salting of the method: {', '.join(names)}" if names else "no brine: the method has no salting"
            reading.fault(brine.line, f"brines.{number}.use", brine.use, allowed)
        for what, at in (("strength", "at"), ("spent", "spent_at")):
            _check_strength(brine, what, at, f"brines.{number}", reading)


def _check_strength(brine: BrineReading, what: str, at: str, key: str, reading: Reading) -> None:
    """Check that the reading in field ``what`` is convertible at the temperature in field ``at``."""
    found: StrengthReading | None = getattr(brine, what)
    temperature: Quantity | None = getattr(brine, at)
    if found is None or found.scale == "%":
        return
    if temperature is None:
        allowed = "the temperature at which the brine was read: a hydrometer needs it"
        reading.fault(brine.line, f"{key}.{at}", "nothing", allowed)
        return
    try:
        salt_from_reading(found, temperature.low)
    except RangeError as error:
        reading.fault(brine.line, f"{key}.{what}", found.text, error.allowed)
