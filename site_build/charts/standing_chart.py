"""Layout of a chart of model / printed figure on a log scale, one row for each finding."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import groupby
from math import inf, isfinite, log10

from msgspec import Struct

from handbook.validation.comparisons import Comparison, standings, two_figures
from site_build.base.said_words import later
from site_build.charts.timing_chart import WIDTH, Tick

LEFT, RIGHT, TOP, ROW, HEAD = 238.0, WIDTH - 64.0, 34.0, 32.0, 30.0


class Layout(Struct, frozen=True, kw_only=True):
    """Start and end of the scale, the height of a row, and of a label above its band."""

    width: float
    left: float
    right: float
    row: float
    label_line: float


WIDE = Layout(width=WIDTH, left=LEFT, right=RIGHT, row=ROW, label_line=0.0)
#: For a phone: labels are above their bands.
NARROW = Layout(width=380.0, left=12.0, right=368.0, row=48.0, label_line=20.0)
LEAST_WIDTH = 3.0  # of a printed band without spread, so that it is seen
_KIND_WORDS = {"finding": later("Published findings"), "rule": later("Rules of the trade")}
_STEPS = (1, 2, 5)
_BEFORE_UNIT = re.compile(r"(?<=[\d)]) (?=%|(?:°C|mm|cm|min|days|kg|g|h|K)(?!\w))")


class ComparisonRow(Struct, frozen=True, kw_only=True):
    """One finding: ``printed`` and ``model`` are left and width in SVG units; an open end runs to the chart's edge."""

    top: float
    band_top: float
    band_height: float
    middle: float
    label: str
    label_at: float
    printed: tuple[float, float]
    model: tuple[float, float]
    typical: float
    factor: str
    is_odd: bool


class StandingChart(Struct, frozen=True, kw_only=True):
    """Everything that the template draws. ``heads`` are (baseline, words)."""

    layout: Layout
    height: float
    top: float
    bottom: float
    rows: tuple[ComparisonRow, ...]
    heads: tuple[tuple[float, str], ...]
    axis: tuple[Tick, ...]
    one: float
    description: str


class StandingPart(Struct, frozen=True, kw_only=True):
    """One section of the page: the chart of the comparable findings, and all findings by kind."""

    chart: StandingChart
    narrow: StandingChart
    groups: tuple[tuple[str, tuple[Comparison, ...]], ...]


def standing_parts() -> dict[str, StandingPart]:
    """For "uptake" and "heat": the chart and the rows of the table."""
    parts = {}
    for part, found in groupby(standings(), key=lambda each: each.finding.part):
        rows = tuple(found)
        groups = tuple(
            (_KIND_WORDS[kind], tuple(each)) for kind, each in groupby(rows, key=lambda one: one.finding.kind)
        )
        parts[part] = StandingPart(chart=standing_chart(rows), narrow=standing_chart(rows, NARROW), groups=groups)
    return parts


def standing_chart(rows: Sequence[Comparison], layout: Layout = WIDE) -> StandingChart:
    """Lay out the findings of ``rows`` that have a ratio, in their order, a heading where their kind changes."""
    shown = [each for each in rows if each.ratio is not None]
    ends = [end for each in shown for span in (each.ratio, each.printed_ratio) for end in (span.low, span.high)]
    inside = [end for end in ends if 0 < end < inf]
    low, high = _round_down(min(0.5, *inside)), _round_up(max(2.0, *inside))

    def x(ratio: float) -> float:
        if ratio <= low:
            return layout.left
        span = layout.right - layout.left
        return layout.right if ratio >= high else layout.left + span * log10(ratio / low) / log10(high / low)

    top, drawn, heads = TOP, [], []
    for kind, found in groupby(shown, key=lambda each: each.finding.kind):
        heads.append((top + HEAD - 9, _KIND_WORDS[kind]))
        top += HEAD
        for index, each in enumerate(found):
            drawn.append(_row(each, top, x, index % 2 == 0, layout))
            top += layout.row
    ticks = tuple(Tick(at=x(value), label=f"{value:g}", is_strong=value == 1) for value in _ticks(low, high))
    return StandingChart(
        layout=layout,
        height=top + 54,
        top=TOP,
        bottom=top,
        rows=tuple(drawn),
        heads=tuple(heads),
        axis=ticks,
        one=x(1.0),
        description=_description(shown),
    )


def together(text: str) -> str:
    """``text`` with a no-break space between each number and its unit."""
    return _BEFORE_UNIT.sub("\N{NO-BREAK SPACE}", text)


def _row(each: Comparison, top: float, x, is_odd: bool, layout: Layout) -> ComparisonRow:
    first, last = x(each.printed_ratio.low), x(each.printed_ratio.high)
    spare = max(LEAST_WIDTH - (last - first), 0.0)
    model = each.ratio
    middle = top + (layout.row + layout.label_line) / 2
    return ComparisonRow(
        top=top,
        band_top=top + layout.label_line + 3,
        band_height=layout.row - layout.label_line - 6,
        middle=middle,
        label=each.label,
        label_at=top + 16 if layout.label_line else middle + 5,
        printed=(first - spare / 2, last - first + spare),
        model=(x(model.low), x(model.high) - x(model.low)),
        typical=x(model.typical),
        factor=f"× {two_figures(model.typical)}",
        is_odd=is_odd,
    )


def _description(shown: Sequence[Comparison]) -> str:
    lines = [
        f"{each.label}: model {two_figures(each.ratio.typical)} times the printed figure, "
        f"{two_figures(each.ratio.low)} to {two_figures(each.ratio.high)}. {each.misfit}"
        for each in shown
    ]
    return "One row for each finding, the model's figure over the printed one. " + " ".join(lines)


def _ticks(low: float, high: float) -> list[float]:
    values = [step * 10.0**power for power in range(-4, 5) for step in _STEPS]
    return [each for each in values if low * 0.999 <= each <= high * 1.001]


def _round_down(value: float) -> float:
    return max(each for each in _ticks(1e-4, 1e4) if each <= value * 1.001)


def _round_up(value: float) -> float:
    return min(each for each in _ticks(1e-4, 1e4) if each >= value * 0.999 and isfinite(each))
