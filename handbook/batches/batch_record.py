"""The file of one batch: a run's file with more keys. It is written when the batch begins, and lines are appended.

``batches/<year>/<lot>.yml`` contains the start of the batch (method at its version, amounts, plan by the clock,
keeping), then ``entries``: one event per line, only appended. A wrong line stays, and a later one corrects it.
"""

from __future__ import annotations

import datetime
import re
from typing import Annotated, Any

from msgspec import Struct
from msgspec.structs import replace

from handbook.base.dates import FIRST
from handbook.base.errors import PageError
from handbook.base.forms import Choice, Count, Form, ListOf, Reading, Words, YesNo, read_yaml
from handbook.base.records import Key, record_of, rows_of
from handbook.base.units import Quantity
from handbook.base.yaml_text import Text
from handbook.days.day_forms import MomentForm
from handbook.days.lot_numbers import is_lot_number, lot_day, lot_key, lot_slug
from handbook.page.finished_food import PACKS
from handbook.page.measure_forms import fraction_form, temperature_form, time_form
from handbook.runs.measured_forms import AMOUNT, AW, PART, PH, SALT, TIME_OR_ZERO, WARM, WEIGHT
from handbook.runs.run_record import RunRecord, Tasting

#: Limits of one file: lines of its plan, its ingredients and its entries.
MAX_PLAN, MAX_AMOUNTS, MAX_ENTRIES = 300, 100, 1000
#: Longest time in days from the beginning to the last entry. A later entry means a wrong clock.
MAX_DAYS = 1200
WENT = ("eaten", "sold", "given", "used")
STATES = ("begun", "done")
_LOT = re.compile(r"[^\W_](?:[\w ./+-]{0,58}[^\W_])?")


class LotForm(Form, frozen=True):
    """A lot number of the supplier or the kitchen."""

    allowed = "a lot number of 1 to 60 letters, digits and . / + - signs, such as J-1011"

    def read_text(self, node: Text, key: str, reading: Reading) -> Any:
        """The number as written."""
        return node.value if _LOT.fullmatch(node.value) else self._fault(node, key, reading)


class Amount(Struct, frozen=True, kw_only=True):
    """One ingredient of the batch. ``in_food`` is the part that stays in the food, where a brine is poured away."""

    item: Annotated[str, Key("food or ingredient", Words(limit=80))]
    amount: Annotated[Quantity, Key("as weighed", AMOUNT)]
    in_food: Annotated[Quantity | None, Key("the part of it that stays in the food, an estimate", PART)] = None
    lot: Annotated[str, Key("lot of the raw material", LotForm())] = ""
    allergen: Annotated[str, Key("allergens in it", Words(limit=80))] = ""
    line: int


class PlanRow(Struct, frozen=True, kw_only=True):
    """One step by the clock, as planned by its page when the batch began."""

    step: Annotated[int, Key("number of the step", Count(low=1, high=400))]
    begin: Annotated[datetime.datetime, Key("planned beginning", MomentForm(), name="from")]
    end: Annotated[datetime.datetime, Key("planned end", MomentForm(), name="to")]
    takes: Annotated[Quantity, Key("shortest to longest time", time_form(may_range=True))]
    hands_on: Annotated[bool, Key("whether the cook works at it", YesNo())] = False
    around: Annotated[
        Quantity | None, Key("planned temperature of fridge, chamber or cellar", temperature_form(may_range=True))
    ] = None
    core: Annotated[Quantity | None, Key("core to reach", temperature_form())] = None
    ph: Annotated[float | None, Key("highest pH at its end", PH)] = None
    loss: Annotated[Quantity | None, Key("weight lost in it, of its start", fraction_form(0, 0.9, may_range=True))] = (
        None
    )
    gain: Annotated[Quantity | None, Key("weight gained in it", fraction_form(0, 0.6, may_range=True))] = None
    do: Annotated[str, Key("what is done", Words(limit=500))]
    line: int


class Keep(Struct, frozen=True, kw_only=True):
    """Keeping of the finished food, as stated by its page when the batch began."""

    pack: Annotated[str, Key("how it is packed", Choice(words=PACKS))]
    from_step: Annotated[int, Key("step from whose end the days are counted", Count(low=1, high=400))]
    temperature: Annotated[Quantity | None, Key("temperature it is kept at", temperature_form(), name="at")] = None
    cold: Annotated[Quantity | None, Key("how long it keeps cold", time_form())] = None
    frozen: Annotated[Quantity | None, Key("how long it keeps frozen", time_form())] = None
    cook_first: Annotated[bool, Key("whether it must be cooked before eating", YesNo())] = False
    line: int


class Target(Struct, frozen=True, kw_only=True):
    """A loss of green weight or a pH that the batch must reach."""

    loss: Annotated[Quantity | None, Key("loss of green weight", fraction_form(0, 0.9))] = None
    ph: Annotated[float | None, Key("pH", PH)] = None
    line: int


