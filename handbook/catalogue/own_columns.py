"""The columns of a house's own tables: foods.csv, ingredients.csv and other_names.csv."""

from __future__ import annotations

from handbook.catalogue.foods import ALLERGENS, CLASS_ALLERGENS, FOOD_CLASSES, PARASITE_RISKS
from handbook.catalogue.ingredients import DENSITY_CLASSES, KINDS

#: Table -> column -> its content. Columns whose text begins with "needed" are required.
COLUMNS: dict[str, dict[str, str]] = {
    "foods": {
        "name": "needed: what pages call it, the thing first, such as vendace or char, Arctic",
        "food_class": f"needed: {', '.join(FOOD_CLASSES)}",
        "water": "needed: share of the raw food's weight, 0 to 1",
        "fat": "needed: share, 0 to 1",
        "protein": "needed: share, 0 to 1",
        "carbohydrate": "share, 0 to 1; left out: 0",
        "ash": "share, 0 to 1; left out: 0. The five shares sum to 0.97 to 1.03",
        "sodium_mg_per_100g": "needed: sodium of the raw food",
        "density_kg_m3": "left out: computed from the shares",
        "ndb_number": "its number in a public table, if it has one",
        "allergen": "needed: "
        + "; ".join(f"{' or '.join(words)} for {each}" for each, words in CLASS_ALLERGENS.items())
        + f"; else none, or one of {', '.join(ALLERGENS)}",
        "scombroid": "needed for fish: yes for mackerels, tunas, herrings and their kin, else no",
        "parasite_risk": f"for fish: {', '.join(filter(None, PARASITE_RISKS))}; left out: unstated",
        "source": "key of a source; left out: the house's own figures",
        "trust": "read, second-hand or from memory; left out: second-hand",
    },
    "ingredients": {
        "name": "needed: what pages call it, the thing first, such as vinegar, rice",
        "kind": f"needed: {', '.join(KINDS)}",
        "g_per_cup_low": "lightest US cup in g, with the next two; left out: it must be weighed",
        "g_per_cup": "usual US cup in g",
        "g_per_cup_high": "heaviest US cup in g",
        "piece_g": "low, usual and high weight of a piece, with blanks between, such as 2 3 5",
        "density_class": ", ".join(DENSITY_CLASSES),
        "pack_state": "how the cup is filled, in words",
        "water": "needed: share of its weight, 0 to 1",
        "salt": "needed: share that is salt, 0 to 1; or unknown: the salt of each page with it is then unknown",
        "sugars": "needed: share that is sugar, 0 to 1",
        "sodium_mg_per_100g": "sodium; left out: 0",
        "nitrite": "sodium nitrite, share; only of the kind curing salt",
        "nitrate": "sodium nitrate, share; only of the kind curing salt",
        "ndb_number": "its number in a public table, if it has one",
        "allergen": f"needed: none, or words with blanks between, of {', '.join(ALLERGENS)}",
        "source": "key of a source; left out: the house's own figures",
        "trust": "read, second-hand or from memory; left out: second-hand",
    },
    "other_names": {
        "name": "needed: what your cooks say, such as laker",
        "means": "needed: the name of a food or ingredient of the handbook or of your own tables",
        "kind": "needed: food or ingredient",
    },
}


def columns_text(table: str) -> list[str]:
    """Lines that explain the columns of ``table``, and the head of its file.

    >>> columns_text("foods")[-1][:22]
    'name,food_class,water,'
    """
    columns = COLUMNS[table]
    width = max(map(len, columns))
    lines = [f"Columns of {table}.csv in the methods folder, in any order; lines that begin with # are comments:"]
    return [*lines, *(f"  {name:<{width}}  {meant}" for name, meant in columns.items()), "", ",".join(columns)]
