"""Foods: what a raw piece is made of."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

FOOD_CLASSES = ("fish", "shellfish", "poultry", "pork", "beef", "lamb", "game", "egg", "cheese", "tofu", "vegetable")
SALT_PER_SODIUM = 58.443 / 22.990  # NaCl / Na, from standard atomic weights


@dataclass(frozen=True)
class Food:
    """Composition of the raw food as fractions of green weight; density in kg/m3; ``source`` is a key."""

    name: str
    food_class: str
    water: float
    fat: float
    protein: float
    carbohydrate: float
    ash: float
    sodium: float
    density: float
    ndb_number: str
    allergen: str
    is_scombroid: bool
    source: str

    @property
    def native_salt(self) -> float:
        """The food's own sodium counted as salt, a fraction of green weight: an upper bound."""
        return self.sodium * SALT_PER_SODIUM


@lru_cache
def load() -> tuple[Food, ...]:
    """All foods of the engine."""
    return tuple(
        Food(
            row["name"],
            row["food_class"],
            *(float(row[part]) for part in ("water", "fat", "protein", "carbohydrate", "ash")),
            float(row["sodium_mg_per_100g"]) * 1e-5,
            float(row["density_kg_m3"]),
            row["ndb_number"],
            row["allergen"],
            row["scombroid"] == "yes",
            row["source"],
        )
        for row in read_table("foods.csv")
    )


def read_table(name: str) -> list[dict[str, str]]:
    """Rows of one of the engine's CSV tables, comment lines left out."""
    lines = files("handbook.data").joinpath(name).read_text("utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))
