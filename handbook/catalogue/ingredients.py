"""Ingredients: what a cup weighs and what it brings of water, salt, sugar and nitrite."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from handbook.base import csv_rows as rows
from handbook.base.csv_rows import Row
from handbook.base.errors import RangeError, UnitError
from handbook.catalogue.foods import ALLERGENS

US_CUP = 236.5882365e-6  # m3, the cup that the household weights are given for
KINDS = ("salt", "curing salt", "sugar", "syrup", "liquid", "seasoning", "spice", "additive")
DENSITY_CLASSES = ("bulk", "liquid", "paste", "count")
_CUP_ENDS = ("g_per_cup_low", "g_per_cup", "g_per_cup_high")
_CONTENTS = ("water", "salt", "sugars", "nitrite", "nitrate")


@dataclass(frozen=True, kw_only=True)
class Ingredient:
    """One ingredient. Fractions by mass; ``kg_per_m3`` and ``piece_mass`` (kg) as (low, typical, high) or None.

    ``salt`` is sodium chloride; ``nitrite`` and ``nitrate`` are the sodium salts. Water leaves acid and alcohol
    outside. ``density_class`` tells what fills the cup: bulk, liquid, paste, or count for what is told by the piece.
    """

    name: str
    kind: str
    kg_per_m3: tuple[float, float, float] | None
    pack_state: str
    water: float
    salt: float
    sugars: float
    sodium: float
    nitrite: float
    nitrate: float
    piece_mass: tuple[float, float, float] | None
    allergens: tuple[str, ...]
    source: str
    trust: str = ""
    ndb_number: str = ""
    density_class: str = ""

    def mass_of_volume(self, volume: float) -> tuple[float, float, float]:
        """Mass in kg (low, typical, high) of ``volume`` m3, level.

        Raises UnitError where no cup weight is known and RangeError below 0.
        """
        if self.kg_per_m3 is None:
            raise UnitError(f"a volume of {self.name}", "a mass: no weight of a cup is known")
        if not volume >= 0:
            raise RangeError("volume", volume, "0 or more")
        return tuple(density * volume for density in self.kg_per_m3)


def load(extra_rows: Iterable[Row] = ()) -> tuple[Ingredient, ...]:
    """All ingredients of the engine, and those of a house: mappings with the columns of the engine's table.

    A house's row takes the place of the engine's of that name. It needs name, kind, source and trust; blank fractions
    are 0, blank cups mean that it must be weighed. Raises UnitError for a wrong column or word, RangeError for a
    number out of range or contents above 1.
    """
    extra = [_ingredient(row) for row in extra_rows]
    return rows.merged(_own(), extra) if extra else _own()


@lru_cache
def _own() -> tuple[Ingredient, ...]:
    return tuple(_ingredient(row) for row in rows.read_table("ingredients.csv"))


def _ingredient(row: Row) -> Ingredient:
    rows.check_columns(row, "ingredients.csv")
    kind = rows.word(row, "kind", KINDS)
    contents = _contents(row, kind)
    source, trust = rows.cited(row)
    cups = _rising(row, "g_per_cup", [rows.text(row, end) for end in _CUP_ENDS], 1000)
    pieces = _rising(row, "piece_g", rows.text(row, "piece_g").split(), 10000)
    return Ingredient(
        name=rows.text(row, "name"),
        kind=kind,
        kg_per_m3=tuple(grams / 1000 / US_CUP for grams in cups) if cups else None,
        pack_state=rows.text(row, "pack_state"),
        water=contents["water"],
        salt=contents["salt"],
        sugars=contents["sugars"],
        sodium=rows.number(row, "sodium_mg_per_100g", 0, 100000, 0.0) * 1e-5,
        nitrite=contents["nitrite"],
        nitrate=contents["nitrate"],
        piece_mass=tuple(grams / 1000 for grams in pieces) if pieces else None,
        allergens=rows.words(row, "allergen", ALLERGENS),
        source=source,
        trust=trust,
        ndb_number=rows.text(row, "ndb_number"),
        density_class=rows.word(row, "density_class", ("", *DENSITY_CLASSES)),
    )


def _contents(row: Row, kind: str) -> dict[str, float]:
    """Fractions by name. Only curing salt holds nitrite or nitrate: what guards its dose goes by its kind."""
    name = rows.text(row, "name")
    contents = {part: rows.number(row, part, 0, 1, 0.0) for part in _CONTENTS}
    total = sum(contents.values())
    if total > 1 + 1e-9:
        raise RangeError(f"{name}: sum of {', '.join(_CONTENTS)}", total, "at most 1")
    cures = contents["nitrite"] > 0 or contents["nitrate"] > 0
    if cures and kind != "curing salt":
        raise UnitError(f"{name}: {kind} with nitrite or nitrate", "the kind curing salt")
    if kind == "curing salt" and not cures:
        raise UnitError(f"{name}: curing salt of unknown strength", "its fraction of nitrite or nitrate")
    return contents


def _rising(row: Row, column: str, cells: list[str], highest: float) -> list[float]:
    """Low, typical and high in grams, or nothing where all cells are empty."""
    if not any(cells):
        return []
    if len(cells) != 3:
        raise UnitError(f"{rows.text(row, 'name')}: {column}: {' '.join(cells)}", "low, typical and high in grams")
    grams = [rows.number({**row, column: cell}, column, 0.001, highest) for cell in cells]
    if not grams[0] <= grams[1] <= grams[2]:
        raise UnitError(f"{rows.text(row, 'name')}: {column}: {' '.join(cells)}", "low, typical and high, rising")
    return grams
