"""Rounding to what a cook can measure: the steps of a scale, and cups and spoons."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from handbook.house import House
from handbook.ingredients import Ingredient
from handbook.units import kitchen_volume

_CUP_PARTS = (0, 1 / 4, 1 / 3, 1 / 2, 2 / 3, 3 / 4)
_SPOON_PARTS = (0, 1 / 4, 1 / 2, 3 / 4)
_SIGNS = {1 / 8: "⅛", 1 / 4: "¼", 1 / 3: "⅓", 1 / 2: "½", 2 / 3: "⅔", 3 / 4: "¾"}
GOOD_ENOUGH = 0.02  # a shorter measure is taken when it errs by no more than this


@dataclass(frozen=True)
class Weighed:
    """A mass in kg on the steps of the house's scale, and the relative error that the rounding causes."""

    mass: float
    error: float


@dataclass(frozen=True)
class Household:
    """A mass in cups and spoons: the words, the error of rounding, and the spread of the filling itself."""

    text: str
    rounding_error: float
    spread: float
    is_off: bool


def weighed(mass: float, house: House) -> Weighed:
    """``mass`` in kg rounded to the scale step that the house uses for it."""
    fine = mass < house.fine_scale_limit.low
    step = (house.fine_scale_step if fine else house.scale_step).low
    rounded = round(mass / step) * step
    return Weighed(rounded, (rounded - mass) / mass if mass else 0.0)


def household(mass: float, ingredient: Ingredient, house: House) -> Household | None:
    """``mass`` of an ingredient in the house's cups and spoons, or None where no cup weight is known.

    ``is_off`` when rounding and the spread of filling together pass the house's tolerance.
    """
    if ingredient.kg_per_m3 is None or mass <= 0:
        return None
    low, typical, high = ingredient.kg_per_m3
    text, error = nearest_measure(mass / typical, house.measures)
    spread = max(high / typical - 1, 1 - low / typical)
    return Household(text, error, spread, abs(error) + spread > house.household_tolerance.low)


@lru_cache(maxsize=8192)
def nearest_measure(volume: float, measures: str) -> tuple[str, float]:
    """The cups and spoons nearest to ``volume`` m3, fewest of them within 2 %, and the relative error."""
    tsp, tbsp, cup = (kitchen_volume(name, measures) for name in ("tsp", "tbsp", "cup"))
    if volume < tsp / 16:
        return "less than ⅛ tsp", 0.0
    best: tuple[float, float, str] | None = None
    for pieces, measured, text in _candidates(volume, tsp, tbsp, cup):
        error = abs(measured - volume) / volume
        rank = (pieces + (0 if error <= GOOD_ENOUGH else 10), error, text, measured)
        if best is None or rank < best:
            best = rank
    return best[2], (best[3] - volume) / volume


def _candidates(volume: float, tsp: float, tbsp: float, cup: float):
    for eighths in range(1, 8):
        yield 1, eighths / 8 * tsp, f"{_words(eighths / 8)} tsp" if eighths / 8 in _SIGNS else f"{eighths} × ⅛ tsp"
    for whole in range(0, 4):
        for part in _SPOON_PARTS:
            if 0 < whole + part <= 3:
                yield 1, (whole + part) * tsp, f"{_words(whole + part)} tsp"
    for spoons in range(1, 5):
        for extra in (0, 1 / 2, 1, 3 / 2, 2):
            yield 1 + bool(extra), spoons * tbsp + extra * tsp, f"{spoons} tbsp" + (f" + {_words(extra)} tsp" if extra else "")
    near = int(volume / cup)
    for whole in range(max(near - 1, 0), near + 2):
        for part in _CUP_PARTS:
            if whole + part == 0:
                continue
            name = "cup" if whole + part <= 1 else "cups"
            for spoons in range(0, 4):
                yield (1 + bool(spoons), (whole + part) * cup + spoons * tbsp,
                       f"{_words(whole + part)} {name}" + (f" + {spoons} tbsp" if spoons else ""))


def _words(number: float) -> str:
    whole = int(number)
    sign = next((sign for part, sign in _SIGNS.items() if abs(number - whole - part) < 1e-9), "")
    return f"{whole or ''}{sign}" if sign else str(whole)
