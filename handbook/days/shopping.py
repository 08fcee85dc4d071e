"""What to buy for a day: every method's food and ingredients together, in amounts that are sold, with prices.

Nothing is guessed: without a pack size an item is bought by weight, without a price it is named as not priced.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from handbook.catalogue.ingredients import Ingredient
from handbook.days.day_plan import Wish
from handbook.page.house import House
from handbook.page.measures import weighed
from handbook.report.evaluate import Report


@dataclass(frozen=True, kw_only=True)
class Bought:
    """One item: kg needed, the methods that need it, packs and their size as written, kg bought, price or None.

    ``needed`` is the high end of what spoons and cups may weigh. ``packs`` is 0 where it is bought by weight.
    """

    item: str
    is_food: bool
    needed: float
    methods: tuple[str, ...]
    packs: int
    pack_text: str
    bought: float
    price: float | None


@dataclass(frozen=True, kw_only=True)
class Shopping:
    """The whole list: foods first, then ingredients by name. ``total`` is of what has a price."""

    lines: tuple[Bought, ...]
    total: float

    @property
    def unpriced(self) -> tuple[str, ...]:
        """Items that the house states no price for."""
        return tuple(each.item for each in self.lines if each.price is None)


def shopping(wishes: tuple[Wish, ...], reports: dict[str, Report], house: House) -> Shopping:
    """The shopping list of all wishes; water comes from the tap and is left out."""
    needed: dict[str, list] = {}
    for wish in wishes:
        report = reports[wish.method]
        method = report.method
        factor = wish.batch / method.batches.written_for.low
        _add(needed, method.sheet.food, None, wish.batch, method.sheet.title)
        for mixture in (*report.saltings, *report.glazes):
            for part in mixture.made.scaled(factor).parts:
                _add(needed, part.ingredient.name, part.ingredient, part.mass.high, method.sheet.title)
    lines = [_bought(name, *entry, house) for name, entry in needed.items() if not name.startswith("water")]
    lines.sort(key=lambda each: (not each.is_food, each.item.casefold()))
    return Shopping(lines=tuple(lines), total=sum(each.price for each in lines if each.price is not None))


def _add(needed: dict, name: str, ingredient: Ingredient | None, mass: float, title: str) -> None:
    entry = needed.setdefault(name, [ingredient, 0.0, []])
    entry[1] += mass
    if title not in entry[2]:
        entry[2].append(title)


def _bought(name: str, ingredient: Ingredient | None, mass: float, titles: list[str], house: House) -> Bought:
    pack = house.planning.pack_of(name) if house.planning else None
    size = _mass_of(pack.size, ingredient) if pack else None
    if size:
        packs = ceil(mass / size - 1e-9)
        bought, text = packs * size, pack.size.text
    else:
        packs, text = 0, ""
        rounded = weighed(mass, house).mass
        step = (house.fine_scale_step if mass < house.fine_scale_limit.low else house.scale_step).low
        bought = rounded if rounded >= mass - 1e-9 else rounded + step
    return Bought(
        item=name,
        is_food=ingredient is None,
        needed=mass,
        methods=tuple(titles),
        packs=packs,
        pack_text=text,
        bought=bought,
        price=_price(name, ingredient, bought, house),
    )


def _mass_of(size, ingredient: Ingredient | None) -> float | None:
    """Mass in kg of one pack; a volume counts as little as it may weigh. None where that is not known."""
    if size.dimension == "mass":
        return size.low
    if ingredient is None or not ingredient.kg_per_m3:
        return None
    return size.low * ingredient.kg_per_m3[0]


def _price(name: str, ingredient: Ingredient | None, mass: float, house: House) -> float | None:
    price = house.price_of(name)
    if price is None:
        return None
    if price[1] == "mass":
        return price[0] * mass
    if ingredient is None or not ingredient.kg_per_m3:
        return None
    return price[0] * mass / ingredient.kg_per_m3[1]
