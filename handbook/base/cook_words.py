"""Cooks' words for the words of the handbook's short lists, such as "counter" for the place "bench".

A word may have meanings in several lists: "cure" is a stage, a kind of page and a way of salting. A list accepts a word
that has one meaning in it. The fault of a word with several meanings asks which is meant. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Collection

_SAID: dict[str, str] = {
    # What a step does.
    "salt": "ripen brine cure marinate marinade salting brining curing rub inject pump pickle soak wet-brine dry-brine",
    "prepare": "prep mix slice cut trim butcher grind mince stuff chop combine assemble tie weigh fill blend puree finish shred toss crush peel make",
    "rinse": "wash wipe",
    "freshen": "desalt soak de-salt",
    "glaze": "baste brush coat rub mop",
    "smoke": "hot-smoke cold-smoke smoking",
    "cook": "roast bake grill fry boil simmer steam poach blanch braise sear heat barbecue bbq scald confit roasting cooking sausage",
    "cool": "chill cooling chilling",
    "freeze": "freezing",
    "thaw": "defrost thawing",
    "ferment": "fermenting fermentation incubate",
    "dry": "dehydrate drying hang age air-dry",
    "hold": "keep store mature age ripen finish",
    "rest": "equalize equalise stand resting",
    "reheat": "rewarm",
    "pack": "package bag jar bottle can wrap seal packing fill finish",
    "serve": "carve plate serving",
    # Where.
    "bench": "counter worktop countertop table workbench kitchen worktable",
    "fridge": "refrigerator walk-in cooler icebox chiller cold-room",
    "freezer": "deep-freeze cooler",
    "smoker": "smokehouse grill pit barbecue bbq smoke-shed kiln",
    "oven": "combi dehydrator",
    "stove": "stovetop hob range burner cooktop",
    "cellar": "basement curing-chamber drying-chamber",
    "room": "pantry larder shelf",
    # Kinds of page.
    "hot smoke": "sausage smoke smoked hot-smoked barbecue bbq hot-smoking pastrami",
    "cold smoke": "smoke smoked cold-smoked cold-smoking",
    "dry cure": "dry-salt dry-salted cure cured dry-cured rub dry-brine dry-rub curing",
    "brine": "cure cured brined wet-brine marinade corned",
    "pickle": "pickled pickling",
    "dried": "sausage salami jerky dry dried-meat biltong dehydrated",
    # Ways of salting.
    "immersion": "brine wet-brine cure pickle marinade marinate soak brining",
    "equilibrium": "brine",
    "mixed in": "mixed stirred-in minced sausage",
    "injection": "inject pump pumped injected",
    "ferment brine": "ferment",
    "dry-salted ferment": "ferment dry-salt dry-salted",
    # Pieces.
    "slab": "fillet filet steak slice flat",
    "block": "cube dice",
    "cylinder": "log link rope rod",
    "sphere": "ball round",
    "bird": "whole-bird",
    "minced": "ground mince",
    "cut": "sliced diced pieces strips",
    "stuffed": "filled",
    "tenderised": "tenderized bladed needled pierced",
    "natural": "hog sheep beef pork lamb",
    "on": "yes true skin-on",
    "off": "no false skinless skin-off",
    "in": "yes true bone-in",
    "out": "no false boneless",
    # Packs and air.
    "vacuum": "vac vacuum-bag vacuum-sealed bag",
    "wrapped": "foil film cling-film bag",
    "forced": "fan convection",
    "air": "box bag tray",
    "casing": "cased",
    # The house.
    "us": "american usa",
    "retail": "restaurant",
    "commercial": "restaurant plant factory",
    "home": "household",
    "United States": "usa us u.s. u.s america",
    "European Union": "eu e.u.",
}


def meanings(said: str, words: Collection[str]) -> tuple[str, ...]:
    """Those of ``words`` that a cook's ``said`` may mean. Capitals and hyphens do not matter.

    >>> meanings("Counter", ["bench", "fridge"]), meanings("soak", ["salt", "freshen", "cook"])
    (('bench',), ('salt', 'freshen'))
    """
    key = _key(said)
    same = tuple(each for each in words if _key(each) == key)
    return same or tuple(each for each in words if key in map(_key, _SAID.get(each, "").split()))


def _key(said: str) -> str:
    return " ".join(said.casefold().replace("-", " ").split())
