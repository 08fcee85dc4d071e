"""The label of a batch, from its file alone, so that it matches the version that was made."""

from __future__ import annotations

from datetime import date

from msgspec import Struct

from handbook.batches.batch_record import BatchRecord
from handbook.batches.batch_state import DISCARDED, batch_state


class LabelItem(Struct, frozen=True, kw_only=True):
    """One ingredient with its allergens; ``mass`` in kg is the part that stays in the food."""

    name: str
    mass: float
    allergens: str


class BatchLabel(Struct, frozen=True, kw_only=True):
    """The texts of a label. Unknown days are None; ``is_planned``: the use-by day may still change.

    ``refusal`` says why the food may carry no label.
    """

    title: str
    lot: str
    items: tuple[LabelItem, ...]
    contains: tuple[str, ...]
    packed: date | None
    use_by: date | None
    use_by_frozen: date | None
    is_planned: bool
    keep_at: str
    pack: str
    cook_first: bool
    refusal: str


def batch_label(record: BatchRecord) -> BatchLabel:
    """The label of one batch: ingredients in falling order of the weight that stays in the food."""
    state, keep = batch_state(record), record.keep
    masses: dict[str, float] = {}
    allergens: dict[str, str] = {}
    for each in record.amounts:
        stays = each.in_food or each.amount
        masses[each.item] = masses.get(each.item, 0.0) + stays.low
        allergens[each.item] = allergens.get(each.item) or each.allergen
    # An ingredient with no weight in the food was poured away.
    ordered = sorted(((name, mass) for name, mass in masses.items() if mass > 0), key=lambda each: -each[1])
    names = sorted({word.strip() for each in allergens.values() for word in each.split(",") if word.strip()})
    refusal = ""
    if state.state == DISCARDED:
        refusal = f"it was discarded: {state.why}"
    elif state.recalled:
        refusal = f"it is called back: {state.recalled}"
    return BatchLabel(
        title=record.title,
        lot=record.lot,
        items=tuple(LabelItem(name=name, mass=mass, allergens=allergens[name]) for name, mass in ordered),
        contains=tuple(names),
        packed=state.finished_at.date() if state.finished_at else None,
        use_by=state.use_by,
        use_by_frozen=state.use_by_frozen,
        is_planned=state.is_use_by_planned,
        keep_at=keep.temperature.text if keep and keep.temperature else "",
        pack=keep.pack if keep else "",
        cook_first=bool(keep and keep.cook_first),
        refusal=refusal,
    )
