"""Samples that fill many uncertain inputs evenly: a rank-1 lattice of 256 points, the same in every run.

Point k of input j lies at ((k z_j mod n) + 1/2) / n, so that each input alone takes n evenly spaced chances. The
integers z are built one input at a time: among those nearly free of rank correlation with the inputs before, the one
whose worst-case error of the mean of a smooth function is least (component-by-component construction; Korobov space
of smoothness 1, weights falling from input to input).
Source: [sloan-reztsov-2002] for the construction; the integers are computed here.
"""

from __future__ import annotations

from functools import lru_cache
from statistics import NormalDist

import numpy as np

from handbook.ranges import Range

#: Standard deviations from the middle to either end of a 90 % band.
BAND = NormalDist().inv_cdf(0.95)
#: Largest rank correlation between two inputs that the construction accepts while it has a choice.
MAX_TIE = 0.04


@lru_cache
def lattice(samples: int, inputs: int) -> np.ndarray:
    """Ranks 0 .. samples - 1 of each point in each input, shape (inputs, samples). ``samples``: a power of two."""
    if samples < 8 or samples & (samples - 1):
        raise ValueError(f"samples: read {samples}; allowed: a power of two from 8")
    points = np.arange(samples)
    candidates = np.arange(1, samples // 2, 2)
    ranks = np.outer(candidates, points) % samples
    kernel = 2 * np.pi**2 * ((ranks / samples) ** 2 - ranks / samples + 1 / 6)
    centred = ranks - (samples - 1) / 2
    product, chosen = np.ones(samples), []
    for index in range(inputs):
        errors = (product * (1 + kernel * 0.8**index)).mean(axis=1)
        tied = np.abs(centred @ centred[chosen].T).max(axis=1, initial=0.0) * 12 / samples**3
        chosen.append(int(np.argmin(np.where(tied < MAX_TIE, errors, errors.max() + tied))))
        product = product * (1 + kernel[chosen[-1]] * 0.8**index)
    found = ranks[chosen]
    found.flags.writeable = False
    return found


@lru_cache
def normal_scores(samples: int) -> np.ndarray:
    """Normal deviates of the evenly spaced chances, rising, shape (samples,)."""
    scores = np.array([NormalDist().inv_cdf((rank + 0.5) / samples) for rank in range(samples)])
    scores.flags.writeable = False
    return scores


def draw(values: Range, ranks: np.ndarray) -> np.ndarray:
    """Values of a quantity at ``ranks`` (samples,): 5 % below ``low``, half below ``typical``, 5 % over ``high``.

    Log-normal to either side of the typical value where the low end is above 0. Where it is not (a change of weight),
    straight between the ends and never outside them.
    """
    samples = len(ranks)
    if values.low > 0:
        scores = normal_scores(samples)[ranks] / BAND
        return values.typical * np.exp(
            np.where(scores < 0, np.log(values.typical / values.low), np.log(values.high / values.typical)) * scores
        )
    return draw_evenly(values, ranks)


def draw_evenly(values: Range, ranks: np.ndarray) -> np.ndarray:
    """Values spread evenly from low to typical and from typical to high, half of them on either side."""
    chances = (ranks + 0.5) / len(ranks)
    below = values.low + (values.typical - values.low) * 2 * chances
    return np.where(chances < 0.5, below, values.typical + (values.high - values.typical) * (2 * chances - 1))


def band(values: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Low (5 %), typical and high (95 %) of ``values``, shape (1 + samples, ...), whose first row is the typical run.

    The typical run need not be the median; the band is widened to hold it where a skew would leave it out.
    """
    spread = values[1:].reshape(len(values) - 1, -1).T.copy()
    spread.sort(axis=1)
    low, high = (_quantile(spread, chance).reshape(values.shape[1:]) for chance in (0.05, 0.95))
    return np.minimum(low, values[0]), values[0], np.maximum(high, values[0])


def rank_correlations(ranks: np.ndarray, results: np.ndarray) -> np.ndarray:
    """Spearman's rank correlation of each input, ranks (inputs, samples), with ``results``, shape (samples,)."""
    if len(ranks) == 0 or np.ptp(results) <= 1e-12 * np.abs(results).max():
        return np.zeros(len(ranks))
    order = np.empty(len(results))
    order[np.argsort(results, kind="stable")] = np.arange(len(results))
    middle = (len(results) - 1) / 2
    return (ranks - middle) @ (order - middle) / ((order - middle) @ (order - middle))


def _quantile(rising: np.ndarray, chance: float) -> np.ndarray:
    place = chance * (rising.shape[1] - 1)
    below = int(place)
    if below == rising.shape[1] - 1:
        return rising[:, below]
    low, high = rising[:, below], rising[:, below + 1]
    # Where the upper neighbour is "never" (infinite), so is anything between the two.
    with np.errstate(invalid="ignore"):
        between = low + (place - below) * (high - low)
    return np.where(place == below, low, np.where(np.isinf(high), high, between))
