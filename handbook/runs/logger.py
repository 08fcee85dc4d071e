"""Read the log of a thermometer: rows of time and temperature.

The reader never guesses. Where a log is ambiguous (column, °C or °F, day or month first, minutes or hours), a fault asks
for the setting in the run's file.
"""

from __future__ import annotations

import csv
import re
from collections import Counter
from datetime import datetime, timedelta
from typing import Annotated

import numpy as np
from msgspec import Struct

from handbook.base.arrays import Floats
from handbook.base.dates import FIRST, LAST
from handbook.base.errors import PageError
from handbook.base.forms import Choice, Count, Words
from handbook.base.records import Key

SEPARATORS = {"comma": ",", "semicolon": ";", "tab": "\t"}
DECIMALS = ("point", "comma")
DATES = ("day first", "month first")
UNITS = ("°C", "°F")
#: Notations of time: by the clock, elapsed in one unit, or elapsed as min:s.
TIMES = ("clock", "h", "min", "s", "min:s")
MOST_ROWS, MOST_FAULTS = 100_000, 20
MOST_LETTERS = 2_000  # in one row
LOWEST, HIGHEST = 233.15, 673.15  # K: range of a probe in kitchen use

_TIME_WORD = re.compile(r"\b(time|date|clock|elapsed|timestamp|datetime)\b", re.I)
_TEMPERATURE_WORD = re.compile(r"\b(temp|temperature|core|probe|chamber|smoker|oven|ambient|sensor|channel)", re.I)
_UNIT = re.compile(r"(?:°|º|deg\s*|[\[(_\s/])\s*(C|F)\b|\b(celsius|fahrenheit)\b|([℃℉])", re.I)
_TIME_UNIT = re.compile(r"[\[(_\s](h|hours?|hrs?|min|minutes?|s|sec|seconds?)[\])]?\s*$", re.I)
_NUMBER = re.compile(r"[-−+]?\d{1,6}(?:[.,]\d{1,6})?\s*(?:°?\s*[CF])?")
_CLOCK = re.compile(r"(\d{1,4}):(\d{2})(?::(\d{2})(?:[.,]\d+)?)?\s*([AaPp][Mm])?")
_ISO = re.compile(r"\d{4}-\d{2}-\d{2}[T ]\d{1,2}:\d{2}(?::\d{2}(?:\.\d+)?)?(?:Z|[+-]\d{2}:?\d{2})?")
_DAY = re.compile(r"(\d{1,2})([./])(\d{1,2})\2(\d{4})[ T,]+(.*)")

#: Rows of a log, each with its line number and its cells.
_Rows = list[tuple[int, list[str]]]


class LogSettings(Struct, frozen=True, kw_only=True):
    """The settings in a run's file for reading its log; "" where none is stated."""

    begins_with: Annotated[int, Key("number of the step that starts at the log's first row", Count(low=1, high=400))]
    core: Annotated[str, Key("heading of the column of the core probe", Words(limit=80))] = ""
    chamber: Annotated[str, Key("heading of the column of the chamber", Words(limit=80))] = ""
    time: Annotated[str, Key("how times are written, where the headings do not say", Choice(words=TIMES))] = ""
    unit: Annotated[str, Key("scale of the temperatures, where the headings do not say", Choice(words=UNITS))] = ""
    date: Annotated[str, Key("which number of a date comes first, where it could be either", Choice(words=DATES))] = ""
    decimal: Annotated[str, Key("sign before the decimals, where both occur", Choice(words=DECIMALS))] = ""
    separator: Annotated[str, Key("sign between the columns, where two would do", Choice(words=tuple(SEPARATORS)))] = ""
    line: int


class Log(Struct, frozen=True, eq=False, kw_only=True):
    """A log: rising ``seconds`` from its first row, ``core`` and ``chamber`` in K, arrays of equal length."""

    seconds: Floats
    core: Floats
    chamber: Floats | None


def read_log(text: str, file: str, settings: LogSettings) -> tuple[Log | None, list[PageError]]:
    """Read the log in ``text`` of ``file``: the log, or None and its faults, MOST_FAULTS at most."""
    reader = _Reader(file, settings)
    log = reader.read(text)
    return (None if reader.faults else log), reader.faults


