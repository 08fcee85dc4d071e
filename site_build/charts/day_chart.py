"""Layout of the charts of a day plan: one chart for each calendar day, one row for each person, chamber or vessel.

On a desk screen and on paper names are beside the rows. A phone gets a chart of its own width, with names above them.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta

from msgspec import Struct

from site_build.base.said_words import say
from site_build.charts.day_rows import DayBar, DayRow, DayRows, Profile
from site_build.charts.timing_chart import WIDTH, Tick


class Layout(Struct, frozen=True, kw_only=True):
    """A chart's width and where its hours begin, in SVG units; ``name_line`` is the height of a name above its row."""

    width: float
    left: float
    name_line: float
    hours_a_tick: int

    @property
    def right(self) -> float:
        """The right end of the hours."""
        return self.width - 8.0


WIDE = Layout(width=WIDTH, left=148.0, name_line=0.0, hours_a_tick=1)
NARROW = Layout(width=380.0, left=8.0, name_line=20.0, hours_a_tick=2)
_BAR, _LINE, _TOP = 14.0, 16.0, 6.0
_SIGN = 8.6  # width of a character of a mark, in SVG units


class ChartBar(Struct, frozen=True, kw_only=True):
    """One bar and its mark; ``mark_at`` is None where there is no room for it."""

    left: float
    width: float
    is_hands: bool
    mark: str
    mark_at: float | None
    mark_top: float


class ChartRow(Struct, frozen=True, kw_only=True):
    """One row: its name and the positions of its bars."""

    name: str
    group: str
    top: float
    name_at: float
    height: float
    bar_top: float
    bars: tuple[ChartBar, ...]


class ChartProfile(Struct, frozen=True, kw_only=True):
    """A store's fill as one outline; ``words`` state the maximum."""

    name: str
    words: str
    top: float
    name_at: float
    height: float
    full_top: float
    outline: str


class DayChart(Struct, frozen=True, kw_only=True):
    """One day of the calendar."""

    day: date
    height: float
    axis_at: float
    rows: tuple[ChartRow, ...]
    profiles: tuple[ChartProfile, ...]
    people_at: float
    ticks: tuple[Tick, ...]
    layout: Layout


def day_charts(shown: DayRows, layout: Layout) -> tuple[DayChart, ...]:
    """A chart for each day with work or used equipment. All have the same hours, so that days can be compared."""
    return tuple(chart for each in shown.days for chart in [_chart(each, shown, layout)] if chart.rows)


class _Scale:
    def __init__(self, day: date, hours: tuple[int, int], layout: Layout):
        self.layout = layout
        self.start = datetime.combine(day, datetime.min.time()) + timedelta(hours=hours[0])
        self.end = self.start + timedelta(hours=hours[1] - hours[0])
        self.per_second = (layout.right - layout.left) / (self.end - self.start).total_seconds()

    def at(self, moment: datetime) -> float:
        clipped = min(max(moment, self.start), self.end)
        return self.layout.left + (clipped - self.start).total_seconds() * self.per_second


def _chart(day: date, shown: DayRows, layout: Layout) -> DayChart:
    scale, top = _Scale(day, shown.hours, layout), 0.0
    rows, profiles, people_at = [], [], 0.0
    for group in ("equipment", "people"):
        for row in shown.rows:
            bars = [each for each in row.bars if each.start < scale.end and each.end > scale.start]
            if row.group == group and bars:
                rows.append(_row(row, bars, scale, top))
                top += rows[-1].height
        if group == "equipment":
            for each in shown.profiles:
                if each.highest(scale.start, scale.end) > 0:
                    profiles.append(_profile(each, scale, top))
                    top += profiles[-1].height
            people_at = top
    step = layout.hours_a_tick if shown.hours[1] - shown.hours[0] <= 14 else 2 * layout.hours_a_tick
    ticks = tuple(
        Tick(
            at=scale.at(scale.start + timedelta(hours=hour - shown.hours[0])),
            label=f"{hour % 24}",
            is_strong=hour % 24 in (0, 12),
        )
        for hour in range(shown.hours[0], shown.hours[1] + 1, step)
    )
    return DayChart(
        day=day,
        height=top + 26,
        axis_at=top,
        rows=tuple(rows),
        profiles=tuple(profiles),
        people_at=people_at,
        ticks=ticks,
        layout=layout,
    )


def _row(row: DayRow, bars: list[DayBar], scale: _Scale, top: float) -> ChartRow:
    """Place the marks above their bars on one line, or on two where they would overlap."""
    ends, placed = [-1.0, -1.0], []
    for each in bars:
        left = scale.at(each.start)
        width = max(scale.at(each.end) - left, 3.0)
        size = len(each.mark) * _SIGN
        at = min(left, scale.layout.right - size)
        line = next((number for number, end in enumerate(ends) if at >= end), None)
        if line is not None:
            ends[line] = at + size + 3
        placed.append((left, width, each, at if line is not None else None, line or 0))
    lines = 1 + max((line for *_, line in placed), default=0)
    bar_top = top + scale.layout.name_line + _TOP + lines * _LINE
    return ChartRow(
        name=row.name,
        group=row.group,
        top=top,
        name_at=top + 16.0 if scale.layout.name_line else bar_top + 12.0,
        height=bar_top - top + _BAR + 5,
        bar_top=bar_top,
        bars=tuple(
            ChartBar(
                left=left,
                width=width,
                is_hands=each.is_hands,
                mark=each.mark,
                mark_at=at,
                mark_top=bar_top - 4 - line * _LINE,
            )
            for left, width, each, at, line in placed
        ),
    )


def _profile(each: Profile, scale: _Scale, top: float) -> ChartProfile:
    layout = scale.layout
    full_top = top + layout.name_line + 20.0
    floor = full_top + 26.0
    up = (floor - full_top) / each.room
    level = next((litres for moment, litres in reversed(each.levels) if moment <= scale.start), 0.0)
    points = [(layout.left, floor), (layout.left, floor - level * up)]
    for moment, litres in each.levels:
        if scale.start < moment < scale.end:
            points += [(scale.at(moment), floor - level * up), (scale.at(moment), floor - litres * up)]
            level = litres
    points += [(layout.right, floor - level * up), (layout.right, floor)]
    outline = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
    words = say(
        "at most %(volume)s of %(room)s L",
        volume=f"{each.highest(scale.start, scale.end):.0f}",
        room=f"{each.room:.0f}",
    )
    return ChartProfile(
        name=each.name,
        words=words,
        top=top,
        name_at=top + (16.0 if layout.name_line else 42.0),
        height=floor - top + 4.0,
        full_top=full_top,
        outline=outline,
    )
