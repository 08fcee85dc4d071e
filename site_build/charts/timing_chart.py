"""Layout of the timing chart. Templates draw it. Only positions are computed here, no figures."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, log10

from handbook.base.formats import format_time, format_time_range
from handbook.page.schedule import Schedule
from site_build.base.said_words import shorten

WIDTH = 720.0
MOST_NUMBERS = 6  # about so many ticks on an axis of numbers
_TIME_STEPS = (
    300,
    600,
    900,
    1800,
    3600,
    7200,
    4 * 3600,
    6 * 3600,
    12 * 3600,
    86400,
    2 * 86400,
    4 * 86400,
    7 * 86400,
    14 * 86400,
    28 * 86400,
    56 * 86400,
)


@dataclass(frozen=True, kw_only=True)
class Tick:
    """A tick of an axis: its position and label."""

    at: float
    label: str
    is_strong: bool = False


@dataclass(frozen=True, kw_only=True)
class Lane:
    """One step of the timing chart. Positions in SVG units."""

    number: int
    top: float
    label: str
    hands_on: bool
    left: float
    width: float
    range_left: float
    range_width: float
    ticks: tuple[float, ...]
    time: str


@dataclass(frozen=True, kw_only=True)
class TimingChart:
    """The steps on one time axis."""

    width: float
    height: float
    lanes: tuple[Lane, ...]
    axis: tuple[Tick, ...]
    axis_at: float
    lane_height: float
    left: float
    right: float


def timing_chart(plan: Schedule) -> TimingChart:
    """Lay the steps out; a step too short to see is drawn three units wide."""
    lane_height, left, right = 46.0, 8.0, WIDTH - 8.0
    span = max(each.start.typical + each.duration.high for each in plan.steps)
    scale = (right - left) / span
    lanes = []
    for index, each in enumerate(plan.steps):
        start = left + each.start.typical * scale
        sure = max(each.duration.low * scale, 3.0)
        extra = (each.duration.high - each.duration.low) * scale
        lanes.append(
            Lane(
                number=each.number,
                top=index * lane_height,
                label=shorten(f"{each.number}  {each.step.do}", 76),
                hands_on=each.step.hands_on,
                left=min(start, right - 3.0),
                width=sure,
                range_left=start + sure,
                range_width=extra if extra > 1 else 0.0,
                ticks=tuple(start + at * scale for at in each.repeats),
                time=format_time_range(each.duration),
            )
        )
    bottom = len(lanes) * lane_height
    ticks = tuple(Tick(at=left + at * scale, label=label, is_strong=at % 86400 == 0) for at, label in time_ticks(span))
    return TimingChart(
        width=WIDTH,
        height=bottom + 30,
        lanes=tuple(lanes),
        axis=ticks,
        axis_at=bottom,
        lane_height=lane_height,
        left=left,
        right=right,
    )


def time_ticks(span: float, most: int = 9) -> list[tuple[float, str]]:
    """Round times in s from 0 up to ``span`` with their labels, at most about ``most``."""
    step = next((each for each in _TIME_STEPS if span / each <= most), 112 * 86400)
    return [(at * step, "0" if at == 0 else format_time(at * step)) for at in range(int(span / step) + 1)]


def number_ticks(high: float) -> list[float]:
    """Round numbers from 0 up to at least ``high``."""
    if high <= 0:
        return [0.0, 1.0]
    rough = high / MOST_NUMBERS
    power = 10 ** int(ceil(log10(rough)) - 1)
    step = next(power * each for each in (1, 2, 2.5, 5, 10) if power * each >= rough * 0.999)
    return [step * index for index in range(ceil(high / step - 1e-9) + 1)]
