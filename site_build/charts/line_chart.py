"""Layout of a chart of curves over time: spread areas, stage bands, a target band, a limit."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise
from math import hypot

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from handbook.base.arrays import Floats
from site_build.charts.timing_chart import WIDTH, Tick, number_ticks, time_ticks

HEIGHT, LEFT, RIGHT, TOP, BOTTOM = 380.0, 52.0, WIDTH - 92.0, 40.0, 330.0
MOST_POINTS = 480
LABEL_GAP = 18.0  # chart units between the labels of two curves
STRAIGHT = 0.15  # chart units: a point this near to the line between its neighbours is not written


class CurveInput(Struct, frozen=True, kw_only=True):
    """One quantity over time in display units, with its low and high ends (or none); it may end before the chart does."""

    name: str
    typical: Sequence[float] | Floats
    low: Sequence[float] | Floats | None = None
    high: Sequence[float] | Floats | None = None

    @classmethod
    def of(cls, name: str, band, shown: Callable[[Floats], Floats] = lambda end: end) -> CurveInput:
        """The curve of a band with arrays ``low``, ``typical`` and ``high``, which ``shown`` brings into display units."""
        return cls(name=name, typical=shown(band.typical), low=shown(band.low), high=shown(band.high))


class DrawnCurve(Struct, frozen=True, kw_only=True):
    """One curve as SVG path data, and the position of its label at the right end."""

    name: str
    number: int
    path: str
    area: str
    label_y: float


class ChartBand(Struct, frozen=True):
    """A stage of the work: its left and right edge and its words."""

    left: float
    width: float
    label: str
    is_odd: bool


class LineChart(Struct, frozen=True, kw_only=True):
    """All positions that the template draws."""

    curves: tuple[DrawnCurve, ...]
    bands: tuple[ChartBand, ...]
    x_axis: tuple[Tick, ...]
    y_axis: tuple[Tick, ...]
    target: tuple[float, float] | None
    limit_y: float | None
    y_label: str
    window: tuple[float, float] | None
    ticks: tuple[float, ...]
    hold: tuple[float, float, float] | None
    width: float = WIDTH
    height: float = HEIGHT
    left: float = LEFT
    right: float = RIGHT
    top: float = TOP
    bottom: float = BOTTOM


def line_chart(
    time: Sequence[float] | Floats,
    curves: Sequence[CurveInput],
    y_label: str,
    stages: Sequence[tuple[float, float, str]] = (),
    target: tuple[float, float] | None = None,
    limit: float | None = None,
    least_high: float = 0.0,
    window: tuple[float, float] | None = None,
    actions: Sequence[float] = (),
    hold: tuple[float, float] | None = None,
) -> LineChart:
    """Lay out ``curves`` over ``time`` in s. ``target`` and ``limit`` are in the curves' unit.

    ``window``, ``hold`` (begin and end) and ``actions`` (moments of a repeated action) are in s.

    The vertical axis runs from 0 to a round number above all of them.
    """
    span = max(float(time[-1]), 1.0)
    highest = (float(max(each.high if each.high is not None else each.typical)) for each in curves)
    ticks = number_ticks(max([least_high, *highest, *(target or ()), limit or 0.0]))
    top_value = ticks[-1]

    def x(at: float) -> float:
        return LEFT + (RIGHT - LEFT) * at / span

    def y(value: float) -> float:
        return BOTTOM - (BOTTOM - TOP) * min(max(value, 0.0), top_value) / top_value

    chosen = _thin(len(time))
    across = [(index, x(float(time[index]))) for index in chosen]
    drawn = [_draw(number, each, across, y) for number, each in enumerate(curves, 1)]
    return LineChart(
        curves=tuple(_spread_labels(drawn)),
        bands=tuple(_band(index, x(start), x(end), label) for index, (start, end, label) in enumerate(stages)),
        x_axis=tuple(Tick(at=x(at), label=label) for at, label in time_ticks(span)),
        y_axis=tuple(Tick(at=y(value), label=f"{value:g}") for value in ticks),
        target=(y(target[1]), y(target[0])) if target else None,
        limit_y=y(limit) if limit is not None else None,
        y_label=y_label,
        window=(x(window[0]), x(min(window[1], span))) if window else None,
        ticks=tuple(x(at) for at in actions if 0 <= at <= span),
        hold=(x(hold[0]), x(min(hold[1], span)), y(sum(target) / 2)) if hold and target and hold[0] <= span else None,
    )


def _band(index: int, left: float, right: float, label: str) -> ChartBand:
    width = right - left
    return ChartBand(left=left, width=width, label=label if width > 14.0 * len(label) else "", is_odd=index % 2 == 1)


def _draw(number: int, curve: CurveInput, across: list[tuple[int, float]], y: Callable[[float], float]) -> DrawnCurve:
    def points(values: Sequence[float] | Floats) -> list[tuple[float, float]]:
        plain = np.asarray(values, dtype=float).tolist()  # read one by one, plain numbers are ten times as fast
        return [(at, y(plain[index])) for index, at in across if index < len(plain)]

    typical, area = points(curve.typical), ""
    if curve.low is not None and curve.high is not None:
        area = path_data(straightened(points(curve.high)) + straightened(points(curve.low))[::-1]) + "z"
    return DrawnCurve(
        name=curve.name, number=number, path=path_data(straightened(typical)), area=area, label_y=typical[-1][1]
    )


def straightened(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """``points`` without those within STRAIGHT of the line between their neighbours; the ends stay.

    The points are split at the one farthest from the line between the ends, and so on in both halves.
    """
    kept, spans = {0, len(points) - 1}, [(0, len(points) - 1)]
    while spans:
        first, last = spans.pop()
        if last - first < 2:
            continue
        away = _away(points[first + 1 : last], points[first], points[last])
        farthest = max(away)
        if farthest > STRAIGHT:
            at = last - 1 - away[::-1].index(farthest)  # the last of several equally far points
            kept.add(at)
            spans += [(first, at), (at, last)]
    return [points[at] for at in sorted(kept)]


def path_data(points: list[tuple[float, float]]) -> str:
    """SVG path data in tenths of a unit: the first point, then each step from the rounded one before."""
    at = [(round(10 * across), round(10 * down)) for across, down in points]
    steps = " ".join(_pair((one[0] - before[0], one[1] - before[1])) for before, one in pairwise(at) if one != before)
    return "M" + _pair(at[0]) + (f"l{steps}" if steps else "")


def _away(points: list[tuple[float, float]], start: tuple[float, float], end: tuple[float, float]) -> list[float]:
    """Distances of several points from the line between two. They are few: arrays would take longer."""
    (left, top), (right, bottom) = start, end
    across, down = right - left, bottom - top
    length = hypot(across, down)
    if length == 0:
        return [hypot(x - left, y - top) for x, y in points]
    return [abs(across * (y - top) - down * (x - left)) / length for x, y in points]


def _pair(tenths: tuple[int, int]) -> str:
    return " ".join(f"{each / 10:g}" for each in tenths)


def _thin(count: int) -> list[int]:
    step = max(count / MOST_POINTS, 1.0)
    return sorted({min(round(index * step), count - 1) for index in range(int(count / step) + 1)} | {count - 1})


def _spread_labels(drawn: list[DrawnCurve]) -> list[DrawnCurve]:
    # Labels of curves that end close together would be ambiguous: the key beside the chart shows them.
    ends = sorted(each.label_y for each in drawn)
    if any(after - before < LABEL_GAP for before, after in pairwise(ends)):
        return [replace(each, name="") for each in drawn]
    return [replace(each, label_y=each.label_y + 5) for each in drawn]
