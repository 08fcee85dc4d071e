"""The only unit registry: pint's own table and the kitchen measures.

Pint takes a quarter of a small command's time, so ``units.py`` imports this module when it reads the first unit.
"""

from __future__ import annotations

import pint

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
