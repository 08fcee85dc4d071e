"""The only unit registry: pint's own table and the kitchen measures.

Loading pint takes half of a small command's time, and the units that are read are a closed list. Their factors are therefore
kept in ``handbook/data/unit_factors.csv``. Write that table again after a change of a unit; a test compares the two:
``python -m handbook.base.unit_registry > handbook/data/unit_factors.csv``.
"""

from __future__ import annotations

from collections.abc import Iterator

import pint

from handbook.base.units import registered_units

_SI = {"mass": "kg", "volume": "m**3", "length": "m", "time": "s", "temperature": "kelvin", "fraction": ""}
registry: pint.UnitRegistry[float] = pint.UnitRegistry(autoconvert_offset_to_baseunit=True, cache_folder=None)
# Kitchen volumes by country. US customary: exact (231 cubic inches to the gallon). Metric: 250 mL cup.
# Imperial: gallon 4.54609 L exact; cup of 10 fl oz, spoons of 5/8 and 5/24 fl oz (common practice, no source).
for _definition in (
    "us_kitchen_teaspoon = 4.92892159375 mL",
    "us_kitchen_tablespoon = 14.78676478125 mL",
    "us_kitchen_fluid_ounce = 29.5735295625 mL",
    "us_kitchen_cup = 236.5882365 mL",
    "us_kitchen_pint = 473.176473 mL",
    "us_kitchen_quart = 946.352946 mL",
    "us_kitchen_gallon = 3785.411784 mL",
    "metric_kitchen_teaspoon = 5 mL",
    "metric_kitchen_tablespoon = 15 mL",
    "metric_kitchen_cup = 250 mL",
    "imperial_kitchen_teaspoon = 5.919388020833333 mL",
    "imperial_kitchen_tablespoon = 17.7581640625 mL",
    "imperial_kitchen_fluid_ounce = 28.4130625 mL",
    "imperial_kitchen_cup = 284.130625 mL",
    "imperial_kitchen_pint = 568.26125 mL",
    "imperial_kitchen_quart = 1136.5225 mL",
    "imperial_kitchen_gallon = 4546.09 mL",
):
    registry.define(_definition)


def factor_lines() -> Iterator[str]:
    """The lines of ``unit_factors.csv``: what one of each unit is in SI, and the SI value of its zero."""
    yield "# What one of each unit is in kg, m3, m, s, K or as a fraction, and the value of its zero, which only temperatures have."
    yield "# Written by pint: python -m handbook.base.unit_registry"
    yield "name,factor,zero"
    for name, dimension in registered_units():
        zero = _si(0.0, name, dimension)
        factor = (
            float(registry.Quantity(1.0, f"delta_{name}").to("kelvin").magnitude) if zero else _si(1.0, name, dimension)
        )
        yield f"{name},{factor!r},{zero!r}"


def _si(number: float, name: str, dimension: str) -> float:
    return float(registry.Quantity(number, name).to(_SI[dimension]).magnitude)


if __name__ == "__main__":
    print("\n".join(factor_lines()))
