"""The computed figures of all methods, written beside the site and used to compare two builds.

Each kind of figure has one fixed unit (%, ppm, °C, min, g, L, mm), each figure takes one line and keys are sorted, so
that a line of the file changes only when its figure does.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator
from math import isfinite
from typing import Annotated, Any, Literal

import msgspec
from msgspec import Meta, Struct, to_builtins
from msgspec.structs import replace

from handbook.base.errors import HandbookError
from handbook.base.formats import format_mass, format_number, format_time, format_volume

FORMAT = 1
FILE = "figures.json"
SIGNIFICANT = 6  # digits in the file: more than any page prints
#: Start of the keys of the figures of cost.
_COST = "cost: "
_FIGURE_INDENT = " " * 4
_ENCODER = json.JSONEncoder(ensure_ascii=False, sort_keys=True, allow_nan=False)
#: Limits of a file that is read: no page computes more (``SECURITY.md``, "Limits").
MOST_BYTES, MOST_NUMBER, MOST_STEPS = 500_000_000, 1e12, 300
Level = Literal["stop", "act", "note", "met"]
_Number = Annotated[float, Meta(ge=-MOST_NUMBER, le=MOST_NUMBER)]


class FiguresError(HandbookError):
    """A file is not a record of figures; the text is the reason."""


class Figure(Struct, frozen=True, kw_only=True, omit_defaults=True):
    """One figure: typical value with its range in ``unit``, or words. A value of None is not known or not reached."""

    value: _Number | None = None
    low: _Number | None = None
    high: _Number | None = None
    unit: str = ""
    words: str = ""

    @property
    def text(self) -> str:
        """The figure with its range in the form of a page."""
        if self.value is None:
            return self.words or "not known"
        shown = show_range(self.low, self.value, self.high, self.unit)
        return f"{shown}, {self.words}" if self.words else shown


class IngredientFigures(Struct, frozen=True, kw_only=True):
    """One ingredient line: as written, and its mass in g for the batch the page was written for."""

    written: str
    mass: _Number
    note: str


class StepFigures(Struct, frozen=True, kw_only=True):
    """One step: its words, the page's statements, its start and duration in min, and its computed figures."""

    do: str
    stage: str
    hands_on: bool
    is_computed: bool
    start: Figure
    duration: Figure
    stated: dict[str, str]
    figures: dict[str, Figure]


class FindingFigures(Struct, frozen=True, kw_only=True):
    """One safety finding."""

    level: Level
    title: str
    verdict: str
    figure: str
    printed: str
    message: str
    signed: str


class MethodFigures(Struct, frozen=True, kw_only=True):
    """Everything of one method that a reviewer compares. Mixtures are keyed by name, findings by rule and limit.

    ``prose`` holds a short hash and the word count of each paragraph, to count the paragraphs that changed.
    """

    title: str
    mark: str
    stated: dict[str, str]
    figures: dict[str, Figure]
    mixtures: dict[str, dict[str, IngredientFigures]]
    steps: Annotated[tuple[StepFigures, ...], Meta(max_length=MOST_STEPS)]
    findings: dict[str, FindingFigures]
    prose: tuple[str, ...]
    prose_words: Annotated[int, Meta(ge=0)]


class _AnyRecord(Struct, frozen=True, kw_only=True):
    format: Any


class Recorded(Struct, frozen=True, kw_only=True):
    """The figures of one whole build: the engine's version and every method by path."""

    engine: str
    format: Literal[1] = FORMAT
    house: str
    methods: dict[str, MethodFigures]


def method_lines(path: str, method: MethodFigures) -> str:
    """One method's part of the record, with its indentation there."""
    return "\n".join(_lines(to_builtins(method), "  ", f"{_json(path)}: "))


def split_lines(path: str, method: MethodFigures) -> tuple[str, int]:
    """The ``method_lines`` of a method without cost, and the position of ``cost_lines`` in them."""
    text = method_lines(path, replace(method, figures=method.figures | {_COST: Figure(words=_COST)}))
    start = text.index(f"\n{_FIGURE_INDENT}{_json(_COST)}: ") + 1
    end = text.index("\n", start) + 1
    return text[:start] + text[end:], start


def cost_lines(figures: dict[str, Figure]) -> str:
    """The lines of a method's cost among its other figures."""
    return "".join(
        f"{_FIGURE_INDENT}{_json(key)}: {_json(to_builtins(each))},\n" for key, each in sorted(figures.items())
    )


