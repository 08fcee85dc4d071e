"""Common words that name an allergen, for finding allergens in the text of a step."""

from __future__ import annotations

import re

#: Allergen -> words. The nine of the United States; the assignment is common practice of labels, no source.
_WORDS = {
    "milk": "butter cream yogurt yoghurt cheese whey ghee creme milk",
    "egg": "egg eggs mayonnaise aioli meringue",
    "fish": "anchovy anchovies roe",
    "crustacean": "shrimp shrimps prawn prawns crab crabs lobster crayfish",
    "tree nuts": "hazelnut hazelnuts almond almonds walnut walnuts pecan pecans cashew cashews pistachio pistachios "
    "macadamia praline marzipan nuts",
    "peanut": "peanut peanuts",
    "wheat": "flour bread breadcrumb breadcrumbs crumbs semolina couscous panko beer",
    "soy": "soy tofu miso tamari edamame",
    "sesame": "sesame tahini",
}
#: The further ones of European law, Regulation (EU) 1169/2011, Annex II.
_WORDS_EUROPE = {
    "celery": "celery celeriac",
    "mustard": "mustard",
    "lupin": "lupin",
    "mollusc": "mussel mussels oyster oysters clam clams squid octopus scallop scallops",
    "gluten": "barley rye malt spelt",
}
_FREE = re.compile(r"\b(?:no|without|never|not|free of)\s+(?:any\s+)?$", re.IGNORECASE)


def allergens_in(text: str, place: str) -> dict[str, str]:
    """Allergen -> the word that names it in ``text``; with the further ones of European law where it applies.

    >>> allergens_in("Press on a crumb of toasted hazelnuts.", "")
    {'tree nuts': 'hazelnuts'}
    """
    table = _WORDS | (_WORDS_EUROPE if place == "European Union" else {})
    found: dict[str, str] = {}
    for allergen, words in table.items():
        pattern = rf"\b({'|'.join(words.split())})\b"
        for match in re.finditer(pattern, text, re.IGNORECASE):
            if not _FREE.search(text[: match.start()]):
                found.setdefault(allergen, match[1])
    return found
