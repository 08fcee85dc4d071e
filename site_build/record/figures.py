"""The figures of methods as plain records: what a build writes beside the site, and what two builds are compared by.

Values stand in one fixed unit per kind (%, ppm, °C, min, g, L, mm), so that a line of the file changes only when its
figure does; each figure takes one line, keys are sorted.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from math import isfinite

from handbook.base.errors import HandbookError
from handbook.base.formats import format_mass, format_number, format_time, format_volume

FORMAT = 1
FILE = "figures.json"
SIGNIFICANT = 6  # figures kept in the file: far finer than any page prints
#: What the keys of the figures of cost begin with.
_COST = "cost: "
_FIGURE_INDENT = " " * 4
_ENCODER = json.JSONEncoder(ensure_ascii=False, sort_keys=True, allow_nan=False)
LEVELS = ("stop", "act", "note", "met")
#: What a file read back may hold: no page computes more (``SECURITY.md``, "Limits").
MOST_BYTES, MOST_NUMBER, MOST_STEPS = 500_000_000, 1e12, 300


class FiguresError(HandbookError):
    """A file is no record of figures; the text says why."""


@dataclass(frozen=True, kw_only=True)
class Figure:
    """One figure: typical value with its range in ``unit``, or words. A value of None is not known or not reached."""

    value: float | None = None
    low: float | None = None
    high: float | None = None
    unit: str = ""
    words: str = ""

    @property
    def is_words(self) -> bool:
        """Whether it is words alone."""
        return self.value is None and bool(self.words)

    @property
    def text(self) -> str:
        """As a page prints it, with its range."""
        if self.value is None:
            return self.words or "not known"
        shown = show_range(self.low, self.value, self.high, self.unit)
        return f"{shown}, {self.words}" if self.words else shown


@dataclass(frozen=True, kw_only=True)
class IngredientFigures:
    """One ingredient line: as written, and its mass in g for the batch the page was written for."""

    written: str
    mass: float
    note: str


@dataclass(frozen=True, kw_only=True)
class StepFigures:
    """One step: its words, what the page states of it, its start and duration in min, and what is computed for it."""

    do: str
    stage: str
    hands_on: bool
    is_computed: bool
    start: Figure
    duration: Figure
    stated: dict[str, str]
    figures: dict[str, Figure]


@dataclass(frozen=True, kw_only=True)
class FindingFigures:
    """One safety finding."""

    level: str
    title: str
    verdict: str
    figure: str
    printed: str
    message: str
    signed: str


@dataclass(frozen=True, kw_only=True)
class MethodFigures:
    """Everything of one method that a reviewer compares. Mixtures are keyed by name, findings by rule and limit.

    ``prose`` holds a short hash and the word count of each paragraph: enough to count what changed.
    """

    path: str
    title: str
    mark: str
    stated: dict[str, str]
    figures: dict[str, Figure]
    mixtures: dict[str, dict[str, IngredientFigures]]
    steps: tuple[StepFigures, ...]
    findings: dict[str, FindingFigures]
    prose: tuple[str, ...]
    prose_words: int


@dataclass(frozen=True, kw_only=True)
class Recorded:
    """The figures of one whole build: the engine's version and every method by path."""

    engine: str
    house: str
    methods: dict[str, MethodFigures]


def method_lines(method: MethodFigures) -> str:
    """One method's part of the record, its lines as deep as they stand there."""
    return "\n".join(_lines(_method_table(method), "  ", f"{_json(method.path)}: "))


def split_lines(method: MethodFigures) -> tuple[str, int]:
    """The ``method_lines`` of a method without cost, and the place in them where ``cost_lines`` go."""
    text = method_lines(replace(method, figures=method.figures | {_COST: Figure(words=_COST)}))
    start = text.index(f"\n{_FIGURE_INDENT}{_json(_COST)}: ") + 1
    end = text.index("\n", start) + 1
    return text[:start] + text[end:], start


def cost_lines(figures: dict[str, Figure]) -> str:
    """The lines of a method's cost among its other figures."""
    return "".join(
        f"{_FIGURE_INDENT}{_json(key)}: {_json(_figure_table(each))},\n" for key, each in sorted(figures.items())
    )


def record_parts(engine: str, house: str, methods: Iterable[str]) -> Iterator[str]:
    """The record, part by part, from the ``method_lines`` of each page in order of their paths."""
    yield f'{{\n "engine": {_json(engine)},\n "format": {FORMAT},\n "house": {_json(house)},\n "methods": {{'
    before = ""
    for lines in methods:
        yield f"{before}\n{lines}"
        before = ","
    yield "\n }\n}\n" if before else "}\n}\n"


def read_figures(text: str, file: str) -> Recorded:
    """A record read back.

    Raises FiguresError for text that is no record of this format.
    """
    try:
        table = json.loads(text, parse_constant=_no_number)
        if table["format"] != FORMAT:
            raise FiguresError(f"{file}: read format {str(table['format'])[:20]}; allowed: {FORMAT}")
        methods = {path: _method(path, each) for path, each in table["methods"].items()}
        return Recorded(engine=_text(table["engine"]), house=_text(table["house"]), methods=methods)
    except FiguresError:
        raise
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError, OverflowError):
        raise FiguresError(f"{file}: read no record of figures; allowed: a {FILE} that a build wrote") from None


