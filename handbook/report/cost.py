"""The cost of a batch at the house's prices. It is computed from a bill alone, so a changed price recomputes nothing else."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from handbook.base.ranges import Range
from handbook.brine.make_up import MakeUp
from handbook.page.house import House
from handbook.page.method import Method
from handbook.report.portions import Yield


class BillItem(Struct, frozen=True, kw_only=True):
    """The food or an ingredient of the batch as written: its mass in kg and, where known, its kg per m3."""

    item: str
    mass: float
    kg_per_m3: float | None


class Bill(Struct, frozen=True, kw_only=True):
    """The priced items of a batch, its green weight in kg and its finished mass / green weight."""

    items: Sequence[BillItem]
    batch: float
    low: float
    typical: float
    high: float


class Cost(Struct, frozen=True, kw_only=True):
    """Cost of the batch as written and per finished kg; ``missing`` lists the items without a price."""

    total: float
    per_finished_kg: Range
    missing: tuple[str, ...]


def bill(method: Method, foods: Sequence[tuple[str, float]], make_ups: Sequence[MakeUp], finished: Yield) -> Bill:
    """The ``foods``, each with its mass in kg, and every ingredient of the batch as written."""
    batch = method.batches.written_for.low
    items = [BillItem(item=name, mass=mass, kg_per_m3=None) for name, mass in foods]
    for part in (part for made in make_ups for part in made.parts):
        density = part.ingredient.kg_per_m3[1] if part.ingredient.kg_per_m3 else None
        items.append(BillItem(item=part.ingredient.name, mass=part.mass.typical, kg_per_m3=density))
    ratio = finished.ratio
    return Bill(items=tuple(items), batch=batch, low=ratio.low, typical=ratio.typical, high=ratio.high)


def cost(bill: Bill, house: House) -> Cost:
    """Cost of a bill at the house's prices; items without a price are listed as missing."""
    total, missing = 0.0, []
    for each in bill.items:
        price = house.price_of(each.item)
        if price is None:
            if not each.item.startswith("water"):
                missing.append(each.item)
        elif price[1] == "mass":
            total += price[0] * each.mass
        elif each.kg_per_m3:
            total += price[0] * each.mass / each.kg_per_m3
        else:
            missing.append(each.item)
    return Cost(
        total=total,
        per_finished_kg=Range(*(total / bill.batch / each for each in (bill.high, bill.typical, bill.low))),
        missing=tuple(dict.fromkeys(missing)),
    )
