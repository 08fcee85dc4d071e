"""Layout of the timing chart. Templates draw it. Only positions are computed here, no figures."""

from __future__ import annotations

from math import ceil, log10

from msgspec import Struct

from handbook.base.formats import format_time, format_time_range, shorten
from handbook.page.schedule import Schedule

WIDTH = 720.0
MOST_NUMBERS = 6  # about so many ticks on an axis of numbers
LEFT, RIGHT, LANE = 8.0, WIDTH - 8.0, 46.0
LEAST_WIDTH = 3.0  # of a bar, so that it is seen
_TIME_STEPS = (
    *(each * 60 for each in (5, 10, 15, 30)),
    *(each * 3600 for each in (1, 2, 4, 6, 12)),
    *(each * 86400 for each in (1, 2, 4, 7, 14, 28, 56, 112)),
)


class Tick(Struct, frozen=True, kw_only=True):
    """A tick of an axis: its position and label."""

    at: float
    label: str
    is_strong: bool = False


class Bar(Struct, frozen=True, kw_only=True):
    """One step's certain length, the part between shortest and longest, and its time in words."""

    left: float
    width: float
    range_left: float
    range_width: float
    time: str


class Lane(Struct, frozen=True, kw_only=True):
    """One step of the timing chart. Positions in SVG units."""

    number: int
    top: float
    label: str
    hands_on: bool
    bar: Bar
    ticks: tuple[float, ...]


class TimingChart(Struct, frozen=True, kw_only=True):
    """The steps on one time axis."""

    height: float
    lanes: tuple[Lane, ...]
    axis: tuple[Tick, ...]
    axis_at: float
    width: float = WIDTH
    lane_height: float = LANE
    left: float = LEFT
    right: float = RIGHT


def timing_chart(plan: Schedule) -> TimingChart:
    """Lay the steps out."""
    span = max(each.start.typical + each.duration.high for each in plan.steps)
    scale = (RIGHT - LEFT) / span
    lanes = tuple(
        Lane(
            number=each.number,
            top=index * LANE,
            label=shorten(f"{each.number}  {each.step.do}", 76),
            hands_on=each.step.hands_on,
            bar=bar(each.start.typical, each.duration.low, each.duration.high, scale, format_time_range(each.duration)),
            ticks=tuple(LEFT + (each.start.typical + at) * scale for at in each.repeats),
        )
        for index, each in enumerate(plan.steps)
    )
    bottom = len(lanes) * LANE
    ticks = tuple(Tick(at=LEFT + at * scale, label=label, is_strong=at % 86400 == 0) for at, label in time_ticks(span))
    return TimingChart(height=bottom + 30, lanes=lanes, axis=ticks, axis_at=bottom)


def bar(start: float, low: float, high: float, scale: float, time: str) -> Bar:
    """A bar from ``start``, ``low`` to ``high`` long; one too short to see is drawn three units wide."""
    left, sure, extra = LEFT + start * scale, max(low * scale, LEAST_WIDTH), (high - low) * scale
    return Bar(
        left=min(left, RIGHT - LEAST_WIDTH),
        width=sure,
        range_left=left + sure,
        range_width=extra if extra > 1 else 0.0,
        time=time,
    )


def time_ticks(span: float, most: int = 9) -> list[tuple[float, str]]:
    """Round times in s from 0 up to ``span`` with their labels, at most about ``most``."""
    step = next((each for each in _TIME_STEPS if span / each <= most), _TIME_STEPS[-1])
    return [(at * step, "0" if at == 0 else format_time(at * step)) for at in range(int(span / step) + 1)]


def number_ticks(high: float) -> list[float]:
    """Round numbers from 0 up to at least ``high``."""
    if high <= 0:
        return [0.0, 1.0]
    rough = high / MOST_NUMBERS
    power = 10 ** int(ceil(log10(rough)) - 1)
    step = next(power * each for each in (1, 2, 2.5, 5, 10) if power * each >= rough * 0.999)
    return [step * index for index in range(ceil(high / step - 1e-9) + 1)]
