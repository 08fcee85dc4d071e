"""Batches due at one time: today, late, waiting, and finished food with its last day to eat, sell or freeze."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from msgspec import Struct
from msgspec.structs import replace

from handbook.batches.batch_record import BatchRecord, Target
from handbook.batches.batch_remarks import Remark, remarks
from handbook.batches.batch_state import (
    BatchState,
    CurrentStep,
    batch_state,
    loss_points,
    ph_points,
    planned_end,
    step_begins,
)
from handbook.batches.expected_day import Expected, expected_loss, expected_ph

LATE, TODAY, WAITING, KEEPING = "late", "today", "waiting", "keeping"
ORDER = (LATE, TODAY, WAITING, KEEPING)


class TargetCourse(Struct, frozen=True, kw_only=True):
    """The course of a batch towards one target: ``points`` are (s since its beginning, loss or pH)."""

    target: Target
    points: tuple[tuple[float, float], ...]
    expected: Expected


class DueRow(Struct, frozen=True, kw_only=True):
    """One batch at one time. ``when`` is the time that matters: the end of its step, or of a use-by day.

    ``then`` are the later steps that begin on the same day, of a batch that is not late.
    """

    group: str
    record: BatchRecord
    what: str
    when: datetime | None
    earliest: datetime | None = None
    latest: datetime | None = None
    then: tuple[tuple[datetime, str], ...] = ()
    state: BatchState
    courses: tuple[TargetCourse, ...] = ()
    remarks: tuple[Remark, ...] = ()


def due_list(records: Iterable[BatchRecord], at: datetime) -> tuple[DueRow, ...]:
    """Every batch in the kitchen at ``at``: late ones first, then due today, waiting and keeping, each in order of
    ``when``.

    Entries later than ``at`` are left out, so the list of a past day is that of the day.
    """
    rows = [row for record in records if (row := due_row(record, at)) is not None]
    return tuple(sorted(rows, key=lambda each: (ORDER.index(each.group), each.when or datetime.max, each.record.lot)))


def due_row(record: BatchRecord, at: datetime) -> DueRow | None:
    """The row of one batch at a time; None before it began and after it has ended."""
    record = as_of(record, at)
    state = batch_state(record)
    if record.begun > at or not state.is_open:
        return None
    bare = DueRow(
        group=KEEPING,
        record=record,
        what="ready; its page does not say how long it keeps",
        when=None,
        state=state,
        courses=target_courses(record),
        remarks=remarks(record),
    )
    if state.recalled:
        what = f"called back: keep it apart, sell and eat none of it ({state.recalled})"
        return replace(bare, group=LATE, what=what)
    return _kept_row(state, at, bare) if state.current is None else _step_row(record, state.current, at, bare)


def as_of(record: BatchRecord, at: datetime) -> BatchRecord:
    """The record as it was at ``at``."""
    return replace(record, entries=tuple(each for each in record.entries if each.at <= at))


def target_courses(record: BatchRecord) -> tuple[TargetCourse, ...]:
    """The course of the measurements towards each target of a batch."""
    found = []
    for target in record.reach:
        if target.loss is not None:
            points = loss_points(record)
            begin = _drying_begins(record, points)
            expected = expected_loss(points, begin, target.loss.low)
        elif target.ph is not None:
            points = ph_points(record)
            expected = expected_ph(points, target.ph)
        else:
            continue
        found.append(TargetCourse(target=target, points=tuple(points), expected=expected))
    return tuple(found)


def _drying_begins(record: BatchRecord, points: list[tuple[float, float]]) -> tuple[float, float]:
    """Start of drying and the loss then: the smallest loss before the first step with a stated loss began."""
    modelled = next((each.step for each in record.predicted if each.loss is not None), None)
    drying = modelled or next((row.step for row in record.plan if row.loss is not None), None)
    if drying is None:
        return 0.0, 0.0
    begins = (step_begins(record, drying) - record.begun).total_seconds()
    before = [each for each in points if each[0] <= begins]
    return (max(begins, 0.0), before[-1][1]) if before else (max(begins, 0.0), 0.0)


def _step_row(record: BatchRecord, current: CurrentStep, at: datetime, bare: DueRow) -> DueRow:
    midnight = datetime.combine(at.date(), datetime.min.time()) + timedelta(days=1)
    current = _by_its_weights(record, current, bare.courses)
    group = LATE if at > current.latest else TODAY if current.usual < midnight else WAITING
    then = [
        (planned_end(record, row.step, current) - (row.end - row.begin), f"step {row.step}: {row.do}")
        for row in record.plan[current.row.step :]
    ]
    return replace(
        bare,
        group=group,
        what=f"step {current.row.step}: {current.row.do}",
        when=current.usual,
        earliest=current.earliest,
        latest=current.latest,
        then=tuple(each for each in then if at < each[0] < midnight) if group == TODAY else (),
    )


def _by_its_weights(record: BatchRecord, current: CurrentStep, courses: tuple[TargetCourse, ...]) -> CurrentStep:
    """The step with the end predicted from the batch's own weights, where it dries until a loss; else as planned."""
    drying = next((each.step for each in record.predicted if each.loss is not None), None)
    ends = [each for each in courses if each.target.loss is not None]
    if drying != current.row.step or not ends:
        return current
    found = max(ends, key=lambda each: each.target.loss.low if each.target.loss else 0.0).expected
    if found.reached is not None or found.low is None or found.typical is None or found.high is None:
        return current
    earliest, usual, latest = (
        record.begun + timedelta(seconds=each) for each in (found.low, found.typical, found.high)
    )
    return replace(current, earliest=earliest, usual=usual, latest=latest)


def _kept_row(state: BatchState, at: datetime, bare: DueRow) -> DueRow:
    """The row of finished food with its use-by day; the freezer's where all of the rest is frozen."""
    is_frozen = state.frozen > 0 and (state.left is None or state.frozen >= state.left - 0.001)
    day = state.use_by_frozen if is_frozen else state.use_by
    if day is None:
        return bare
    when = datetime.combine(day, datetime.max.time()).replace(microsecond=0, second=0)
    what = (
        "frozen: eat or sell it by then" if is_frozen else "eat, sell or freeze it by then; after that day discard it"
    )
    group = LATE if at.date() > day else TODAY if at.date() == day else KEEPING
    if group == LATE:
        what = "past its use-by day: neither sell nor eat it; discard it and say why"
    return replace(bare, group=group, what=what, when=when)
