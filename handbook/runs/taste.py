"""Estimate the salt that a kitchen prefers from its taste notes, with a range.

The mean score depends on the logarithm of the salt eaten: score = slope ln(salt / right). The priors of right and slope
are log-normal: the right salt lies within a factor 2 of that of the method as written; the slope is 2 to 8 points per
factor e (a quarter more salt moves a score by 0.5 to 1.8). The standard deviation is 0.8 points between tasters and 0.3
between tastings. These four are estimates of the handbook; no source gives them. The posterior is computed on a grid.
"""

from __future__ import annotations

from math import exp, log, sqrt

import numpy as np
from msgspec import Struct

from handbook.base.ranges import Range
from handbook.uncertainty.sampling import BAND

RIGHT_BAND, SLOPE = 2.0, Range(2.0, 4.0, 8.0)
TASTER, TASTING = 0.8, 0.3
#: Advice needs this many tastings, and a preferred salt known within x or / this factor.
LEAST_TASTINGS, NARROW = 2, 1.35
_POINTS = 121


class Note(Struct, frozen=True):
    """One tasting: mean ``score`` of ``tasters`` for food of ``salt`` (mass fraction, ``deviation`` of its logarithm)."""

    salt: float
    deviation: float
    score: float
    tasters: int


class RightSalt(Struct, frozen=True, kw_only=True):
    """The salt that the kitchen prefers, mass fraction of the food as eaten; ``is_enough``: enough notes for advice."""

    salt: Range
    notes: int
    is_enough: bool


def right_salt(notes: list[Note], written_for: float) -> RightSalt:
    """The right salt given ``notes``; ``written_for`` is the salt (mass fraction) of the method as written."""
    right_deviation, slope_deviation = log(RIGHT_BAND) / BAND, log(SLOPE.high / SLOPE.typical) / BAND
    right = np.linspace(-3.5, 3.5, _POINTS) * right_deviation + log(written_for)
    slope = np.exp(np.linspace(-3.0, 3.0, 61) * slope_deviation + log(SLOPE.typical))
    logs = -0.5 * ((right - log(written_for)) / right_deviation) ** 2
    logs = logs[:, None] - 0.5 * ((np.log(slope) - log(SLOPE.typical)) / slope_deviation) ** 2
    for each in notes:
        expected = slope * (log(each.salt) - right[:, None])
        variance = TASTER**2 / each.tasters + TASTING**2 + (slope * each.deviation) ** 2
        # A score at an end of the scale is a bound: the true taste may lie beyond it.
        on_scale = np.clip(expected, -2.0, 2.0)
        logs = logs - 0.5 * (each.score - on_scale) ** 2 / variance - 0.5 * np.log(variance)
    weights = np.exp(logs - logs.max()).sum(axis=1)
    chances = np.cumsum(weights) / weights.sum()
    low, middle, high = (exp(float(np.interp(chance, chances, right))) for chance in (0.05, 0.5, 0.95))
    found = Range(low, middle, high)
    return RightSalt(
        salt=found, notes=len(notes), is_enough=len(notes) >= LEAST_TASTINGS and sqrt(high / low) <= NARROW
    )
