"""A food's own pH and its fermentable sugars, from the engine's table."""

from __future__ import annotations

from functools import lru_cache

from msgspec import Struct

from handbook.base.csv_rows import cited, number, read_table
from handbook.base.ranges import Range
from handbook.catalogue.food_families import MEAT
from handbook.catalogue.foods import Food


class FoodAcidity(Struct, frozen=True, kw_only=True):
    """A food's own pH with its range, and its sugars in kg/kg; ``source`` and ``trust`` are those of both."""

    name: str
    ph: Range
    sugars: float
    source: str
    trust: str


#: pH of meat and fish some days after the slaughter or catch, by class [food-ph-list].
_FLESH_PH = {
    **dict.fromkeys(MEAT, Range(5.4, 5.7, 6.2)),
    "fish": Range(6.2, 6.5, 7.0),
    "shellfish": Range(6.3, 6.7, 7.2),
}


def food_acidity(food: Food) -> FoodAcidity | None:
    """The row of a food, or that of its class of meat or fish; None where neither is known.

    No equation: it reads the table.

    Parameters
    ----------
    food : Food

    Returns
    -------
    FoodAcidity, or None

    Raises
    ------
    UnitError  never for the engine's own table, whose rows are tested

    Notes
    -----
    Source: [food-ph-list], from memory. Valid for raw food, and for eggs hard cooked.

    Examples
    --------
    >>> from handbook.catalogue.tables import engine_tables
    >>> foods = engine_tables().foods
    >>> food_acidity(foods["cod, Atlantic"]).ph.typical, food_acidity(foods["cheese, feta"])
    (6.5, None)
    """
    found, flesh = food_acidities().get(food.name), _FLESH_PH.get(food.food_class)
    if found is None and flesh is not None:
        return FoodAcidity(name=food.name, ph=flesh, sugars=0.0, source="food-ph-list", trust="from memory")
    return found


@lru_cache(maxsize=1)
def food_acidities() -> dict[str, FoodAcidity]:
    """Every row by the name of its food.

    No equation: it reads the table.

    Returns
    -------
    dict of name to FoodAcidity

    Raises
    ------
    UnitError  never for the engine's own table, whose rows are tested

    Notes
    -----
    A food without a row is unknown. Source: [food-ph-list], from memory. Valid for raw foods; eggs as hard cooked.

    Examples
    --------
    >>> food_acidities()["carrot"].ph.low
    5.9
    """
    found = {}
    for row in read_table("acidity.csv"):
        source, trust = cited(row)
        low, high = (number(row, column, 2.0, 10.0) for column in ("ph_low", "ph_high"))
        found[row["name"]] = FoodAcidity(
            name=row["name"],
            ph=Range(low, 0.5 * (low + high), high),
            sugars=number(row, "sugars", 0.0, 1.0),
            source=source,
            trust=trust,
        )
    return found