class Predicted(Struct, frozen=True, kw_only=True):
    """What the page's models predicted at one time of one step: a loss since drying began, or a pH from low to high."""

    step: Annotated[int, Key("number of the step", Count(low=1, high=400))]
    after: Annotated[Quantity, Key("time since the step's beginning", TIME_OR_ZERO)]
    loss: Annotated[Quantity | None, Key("loss since drying began", fraction_form(0, 0.95, may_range=True))] = None
    ph_low: Annotated[float | None, Key("lowest pH predicted", PH)] = None
    ph_high: Annotated[float | None, Key("highest pH predicted", PH)] = None
    line: int


class Entry(Struct, frozen=True, kw_only=True):
    """One event of the batch: a step begun or done, a measurement, a lot used, where it went, its end."""

    at: Annotated[datetime.datetime, Key("when, by the kitchen's clock", MomentForm())]
    by: Annotated[str, Key("who", Words(limit=80))] = ""
    step: Annotated[int | None, Key("number of the step", Count(low=1, high=400))] = None
    state: Annotated[str, Key("the step is now", Choice(words=STATES), name="is")] = ""
    weight: Annotated[Quantity | None, Key("all pieces together", WEIGHT)] = None
    salt: Annotated[Quantity | None, Key("salt of the food, measured", SALT)] = None
    ph: Annotated[float | None, Key("pH", PH)] = None
    aw: Annotated[float | None, Key("water activity", AW)] = None
    temperature: Annotated[Quantity | None, Key("of the surroundings", WARM)] = None
    chamber: Annotated[Quantity | None, Key("of smoker or oven", WARM)] = None
    core: Annotated[Quantity | None, Key("of the coldest core", WARM)] = None
    hold: Annotated[Quantity | None, Key("how long the core stayed there or above", time_form())] = None
    taste: Annotated[Tasting | None, Key("how it tasted", record_of(Tasting))] = None
    item: Annotated[str, Key("food or ingredient whose lot was used", Words(limit=80))] = ""
    lot: Annotated[str, Key("lot of that item", LotForm())] = ""
    went: Annotated[str, Key("where finished food went", Choice(words=WENT))] = ""
    frozen: Annotated[Quantity | None, Key("weight put into the freezer", AMOUNT)] = None
    amount: Annotated[Quantity | None, Key("how much of it", AMOUNT)] = None
    to: Annotated[str, Key("to whom, or the lot of the batch that it went into", Words(limit=120))] = ""
    ended: Annotated[str, Key("why nothing more is to be done", Words(limit=400))] = ""
    discarded: Annotated[str, Key("why it was thrown away", Words(limit=400))] = ""
    recalled: Annotated[str, Key("why it is called back", Words(limit=400))] = ""
    words: Annotated[str, Key("anything else", Words(limit=400))] = ""
    corrects: Annotated[datetime.datetime | None, Key("moment of the earlier line that is wrong", MomentForm())] = None
    line: int


class BatchRecord(RunRecord, frozen=True, kw_only=True):
    """A batch's file. ``on`` is the day it began, filled from ``begun``; ``steps`` hold readings that are not in ``entries``."""

    on: datetime.date = FIRST
    lot: Annotated[str, Key("lot number: the file's name", LotForm())]
    method: Annotated[str, Key("page of the method, without .md", Words(limit=120))]
    title: Annotated[str, Key("name of the food on its label", Words(limit=100))]
    version: Annotated[str, Key("version mark of the page when the batch began", Words(limit=40))] = ""
    begun: Annotated[datetime.datetime, Key("when it began", MomentForm())]
    amounts: Annotated[
        tuple[Amount, ...], Key("ingredients as weighed, with their lots", rows_of(Amount, MAX_AMOUNTS))
    ] = ()
    plan: Annotated[tuple[PlanRow, ...], Key("the steps by the clock", rows_of(PlanRow, MAX_PLAN))]
    keep: Annotated[Keep | None, Key("how it keeps", record_of(Keep))] = None
    reach: Annotated[tuple[Target, ...], Key("what it must reach", ListOf(form=record_of(Target), limit=6))] = ()
    predicted: Annotated[
        tuple[Predicted, ...], Key("courses that the page's models predicted", rows_of(Predicted, 60))
    ] = ()
    entries: Annotated[tuple[Entry, ...], Key("what happened, one line each", rows_of(Entry, MAX_ENTRIES))] = ()

    @property
    def valid(self) -> tuple[Entry, ...]:
        """The entries that no later line corrects, in order of time."""
        last = {each.corrects: number for number, each in enumerate(self.entries) if each.corrects}
        found = (each for number, each in enumerate(self.entries) if not _is_corrected(each, number, last))
        return tuple(sorted(found, key=lambda each: each.at))


BATCH_FORM = record_of(BatchRecord)


def read_batch(name: str, file: str, text: str, measures: str = "us") -> tuple[BatchRecord | None, list[PageError]]:
    """A batch's file, or None and all its faults; ``name`` is the file's name without ending."""
    reading = Reading(file=file, measures=measures)
    record: BatchRecord | None = read_yaml(BATCH_FORM, text, reading, "batch")
    if record is not None:
        record = replace(record, on=record.begun.date())
        _check_head(record, name, reading)
        _check_entries(record, reading)
    return (None if reading.faults else record), reading.faults


