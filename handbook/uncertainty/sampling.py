"""The meaning of a range and the sampler, shared by the inputs and the results of all models.

Meaning
    A range is a 90 % interval: 5 % of the values lie below its low end and 5 % above its high end. Half of all values
    lie on each side of the typical value. The meaning is the same for a range written on a page (20 to 25 mm), an
    estimate of the handbook, a value calibrated by a kitchen's own runs, and the result of a model.

Why not bounds
    JCGM 100:2008, 4.3.7 reads the ends as bounds only where no value can lie outside them, and 4.3.4 reads an interval
    with a stated level of confidence by its quantiles. Hand-cut pieces, chambers and published rates can lie outside.
    The salt model uses the weight loss that the heat model gives, and both use calibrated figures. One meaning lets
    ranges pass between models without conversion.

Shapes
    Temperatures, times and shares are distributed evenly on each side of the typical value, as in JCGM 101:2008, 6.4.2
    for two known ends; the extreme values lie 1/9 of a side beyond the ends. Sizes, amounts, rates and factors are
    log-normal on each side, because they are positive and their errors multiply. Values beyond a physical limit are
    set to the limit.

Points
    The samples are points of Halton's sequence [halton-1960]. Each input is ranked so that its distribution is filled
    evenly, and correlation between the ranks is removed [iman-conover-1982] so that effects of inputs can be
    separated. There is no seed: the points depend only on the numbers of samples and inputs.

Sources: [jcgm-100-2008], [jcgm-101-2008], [halton-1960], [iman-conover-1982].
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import inf, log
from statistics import NormalDist

import numpy as np
import numpy.typing as npt
from msgspec import Struct

from handbook.base.arrays import Floats
from handbook.base.errors import RangeError
from handbook.base.ranges import Range

#: Array of ranks.
Ranks = npt.NDArray[np.int64]
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
_ROUNDS = 8  # of removing correlation from the ranks
_FIRST, _APART = 21, 409  # number of the first point; offset of the points where a base is used again


class UncertainInput(Struct, frozen=True, kw_only=True):
    """One uncertain input of a model.

    range : 90 % interval, in the SI unit of the input
    distribution : one of SHAPES
    source : key of a source, or AS_STATED
    stage : index of its stage; None for an input that all stages share
    least, most : physical limits; values beyond are set to them
    """

    name: str
    range: Range
    distribution: str
    source: str
    stage: int | None = None
    least: float = -inf
    most: float = inf

    def __post_init__(self) -> None:
        if self.distribution not in SHAPES:
            raise ValueError(f"distribution: read {self.distribution}; allowed: {', '.join(SHAPES)}")
        if self.distribution == LOG_NORMAL and self.range.low <= 0:
            raise RangeError(self.name, self.range.low, "above 0")
        for end in (self.range.low, self.range.high):
            if not self.least <= end <= self.most:
                raise RangeError(self.name, end, f"{self.least:g} to {self.most:g}")

    @property
    def key(self) -> tuple[str, int | None]:
        """Name and stage, which identify the input within a run."""
        return self.name, self.stage

    def at(self, positions: Floats) -> Floats:
        """Values at ``positions``: the low end at -1, the typical value at 0, the high end at 1.

        even:        x = typical + p side,       side = typical - low or high - typical
        log-normal:  x = typical exp(p side),    side = ln(typical / low) or ln(high / typical)
        """
        low, typical, high = self.range.low, self.range.typical, self.range.high
        values: Floats
        if self.distribution == LOG_NORMAL:
            sides = np.where(positions < 0, log(typical / low), log(high / typical))
            values = typical * np.exp(sides * positions)
        else:
            sides = np.where(positions < 0, typical - low, high - typical)
            values = typical + sides * positions
        return np.clip(values, self.least, self.most)


class Draws:
    """Samples of uncertain inputs. Arrays have shape (1 + samples,); in the first row all inputs are typical.

    >>> rise = UncertainInput(name="rise", range=Range(1.0, 2.0, 4.0), distribution=EVEN, source=AS_STATED)
    >>> values = Draws([rise.key], 100).of(rise)
    >>> float(values[0]), int((values < 1.0).sum()), int((values > 4.0).sum())
    (2.0, 5, 5)

    Attributes
    ----------
    varied : key -> positions, for each input that was drawn and whose range has a width
    """

    def __init__(self, keys: Sequence[InputKey], samples: int):
        self.samples = samples
        self._ranks = dict(zip(keys, ranks(samples, len(keys)), strict=True))
        self.varied: dict[InputKey, Floats] = {}

    def of(self, each: UncertainInput) -> Floats:
        """Values of one input."""
        if not each.range.is_wide:
            return np.full(1 + self.samples, each.range.typical)
        return each.at(self.positions(each))

    def positions(self, each: UncertainInput) -> Floats:
        """Position of each sample in the input's range (see UncertainInput.at). All 0 for a range of no width."""
        if not each.range.is_wide:
            return np.zeros(1 + self.samples)
        if each.key not in self.varied:
            scale = _positions(self.samples, each.distribution)
            self.varied[each.key] = np.concatenate([[0.0], scale[self._ranks[each.key]]])
        return self.varied[each.key]

    def parts_of_spread(self, values: Floats) -> list[tuple[InputKey, float]]:
        """Share of each varied input in the spread of ``values``, as (key, share), largest first, summing to 1.

        ``values`` has shape (1 + samples,). Shares are squared rank correlations (Spearman), scaled to sum to 1. They
        need about 30 samples to separate inputs. Infinite values rank as the largest. Empty where nothing varies.
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
def ranks(samples: int, inputs: int) -> Ranks:
    """Ranks of the samples in each input, nearly free of correlation.

        R* = R inv(Q)^T,  Q Q^T = C, the correlation of the ranks R (Cholesky), repeated

    Parameters
    ----------
    samples : int
        Number of samples, 2 or more where there are two inputs or more.
    inputs : int
        Number of inputs.

    Returns
    -------
    array of int, shape (inputs, samples), read-only
        Each row holds each of 0 .. samples - 1 once.

    Notes
    -----
    Source: [iman-conover-1982] on points of [halton-1960]. Correlation is removed where there are more than twice as
    many samples as inputs: at most 0.05 remains for 256 samples of up to 100 inputs (our measurement). Valid for fewer
    samples too, but the ranks are then those of the sequence itself.

    Examples
    --------
    >>> found = ranks(64, 2)
    >>> bool((np.sort(found) == np.arange(64)).all()), bool(abs(np.corrcoef(found)[0, 1]) < 0.05)
    (True, True)
    """
    found = _ranked(halton(samples, inputs))
    if samples > 2 * inputs:
        for _ in range(_ROUNDS):
            centred = found - (samples - 1) / 2
            correlation = np.corrcoef(centred.T).reshape(inputs, inputs)
            # The small addition keeps two inputs with equal ranks from stopping the decomposition.
            root = np.linalg.cholesky(correlation + 1e-6 * np.eye(inputs))
            found = _ranked(centred @ np.linalg.inv(root).T)
    found = np.ascontiguousarray(found.T)
    found.flags.writeable = False
    return found


def halton(samples: int, inputs: int) -> Floats:
    """Points of Halton's sequence, from number 21 on.

        x_j(n) = sum(d_i b^-(i + 1)),  d_i the digits of n in base b, the j-th prime

    Parameters
    ----------
    samples : int
        Number of points.
    inputs : int
        Number of dimensions.

    Returns
    -------
    array, shape (samples, inputs) [-]
        Values in (0, 1).

    Notes
    -----
    Source: [halton-1960]. The first points are left out: they lie near 0 in all large bases at once. Bases stop at half
    the number of samples, because a larger base gives a straight line; further inputs use the bases again on later
    points. Valid for all numbers of samples and inputs.

    Examples
    --------
    >>> halton(3, 2).round(3).tolist()
    [[0.656, 0.185], [0.406, 0.519], [0.906, 0.852]]
    """
    bases = _primes(max(samples // 2, 5))
    numbers = np.arange(_FIRST, _FIRST + samples)
    columns = [
        _radical_inverse(numbers + _APART * (index // len(bases)), bases[index % len(bases)]) for index in range(inputs)
    ]
    return np.stack(columns, axis=1) if columns else np.empty((samples, 0))


def ends(values: Floats) -> tuple[Floats, Floats, Floats]:
    """Low end, typical value and high end of samples.

        low = min(q(0.05), typical),  high = max(q(0.95), typical),  q(p) the quantiles of the samples

    Parameters
    ----------
    values : array, shape (1 + samples, ...), any unit
        The first row is the typical run. Infinite values ("never") rank as the largest.

    Returns
    -------
    low, typical, high : arrays, shape (...), in the unit of ``values``

    Notes
    -----
    Source: [jcgm-101-2008], 7.7, the interval with equal shares on both sides. The k-th of n sorted values is the
    quantile (k - 1/2) / n. The typical run is not always the median; the range is widened to contain it.
    Valid for any number of samples; with the typical run alone all three are equal.

    Examples
    --------
    >>> [float(each) for each in ends(np.array([5.0, *range(1, 11)]))]
    [1.0, 5.0, 10.0]
    """
    typical = values[0]
    if len(values) == 1:
        return typical, typical, typical
    rising = values[1:].reshape(len(values) - 1, -1).T.copy()
    rising.sort(axis=1)
    low, high = (_quantile(rising, share).reshape(typical.shape) for share in (LOW_SHARE, HIGH_SHARE))
    return np.minimum(low, typical), typical, np.maximum(high, typical)


def range_of(values: npt.ArrayLike) -> Range:
    """Range of one value per sample.

    No equation: see ``ends``.

    Parameters
    ----------
    values : array, shape (1 + samples,), any unit
        The first one is the typical run.

    Returns
    -------
    Range, in the unit of ``values``

    Notes
    -----
    Source: [jcgm-101-2008], 7.7, as in ``ends``. Valid for any number of samples.

    Examples
    --------
    >>> range_of([5.0, 1.0, 9.0])
    Range(low=1.0, typical=5.0, high=9.0)
    """
    low, typical, high = ends(np.asarray(values, dtype=float))
    return Range(float(low), float(typical), float(high))


def times_of(values: npt.ArrayLike) -> tuple[float | None, float | None, float | None]:
    """Ends of one time per sample, where some are never reached.

    No equation: see ``ends``.

    Parameters
    ----------
    values : array, shape (1 + samples,) [s]
        The first one is the typical run; infinite for a state that is never reached.

    Returns
    -------
    low, typical, high : float or None [s]
        None for an infinite time.

    Notes
    -----
    Source: [jcgm-101-2008], 7.7, as in ``ends``. Valid for any number of samples.

    Examples
    --------
    >>> times_of([60.0, 30.0, float("inf")])
    (30.0, 60.0, None)
    """
    low, typical, high = (float(each) if np.isfinite(each) else None for each in ends(np.asarray(values, dtype=float)))
    return low, typical, high


@lru_cache(maxsize=64)
def _positions(samples: int, distribution: str) -> Floats:
    """Position of each rank: the middle of each of ``samples`` equal shares of the distribution, rising."""
    shares = (np.arange(samples) + 0.5) / samples
    if distribution == LOG_NORMAL:
        found = np.array([NormalDist().inv_cdf(share) for share in shares]) / BAND
    else:
        found = (shares - 0.5) / (HIGH_SHARE - 0.5)
    found.flags.writeable = False
    return found


def _ranked(points: Floats) -> Ranks:
    return points.argsort(axis=0, kind="stable").argsort(axis=0, kind="stable")


@lru_cache(maxsize=16)
def _primes(most: int) -> tuple[int, ...]:
    return tuple(each for each in range(2, most + 1) if all(each % other for other in range(2, int(each**0.5) + 1)))


def _radical_inverse(numbers: Ranks, base: int) -> Floats:
    """The digits of ``numbers`` in ``base``, mirrored at the radix point."""
    found, weight, left = np.zeros(len(numbers)), 1.0, numbers
    while left.any():
        weight /= base
        left, digit = np.divmod(left, base)
        found += weight * digit
    return found


def _quantile(rising: Floats, share: float) -> Floats:
    """Quantile along the last axis. The k-th of n values is the quantile (k - 1/2) / n, as for the samples of inputs."""
    last = rising.shape[1] - 1
    place = min(max(share * (last + 1) - 0.5, 0.0), last)
    below = int(place)
    low: Floats = rising[:, below]
    high = rising[:, min(below + 1, last)]
    if place == below:
        return low
    with np.errstate(invalid="ignore"):
        between: Floats = low + (place - below) * (high - low)
    # Between a finite and an infinite neighbour the quantile is infinite.
    return between if np.isfinite(rising[:, last]).all() else np.where(np.isinf(high), high, between)


def _is_level(values: Floats) -> bool:
    if not np.isfinite(values).all():
        return bool(np.all(values == values[0]))
    return bool(np.ptp(values) <= 1e-12 * np.abs(values).max())


def _centred_ranks(values: Floats) -> Floats:
    """Ranks less their mean; ties share the mean of their ranks."""
    _, inverse, counts = np.unique(values, return_inverse=True, return_counts=True)
    found: Floats = (np.cumsum(counts) - (counts - 1) / 2)[inverse]
    centred: Floats = found - found.mean()
    return centred
