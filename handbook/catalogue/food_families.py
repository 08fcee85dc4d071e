"""Families of foods, defined once for models, rules and data.

A family is a tuple of food classes (see foods.FOOD_CLASSES): ``food.food_class in FISH``.
"""

from __future__ import annotations

from handbook.catalogue.foods import FOOD_CLASSES, Food

#: Fish and shellfish: the scope of the rules for seafood.
FISH = ("fish", "shellfish")
#: Meat of four-footed animals. Game counts as uninspected.
RED_MEAT = ("pork", "beef", "lamb", "game")
#: Red meat and poultry, as the regulations on curing use the words.
MEAT = (*RED_MEAT, "poultry")
#: Muscle: it loses juice when heated or thawed, and gains or loses weight in brine.
FLESH = (*FISH, *MEAT)
#: Foods that are a raw-food risk until they are cooked through.
RISKY_RAW = (*FLESH, "egg")
#: Foods other than muscle: they keep their weight in brine and lose no juice.
FIRM = tuple(each for each in FOOD_CLASSES if each not in FLESH)

_NITRITE_FISH = ("salmon", "sablefish", "shad")  # 21 CFR 172.175(a)(2)


#: First words of the names of farmed fish; common practice, no source. Any other fish counts as caught, whatever a page
#: states.
_FARMED = (
    "salmon, Atlantic", "salmon, chinook", "salmon, coho", "trout", "char", "sturgeon", "eel", "carp", "tilapia",
    "catfish", "halibut", "turbot", "sea bass", "sea bream", "barramundi", "amberjack", "yellowtail", "pangasius",
)  # fmt: skip


def is_farmed_species(food: Food) -> bool:
    """Whether fish of this name is farmed at all and not named as wild."""
    return food.food_class == "fish" and food.name.startswith(_FARMED) and food.parasite_risk != "wild"


def is_belly(food: Food) -> bool:
    """Whether the food is pork belly. Cured in one piece it is bacon, which has its own limits."""
    return food.food_class == "pork" and "belly" in food.name


def is_tuna(food: Food) -> bool:
    """Whether the food is a tuna, by its name."""
    return food.food_class == "fish" and food.name.startswith("tuna")


def is_nitrite_fish(food: Food) -> bool:
    """Whether the food additive regulation names the fish for nitrite: salmon, sablefish, shad."""
    return food.food_class == "fish" and food.name.startswith(_NITRITE_FISH)
