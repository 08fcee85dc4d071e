"""Mixed foods: the composition of a formula from that of its parts."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from handbook.base.errors import RangeError
from handbook.catalogue.foods import CHILLED, PARASITE_RISKS, PARTS, Food
from handbook.catalogue.thermal_properties import Composition, density

#: The stricter of two parasite risks comes first.
_RISKS = ("wild", "unstated", "farmed", "exempt", "")
assert set(_RISKS) == set(PARASITE_RISKS)


def with_own(food: Food, fat: float | None, water: float | None) -> Food:
    """The food with its own fat and water; the other parts keep their proportions.

    f_i' = f_i (1 - fat - water) / (1 - fat_0 - water_0); with the fat alone, water scales like the other parts

    Raises
    ------
    RangeError   fat and water leave no room, or the food has no other parts to scale
    """
    if fat is None and water is None:
        return food
    own = {part: getattr(food, part) for part in PARTS}
    given = {"fat": fat, "water": water}
    fixed = {part: value for part, value in given.items() if value is not None}
    rest, left = 1 - sum(own[part] for part in fixed), 1 - sum(fixed.values())
    if left < 0 or rest <= 0:
        raise RangeError("fat and water", sum(fixed.values()), "0 to 1 together")
    scale = left / rest
    parts = {part: fixed.get(part, own[part] * scale) for part in PARTS}
    lean = (1 - parts["fat"]) / (1 - own["fat"]) if own["fat"] < 1 else 1.0  # sodium is in the lean
    return replace(food, **parts, sodium=food.sodium * lean, density=float(density(Composition(**parts), CHILLED)))


def mixed_food(parts: Sequence[tuple[Food, float]], main: Food) -> Food:
    """The mixed food of a formula: the composition of all parts by mass, with the name and class of ``main``.

    x = sum(share_i x_i) for water, fat, protein, carbohydrate, ash and sodium;  1 / rho = sum(share_i / rho_i)

    Parameters
    ----------
    parts : (food, share of the batch), shares of about 1 in all
    main : the part that the page is named after

    Notes
    -----
    Source: mass balance (no empirical constant). A mixture forms histamine or carries parasites if one of its parts does.

    Examples
    --------
    Seven parts of pork with 20 % fat and three of back fat with 80 % make 38 % fat:

    >>> from handbook.catalogue.tables import engine_tables
    >>> pork = engine_tables().foods["pork belly"]
    >>> lean, fat = with_own(pork, 0.20, None), with_own(pork, 0.80, None)
    >>> round(mixed_food([(lean, 0.7), (fat, 0.3)], lean).fat, 3)
    0.38
    """
    total = sum(share for _, share in parts)
    shares = [(each, share / total) for each, share in parts]
    mixed = {part: sum(share * getattr(each, part) for each, share in shares) for part in (*PARTS, "sodium")}
    return replace(
        main,
        **mixed,
        density=1 / sum(share / each.density for each, share in shares),
        is_scombroid=any(each.is_scombroid for each, _ in shares),
        parasite_risk=min((each.parasite_risk for each, _ in shares), key=_RISKS.index),
    )
