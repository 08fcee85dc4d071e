"""Two schedules on one time axis: for each step the bar before above the bar after. Positions only."""

from __future__ import annotations

from msgspec import Struct

from handbook.base.formats import shorten
from site_build.charts.timing_chart import LEFT, RIGHT, WIDTH, Bar, Tick, bar, time_ticks
from site_build.record.figures import MethodFigures, StepFigures
from site_build.review.compare import match_steps
from site_build.review.report_parts import visible

LANE = 50.0


class OverlayLane(Struct, frozen=True, kw_only=True):
    """One step of either version; a bar is None where the step does not exist."""

    top: float
    label: str
    before: Bar | None
    after: Bar | None
    is_changed: bool


class OverlayChart(Struct, frozen=True, kw_only=True):
    """Both schedules on one axis."""

    height: float
    lanes: tuple[OverlayLane, ...]
    axis: tuple[Tick, ...]
    axis_at: float
    width: float = WIDTH


def overlay_chart(before: MethodFigures | None, after: MethodFigures | None) -> OverlayChart | None:
    """Positions of both schedules; None where neither has a step."""
    old = before.steps if before else ()
    new = after.steps if after else ()
    span = max((_end(each) for each in (*old, *new)), default=0.0)
    if span <= 0:
        return None
    scale = (RIGHT - LEFT) / span
    lanes = []
    for index, (i, j) in enumerate(_order(old, new)):
        was, now = (old[i] if i is not None else None), (new[j] if j is not None else None)
        label = f"{j + 1}. {now.do}" if now else f"(was {i + 1}.) {was.do}"
        label = shorten(visible(label.rstrip(".:; ")), 80)
        older, newer = _bar(was, scale), _bar(now, scale)
        changed = (older and older.time) != (newer and newer.time)
        lanes.append(OverlayLane(top=index * LANE, label=label, before=older, after=newer, is_changed=changed))
    bottom = len(lanes) * LANE
    ticks = tuple(Tick(at=LEFT + at * scale / 60, label=label) for at, label in time_ticks(span * 60))
    return OverlayChart(height=bottom + 30, lanes=tuple(lanes), axis=ticks, axis_at=bottom)


def _order(old: tuple[StepFigures, ...], new: tuple[StepFigures, ...]) -> list[tuple[int | None, int | None]]:
    """Pairs of step indexes in the order of the new schedule, with lost steps after the one that they followed."""
    pairs = match_steps(old, new)
    partner = {j: i for i, j in pairs}
    matched = {i for i, _ in pairs}
    rows: list[tuple[int | None, int | None]] = [(partner.get(j), j) for j in range(len(new))]
    for i in range(len(old)):
        if i not in matched:
            place = next((at for at, (was, _) in enumerate(rows) if was is not None and was == i - 1), None)
            rows.insert(0 if i == 0 else len(rows) if place is None else place + 1, (i, None))
    return rows


def _bar(step: StepFigures | None, scale: float) -> Bar | None:
    if step is None or step.duration.value is None:
        return None
    low, high = step.duration.low or 0.0, step.duration.high or step.duration.value
    return bar(step.start.value or 0.0, low, high, scale, step.duration.text)


def _end(step: StepFigures) -> float:
    return (step.start.value or 0.0) + (step.duration.high or step.duration.value or 0.0)