def record_parts(engine: str, house: str, methods: Iterable[str]) -> Iterator[str]:
    """Parts of the record's text, from the ``method_lines`` of each page in order of their paths."""
    yield f'{{\n "engine": {_json(engine)},\n "format": {FORMAT},\n "house": {_json(house)},\n "methods": {{'
    before = ""
    for lines in methods:
        yield f"{before}\n{lines}"
        before = ","
    yield "\n }\n}\n" if before else "}\n}\n"


def read_figures(text: str, file: str) -> Recorded:
    """Read a record.

    Raises FiguresError for a text that is not a record of this format.
    """
    try:
        found = msgspec.json.decode(text, type=_AnyRecord).format
        if found != FORMAT:
            raise FiguresError(f"{file}: read format {str(found)[:20]}; allowed: {FORMAT}")
        return msgspec.json.decode(text, type=Recorded)
    except (msgspec.MsgspecError, ValueError, RecursionError):
        raise FiguresError(f"{file}: read no record of figures; allowed: a {FILE} that a build wrote") from None


def figures_schema() -> dict[str, Any]:
    """JSON Schema of a record."""
    return msgspec.json.schema(Recorded)


def rounded(value: float | None) -> float | None:
    """``value`` rounded for the file, without negative zero; None for infinite or impossibly large values."""
    if value is None or not isfinite(value) or abs(value) > MOST_NUMBER:
        return None
    return float(f"{value:.{SIGNIFICANT}g}") + 0.0


def printed_step(value: float, unit: str) -> float:
    """The step of the last digit that a page prints of ``value`` in ``unit``; rounding hides half of it."""
    size = abs(value)
    if unit == "g":
        return 0.1 if size < 20 else 1.0 if size < 999.5 else 10.0 if size < 10_000 else 100.0
    if unit == "L":
        return 0.001 if size < 0.9995 else 0.01 if size < 10 else 0.1
    if unit == "min":
        hours = size / 60
        return 1.0 if size < 119.5 else 6.0 if hours < 24 else 60.0 if hours < 72 else 144.0 if hours < 576 else 1440.0
    return {"%": 0.1, "ppm": 1.0, "°C": 1.0, "mm": 1.0, "mg": 1.0, "log10": 0.1, "°": 0.1, "": 0.001}.get(unit, 0.01)


def show(value: float | None, unit: str, finer: bool = False) -> str:
    """``value`` in the form of a page; ``finer`` adds a digit, to distinguish two figures that print the same."""
    if value is None:
        return "not reached"
    if not finer:
        if unit == "g":
            return format_mass(value / 1000)
        if unit == "L":
            return format_volume(value / 1000)
        if unit == "min":
            return format_time(value * 60)
    step = printed_step(value, unit)
    digits = {0.001: 3, 0.01: 2, 0.1: 1}.get(step, 0) + finer
    text = format_number(value, digits)
    return text + unit if unit == "°" else f"{text} {unit}".rstrip()


def show_range(low: float | None, value: float | None, high: float | None, unit: str, finer: bool = False) -> str:
    """The typical value with its range in brackets, or alone where both ends print the same."""
    shown, least, most = (show(each, unit, finer) for each in (value, low, high))
    if value is None or least == most:
        return shown
    number, _, ending = least.rpartition(" ")
    return f"{shown} ({number if number and most.endswith(f' {ending}') else least} to {most})"


def digest(text: str, length: int = 6) -> str:
    """A short hash of ``text``, in hexadecimal."""
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:length]


def _lines(value, indent: str, head: str):
    """JSON lines: a table or list of scalars on one line, any other spread out."""
    deeper = indent + " "
    if isinstance(value, dict) and value and not all(_is_scalar(each) for each in value.values()):
        yield f"{indent}{head}{{"
        yield from _joined(_lines(value[key], deeper, f"{_json(key)}: ") for key in sorted(value))
        yield f"{indent}}}"
    elif isinstance(value, list | tuple) and value:
        yield f"{indent}{head}["
        yield from _joined(_lines(each, deeper, "") for each in value)
        yield f"{indent}]"
    else:
        yield f"{indent}{head}{_json(value)}"


def _joined(parts):
    parts = [list(each) for each in parts]
    for number, lines in enumerate(parts, 1):
        yield from lines[:-1]
        yield lines[-1] + ("," if number < len(parts) else "")


def _is_scalar(value) -> bool:
    return value is None or isinstance(value, str | int | float)


def _json(value) -> str:
    return _ENCODER.encode(value)
