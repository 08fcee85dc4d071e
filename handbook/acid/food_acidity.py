"""A food's own pH and the sugars that a ferment can sour, from the engine's table."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from handbook.base.csv_rows import cited, number, read_table
from handbook.base.ranges import Range


@dataclass(frozen=True, kw_only=True)
class FoodAcidity:
    """What acid meets in a food: its own pH with its range, and its sugars in kg/kg; ``source`` and ``trust`` of both."""

    name: str
    ph: Range
    sugars: float
    source: str
    trust: str


@lru_cache(maxsize=1)
def food_acidities() -> dict[str, FoodAcidity]:
    """Every row by the name of its food.

    No equation: it reads the table.

    Returns
    -------
    dict of name to FoodAcidity

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
