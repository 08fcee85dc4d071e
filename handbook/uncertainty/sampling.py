"""One meaning of a range and one sampler, for everything uncertain that goes into a model or comes out of one.

Meaning
    A range holds nine in ten: 5 % of the values lie below its low end and 5 % above its high end. The typical value
    parts the rest in halves. This holds for a range written on a page (20 to 25 mm), for one estimated by the handbook,
    for one that a kitchen's own runs have taught, and for one that a model gives.

Why not bounds
    JCGM 100:2008, 4.3.7 reads the ends as bounds only where no value can lie outside them, and 4.3.4 reads an interval
    with a stated level of confidence by its quantiles. Hand-cut pieces, chambers and published rates do stray outside.
    The loss of weight that the heat model gives goes into the salt model, and a calibrated figure into both: with one
    meaning they pass from one to the other as they are.

Shapes
    Temperatures, times and shares are spread evenly on each side of the typical value, as JCGM 101:2008, 6.4.2 has it
    where only two ends are known; the farthest values lie 1/9 of a side beyond the ends. Sizes, amounts, rates and
    factors are log-normal on each side: they are positive, and their errors multiply. What is physically impossible is
    set to its limit.

Points
    The points of Halton's sequence [halton-1960], each input ranked so that it is filled evenly, and the ranks freed of
    correlation [iman-conover-1982], so that one input is not taken for another. There is no seed: a set of so many
    samples and inputs is the same in every run.

Sources: [jcgm-100-2008], [jcgm-101-2008], [halton-1960], [iman-conover-1982].
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import inf, log
from statistics import NormalDist

import numpy as np

from handbook.base.errors import RangeError
from handbook.base.ranges import Range

#: Shares of the values below the low end and below the high end of every range.
LOW_SHARE, HIGH_SHARE = 0.05, 0.95
#: Standard deviations of a normal distribution from its middle to either end of a range.
BAND = NormalDist().inv_cdf(HIGH_SHARE)
EVEN, LOG_NORMAL = "even", "log-normal"
SHAPES = (EVEN, LOG_NORMAL)
#: Source of a range that the page or the house file states.
AS_STATED = "as stated"
#: Name of an input and index of its stage; None for an input of the whole run.
InputKey = tuple[str, int | None]
_ROUNDS = 8  # of freeing the ranks of correlation
_FIRST, _APART = 21, 409  # number of the first point; how much later the points of bases used again begin


@dataclass(frozen=True, kw_only=True)
class UncertainInput:
    """One uncertain input of a model.

    range : nine in ten lie between its ends
    distribution : one of SHAPES
    source : key of a source, or AS_STATED
    stage : index of its stage; None for an input of the whole run, which all stages share
    least, most : values beyond are impossible and are set to the limit
    """

    name: str
    range: Range
    distribution: str
    source: str
    stage: int | None = None
    least: float = -inf
    most: float = inf

    def __post_init__(self):
        if self.distribution not in SHAPES:
            raise ValueError(f"distribution: read {self.distribution}; allowed: {', '.join(SHAPES)}")
        if self.distribution == LOG_NORMAL and self.range.low <= 0:
            raise RangeError(self.name, self.range.low, "above 0")
        for end in (self.range.low, self.range.high):
            if not self.least <= end <= self.most:
                raise RangeError(self.name, end, f"{self.least:g} to {self.most:g}")

    @property
    def key(self) -> tuple[str, int | None]:
        """What tells this input from others of the run."""
        return self.name, self.stage

    def at(self, positions: np.ndarray) -> np.ndarray:
        """Values at ``positions``: the low end at -1, the typical value at 0, the high end at 1."""
        low, typical, high = self.range.low, self.range.typical, self.range.high
        if self.distribution == LOG_NORMAL:
            sides = np.where(positions < 0, log(typical / low), log(high / typical))
            return np.clip(typical * np.exp(sides * positions), self.least, self.most)
        sides = np.where(positions < 0, typical - low, high - typical)
        return np.clip(typical + sides * positions, self.least, self.most)


class Draws:
    """Samples of uncertain inputs. Arrays have shape (1 + samples,); the first row has all inputs typical.

    >>> rise = UncertainInput(name="rise", range=Range(1.0, 2.0, 4.0), distribution=EVEN, source=AS_STATED)
    >>> values = Draws([rise.key], 100).of(rise)
    >>> float(values[0]), int((values < 1.0).sum()), int((values > 4.0).sum())
    (2.0, 5, 5)

    Attributes
    ----------
    varied : key -> positions of the inputs that were drawn and had a width
    """

    def __init__(self, keys: Sequence[InputKey], samples: int):
        self.samples = samples
        self._ranks = dict(zip(keys, ranks(samples, len(keys)), strict=True))
        self.varied: dict[InputKey, np.ndarray] = {}

    def of(self, each: UncertainInput) -> np.ndarray:
        """Values of one input."""
        if not each.range.is_wide:
            return np.full(1 + self.samples, each.range.typical)
        return each.at(self.positions(each))

    def positions(self, each: UncertainInput) -> np.ndarray:
        """Where each sample lies along the input's range: see UncertainInput.at. All 0 for a range of no width."""
        if not each.range.is_wide:
            return np.zeros(1 + self.samples)
        if each.key not in self.varied:
            scale = _positions(self.samples, each.distribution)
            self.varied[each.key] = np.concatenate([[0.0], scale[self._ranks[each.key]]])
        return self.varied[each.key]

    def parts_of_spread(self, values: np.ndarray) -> list[tuple[InputKey, float]]:
        """Key of each input that varied and its part of the spread of ``values``, largest first, summing to 1.

        ``values`` has shape (1 + samples,). Parts are squared rank correlations (Spearman). They need about 30 samples
        to tell inputs apart. Infinite values count as the largest. Empty where nothing varies.
        """
        keys, results = list(self.varied), np.asarray(values, dtype=float)[1:]
        if not keys or len(results) < 2 or _is_level(results):
            return []
        ranked = np.stack([self._ranks[key] for key in keys])
        strengths = (ranked @ _centred_ranks(results)) ** 2.0
        if strengths.sum() == 0:
            return []
        order = np.argsort(-strengths, kind="stable")
        return [(keys[at], float(strengths[at] / strengths.sum())) for at in order]


