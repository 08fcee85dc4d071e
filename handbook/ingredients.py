"""Ingredients: what a cup weighs and what it brings of water, salt, sugar and nitrite."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from handbook.foods import read_table

US_CUP = 236.5882365e-6  # m3, the cup that the household weights are given for


@dataclass(frozen=True)
class Ingredient:
    """One ingredient. Fractions by mass; ``kg_per_m3`` and ``piece_mass`` (kg) as (low, typical, high) or None."""

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

    def mass_of_volume(self, volume: float) -> tuple[float, float, float]:
        """Mass in kg (low, typical, high) of ``volume`` m3, level. Raises ValueError where no cup weight is known."""
        if self.kg_per_m3 is None:
            raise ValueError(f"{self.name} has no cup weight")
        return tuple(density * volume for density in self.kg_per_m3)


@lru_cache
def load() -> tuple[Ingredient, ...]:
    """All ingredients of the engine."""
    return tuple(_ingredient(row) for row in read_table("ingredients.csv"))


def _ingredient(row: dict[str, str]) -> Ingredient:
    cups = [row[end] for end in ("g_per_cup_low", "g_per_cup", "g_per_cup_high")]
    pieces = row["piece_g"].split()
    return Ingredient(
        row["name"],
        row["kind"],
        tuple(float(grams) / 1000 / US_CUP for grams in cups) if all(cups) else None,
        row["pack_state"],
        *(float(row[part]) for part in ("water", "salt", "sugars")),
        float(row["sodium_mg_per_100g"]) * 1e-5,
        float(row["nitrite"]),
        float(row["nitrate"]),
        tuple(float(grams) / 1000 for grams in pieces) if pieces else None,
        tuple(row["allergen"].split()),
        row["source"],
    )
