"""Looks up the ingredient of a line, and checks ingredient lists against the tables."""

from __future__ import annotations

from collections.abc import Iterable

from handbook.base.errors import PageError
from handbook.catalogue.ingredients import Ingredient
from handbook.catalogue.tables import Tables
from handbook.page.amounts import CurePpm, Gauge, Packed, PieceCount, Share, ToTarget
from handbook.page.salting import Glaze, Salting
from handbook.page.salting import IngredientLine as Line


def find_ingredient(line: Line, tables: Tables) -> Ingredient:
    """The ingredient of a line. ``sugar, brown`` with ``2 cup, packed`` is the packed one. Raises KeyError."""
    filling = line.amount.filling if isinstance(line.amount, Packed) else ""
    for name in (f"{line.item}, {filling}", line.item, f"{line.item}, packed"):
        if name in tables.ingredients:
            return tables.ingredients[name]
    raise KeyError(line.item)


def check_lines(mixtures: Iterable[Salting | Glaze], file: str, tables: Tables) -> list[PageError]:
    """Faults of the ingredient lists: volumes or pieces of unknown weight, and missing fillings."""
    faults = []
    for mixture in mixtures:
        block = "glaze" if isinstance(mixture, Glaze) else "salting"
        has_water = any(
            find_ingredient(line, tables).name.startswith("water") and not _is_of_water(line)
            for line in mixture.ingredients
        )
        for number, line in enumerate(mixture.ingredients, 1):
            if allowed := _allowed(line, block, has_water, tables):
                key = f"{block}.ingredients.{number}.amount"
                faults.append(PageError(file, line.line, key, line.amount.text, allowed))
    return faults


def _is_of_water(line: Line) -> bool:
    return isinstance(line.amount, Share) and line.amount.base == "water"


def _allowed(line: Line, block: str, has_water: bool, tables: Tables) -> str:
    """What is allowed in place of a faulty amount; "" where it has no fault."""
    ingredient, amount = find_ingredient(line, tables), line.amount
    if _is_of_water(line):
        return "" if has_water else "a share of food, or a line of water to take a share of"
    if isinstance(amount, ToTarget | Gauge):
        is_salt = block == "salting" and ingredient.salt
        return "" if is_salt else "an amount: only salt, and in a salting, can be to target or to a reading"
    if isinstance(amount, CurePpm):
        is_cure = block == "salting" and getattr(ingredient, amount.salt)
        return "" if is_cure else f"ppm {amount.salt} only of a curing salt that holds it, and in a salting"
    if isinstance(amount, PieceCount):
        return "" if ingredient.piece_mass else "a mass or a volume: no weight of a piece is known"
    if not isinstance(amount, Packed):
        return ""
    if line.item == "salt":
        return 'a mass, or a volume of a salt whose crystal type is named, such as "salt, fine sea"'
    if line.item not in tables.ingredients and not amount.filling:
        return 'a volume with its filling, such as "1 cup, packed" or "1 cup, loose"'
    return "" if ingredient.kg_per_m3 else "a mass: no weight of a cup is known"
