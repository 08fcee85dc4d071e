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
#: Foods of plants that lie in a brine or a juice of their own.
PLANTS = ("vegetable", "fruit", "pulse")
#: Foods other than muscle: they keep their weight in brine and lose no juice.
FIRM = tuple(each for each in FOOD_CLASSES if each not in FLESH)

#: Words in the names of organ meats. Tongue, heart and gizzard are muscle and count as meat (9 CFR 301.2, from memory).
_MUSCLE_ORGANS = frozenset({"tongue", "heart", "gizzard"})
_VISCERA = frozenset({
    "liver", "kidney", "sweetbread", "thymus", "pancreas", "tripe", "stomach", "maw", "chitterling", "intestine", "spleen",
    "lung", "brain", "offal", "pluck", "giblet", "haggis",
})  # fmt: skip
#: Words in the names of plants that are poisonous raw, of wild plants that are confused with poisonous ones, and of
#: sprouted seeds; common knowledge, no source, and not complete.
_POISONOUS = (
    "cassava", "manioc", "yuca", "bamboo", "taro", "lupin", "castor", "wild", "chanterelle", "morel", "bolete",
    "elderberr", "bitter almond", "apricot kernel", "fiddlehead", "bracken", "ackee", "pokeweed", "cycad", "bean sprout",
    "alfalfa", "seed sprout", "sprouted",
)  # fmt: skip
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
    """Whether the food is pork belly, by any word for it. Cured in one piece it is bacon, which has its own limits."""
    return food.food_class == "pork" and bool(_words(food) & {"belly", "side", "flitch", "streaky", "bacon"})


def is_organ(food: Food) -> bool:
    """Whether the food is an organ meat (variety meat), by any word of its name."""
    return food.food_class in MEAT and bool(_words(food) & (_MUSCLE_ORGANS | _VISCERA))


def is_viscera(food: Food) -> bool:
    """Whether the food is an organ that is not muscle. Limits for cuts of meat do not apply to it."""
    return food.food_class in MEAT and bool(_words(food) & _VISCERA)


def is_roe(food: Food) -> bool:
    """Whether the food is the roe of a fish. It counts as fish (21 CFR 123.3, and the Food Code in the same words)."""
    return food.food_class == "fish" and food.name.startswith("fish roe")


def is_loose_roe(food: Food) -> bool:
    """Whether the food is roe that is removed from its skein and rinsed."""
    return is_roe(food) and "loose" in food.name


def is_olive(food: Food) -> bool:
    """Whether the food is an olive, the only low-acid fruit for whose brine this handbook has a document."""
    return food.food_class == "fruit" and "olive" in _words(food)


def raw_poison(food: Food) -> str:
    """The word of a plant's name that indicates a poison of its own or germs in its seed; "" for other food."""
    if food.food_class in ("vegetable", "fruit", "nut", "pulse"):
        return next((each for each in _POISONOUS if each in food.name.casefold()), "")
    return ""


def is_kidney_bean(food: Food) -> bool:
    """Whether the food is a kidney bean, whose poison only boiling destroys."""
    return food.food_class == "pulse" and "kidney bean" in food.name


def is_tuna(food: Food) -> bool:
    """Whether the food is a tuna, by its name."""
    return food.food_class == "fish" and food.name.startswith("tuna")


def is_nitrite_fish(food: Food) -> bool:
    """Whether the food additive regulation names the fish for nitrite: salmon, sablefish, shad."""
    return food.food_class == "fish" and food.name.startswith(_NITRITE_FISH)


def _words(food: Food) -> frozenset[str]:
    return frozenset(each.rstrip("s") for each in food.name.casefold().replace(",", " ").split())
