"""Weight that food gains or loses in brine, where a page does not state it."""

from __future__ import annotations

from itertools import pairwise

from handbook.base.ranges import Range
from handbook.catalogue.food_families import FIRM

#: Final gain of weight in brine / green weight: (strength, low, typical, high).
#: Meat: estimates that agree with the published signs, gain below about 18 % salt, loss above [brining-gain].
#: Fish: herring gained 10 to 12 % in a day in brines of 10 to 25.5 %, less in the stronger [birkeland-2005]; other fish
#: loses in strong brine (common practice, no source).
#: Cheese: water leaves at 0.5 to 2.4 times the rate at which salt comes in [guinee-fox-1983]; in weak brine neither does.
USUAL_GAIN = {
    "meat": (
        (0.00, 0.00, 0.00, 0.00),
        (0.03, 0.03, 0.06, 0.10),
        (0.06, 0.04, 0.09, 0.14),
        (0.10, 0.02, 0.06, 0.12),
        (0.15, -0.04, 0.02, 0.07),
        (0.20, -0.09, -0.03, 0.02),
        (0.27, -0.15, -0.09, -0.04),
    ),
    "fish": (
        (0.00, 0.00, 0.00, 0.00),
        (0.03, 0.03, 0.06, 0.10),
        (0.06, 0.04, 0.09, 0.14),
        (0.10, 0.02, 0.09, 0.14),
        (0.15, -0.02, 0.07, 0.12),
        (0.20, -0.07, 0.03, 0.12),
        (0.27, -0.12, -0.02, 0.10),
    ),
    "cheese": (
        (0.00, 0.00, 0.00, 0.00),
        (0.10, 0.00, 0.00, 0.00),
        (0.16, -0.03, -0.012, 0.0),
        (0.27, -0.05, -0.02, 0.0),
    ),
}

#: Vegetables and eggs keep their weight within a few percent (estimate of the handbook).
FIRM_GAIN = Range(-0.03, 0.0, 0.03)


def usual_gain(food_class: str, strength: float) -> Range:
    """Usual gain of weight in brine.

    Straight lines between the rows of ``USUAL_GAIN``; the last row beyond them; about nothing for other firm foods.

    Parameters
    ----------
    food_class : str
    strength : float [-]
        Salt / solution, 0 or more.

    Returns
    -------
    Range [kg / kg green weight]

    Notes
    -----
    Source: [brining-gain], [birkeland-2005], [guinee-fox-1983]. Valid for a brine of more than the food's weight.

    Examples
    --------
    >>> usual_gain("pork", 0.10)
    Range(low=0.02, typical=0.06, high=0.12)
    """
    if food_class in FIRM and food_class != "cheese":
        return FIRM_GAIN
    table = USUAL_GAIN.get(food_class, USUAL_GAIN["meat"])
    strength = min(strength, table[-1][0])
    (weak, *below), (strong, *above) = next(pair for pair in pairwise(table) if strength <= pair[1][0])
    part = (strength - weak) / (strong - weak)
    return Range(*(low + part * (high - low) for low, high in zip(below, above, strict=True)))