@lru_cache(maxsize=64)
def ranks(samples: int, inputs: int) -> np.ndarray:
    """Ranks 0 .. samples - 1 of each point in each input, shape (inputs, samples). Not to be written to.

    Each input takes each rank once. Where there are more than twice as many samples as inputs, ranks of two inputs are
    nearly free of correlation: at most 0.05 for 256 samples of up to 100 inputs.
    """
    found = _ranked(halton(samples, inputs))
    if samples > 2 * inputs:
        for _ in range(_ROUNDS):
            centred = found - (samples - 1) / 2
            correlation = np.corrcoef(centred.T).reshape(inputs, inputs)
            # The little that is added keeps two inputs with the same ranks from stopping the decomposition.
            root = np.linalg.cholesky(correlation + 1e-6 * np.eye(inputs))
            found = _ranked(centred @ np.linalg.inv(root).T)
    found = np.ascontiguousarray(found.T)
    found.flags.writeable = False
    return found


def halton(samples: int, inputs: int) -> np.ndarray:
    """Points of Halton's sequence [halton-1960] from number 21 on, shape (samples, inputs), values in (0, 1).

    Input j is the radical inverse of the point's number in the base of the j-th prime. The first points lie near 0 in all
    large bases at once and are left out. A base above half the number of samples would give a straight line, so the
    bases begin anew there, on later points.
    """
    bases = _primes(max(samples // 2, 5))
    numbers = np.arange(_FIRST, _FIRST + samples)
    columns = [
        _radical_inverse(numbers + _APART * (index // len(bases)), bases[index % len(bases)]) for index in range(inputs)
    ]
    return np.stack(columns, axis=1) if columns else np.empty((samples, 0))


def ends(values: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Low end, typical and high end of ``values``, shape (1 + samples, ...), whose first row is the typical run.

    The typical run need not be the median. A range is widened to hold it where a skew would leave it out. Infinite
    values ("never") count as the largest.
    """
    typical = values[0]
    if len(values) == 1:
        return typical, typical, typical
    rising = values[1:].reshape(len(values) - 1, -1).T.copy()
    rising.sort(axis=1)
    low, high = (_quantile(rising, share).reshape(typical.shape) for share in (LOW_SHARE, HIGH_SHARE))
    return np.minimum(low, typical), typical, np.maximum(high, typical)


def range_of(values: np.ndarray) -> Range:
    """The range of one value per sample, shape (1 + samples,), the typical run first."""
    return Range(*(float(end) for end in ends(np.asarray(values, dtype=float))))


def times_of(values: np.ndarray) -> tuple[float | None, float | None, float | None]:
    """The ends of a time per sample, as in range_of; None in place of an infinite one, which is never reached."""
    found = ends(np.asarray(values, dtype=float))
    return tuple(float(end) if np.isfinite(end) else None for end in found)


@lru_cache(maxsize=64)
def _positions(samples: int, distribution: str) -> np.ndarray:
    """Positions of the ranks, rising: the middle of each of ``samples`` equal shares of the distribution."""
    shares = (np.arange(samples) + 0.5) / samples
    if distribution == LOG_NORMAL:
        found = np.array([NormalDist().inv_cdf(share) for share in shares]) / BAND
    else:
        found = (shares - 0.5) / (HIGH_SHARE - 0.5)
    found.flags.writeable = False
    return found


def _ranked(points: np.ndarray) -> np.ndarray:
    return points.argsort(axis=0, kind="stable").argsort(axis=0, kind="stable")


@lru_cache(maxsize=16)
def _primes(most: int) -> tuple[int, ...]:
    return tuple(each for each in range(2, most + 1) if all(each % other for other in range(2, int(each**0.5) + 1)))


def _radical_inverse(numbers: np.ndarray, base: int) -> np.ndarray:
    """The digits of ``numbers`` in ``base``, mirrored at the point."""
    found, weight, left = np.zeros(len(numbers)), 1.0, numbers
    while left.any():
        weight /= base
        left, digit = np.divmod(left, base)
        found += weight * digit
    return found


def _quantile(rising: np.ndarray, share: float) -> np.ndarray:
    """Along the last axis, the k-th of n standing at (k - 1/2) / n of the whole, as the samples of each input do."""
    last = rising.shape[1] - 1
    place = min(max(share * (last + 1) - 0.5, 0.0), last)
    below = int(place)
    low, high = rising[:, below], rising[:, min(below + 1, last)]
    if place == below:
        return low
    # Where the upper neighbour is infinite, so is anything between the two.
    with np.errstate(invalid="ignore"):
        between = low + (place - below) * (high - low)
    return np.where(np.isinf(high), high, between)


def _is_level(values: np.ndarray) -> bool:
    if not np.isfinite(values).all():
        return bool(np.all(values == values[0]))
    return bool(np.ptp(values) <= 1e-12 * np.abs(values).max())


def _centred_ranks(values: np.ndarray) -> np.ndarray:
    """Ranks about their mean, ties sharing theirs."""
    _, inverse, counts = np.unique(values, return_inverse=True, return_counts=True)
    found = (np.cumsum(counts) - (counts - 1) / 2)[inverse]
    return found - found.mean()
