"""The foods and ingredients of one handbook: the engine's and those that its house adds."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import lru_cache

from msgspec import Struct

from handbook.base.csv_rows import Row
from handbook.catalogue import foods, ingredients
from handbook.catalogue.foods import Food
from handbook.catalogue.ingredients import Ingredient


class Tables(Struct, frozen=True, kw_only=True):
    """Foods and ingredients by name."""

    foods: Mapping[str, Food]
    ingredients: Mapping[str, Ingredient]

    @property
    def salts(self) -> tuple[Ingredient, ...]:
        """All crystal types of salt whose weight per cup is known."""
        return tuple(each for each in self.ingredients.values() if each.kind == "salt" and each.kg_per_m3)


@lru_cache
def engine_tables() -> Tables:
    """The engine's own tables."""
    return tables_with((), ())


def tables_with(own_foods: Iterable[Row], own_ingredients: Iterable[Row]) -> Tables:
    """The engine's tables with the rows of a house. Raises as the loading of its rows does."""
    return Tables(
        foods={each.name: each for each in foods.load(own_foods)},
        ingredients={each.name: each for each in ingredients.load(own_ingredients)},
    )
