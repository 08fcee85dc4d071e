"""Foods: composition of the raw food."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from typing import Any

from msgspec import Struct

from handbook.base import csv_rows as rows
from handbook.base.csv_rows import Row
from handbook.base.errors import RangeError
from handbook.catalogue.thermal_properties import Composition, density

FOOD_CLASSES = (
    "fish", "shellfish", "poultry", "pork", "beef", "lamb", "game", "egg", "cheese", "tofu", "vegetable", "fruit", "nut",
    "pulse",
)  # fmt: skip
#: Names of the usual lists of allergens (from memory), including those of ingredients. Lists differ in whether they
#: name wheat or gluten, so both are here.
ALLERGENS = (
    "fish", "crustacean", "mollusc", "milk", "egg", "soy", "wheat", "gluten", "celery", "mustard", "sesame", "peanut",
    "nuts", "lupin", "sulphite",
)  # fmt: skip
#: wild, unstated: the fish may carry parasites. farmed: exempt from freezing only with the grower's statement on feed.
#: exempt: exempt by species. Source: [food-code-parasites].
PARASITE_RISKS = ("", "wild", "farmed", "unstated", "exempt")
#: Says in a house's own row that there is none.
NONE = "none"
#: Allergens that a row of the class must name, so that no house file can omit them.
CLASS_ALLERGENS = {
    "fish": ("fish",),
    "shellfish": ("crustacean", "mollusc"),
    "egg": ("egg",),
    "cheese": ("milk",),
    "tofu": ("soy",),
    "nut": ("nuts", "peanut"),
    "pulse": ("soy", "peanut", "lupin", NONE),
}
PARTS = ("water", "fat", "protein", "carbohydrate", "ash")
SALT_PER_SODIUM = 58.443 / 22.990  # NaCl / Na, from standard atomic weights
CHILLED = 278.15  # K, temperature of the tabulated densities


class Food(Struct, frozen=True, kw_only=True):
    """One food. Its parts are fractions of green weight that sum to 1.

    ``density`` is in kg/m3 at 5 degC without pores. ``source`` is the key of a source, ``trust`` one of TRUSTS, and
    ``parasite_risk`` one of PARASITE_RISKS.
    """

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
    trust: str = ""
    parasite_risk: str = ""
    #: The house's other names for it (other_names.csv).
    house_names: tuple[str, ...] = ()

    @property
    def native_salt_fraction(self) -> float:
        """The food's own sodium counted as salt, as a fraction of green weight. An upper bound."""
        return self.sodium * SALT_PER_SODIUM

    @property
    def composition(self) -> Composition:
        """Its parts, as the models of heat read them."""
        return Composition(self.water, self.protein, self.fat, self.carbohydrate, self.ash)


def load(extra_rows: Iterable[Row] = ()) -> tuple[Food, ...]:
    """All foods of the engine and of a house. ``extra_rows`` have the columns of the engine's table.

    A house row replaces the engine's row of the same name. It needs name, food_class, water, fat, protein,
    sodium_mg_per_100g, source, trust and the allergen of its class; fish also needs scombroid, yes or no. A blank
    density is computed. A blank parasite_risk of fish means unstated. Parts that sum to 0.97 to 1.03 are scaled to 1.
    Raises UnitError for a wrong column or word and RangeError for a number out of range.

    >>> own = dict(name="vendace", food_class="fish", water=0.77, fat=0.03, protein=0.185, ash=0.012, scombroid="no",
    ...            sodium_mg_per_100g=50, allergen="fish", source="house-figures", trust="second-hand")
    >>> round(load([own])[-1].density)
    1051
    """
    return rows.merged(_own(), map(_food, extra_rows))


@lru_cache
def _own() -> tuple[Food, ...]:
    return tuple(_food(row) for row in rows.read_table("foods.csv"))


def _food(row: Row) -> Food:
    rows.check_columns(row, "foods.csv")
    food_class = rows.word(row, "food_class", FOOD_CLASSES)
    fractions = _fractions(row)
    source, trust = rows.cited(row)
    by_part: dict[str, Any] = dict(zip(PARTS, fractions, strict=True))
    return Food(
        name=rows.text(row, "name"),
        food_class=food_class,
        **by_part,
        sodium=rows.number(row, "sodium_mg_per_100g", 0, 5000) * 1e-5,
        density=rows.number(row, "density_kg_m3", 800, 1400, 0.0) or float(density(Composition(**by_part), CHILLED)),
        ndb_number=rows.text(row, "ndb_number"),
        allergen=rows.word(row, "allergen", CLASS_ALLERGENS.get(food_class, ("", NONE, *ALLERGENS))).removeprefix(NONE),
        is_scombroid=rows.word(row, "scombroid", ("yes", "no") if food_class == "fish" else ("", "yes", "no")) == "yes",
        source=source,
        trust=trust,
        parasite_risk=rows.word(row, "parasite_risk", PARASITE_RISKS)
        or ("unstated" if food_class in ("fish", "shellfish") else ""),
    )


def _fractions(row: Row) -> list[float]:
    """The parts, scaled to sum to 1. Carbohydrate and ash are optional."""
    parts = [rows.number(row, part, 0, 1, 0.0 if part in ("carbohydrate", "ash") else None) for part in PARTS]
    total = sum(parts)
    if not 0.97 <= total <= 1.03:
        raise RangeError(f"{rows.text(row, 'name')}: sum of {', '.join(PARTS)}", total, "0.97 to 1.03")
    return [part / total for part in parts]