class _Reader:
    def __init__(self, file: str, settings: LogSettings) -> None:
        self.file, self.settings = file, settings
        self.faults: list[PageError] = []

    def fault(self, line: int, key: str, read: str, allowed: str) -> None:
        if len(self.faults) < MOST_FAULTS:
            self.faults.append(PageError(self.file, line, key, read or "nothing", allowed))

    def read(self, text: str) -> Log | None:
        lines = [(number, line) for number, line in enumerate(text.splitlines(), 1) if line.strip()]
        if len(lines) > MOST_ROWS:
            self.fault(1, "log", f"{len(lines)} rows", f"at most {MOST_ROWS} rows")
            return None
        for number, line in lines:
            if len(line) > MOST_LETTERS:
                read, allowed = f"a row of {len(line)} characters", f"at most {MOST_LETTERS} characters"
                self.fault(number, "log", read, allowed)
                return None
        separator = self.separator(lines)
        if separator is None:
            return None
        rows = [
            (number, [cell.strip() for cell in next(csv.reader([line], delimiter=separator))]) for number, line in lines
        ]
        head = self.head(rows)
        if head is None:
            return None
        number, names = rows[head]
        body = rows[head + 1 :]
        if len(body) < 3:
            self.fault(number, "log", f"{len(body)} rows", "at least 3 rows below the headings")
            return None
        times, core, chamber = self.time_columns(names), *self.temperature_columns(number, names)
        if core is None:
            return None
        allowed = f"{len(names)} columns as in the headings; decimals with a comma need another sign between columns"
        for row, cells in body:
            if len(cells) != len(names):
                self.fault(row, "log", f"{len(cells)} columns", allowed)
        complete = [(row, cells) for row, cells in body if len(cells) == len(names)]
        cores = self.temperatures(number, names, core, complete)
        chambers = None if chamber is None else self.temperatures(number, names, chamber, complete)
        seconds = self.seconds(number, names, times, complete)
        if self.faults or seconds is None:
            return None
        return Log(
            seconds=np.array(seconds), core=np.array(cores), chamber=None if chambers is None else np.array(chambers)
        )

    def separator(self, lines: list[tuple[int, str]]) -> str | None:
        """The sign between columns: the one that splits most lines into the same number of two or more cells."""
        if self.settings.separator:
            return SEPARATORS[self.settings.separator]
        fitting = []
        for name, sign in SEPARATORS.items():
            counts = Counter(len(next(csv.reader([line], delimiter=sign))) for _, line in lines)
            columns, rows = counts.most_common(1)[0] if counts else (1, 0)
            if columns >= 2 and rows >= 0.6 * len(lines):
                fitting.append(name)
        if len(fitting) > 1 and "comma" in fitting:
            # With another separator present, the comma is a decimal sign.
            fitting.remove("comma")
        if len(fitting) != 1:
            read = " and ".join(fitting) or "no rows of two or more columns"
            self.fault(1, "log.separator", read, f"{', '.join(SEPARATORS)}: say in the run's file which one")
            return None
        return SEPARATORS[fitting[0]]

    def head(self, rows: _Rows) -> int | None:
        """Index of the row of headings: the first row with a word for time above a row of two or more cells."""
        for index, (_, cells) in enumerate(rows[:60]):
            is_followed = index + 1 < len(rows) and len(rows[index + 1][1]) >= 2
            if len(cells) >= 2 and is_followed and any(_TIME_WORD.search(each) for each in cells):
                return index
        self.fault(1, "log", "no headings", "a row of headings with a time and a temperature above the rows")
        return None

    def time_columns(self, names: list[str]) -> list[int]:
        """The column of times, or the two columns of dates and times."""
        found = [index for index, name in enumerate(names) if _TIME_WORD.search(name)]
        dates = [index for index in found if re.search(r"\bdate\b", names[index], re.I)]
        others = [index for index in found if index not in dates]
        return [dates[0], others[0]] if dates and others else found[:1]

    def temperature_columns(self, line: int, names: list[str]) -> tuple[int | None, int | None]:
        """Columns of core and chamber."""
        timed = self.time_columns(names)
        able = [
            index
            for index, name in enumerate(names)
            if index not in timed and (_UNIT.search(f" {name}") or _TEMPERATURE_WORD.search(name))
        ]
        core, chamber = (
            self.named(line, key, getattr(self.settings, key), names, timed) for key in ("core", "chamber")
        )
        if core is None and not self.settings.core:
            left = [index for index in able if index != chamber]
            if len(left) != 1:
                read = ", ".join(names[index] for index in left) or "no temperature among the headings"
                self.fault(line, "log.core", read, "one column: name the core probe's heading in the run's file")
            else:
                core = left[0]
        return core, chamber

    def named(self, line: int, key: str, name: str, names: list[str], timed: list[int]) -> int | None:
        if not name:
            return None
        found = [index for index, each in enumerate(names) if each == name and index not in timed]
        if len(found) != 1:
            others = ", ".join(each for index, each in enumerate(names) if index not in timed)
            self.fault(line, f"log.{key}", name, f"one of the headings: {others}")
            return None
        return found[0]

    def temperatures(self, line: int, names: list[str], column: int, rows: _Rows) -> list[float]:
        """The column in K."""
        unit = self.unit(line, names[column])
        cells = [(number, cells[column]) for number, cells in rows]
        comma = self.decimal_comma([cell for _, cell in cells], line)
        found = []
        for number, cell in cells:
            if not _NUMBER.fullmatch(cell):
                self.fault(number, names[column], cell, "a temperature; take a row without one out of the log")
                continue
            value = float(re.sub(r"[\s°CF]", "", cell).replace("−", "-").replace(",", "." if comma else "") or "nan")
            kelvin = (value - 32) / 1.8 + 273.15 if unit == "°F" else value + 273.15
            if not LOWEST <= kelvin <= HIGHEST:
                self.fault(number, names[column], cell, "a temperature of -40 to 400 °C")
            found.append(kelvin)
        return found

    def unit(self, line: int, name: str) -> str:
        match = _UNIT.search(f" {name}")
        heading = ""
        if match:
            heading = "°F" if (match[1] or match[2] or match[3])[0].upper() in "F℉" else "°C"
        stated = self.settings.unit
        if heading and stated and heading != stated:
            self.fault(line, "log.unit", f"{name} and {stated}", "one scale in the headings and in the run's file")
        if not (heading or stated):
            self.fault(line, "log.unit", name, "°C or °F in the heading, or as log.unit in the run's file")
        return stated or heading

    def decimal_comma(self, cells: list[str], line: int) -> bool:
        if self.settings.decimal:
            return self.settings.decimal == "comma"
        comma, point = any("," in each for each in cells), any("." in each for each in cells)
        if comma and point:
            self.fault(line, "log.decimal", "commas and points", "point or comma, as log.decimal in the run's file")
        return comma

    def seconds(self, line: int, names: list[str], columns: list[int], rows: _Rows) -> list[float] | None:
        """Seconds from the first row."""
        name = " ".join(names[index] for index in columns)
        cells = [(number, " ".join(cells[index] for index in columns)) for number, cells in rows]
        kind = self.time_kind(line, name, cells[0][1] if cells else "")
        if kind is None:
            return None
        found: list[float] = []
        days = 0
        for number, cell in cells:
            value = self.moment(cell, kind)
            if value is None:
                self.fault(number, name, cell, "a time written as in the row above it")
                continue
            if kind in ("clock", "half-day clock") and found and value + days * 86400 < found[-1] - 43200:
                days += 1  # past midnight
            value += days * 86400
            if found and value <= found[-1]:
                self.fault(number, name, cell, "a later time than in the row above it")
            found.append(value)
        return [each - found[0] for each in found] if found else None

    def time_kind(self, line: int, name: str, first: str) -> str | None:
        """Notation of the times: by the run's file, else by their form where that is unambiguous."""
        if _ISO.fullmatch(first):
            return "iso"
        day = _DAY.fullmatch(first)
        if day:
            if day[2] == "." or self.settings.date:
                return "month first" if self.settings.date == "month first" else "day first"
            self.fault(line, "log.date", first, "day first or month first, as log.date in the run's file")
            return None
        clock = _CLOCK.fullmatch(first)
        if clock:
            if clock[4]:
                return "half-day clock"
            if clock[3] or self.settings.time in ("clock", "min:s"):
                return self.settings.time if self.settings.time == "min:s" else "clock"
            self.fault(line, "log.time", first, "clock or min:s, as log.time in the run's file")
            return None
        unit = _TIME_UNIT.search(f" {name}")
        if self.settings.time in ("h", "min", "s"):
            return self.settings.time
        if unit and re.fullmatch(r"\d+(?:[.,]\d+)?", first):
            word = unit[1].lower()
            return "min" if word.startswith("min") else word[0]
        allowed = "h, min or s in the heading, or clock, h, min, s or min:s as log.time in the run's file"
        self.fault(line, "log.time", first, allowed)
        return None

    def moment(self, cell: str, kind: str) -> float | None:
        """One time in s on its own clock; None where it is not in the notation ``kind``."""
        if kind in ("h", "min", "s"):
            if not re.fullmatch(r"\d{1,9}(?:[.,]\d{1,6})?", cell):
                return None
            return float(cell.replace(",", ".")) * {"h": 3600.0, "min": 60.0, "s": 1.0}[kind]
        try:
            if kind == "iso":
                found = datetime.fromisoformat(cell.replace(" ", "T", 1)) if _ISO.fullmatch(cell) else None
                return _since_epoch(found) if found and FIRST <= found.date() <= LAST else None
            if kind in ("day first", "month first"):
                match = _DAY.fullmatch(cell)
                if match is None:
                    return None
                day, month = (match[1], match[3]) if kind == "day first" else (match[3], match[1])
                clock, found = _clock_seconds(match[5], False), datetime(int(match[4]), int(month), int(day))
                return _since_epoch(found) + clock if clock is not None and FIRST <= found.date() <= LAST else None
        except (ValueError, TypeError):
            return None
        return _clock_seconds(cell, kind == "min:s")


def _since_epoch(moment: datetime) -> float:
    naive = moment.replace(tzinfo=None) - (moment.utcoffset() or timedelta())
    return (naive - datetime(1970, 1, 1)).total_seconds()


def _clock_seconds(cell: str, is_minutes: bool) -> float | None:
    match = _CLOCK.fullmatch(cell.strip())
    if match is None or int(match[2]) > 59 or int(match[3] or 0) > 59:
        return None
    if is_minutes:
        return None if match[3] else 60.0 * int(match[1]) + int(match[2])
    hour = int(match[1])
    if match[4]:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if match[4].upper() == "PM" else 0)
    return 3600.0 * hour + 60.0 * int(match[2]) + int(match[3] or 0)
