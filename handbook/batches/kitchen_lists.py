"""Two lists of a kitchen besides its batches: stock, and checks of thermometers. One line per event."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable
from typing import Annotated, Any

from msgspec import Struct
from msgspec.structs import replace

from handbook.base.errors import PageError
from handbook.base.forms import Choice, Reading, Words, read_yaml
from handbook.base.records import Key, rows_of
from handbook.base.units import Quantity
from handbook.batches.batch_record import LotForm
from handbook.batches.batch_summary import BatchSummary
from handbook.days.day_forms import MomentForm
from handbook.days.shopping import Needed
from handbook.runs.measured_forms import AMOUNT, WARM

CHECKED_IN = ("ice water", "boiling water", "against another")
_MOST_ROWS = 1500


class StockLine(Struct, frozen=True, kw_only=True):
    """One event of the stock: counted, bought or discarded. ``source`` is the supplier of a lot."""

    at: Annotated[datetime.datetime, Key("when", MomentForm())]
    by: Annotated[str, Key("who", Words(limit=80))] = ""
    item: Annotated[str, Key("food or ingredient", Words(limit=80))]
    counted: Annotated[Quantity | None, Key("all of it on the shelf", AMOUNT)] = None
    bought: Annotated[Quantity | None, Key("amount bought", AMOUNT)] = None
    lost: Annotated[Quantity | None, Key("thrown away or spilt", AMOUNT)] = None
    lot: Annotated[str, Key("lot of what came in", LotForm())] = ""
    source: Annotated[str, Key("from whom", Words(limit=120), name="from")] = ""
    words: Annotated[str, Key("anything else", Words(limit=400))] = ""
    line: int


class ThermometerCheck(Struct, frozen=True, kw_only=True):
    """One check of one thermometer."""

    at: Annotated[datetime.datetime, Key("when", MomentForm())]
    by: Annotated[str, Key("who", Words(limit=80))] = ""
    thermometer: Annotated[str, Key("which one", Words(limit=60))]
    inside: Annotated[str, Key("in what", Choice(words=CHECKED_IN), name="in")]
    read: Annotated[Quantity, Key("what it read", WARM)]
    wanted: Annotated[Quantity | None, Key("what it should read; left out for ice water: 0 °C", WARM)] = None
    done: Annotated[str, Key("what was done about it", Words(limit=200))] = ""
    line: int


STOCK_FORM = rows_of(StockLine, _MOST_ROWS)
CHECKS_FORM = rows_of(ThermometerCheck, _MOST_ROWS)


class OnShelf(Struct, frozen=True, kw_only=True):
    """The expected stock of one item in kg; None where it was never counted."""

    item: str
    mass: float | None
    counted_at: datetime.datetime | None
    used: float


def read_list(form: Any, text: str, file: str, what: str) -> tuple[tuple[Any, ...], list[PageError]]:
    """The rows of one list and its faults. A file without a row is an empty list."""
    reading = Reading(file=file)
    if not any(line.strip() and not line.lstrip().startswith("#") for line in text.split("\n")):
        return (), []
    rows = read_yaml(form, text, reading, what)
    return rows or (), reading.faults


def on_shelf(
    lines: Iterable[StockLine],
    batches: Iterable[BatchSummary],
    at: datetime.datetime,
    is_counted: Callable[[str], bool],
) -> tuple[OnShelf, ...]:
    """The stock at ``at``: the last count, with later purchases and losses, less the amounts of batches begun since.

    Items for which ``is_counted`` is false, such as tap water, are left out.
    """
    known = sorted((each for each in lines if each.at <= at), key=lambda each: each.at)
    used = [(each.begun, item, mass) for each in batches if each.begun <= at for item, mass in each.used]
    items = dict.fromkeys([*(each.item for each in known), *(item for _, item, _ in used)])
    found = []
    for item in filter(is_counted, items):
        own = [each for each in known if each.item == item]
        last = next((number for number in range(len(own) - 1, -1, -1) if own[number].counted), None)
        since = own[last].at if last is not None else datetime.datetime.min
        gone = sum(mass for begun, name, mass in used if name == item and begun > since)
        mass = None
        if last is not None:
            counted = own[last].counted
            mass = counted.low if counted else 0.0
            mass += sum(_change(each) for each in own[last + 1 :]) - gone
        found.append(OnShelf(item=item, mass=mass, counted_at=since if last is not None else None, used=gone))
    return tuple(sorted(found, key=lambda each: each.item.casefold()))


def still_to_buy(needed: Iterable[Needed], shelf: Iterable[OnShelf]) -> tuple[Needed, ...]:
    """The needed amounts beyond the stock. Of an item that was never counted all is bought."""
    have = {each.item: max(each.mass or 0.0, 0.0) for each in shelf}
    missing = (replace(each, mass=each.mass - have.get(each.item, 0.0)) for each in needed)
    return tuple(each for each in missing if each.mass > 1e-6)


def _change(each: StockLine) -> float:
    return (each.bought.low if each.bought else 0.0) - (each.lost.low if each.lost else 0.0)
