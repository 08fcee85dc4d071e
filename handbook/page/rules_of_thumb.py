"""Rules of thumb of the trade, for comparison with the computed times. Common practice, no source."""

from __future__ import annotations

from handbook.base.formats import format_length, format_time
from handbook.page.method import Method
from handbook.page.salting import Salting

CURE_PER_DAY = 0.00635  # m per day from each open side; two days are added at the end
POUNDS_PER_KG = 2.2046
#: Classes of food that the trade cures by the day and the quarter inch.
_CURED = ("pork", "beef", "lamb", "game", "poultry")


def rule_of_thumb(method: Method, salting: Salting, food_class: str) -> str:
    """Text of the rule of thumb for this kind of salting; empty where there is none."""
    thickness = method.pieces.thickness.middle
    if salting.kind in ("dry cure", "equilibrium") and food_class in _CURED:
        sides = 1 if method.pieces.skin != "off" else 2
        days = thickness / sides / CURE_PER_DAY + 2
        side = "the open side" if sides == 1 else "each side"
        return f"a quarter inch (6 mm) a day from {side} and two days more: {format_time(days * 86400)} for {format_length(thickness)}"
    if salting.kind == "immersion" and food_class == "fish":
        return "pieces of 19 to 25 mm lie in a strong, fridge-cold brine for at least 12 h and up to a day"
    if salting.kind == "immersion" and food_class == "poultry" and method.pieces.shape == "bird" and method.pieces.mass:
        hours = method.pieces.mass.middle * POUNDS_PER_KG
        return f"an hour for each pound, so about {format_time(hours * 3600)} for this piece"
    return ""