def kept(value: float | None) -> float | None:
    """``value`` with the figures that the file keeps, no negative zero; what is not finite, or beyond any kitchen, is not known."""
    if value is None or not isfinite(value) or abs(value) > MOST_NUMBER:
        return None
    return float(f"{value:.{SIGNIFICANT}g}") + 0.0


def printed_step(value: float, unit: str) -> float:
    """The last digit that a page prints of ``value`` in ``unit``: what rounding hides is half of it."""
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
    """``value`` as a page prints it; ``finer`` gives one digit more, for two figures that would print alike."""
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
    digits = max(0, -_power(step)) + finer
    text = format_number(value, digits)
    return text + unit if unit == "°" else f"{text} {unit}".rstrip()


def show_range(low: float | None, value: float | None, high: float | None, unit: str, finer: bool = False) -> str:
    """Typical value with its ends in brackets, or alone where they print alike."""
    shown, least, most = (show(each, unit, finer) for each in (value, low, high))
    if value is None or least == most:
        return shown
    number, _, ending = least.rpartition(" ")
    return f"{shown} ({number if number and most.endswith(f' {ending}') else least} to {most})"


def digest(text: str, length: int = 6) -> str:
    """A short hash of ``text``, in hexadecimal."""
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:length]


def _power(step: float) -> int:
    return {0.001: -3, 0.01: -2, 0.1: -1}.get(step, 0)


def _method_table(method: MethodFigures) -> dict:
    table = {key: each for key, each in vars(method).items() if key != "path"}
    table["mixtures"] = {
        name: {item: vars(each) for item, each in lines.items()} for name, lines in method.mixtures.items()
    }
    table["findings"] = {key: vars(each) for key, each in method.findings.items()}
    table["figures"] = {key: _figure_table(each) for key, each in method.figures.items()}
    table["steps"] = [
        {
            **vars(each),
            "start": _figure_table(each.start),
            "duration": _figure_table(each.duration),
            "figures": {key: _figure_table(figure) for key, figure in each.figures.items()},
        }
        for each in method.steps
    ]
    return table


def _figure_table(figure: Figure) -> dict:
    if figure.is_words:
        return {"words": figure.words}
    table = {"value": figure.value, "low": figure.low, "high": figure.high, "unit": figure.unit}
    return {**table, "words": figure.words} if figure.words else table


def _method(path: str, table: dict) -> MethodFigures:
    return MethodFigures(
        path=path,
        title=_text(table["title"]),
        mark=_text(table["mark"]),
        stated=_words(table["stated"]),
        figures=_figures(table["figures"]),
        mixtures={
            name: {item: _ingredient(each) for item, each in lines.items()} for name, lines in table["mixtures"].items()
        },
        steps=tuple(_step(each) for each in _few(table["steps"])),
        findings={key: _finding(each) for key, each in table["findings"].items()},
        prose=tuple(_text(each) for each in table["prose"]),
        prose_words=int(_number(table["prose_words"])),
    )


def _step(table: dict) -> StepFigures:
    return StepFigures(
        do=_text(table["do"]),
        stage=_text(table["stage"]),
        hands_on=bool(table["hands_on"]),
        is_computed=bool(table["is_computed"]),
        start=_figure(table["start"]),
        duration=_figure(table["duration"]),
        stated=_words(table["stated"]),
        figures=_figures(table["figures"]),
    )


def _finding(table: dict) -> FindingFigures:
    if table["level"] not in LEVELS:
        raise ValueError(table["level"])
    return FindingFigures(**{key: _text(table[key]) for key in FindingFigures.__dataclass_fields__})


def _ingredient(table: dict) -> IngredientFigures:
    return IngredientFigures(written=_text(table["written"]), mass=_number(table["mass"]), note=_text(table["note"]))


def _figures(table: dict) -> dict[str, Figure]:
    return {key: _figure(each) for key, each in table.items()}


def _figure(table: dict) -> Figure:
    ends = {end: None if table.get(end) is None else _number(table[end]) for end in ("value", "low", "high")}
    return Figure(unit=_text(table.get("unit", "")), words=_text(table.get("words", "")), **ends)


def _words(table: dict) -> dict[str, str]:
    return {key: _text(each) for key, each in table.items()}


def _text(value) -> str:
    if not isinstance(value, str):
        raise TypeError(value)
    return value


def _number(value) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) <= MOST_NUMBER:
        raise ValueError("no figure of a page")
    return float(value)


def _no_number(word: str):
    raise ValueError(word)  # NaN and Infinity are no JSON (RFC 8259)


def _few(steps: list) -> list:
    if len(steps) > MOST_STEPS:
        raise ValueError(len(steps))
    return steps


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
