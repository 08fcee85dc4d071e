"""Recall: from one lot, raw or of a batch, to every batch that contains it."""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import Struct

from handbook.base.did_you_mean import Names, nearest
from handbook.batches.batch_summary import BatchSummary, RawLot
from handbook.days.lot_numbers import lot_key


class Touched(Struct, frozen=True, kw_only=True):
    """One batch that contains a lot, and the lots in between, in order from the requested one."""

    batch: BatchSummary
    through: tuple[str, ...]


class Recall(Struct, frozen=True, kw_only=True):
    """Every batch that contains ``lot``. ``items`` are the items of the lot; ``made_from`` the raw lots of a batch's lot."""

    lot: str
    items: tuple[str, ...]
    touched: tuple[Touched, ...]
    made_from: tuple[RawLot, ...]
    near: str = ""

    @property
    def is_known(self) -> bool:
        """Whether any batch names the lot."""
        return bool(self.touched)


def recall(lot: str, batches: Iterable[BatchSummary]) -> Recall:
    """The batches that contain ``lot``, the batches that contain these, and so on.

    A batch contains a lot that its amounts or entries name. A batch also contains another whose entry ``went: used``
    names it. Capitals, blanks and signs do not distinguish lots.
    """
    known: dict[str, list[BatchSummary]] = {}
    for each in batches:
        known.setdefault(lot_key(each.lot), []).append(each)
    uses: dict[str, dict[str, None]] = {}
    items: dict[str, dict[str, None]] = {}
    for key, each in ((key, each) for key, alike in known.items() for each in alike):
        for raw in each.lots:
            uses.setdefault(lot_key(raw.lot), {})[key] = None
            items.setdefault(lot_key(raw.lot), {})[raw.item] = None
        for sent in each.sent:
            if sent.kind == "used" and (other := lot_key(sent.to)) in known:
                uses.setdefault(key, {})[other] = None
    start = lot_key(lot)
    own = known.get(start, [])
    named = next((each.lot for each in own if each.lot == lot), own[0].lot if own else lot)
    ways: dict[str, tuple[str, ...]] = {start: (named,)} if own or start in uses else {}
    queue = list(ways)
    while queue:
        here = queue.pop(0)
        for other in uses.get(here, ()):
            if other not in ways:
                ways[other] = (*ways[here], known[other][0].lot)
                queue.append(other)
    touched = [Touched(batch=each, through=way) for key, way in ways.items() for each in known.get(key, ())]
    every = [each for alike in known.values() for each in alike]
    return Recall(
        lot=named,
        items=tuple(items.get(start, {})) or tuple(dict.fromkeys(each.title for each in own)),
        touched=tuple(sorted(touched, key=lambda each: (each.batch.begun, each.batch.lot))),
        made_from=tuple(dict.fromkeys(raw for each in own for raw in each.lots)),
        near="" if ways else _nearest(lot, every),
    )


def _nearest(lot: str, batches: Iterable[BatchSummary]) -> str:
    """The lot, of all batches and of their ingredients, whose spelling is closest to ``lot``."""
    return nearest(lot, Names([name for each in batches for name in (each.lot, *(raw.lot for raw in each.lots))]))
