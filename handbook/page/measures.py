"""Rounding to the steps of a scale, and to cups and spoons."""

from __future__ import annotations

from functools import lru_cache

from msgspec import Struct

from handbook.base.units import kitchen_volume
from handbook.catalogue.ingredients import Ingredient
from handbook.page.house import House

#: Fractions of a cup for which there is a measure, with the character of each.
CUP_PARTS = {0: "", 1 / 4: "¼", 1 / 3: "⅓", 1 / 2: "½", 2 / 3: "⅔", 3 / 4: "¾"}
_SIGNS = {1 / 8: "⅛"} | {part: sign for part, sign in CUP_PARTS.items() if sign}
ONLY_WEIGHED = ("curing salt", "additive")
ROUNDING_SHOWN = 0.02  # relative error from which the rounding of a mass to the scale is shown
GOOD_ENOUGH = 0.02  # relative error up to which fewer measures are preferred to a closer result


class Weighed(Struct, frozen=True, kw_only=True):
    """A mass in kg rounded to a step of the house's scale, and the relative error of the rounding."""

    mass: float
    error: float

    @property
    def rounding_is_off(self) -> bool:
        """Whether the error of the rounding is large enough to be shown."""
        return abs(self.error) >= ROUNDING_SHOWN


class Household(Struct, frozen=True, kw_only=True):
    """A mass in cups and spoons: text, relative error of rounding, and relative spread of the filling."""

    text: str
    rounding_error: float
    spread: float
    rounding_is_off: bool
    filling_is_off: bool


def weighed(mass: float, house: House) -> Weighed:
    """``mass`` in kg, rounded to the step of the house's scale for it."""
    fine = mass < house.fine_scale_limit.low
    step = (house.fine_scale_step if fine else house.scale_step).low
    rounded = round(mass / step) * step
    return Weighed(mass=rounded, error=(rounded - mass) / mass if mass else 0.0)


def household(mass: float, ingredient: Ingredient, house: House) -> Household | None:
    """``mass`` in kg of an ingredient in the house's cups and spoons, or None where it must be weighed.

    Curing salts and additives are never given in spoons, because a dose by volume is not safe. Rounding and filling are
    compared with the house's tolerance separately.
    """
    if ingredient.kg_per_m3 is None or mass <= 0 or ingredient.kind in ONLY_WEIGHED:
        return None
    low, typical, high = ingredient.kg_per_m3
    text, error = nearest_measure(mass / typical, house.measures)
    spread = max(high / typical - 1, 1 - low / typical)
    tolerance = house.household_tolerance.low
    return Household(
        text=text,
        rounding_error=error,
        spread=spread,
        rounding_is_off=abs(error) > tolerance,
        filling_is_off=spread > tolerance,
    )


@lru_cache(maxsize=8192)
def nearest_measure(volume: float, measures: str) -> tuple[str, float]:
    """Cups and spoons for ``volume`` m3, and their relative error: the fewest measures within 2 %, else the closest."""
    if volume < kitchen_volume("tsp", measures) / 16:
        return "less than ⅛ tsp", 0.0

    def rank(candidate: tuple[int, int, float, str]) -> tuple[float, ...]:
        pieces, vessel, measured, _ = candidate
        error = round(abs(measured / volume - 1), 9)
        return (0, pieces, vessel, error) if error <= GOOD_ENOUGH else (1, error, pieces, vessel)

    cups = _cup_measures(int(volume / kitchen_volume("cup", measures)), measures)
    _, _, measured, text = min((*spoon_measures(measures), *cups), key=rank)
    return text, measured / volume - 1


@lru_cache
def spoon_measures(measures: str) -> tuple[tuple[int, int, float, str], ...]:
    """All measures in spoons: (number of pieces, vessel: 1 tablespoon or 2 teaspoon, volume in m3, text)."""
    tsp, tbsp = (kitchen_volume(name, measures) for name in ("tsp", "tbsp"))
    found = [
        (1, 2, part / 8 * tsp, f"{_words(part / 8)} tsp" if part / 8 in _SIGNS else f"{part} × ⅛ tsp")
        for part in range(1, 8)
    ]
    found += [(1, 2, quarters / 4 * tsp, f"{_words(quarters / 4)} tsp") for quarters in range(4, 13)]
    for spoons in range(1, 5):
        for extra in (0, 1 / 2, 1, 3 / 2, 2, 5 / 2):
            words = f"{spoons} tbsp" + (f" + {_words(extra)} tsp" if extra else "")
            found.append((1 + bool(extra), 1, spoons * tbsp + extra * tsp, words))
    return tuple(found)


@lru_cache(maxsize=256)
def _cup_measures(near: int, measures: str) -> tuple[tuple[int, int, float, str], ...]:
    """The measures near ``near`` cups, in cups and up to three tablespoons. The vessel is 0."""
    tbsp, cup = (kitchen_volume(name, measures) for name in ("tbsp", "cup"))
    found = []
    for whole in range(max(near - 1, 0), near + 2):
        for part in CUP_PARTS:
            if whole + part == 0:
                continue
            name = "cup" if whole + part <= 1 else "cups"
            for spoons in range(4):
                words = f"{_words(whole + part)} {name}" + (f" + {spoons} tbsp" if spoons else "")
                found.append((1 + bool(spoons), 0, (whole + part) * cup + spoons * tbsp, words))
    return tuple(found)


def _words(number: float) -> str:
    whole = int(number)
    sign = next((sign for part, sign in _SIGNS.items() if abs(number - whole - part) < 1e-9), "")
    return f"{whole or ''}{sign}" if sign else str(whole)
