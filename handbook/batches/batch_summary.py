"""A summary of one batch for the handbook's lists: texts and numbers, so that a build can cache it."""

from __future__ import annotations

from datetime import date, datetime

from msgspec import Struct

from handbook.batches.batch_record import BatchRecord
from handbook.batches.batch_remarks import remarks
from handbook.batches.batch_state import batch_state, loss_points


class RawLot(Struct, frozen=True, kw_only=True):
    """A lot of one item that went into a batch."""

    item: str
    lot: str


class Sent(Struct, frozen=True, kw_only=True):
    """Finished food that left the kitchen or went into another batch; ``mass`` in kg, None where not weighed."""

    kind: str
    mass: float | None
    to: str
    on: date


class BatchSummary(Struct, frozen=True, kw_only=True):
    """One batch. ``path`` is its file in the methods folder, ``batch`` its green weight in kg, ``state`` as in
    batch_state.py; ``remarks`` are its measurements outside the prediction."""

    path: str
    lot: str
    method: str
    title: str
    version: str
    cook: str
    begun: datetime
    batch: float
    state: str
    finished_at: datetime | None
    closed_at: datetime | None
    why: str
    recalled: str
    use_by: date | None
    left: float | None
    loss: float | None
    ph: float | None
    aw: float | None
    core: float | None
    lots: tuple[RawLot, ...]
    sent: tuple[Sent, ...]
    used: tuple[tuple[str, float], ...]
    remarks: tuple[str, ...]

    @property
    def is_open(self) -> bool:
        """Whether the kitchen still has it."""
        return self.closed_at is None

    @property
    def year(self) -> int:
        """The year in which it began."""
        return self.begun.year


def batch_summary(path: str, record: BatchRecord) -> BatchSummary:
    """The summary of the batch in the file at ``path``."""
    state, entries = batch_state(record), record.valid
    losses = loss_points(record)
    lots = [RawLot(item=each.item, lot=each.lot) for each in record.amounts if each.lot]
    lots += [RawLot(item=each.item, lot=each.lot) for each in entries if each.lot]
    last = {name: [value for each in entries if (value := getattr(each, name)) is not None] for name in ("ph", "aw")}
    cores = [each.core.low for each in entries if each.core is not None]
    return BatchSummary(
        path=path,
        lot=record.lot,
        method=record.method,
        title=record.title,
        version=record.version,
        cook=record.cook,
        begun=record.begun,
        batch=record.batch.low,
        state=state.state,
        finished_at=state.finished_at,
        closed_at=state.closed_at,
        why=state.why,
        recalled=state.recalled,
        use_by=None if state.is_use_by_planned else state.use_by,
        left=state.left,
        loss=losses[-1][1] if losses else None,
        ph=last["ph"][-1] if last["ph"] else None,
        aw=last["aw"][-1] if last["aw"] else None,
        core=max(cores, default=None),
        lots=tuple(dict.fromkeys(lots)),
        sent=tuple(
            Sent(kind=each.went, mass=each.amount.low if each.amount else None, to=each.to, on=each.at.date())
            for each in entries
            if each.went
        ),
        used=tuple((each.item, each.amount.low) for each in record.amounts),
        remarks=tuple(each.words for each in remarks(record)),
    )
