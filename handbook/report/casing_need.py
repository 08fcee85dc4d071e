"""Metres of casing for a batch."""

from __future__ import annotations

from math import pi

from msgspec import Struct

from handbook.base.ranges import Range
from handbook.catalogue.foods import Food
from handbook.page.method import Method

#: Filling of a metre of natural casing / the full cylinder of its printed width: hog casings of 32 to 34 mm take 45 to
#: 48 kg on 91 m, sheep casings of 20 to 22 mm 21 to 23 kg; a rule of the trade is 0.61 m of hog and 1.2 m of sheep
#: casing for a pound [casing-capacity].
NATURAL = Range(0.55, 0.75, 1.0)
#: The same of collagen, fibrous and plastic casings, whose width is uniform; some length is lost to ends and ties
#: (common practice, no source).
EVEN = Range(0.88, 0.95, 1.0)


class CasingNeed(Struct, frozen=True, kw_only=True):
    """Casing of ``width`` in m: metres for the written batch as filled, and per kg of food."""

    kind: str
    width: float
    length: Range
    per_food: Range


def casing_need(method: Method, food: Food, filled: float) -> CasingNeed | None:
    """Metres of casing of a method; None for a piece that is not filled into one, or is no cylinder.

    L = m / (rho f pi d^2 / 4)

    Parameters
    ----------
    method : Method
    food : Food
    filled : float [-]
        Weight with what is mixed in / food.

    Returns
    -------
    CasingNeed, or None

    Notes
    -----
    f is the filling of a metre / the full cylinder. Source: [casing-capacity]; mass balance. Valid for minced and mixed
    food.

    Examples
    --------
    A kilogram of density 1050 in a casing of 32 mm that is full:

    >>> round(1 / (1050 * pi * 0.032**2 / 4), 2)
    1.18
    """
    pieces = method.pieces
    if pieces.casing == "none" or pieces.shape != "cylinder" or pieces.form == "whole":
        return None
    width, batch = pieces.thickness.middle, method.batches.written_for.low
    share = NATURAL if pieces.casing == "natural" else EVEN
    full = filled / (food.density * pi * width**2 / 4)
    per_food = Range(full / share.high, full / share.typical, full / share.low)
    return CasingNeed(kind=pieces.casing, width=width, length=per_food.times(batch), per_food=per_food)
