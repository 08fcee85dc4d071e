"""The shopping list of a day: food and ingredients of all methods together, in packs as sold, with prices.

An item without a pack size is bought by weight; an item without a price is listed as unpriced.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import ceil

from msgspec import Struct, field

from handbook.base.units import Quantity
from handbook.catalogue.ingredients import Ingredient
from handbook.days.day_plan import Wish
from handbook.page.house import House
from handbook.page.measures import weighed
from handbook.report.method_report import Report
from handbook.report.mixtures import MixtureReport


class Bought(Struct, frozen=True, kw_only=True):
    """One item: its need, packs and their size as written, kg bought, price or None.

    ``packs`` is 0 for an item bought by weight.
    """

    need: Needed
    packs: int
    pack_text: str
    bought: float
    price: float | None


class Shopping(Struct, frozen=True, kw_only=True):
    """The list: foods first, then ingredients by name. ``total`` is the sum of the known prices."""

    lines: tuple[Bought, ...]
    total: float

    @property
    def unpriced(self) -> tuple[str, ...]:
        """Items without a price in the house file."""
        return tuple(each.need.item for each in self.lines if each.price is None)


class Needed(Struct, frozen=True, kw_only=True):
    """One item in kg, the methods that need it and, of an ingredient, kg per m3 (low, typical, high) where known.

    ``mass`` is the upper end of the weight of spoons and cups.
    """

    item: str
    is_food: bool
    mass: float
    methods: tuple[str, ...]
    kg_per_m3: tuple[float, float, float] | None


def shopping(wishes: tuple[Wish, ...], reports: dict[str, Report], house: House) -> Shopping:
    """The shopping list of all wishes, without water."""
    return shopping_of(needed_items(wishes, reports), house)


def shopping_of(items: Iterable[Needed], house: House) -> Shopping:
    """The shopping list of ``items`` in packs and at prices of ``house``, without computing any method."""
    lines = [_bought(each, house) for each in items]
    lines.sort(key=lambda each: (not each.need.is_food, each.need.item.casefold()))
    return Shopping(lines=tuple(lines), total=sum(each.price for each in lines if each.price is not None))


def needed_items(wishes: tuple[Wish, ...], reports: dict[str, Report]) -> tuple[Needed, ...]:
    """The needs of all wishes together, without water."""
    needed: dict[str, _Need] = {}
    for wish in wishes:
        report = reports[wish.method]
        method = report.method
        factor = wish.batch / method.batches.written_for.low
        title = method.front_matter.title
        for food, mass in report.food_masses:
            needed.setdefault(food, _Need(None)).add(mass * factor, title)
        mixtures: tuple[MixtureReport, ...] = (*report.saltings, *report.glazes)
        for part in (part for each in mixtures for part in each.made.scaled(factor).parts):
            need = needed.setdefault(part.ingredient.name, _Need(part.ingredient))
            need.add(part.mass.high, title)
    return tuple(
        Needed(
            item=name,
            is_food=need.ingredient is None,
            mass=need.mass,
            methods=tuple(need.titles),
            kg_per_m3=need.ingredient.kg_per_m3 if need.ingredient else None,
        )
        for name, need in needed.items()
        if not name.startswith("water")
    )


class _Need(Struct):
    """How much of one item is needed, and for which methods; a food has no ingredient."""

    ingredient: Ingredient | None
    mass: float = 0.0
    titles: list[str] = field(default_factory=list)

    def add(self, mass: float, title: str) -> None:
        self.mass += mass
        if title not in self.titles:
            self.titles.append(title)


def _bought(need: Needed, house: House) -> Bought:
    mass = need.mass
    pack = house.planning.pack_of(need.item) if house.planning else None
    size = _mass_of(pack.size, need) if pack else None
    if pack and size:
        packs = ceil(mass / size - 1e-9)
        bought, text = packs * size, pack.size.text
    else:
        packs, text = 0, ""
        rounded = weighed(mass, house).mass
        step = (house.fine_scale_step if mass < house.fine_scale_limit.low else house.scale_step).low
        bought = rounded if rounded >= mass - 1e-9 else rounded + step
    return Bought(
        need=need,
        packs=packs,
        pack_text=text,
        bought=bought,
        price=_price(need, bought, house),
    )


def _mass_of(size: Quantity, need: Needed) -> float | None:
    """Mass in kg of one pack (the minimum for a volume); None where the density is unknown."""
    if size.dimension == "mass":
        return size.low
    return size.low * need.kg_per_m3[0] if need.kg_per_m3 else None


def _price(need: Needed, mass: float, house: House) -> float | None:
    price = house.price_of(need.item)
    if price is None:
        return None
    if price[1] == "mass":
        return price[0] * mass
    return price[0] * mass / need.kg_per_m3[1] if need.kg_per_m3 else None
