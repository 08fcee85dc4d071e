"""The state of one batch, from its file alone: steps done, the next step and its times, the rest, the use-by day."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from msgspec import Struct

from handbook.batches.batch_record import BatchRecord, Entry, PlanRow
from handbook.days.labels import days_after

RUNNING, MADE, ENDED, DISCARDED = "in progress", "ready", "ended", "discarded"


class CurrentStep(Struct, frozen=True, kw_only=True):
    """The first step that is not done: its actual or planned start, and its usual, earliest and latest end."""

    row: PlanRow
    begin: datetime
    is_begun: bool
    earliest: datetime
    usual: datetime
    latest: datetime


class BatchState(Struct, frozen=True, kw_only=True):
    """The state of a batch. ``left`` in kg by its weights, None where none was taken; days are None where unknown.

    ``why`` is the reason why it was ended or discarded, ``recalled`` the reason of a recall ("" without one).
    """

    state: str
    done: dict[int, datetime]
    current: CurrentStep | None
    finished_at: datetime | None
    closed_at: datetime | None
    why: str
    recalled: str
    left: float | None
    frozen: float
    use_by: date | None
    use_by_frozen: date | None
    is_use_by_planned: bool

    @property
    def is_open(self) -> bool:
        """Whether the batch is still in the kitchen."""
        return self.state in (RUNNING, MADE)


def batch_state(record: BatchRecord) -> BatchState:
    """The state of ``record`` by its valid entries."""
    entries = record.valid
    done = {each.step: each.at for each in entries if each.step is not None and each.state == "done"}
    current = _current(record, done)
    # A discard counts even after an end: stored food may turn out bad.
    closing = next((each for each in entries if each.discarded), None) or next((e for e in entries if e.ended), None)
    is_made = current is None
    state = RUNNING if not is_made else MADE
    if closing is not None:
        state = DISCARDED if closing.discarded else ENDED
    counted, is_planned = _counted_from(record, done, current)
    keep = record.keep
    return BatchState(
        state=state,
        done=done,
        current=current if closing is None else None,
        finished_at=max(done.values()) if is_made and done else None,
        closed_at=closing.at if closing else None,
        why=(closing.discarded or closing.ended) if closing else "",
        recalled=next((each.recalled for each in entries if each.recalled), ""),
        left=_left(record, entries) if closing is None else 0.0,
        frozen=sum(each.frozen.low for each in entries if each.frozen),
        use_by=days_after(counted, keep.cold if keep else None),
        use_by_frozen=days_after(counted, keep.frozen if keep else None),
        is_use_by_planned=is_planned,
    )


def step_begins(record: BatchRecord, step: int) -> datetime:
    """The start of a step: as written, else the end of the step before, else as planned from the last entry."""
    entries = record.valid
    begun = next((each.at for each in entries if each.step == step and each.state == "begun"), None)
    if begun is not None:
        return begun
    before = [each for each in entries if each.step is not None and each.step < step and each.state == "done"]
    if not before:
        return record.plan[step - 1].begin
    last = max(before, key=lambda each: (each.step or 0, each.at))
    planned = record.plan[step - 1].begin - record.plan[(last.step or 1) - 1].end
    return last.at + max(planned, timedelta())


def _current(record: BatchRecord, done: dict[int, datetime]) -> CurrentStep | None:
    last = max(done, default=0)
    if last >= len(record.plan):
        return None
    row = record.plan[last]
    begin = step_begins(record, row.step)
    is_begun = any(each.step == row.step and each.state == "begun" for each in record.valid)
    return CurrentStep(
        row=row,
        begin=begin,
        is_begun=is_begun,
        earliest=_after(begin, row.takes.low),
        usual=begin + (row.end - row.begin),
        latest=max(_after(begin, row.takes.high), begin + (row.end - row.begin)),
    )


def planned_end(record: BatchRecord, step: int, current: CurrentStep) -> datetime:
    """The expected end of a step, from the current one on, if the rest goes as planned."""
    return current.usual + (record.plan[step - 1].end - current.row.end)


def _counted_from(
    record: BatchRecord, done: dict[int, datetime], current: CurrentStep | None
) -> tuple[datetime | None, bool]:
    """The moment from which the keeping time counts, and whether it is only planned."""
    if record.keep is None:
        return None, False
    step = record.keep.from_step
    if step in done:
        return done[step], False
    if current is None or step < current.row.step:
        later = [at for number, at in done.items() if number > step]
        # Not recorded: it ended no later than planned, and no later than the next step that was done.
        planned = record.plan[step - 1].end
        return min([planned, *later]), True
    return planned_end(record, step, current), True


def _left(record: BatchRecord, entries: tuple[Entry, ...]) -> float | None:
    weights = [each.weight.low for each in entries if each.weight]
    gone = sum(each.amount.low for each in entries if each.went and each.amount)
    return max(weights[-1] - gone, 0.0) if weights else None


def _after(moment: datetime, seconds: float) -> datetime:
    return moment + timedelta(minutes=round(seconds / 60))


def loss_points(record: BatchRecord) -> list[tuple[float, float]]:
    """(s since the beginning, loss of green weight) of every weight taken; a gain is a loss below 0."""
    green = record.batch.low
    return [
        ((each.at - record.begun).total_seconds(), 1 - each.weight.low / green)
        for each in record.valid
        if each.weight is not None
    ]


def ph_points(record: BatchRecord) -> list[tuple[float, float]]:
    """(s since the beginning, pH) of every pH taken."""
    return [((each.at - record.begun).total_seconds(), each.ph) for each in record.valid if each.ph is not None]


def predicted_band(record: BatchRecord, is_loss: bool) -> list[tuple[float, float, float]]:
    """(s since the beginning, low, high) that the page's models predicted: loss of green weight, or pH.

    The band starts where its step began, and at the loss up to then. Without models it follows from the page's stated
    losses.
    """
    rows = [each for each in record.predicted if (each.loss is not None) == is_loss]
    if not rows:
        return [(0.0, 0.0, 0.0), *planned_loss(record)] if is_loss and planned_loss(record) else []
    begin = (step_begins(record, rows[0].step) - record.begun).total_seconds()
    if not is_loss:
        return [(begin + each.after.low, each.ph_low or 0.0, each.ph_high or 0.0) for each in rows]
    before = [loss for at, loss in loss_points(record) if at <= begin]
    lost = before[-1] if before else 0.0
    ends = [(each.after.low, each.loss.low, each.loss.high) for each in rows if each.loss is not None]
    return [(begin + after, lost + (1 - lost) * low, lost + (1 - lost) * high) for after, low, high in ends]


def planned_loss(record: BatchRecord) -> list[tuple[float, float, float]]:
    """(s since the beginning, least, most loss of green weight) that the page predicts after each step that states one.

    Stated losses and gains multiply; the time is the planned end of the step.
    """
    found, low, high = list[tuple[float, float, float]](), 1.0, 1.0
    for row in record.plan:
        least, most = weight_kept(row)
        low, high = low * least, high * most
        if row.loss or row.gain:
            found.append(((row.end - record.begun).total_seconds(), 1 - high, 1 - low))
    return found


def weight_kept(row: PlanRow) -> tuple[float, float]:
    """Least and most weight after a step / before it, by the page's stated gain and loss."""
    gain = (row.gain.low, row.gain.high) if row.gain else (0.0, 0.0)
    loss = (row.loss.low, row.loss.high) if row.loss else (0.0, 0.0)
    return (1 + gain[0]) * (1 - loss[1]), (1 + gain[1]) * (1 - loss[0])
