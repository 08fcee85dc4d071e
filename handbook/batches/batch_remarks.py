"""Measurements of a batch outside the page's predictions, and what to check."""

from __future__ import annotations

from datetime import datetime
from math import prod

import numpy as np
from msgspec import Struct

from handbook.base.formats import format_mass, format_number, format_percent, format_temperature
from handbook.base.units import kelvin
from handbook.batches.batch_record import BatchRecord, Entry, PlanRow
from handbook.batches.batch_state import predicted_band, step_begins, weight_kept

#: Tolerances of a reading before it gets a remark: fridges and cellars, smokers and ovens (common practice, no source);
#: and the scale's for a predicted weight.
_COLD_ERROR, _FIRE_ERROR, _WEIGHING, _PH_ERROR = 2.0, 10.0, 0.01, 0.1
_WARM = kelvin(30)
_CORE_ERROR = 0.05  # K: rounding of a converted scale


class Remark(Struct, frozen=True, kw_only=True):
    """One measurement outside its prediction: its time, reading, checks, and the file's line."""

    at: datetime
    words: str
    check: str
    line: int


def remarks(record: BatchRecord) -> tuple[Remark, ...]:
    """Every measurement of ``record`` outside its plan or prediction, in order of time."""
    found = []
    for each in record.valid:
        number = each.step or _running(record, each.at)
        row = record.plan[number - 1] if number else None
        for words, check in _of_entry(record, each, row):
            found.append(Remark(at=each.at, words=words, check=check, line=each.line))
    return tuple(found)


def _of_entry(record: BatchRecord, each: Entry, row: PlanRow | None) -> list[tuple[str, str]]:
    found = []
    if row is not None:
        found += _temperature(each, row) + _core(each, row) + _ph(each, row) + _time(record, each, row)
    if each.weight is not None and each.step is not None and each.state == "done":
        found += _weight(record, each)
    return found + _course(record, each)


def _course(record: BatchRecord, each: Entry) -> list[tuple[str, str]]:
    """A weight or a pH compared with the course that the page's models predicted, if any."""
    at = (each.at - record.begun).total_seconds()
    found = []
    for value, is_loss, spare in ((each.weight, True, _WEIGHING), (each.ph, False, _PH_ERROR)):
        band = predicted_band(record, is_loss) if record.predicted and value is not None else []
        if not band or not band[0][0] < at <= band[-1][0]:
            continue
        read = 1 - each.weight.low / record.batch.low if is_loss and each.weight is not None else each.ph
        times = [row[0] for row in band]
        low, high = (float(np.interp(at, times, [row[end] for row in band])) for end in (1, 2))
        if read is None or low - spare <= read <= high + spare:
            continue
        if is_loss:
            words = f"lost {format_percent(read, 0)}, predicted {format_percent(low, 0)} to {format_percent(high, 0)} by now"
            check = "check the room's humidity and air, the thickness, and that no hard rim closes it in"
        else:
            words = f"pH {read:g}, predicted {format_number(low, 1)} to {format_number(high, 1)} by now"
            check = (
                "check its warmth and its salt, and the meter in buffer; a ferment that stays above pH 4.6 is not safe"
            )
        found.append((words, check))
    return found


def _temperature(each: Entry, row: PlanRow) -> list[tuple[str, str]]:
    read = each.chamber or each.temperature
    if read is None or row.around is None:
        return []
    spare, check = _COLD_ERROR, "the fridge or cellar and the thermometer"
    if row.around.high >= _WARM:
        spare, check = _FIRE_ERROR, "the door, the vents and the thermometer"
    if row.around.low - spare <= read.low <= row.around.high + spare:
        return []
    words = f"step {row.step}: {read.text} read, the page asks for {row.around.text}"
    return [(words, f"check {check}; how warm the food itself is decides")]


def _core(each: Entry, row: PlanRow) -> list[tuple[str, str]]:
    if each.core is None or row.core is None or each.state != "done" or each.core.low >= row.core.low - _CORE_ERROR:
        return []
    words = f"step {row.step}: core {format_temperature(each.core.low)} at its end, the page asks for {format_temperature(row.core.low)}"
    return [(words, "cook on until the core is reached and held; check the probe in ice water")]


def _ph(each: Entry, row: PlanRow) -> list[tuple[str, str]]:
    if each.ph is None or row.ph is None or each.state != "done" or each.ph <= row.ph:
        return []
    words = f"step {row.step}: pH {each.ph:g} at its end, the page asks for {row.ph:g} or less"
    return [(words, "do not end the ferment; check its warmth, its salt and the meter in buffer")]


def _time(record: BatchRecord, each: Entry, row: PlanRow) -> list[tuple[str, str]]:
    if each.state != "done" or each.step is None or row.hands_on:
        return []
    took = (each.at - step_begins(record, each.step)).total_seconds()
    # Times recorded to a quarter of an hour give no remark.
    spare = max(900.0, 0.02 * row.takes.high)
    if row.takes.low - spare <= took <= row.takes.high + spare:
        return []
    words = f"step {row.step}: took {_hours(took)}, the page asks for {row.takes.text.replace(' min', '')} min"
    long, short = "check the salt, the core or the warmth that this time stands for", "check that nothing was cut short"
    return [(words, long if took > row.takes.high else short)]


def _weight(record: BatchRecord, each: Entry) -> list[tuple[str, str]]:
    """The weight at a step's end compared with the page's stated gains and losses since the last weight."""
    if each.weight is None or each.step is None:
        return []
    before, since = record.batch.low, 0
    for older in record.valid:
        if older.weight is not None and older.step is not None and older.state == "done" and older.step < each.step:
            before, since = older.weight.low, older.step
    rows = record.plan[since : each.step]
    low, high = (prod((weight_kept(row)[end] for row in rows), start=before) for end in (0, 1))
    is_stated = any(row.gain or row.loss for row in rows)
    if not is_stated or low * (1 - _WEIGHING) <= each.weight.low <= high * (1 + _WEIGHING):
        return []
    words = f"step {each.step}: {format_mass(each.weight.low)} at its end, predicted {format_mass(low)} to {format_mass(high)}"
    light, heavy = "check its time, air and warmth", "check the scale, drip, and that it has dried long enough"
    return [(words, light if each.weight.low < low else heavy)]


def _running(record: BatchRecord, moment: datetime) -> int | None:
    """The step in progress at a time, by the entries before it."""
    done = [each.step for each in record.valid if each.step and each.state == "done" and each.at <= moment]
    number = max(done, default=0) + 1
    return number if number <= len(record.plan) else None


def _hours(seconds: float) -> str:
    return f"{format_number(seconds / 3600, 1)} h" if seconds >= 7200 else f"{format_number(seconds / 60, 0)} min"
