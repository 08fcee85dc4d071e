"""Ingredients: weight of a cup, and content of water, salt, sugar and nitrite."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

from msgspec import Struct

from handbook.base import csv_rows as rows
from handbook.base.csv_rows import Row
from handbook.base.errors import RangeError, UnitError
from handbook.catalogue.foods import ALLERGENS, NONE

US_CUP = 236.5882365e-6  # m3, the cup of the tabulated household weights
KINDS = ("salt", "curing salt", "sugar", "syrup", "liquid", "seasoning", "spice", "additive")
DENSITY_CLASSES = ("bulk", "liquid", "paste", "count")
#: Marks in a house's own row that its salt is unknown.
UNKNOWN = "unknown"
_CUP_ENDS = ("g_per_cup_low", "g_per_cup", "g_per_cup_high")
_CONTENTS = ("water", "salt", "sugars", "nitrite", "nitrate")


class Ingredient(Struct, frozen=True, kw_only=True):
    """One ingredient. Fractions by mass; ``kg_per_m3`` and ``piece_mass`` (kg) are (low, typical, high) or None.

    ``salt`` is sodium chloride; ``nitrite`` and ``nitrate`` are the sodium salts. ``water`` excludes acid and alcohol.
    ``density_class`` is the kind of filling of a cup: bulk, liquid or paste, or count for ingredients counted by the
    piece.
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
    #: Its maker states no salt; ``salt`` is then 0, and no figure of salt may be computed from it.
    is_salt_unknown: bool = False
    #: The house's other names for it (other_names.csv).
    house_names: tuple[str, ...] = ()

    def mass_of_volume(self, volume: float) -> tuple[float, float, float]:
        """Mass in kg (low, typical, high) of ``volume`` m3, level.

        Raises UnitError where the weight of a cup is unknown and RangeError for a negative volume.
        """
        if self.kg_per_m3 is None:
            raise UnitError(f"a volume of {self.name}", "a mass: no weight of a cup is known")
        if not volume >= 0:
            raise RangeError("volume", volume, "0 or more")
        low, typical, high = self.kg_per_m3
        return low * volume, typical * volume, high * volume


def load(extra_rows: Iterable[Row] = ()) -> tuple[Ingredient, ...]:
    """All ingredients of the engine and of a house. ``extra_rows`` have the columns of the engine's table.

    A house row replaces the engine's row of the same name. It needs name, kind, source and trust. Blank fractions are
    0; an ingredient with blank cups must be weighed. Raises UnitError for a wrong column or word, RangeError for a
    number out of range or contents above 1.
    """
    return rows.merged(_own(), map(_ingredient, extra_rows))


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
        kg_per_m3=(cups[0] / 1000 / US_CUP, cups[1] / 1000 / US_CUP, cups[2] / 1000 / US_CUP) if cups else None,
        pack_state=rows.text(row, "pack_state"),
        water=contents["water"],
        salt=contents["salt"],
        sugars=contents["sugars"],
        sodium=rows.number(row, "sodium_mg_per_100g", 0, 100000, 0.0) * 1e-5,
        nitrite=contents["nitrite"],
        nitrate=contents["nitrate"],
        piece_mass=(pieces[0] / 1000, pieces[1] / 1000, pieces[2] / 1000) if pieces else None,
        allergens=() if rows.text(row, "allergen") == NONE else rows.words(row, "allergen", ALLERGENS),
        is_salt_unknown=rows.text(row, "salt") == UNKNOWN,
        source=source,
        trust=trust,
        ndb_number=rows.text(row, "ndb_number"),
        density_class=rows.word(row, "density_class", ("", *DENSITY_CLASSES)),
    )


def _contents(row: Row, kind: str) -> dict[str, float]:
    """Fractions by name. Only the kind curing salt may contain nitrite or nitrate, because the dose checks use the kind."""
    name = rows.text(row, "name")
    if rows.text(row, "salt") == UNKNOWN and kind not in ("salt", "curing salt"):
        row = {**row, "salt": ""}
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
    """Low, typical and high in grams; empty where all cells are empty."""
    if not any(cells):
        return []
    if len(cells) != 3:
        raise UnitError(f"{rows.text(row, 'name')}: {column}: {' '.join(cells)}", "low, typical and high in grams")
    grams = [rows.number({**row, column: cell}, column, 0.001, highest) for cell in cells]
    if not grams[0] <= grams[1] <= grams[2]:
        raise UnitError(f"{rows.text(row, 'name')}: {column}: {' '.join(cells)}", "low, typical and high, rising")
    return grams
