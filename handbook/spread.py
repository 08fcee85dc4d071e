"""Uncertain inputs of the heat model as evenly spread samples: the same at every run, the first one typical.

The uptake model draws from a lattice instead (sampling.py). A lattice needs a power of two, and at the 64 runs that the
heat model can afford it leaves ranks of inputs correlated by up to 0.24, here under 0.05; at the 256 of the uptake
model it fills several inputs together more evenly. A low or high value is an end here, a 90 % bound there.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from handbook.ranges import Range


@lru_cache(maxsize=16)
def quasi_random(samples: int, dimensions: int) -> np.ndarray:
    """Shape (samples, dimensions), values in (0, 1), evenly spread; row 0 is all 0.5. Not to be written to.

    The additive recurrence u_n = frac(n alpha), alpha_j = g^-j, where g solves g^(d+1) = g + 1 [roberts-2018]. Each
    dimension is then ranked, so that it is filled evenly, and the dimensions are freed of their correlation
    [iman-conover-1982], so that one input is not taken for another. A fixed set: results never change between runs.
    """
    generator = 2.0
    for _ in range(60):
        generator = (1.0 + generator) ** (1.0 / (dimensions + 1))
    points = np.outer(np.arange(1.0, samples), generator ** -np.arange(1.0, dimensions + 1)) % 1.0
    places = _evenly(points)
    if samples > 2 * dimensions:
        for _ in range(8):
            centred = places - 0.5
            root = np.linalg.cholesky(np.corrcoef(centred.T).reshape(dimensions, dimensions))
            places = _evenly(centred @ np.linalg.inv(root).T)
    shares = np.concatenate((np.full((1, dimensions), 0.5), places))
    shares.flags.writeable = False
    return shares


def drawn(value: Range, share: np.ndarray, geometric: bool = False) -> np.ndarray:
    """Values of ``value`` at the shares (n,) of its spread: the low end at 0, typical at 0.5, the high end at 1.

    Even on each side of the typical value; in the logarithm when ``geometric`` (all of the range above 0).
    """
    low, typical, high = (np.log(each) if geometric else each for each in (value.low, value.typical, value.high))
    position = 2.0 * share - 1.0
    result = typical + np.where(position < 0, (typical - low) * position, (high - typical) * position)
    return np.exp(result) if geometric else result


def range_of(values: np.ndarray, coverage: float) -> Range:
    """The range that holds ``coverage`` of the values (n,), first value typical."""
    low, high = quantiles(values, coverage)
    typical = float(values[0])
    return Range(min(float(low), typical), typical, max(float(high), typical))


def quantiles(values: np.ndarray, coverage: float) -> tuple[np.ndarray, np.ndarray]:
    """Ends that hold ``coverage`` of the values along the first axis, straight between neighbours in rank."""
    ranked = np.sort(values, axis=0)
    last = len(ranked) - 1
    ends = []
    for share in (0.5 - coverage / 2, 0.5 + coverage / 2):
        below = min(int(share * last), max(last - 1, 0))
        ends.append(ranked[below] + (share * last - below) * (ranked[min(below + 1, last)] - ranked[below]))
    return ends[0], ends[1]


def dominating(inputs: dict[str, np.ndarray], values: np.ndarray) -> str:
    """Name of the input whose rank follows that of ``values`` (n,) most closely, or "" when nothing varies.

    Infinite values rank highest. Rank correlation needs about 30 samples to tell inputs apart.
    """
    if np.all(values == values[0]):
        return ""
    wanted = _ranks(values)
    strengths = {name: abs(float(np.dot(_ranks(each), wanted))) for name, each in inputs.items() if np.ptp(each) > 0}
    return max(strengths, key=strengths.__getitem__, default="")


def _evenly(points: np.ndarray) -> np.ndarray:
    # Each column's ranks as shares of its length.
    return (points.argsort(axis=0, kind="stable").argsort(axis=0, kind="stable") + 0.5) / max(len(points), 1)


def _ranks(values: np.ndarray) -> np.ndarray:
    # Standardised ranks; ties share their mean rank.
    _, inverse, counts = np.unique(values, return_inverse=True, return_counts=True)
    ends = np.cumsum(counts)
    ranks = (ends - (counts - 1) / 2)[inverse]
    centred = ranks - ranks.mean()
    norm = np.linalg.norm(centred)
    return centred / norm if norm > 0 else centred
