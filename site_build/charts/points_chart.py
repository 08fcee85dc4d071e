"""Layout of a chart of predicted over printed times on two log scales, one mark for each published row."""

from __future__ import annotations

from collections.abc import Sequence
from math import log10

from msgspec import Struct

from handbook.validation.cooking_comparisons import Predicted
from site_build.charts.timing_chart import WIDTH, Tick

CLOSE = (0.8, 1.2)
_HOUR = 3600.0
_LOW, _HIGH = 0.1, 50.0  # h
_TICKS = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50)


class PointsLayout(Struct, frozen=True, kw_only=True):
    """Edges of the plot in SVG units."""

    width: float
    height: float
    left: float
    right: float
    top: float
    bottom: float


POINTS_WIDE = PointsLayout(width=WIDTH, height=600.0, left=70.0, right=WIDTH - 20.0, top=20.0, bottom=540.0)
#: For a phone.
POINTS_NARROW = PointsLayout(width=380.0, height=410.0, left=44.0, right=362.0, top=14.0, bottom=348.0)


class PointMark(Struct, frozen=True, kw_only=True):
    """One published row: its position, the ends of the model's range, and its words."""

    x: float
    y: float
    low: float
    high: float
    is_held_out: bool
    words: str


class PointsChart(Struct, frozen=True, kw_only=True):
    """Everything that the template draws. ``close`` : corners of the band within 20 %; ``even`` : ends of its middle."""

    layout: PointsLayout
    marks: tuple[PointMark, ...]
    across: tuple[Tick, ...]
    up: tuple[Tick, ...]
    close: str
    even: tuple[float, float, float, float]
    description: str


def points_chart(found: Sequence[Predicted], layout: PointsLayout = POINTS_WIDE) -> PointsChart:
    """Lay out every row that the model reaches, printed times across, predicted ones up."""

    def x(hours: float) -> float:
        return layout.left + (layout.right - layout.left) * _share(hours)

    def y(hours: float) -> float:
        return layout.bottom - (layout.bottom - layout.top) * _share(hours)

    low, high = CLOSE
    over = [(_LOW, _LOW * high), (_HIGH / high, _HIGH), (_HIGH, _HIGH)]
    corners = [*over, (_HIGH, _HIGH * low), (_LOW / low, _LOW), (_LOW, _LOW)]
    return PointsChart(
        layout=layout,
        marks=tuple(_mark(each, x, y) for each in found if each.time.typical is not None),
        across=tuple(Tick(at=x(each), label=f"{each:g}", is_strong=each == 1) for each in _TICKS),
        up=tuple(Tick(at=y(each), label=f"{each:g}", is_strong=each == 1) for each in _TICKS),
        close=" ".join(f"{x(printed):.1f},{y(model):.1f}" for printed, model in corners),
        even=(x(_LOW), y(_LOW), x(_HIGH), y(_HIGH)),
        description=_description(found),
    )


def _share(hours: float) -> float:
    # Of the axis; values beyond its ends are drawn at them.
    return min(max(log10(hours / _LOW) / log10(_HIGH / _LOW), 0.0), 1.0)


def _mark(each: Predicted, x, y) -> PointMark:
    printed, time = each.published.printed, each.time
    typical = time.typical / _HOUR
    low = (time.low or time.typical) / _HOUR
    high = _HIGH if time.high is None else time.high / _HOUR
    upper = "more" if time.high is None else f"{high:.2g}"
    return PointMark(
        x=x(printed.typical / _HOUR),
        y=y(typical),
        low=y(low),
        high=y(high),
        is_held_out=each.published.is_held_out,
        words=f"{each.published.item}: printed {printed.low / _HOUR:.2g} to {printed.high / _HOUR:.2g} h, "
        f"model {typical:.2g} h ({low:.2g} to {upper})",
    )


def _description(found: Sequence[Predicted]) -> str:
    parts = []
    for words, chosen in (
        ("held out", [each for each in found if each.published.is_held_out]),
        ("for setting constants", [each for each in found if not each.published.is_held_out]),
    ):
        close, inside = sum(each.is_close for each in chosen), sum(each.is_inside for each in chosen)
        parts.append(
            f"{len(chosen)} {words}: {close} within 20 % of what is printed, {inside} inside the model's range"
        )
    return "One mark for each published time. " + "; ".join(parts) + "."