def _is_corrected(each: Entry, number: int, last: dict[datetime.datetime, int]) -> bool:
    """Whether a later line corrects this one; ``last`` is the last line that corrects each moment.

    Lines of the same time are corrected together, except a recall or discard, and except a line that corrects another
    time.
    """
    if each.recalled or each.discarded or each.corrects not in (None, each.at):
        return False
    return number < last.get(each.at, -1)


def _check_head(record: BatchRecord, name: str, reading: Reading) -> None:
    if record.lot != name:
        reading.fault(record.line, "lot", record.lot, f"the file's name, {name}")
    if is_lot_number(name) and (slug := name.rpartition("-")[0]) != lot_slug(record.method):
        reading.fault(record.line, "method", record.method, f"the method in the lot number, {slug}")
    if is_lot_number(name) and (day := lot_day(name)) != record.on:
        read = f"{record.begun:%Y-%m-%d %H:%M}"
        reading.fault(record.line, "begun", read, f"the day in the lot number, {day}")
    for number, row in enumerate(record.plan, 1):
        if row.step != number:
            reading.fault(row.line, f"plan.{number}.step", str(row.step), f"{number}: every step in order")
        if row.end < row.begin:
            reading.fault(row.line, f"plan.{number}.to", f"{row.end:%Y-%m-%d %H:%M}", "a moment after its beginning")
    if record.keep is not None and record.keep.from_step > len(record.plan):
        reading.fault(record.keep.line, "keep.from_step", str(record.keep.from_step), _steps(record))
    for number, target in enumerate(record.reach, 1):
        if (target.loss is None) == (target.ph is None):
            reading.fault(target.line, f"reach.{number}", "both or none", "either a loss or a pH")
    seen: dict[tuple[str, str], int] = {}
    for number, each in enumerate(record.amounts, 1):
        if each.lot and seen.setdefault((each.item, lot_key(each.lot)), number) != number:
            allowed = "each lot of an item once, with its whole amount"
            reading.fault(each.line, f"amounts.{number}.lot", f"{each.lot} twice", allowed)


def _check_entries(record: BatchRecord, reading: Reading) -> None:
    valid = {id(each) for each in record.valid}
    moments = {each.at for each in record.entries if each.corrects is None and not (each.recalled or each.discarded)}
    last = record.begun + datetime.timedelta(days=MAX_DAYS)
    allowed = (
        f"a moment from the batch's beginning, {record.begun:%Y-%m-%d %H:%M}, to {MAX_DAYS} days after it; "
        "a line with the right time and `corrects` sets a wrong clock right"
    )
    correctable = "the moment of another line of this batch; a recall or discard stands: take its line out of the file in a reviewed change"
    seen: dict[Entry, int] = {}
    for number, each in enumerate(record.entries, 1):
        key = f"entries.{number}"
        if seen.setdefault(replace(each, line=0), number) != number:
            reading.fault(each.line, key, "the same line twice", "each line once")
        if each.corrects and each.corrects not in moments:
            reading.fault(each.line, f"{key}.corrects", f"{each.corrects:%Y-%m-%d %H:%M}", correctable)
        if id(each) not in valid:
            continue
        if not record.begun <= each.at <= last:
            reading.fault(each.line, f"{key}.at", f"{each.at:%Y-%m-%d %H:%M}", allowed)
        _check_entry(each, key, record, reading)
    _check_order(record, reading)


def _check_entry(each: Entry, key: str, record: BatchRecord, reading: Reading) -> None:
    if each.step is not None and each.step > len(record.plan):
        reading.fault(each.line, f"{key}.step", str(each.step), _steps(record))
    if each.state and each.step is None:
        reading.fault(each.line, f"{key}.is", each.state, "a step together with it")
    if each.hold is not None and each.core is None:
        reading.fault(each.line, f"{key}.hold", each.hold.text, "a hold together with its core")
    if bool(each.lot) != bool(each.item):
        reading.fault(each.line, f"{key}.lot", each.lot or "nothing", "a lot together with its item")
    if each.went == "used" and not each.to:
        reading.fault(each.line, f"{key}.to", "nothing", "the lot of the batch that it went into")


def _check_order(record: BatchRecord, reading: Reading) -> None:
    """Record a fault for a step done before it was begun, or before the step before it: one of the clocks was wrong."""
    done: dict[int, Entry] = {}
    begun: dict[int, Entry] = {}
    for each in record.valid:
        if each.step is not None and each.state and each.at >= record.begun:
            (done if each.state == "done" else begun)[each.step] = each
    for number in sorted(done):
        each, start = done[number], begun.get(number)
        before = max((done[step].at for step in done if step < number), default=record.begun)
        if each.at < before or (start is not None and each.at < start.at):
            allowed = f"a moment not before {max(before, start.at if start else before):%Y-%m-%d %H:%M}: one of the two clocks was wrong; a line with `corrects` sets it right"
            reading.fault(each.line, "entries.at", f"step {number} done {each.at:%Y-%m-%d %H:%M}", allowed)


def _steps(record: BatchRecord) -> str:
    return f"a step of the batch's plan, 1 to {len(record.plan)}"
