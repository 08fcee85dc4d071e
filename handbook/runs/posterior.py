"""Posterior of one figure from a kitchen's runs, which includes errors of the runs themselves.

Three quantities are inferred together: the kitchen's own figure, the deviation of single runs from it (the stray), and
an error that all runs share because of the same instruments. Stray and shared error have priors. Eight runs narrow the
stray, but no number of runs narrows the shared error. Where runs are further from the prediction by the others than the
posterior allows (each run left out in turn), the posterior is widened.

The priors are estimates of the handbook; no source gives them for a kitchen.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache
from math import hypot, log, sqrt
from typing import TypeVar

import numpy as np
from msgspec import Struct

from handbook.base.arrays import Floats

#: Stray of single runs as multiples of the usual one, and the spread of its prior (of the logarithm): from two fifths
#: of it to four times it: runs usually within x or / 1.2 may really be within x or / 1.6.
STRAYS = np.geomspace(0.4, 4.0, 8)
STRAY_SPREAD = 0.8
#: Shared error as multiples of its standard deviation.
_SHARED = np.linspace(-2.4, 2.4, 7)
_Run = TypeVar("_Run")
_FEWEST = 3  # minimum number of runs for leaving one out
_STRAY_WEIGHTS = np.exp(-0.5 * (np.log(STRAYS) / STRAY_SPREAD) ** 2)
_SHARED_WEIGHTS = np.exp(-0.5 * _SHARED**2)


class Posterior(Struct, frozen=True, kw_only=True):
    """Mean and deviation of the kitchen's own figure, and deviation of single runs around it."""

    mean: float
    deviation: float
    run_deviation: float

    def widened(self, factor: float) -> Posterior:
        """The same posterior with both deviations ``factor`` times as wide."""
        return Posterior(mean=self.mean, deviation=self.deviation * factor, run_deviation=self.run_deviation * factor)


class RateTable(Struct, frozen=True, eq=False, kw_only=True):
    """One run's measured salt as predicted at several rates: ``log_factors`` (g,), ``salt`` (g, k, n).

    k measurements, n samples of all uncertain inputs but the rate; the samples are the same at each factor.
    """

    log_factors: Floats
    salt: Floats
    measured: Floats
    error: Floats


class RunLikelihood(Struct, frozen=True, eq=False, kw_only=True):
    """One run on a grid of ln factors: ``own`` (grid,) for its own rate, ``of_kitchen`` (strays, shared, grid), logarithms."""

    own: Floats
    of_kitchen: Floats


def run_likelihood(table: RateTable, grid: Floats, run_deviation: float, shared_error: float) -> RunLikelihood:
    """Likelihood of the kitchen's ln factor by one run, for each stray and each shared error of the instrument; ``grid`` is even.

    Averaged over the samples, which all measurements of a run share. ``run_deviation`` is the usual stray of ln factor,
    ``shared_error`` the deviation of the instrument's error as a share of its reading.
    """
    logs = np.log(table.salt)
    total: Floats = np.zeros((len(_SHARED), len(grid), table.salt.shape[2]))
    for at, (measured, error) in enumerate(zip(table.measured, table.error, strict=True)):
        # Errors are shares of the reading, so all of this is in logarithms.
        above = log(measured) - _interpolated(grid, table.log_factors, logs[:, at, :])
        missed = (above - shared_error * _SHARED[:, None, None]) * (measured / error)
        missed *= missed
        total -= missed
    total *= 0.5
    total -= total.max()
    likelihood = np.exp(np.maximum(total, -60.0, out=total), out=total).mean(axis=2)
    kernels = _kernels(float(grid[0]), float(grid[-1]), len(grid), run_deviation)
    strayed = np.array([likelihood @ kernel.T for kernel in kernels])
    own = _SHARED_WEIGHTS @ likelihood
    return RunLikelihood(own=own / own.sum(), of_kitchen=np.log(np.maximum(strayed, 1e-300)))


def rate_posterior(
    grid: Floats, prior_deviation: float, runs: Sequence[RunLikelihood], run_deviation: float
) -> Posterior:
    """Posterior of ln factor after runs, from a normal prior around 0; widened where left-out runs are not predicted."""

    def own(run: RunLikelihood) -> tuple[float, float]:
        mean = float(run.own @ grid)
        return mean, sqrt(float(run.own @ (grid - mean) ** 2))

    return _widened(runs, lambda some: _rate_posterior(grid, prior_deviation, some, run_deviation), own)


def _rate_posterior(
    grid: Floats, prior_deviation: float, runs: Sequence[RunLikelihood], run_deviation: float
) -> Posterior:
    logs = -0.5 * (grid / prior_deviation) ** 2 + np.zeros((len(STRAYS), len(_SHARED), 1))
    for each in runs:
        logs = logs + each.of_kitchen
    weights = np.exp(logs - logs.max()) * _STRAY_WEIGHTS[:, None, None] * _SHARED_WEIGHTS[:, None]
    weights /= weights.sum()
    of_grid, of_stray = weights.sum(axis=(0, 1)), weights.sum(axis=(1, 2))
    mean = float(of_grid @ grid)
    return Posterior(
        mean=mean,
        deviation=sqrt(float(of_grid @ (grid - mean) ** 2)),
        run_deviation=run_deviation * sqrt(float(of_stray @ STRAYS**2)),
    )


def normal_posterior(
    prior_mean: float, prior_deviation: float, seen: Sequence[tuple[float, float]], run_deviation: float, shared: float
) -> Posterior:
    """Posterior of a figure after (value, error) of runs, all normal; widened where left-out runs are not predicted.

    ``run_deviation`` is the usual stray, ``shared`` the deviation of an error that all runs share.
    """
    return _widened(
        seen,
        lambda some: _normal_posterior(prior_mean, prior_deviation, some, run_deviation, shared),
        lambda value_and_error: value_and_error,
    )


def _normal_posterior(
    prior_mean: float, prior_deviation: float, seen: Sequence[tuple[float, float]], run_deviation: float, shared: float
) -> Posterior:
    """Closed form for each stray, weighted by its likelihood of the runs.

    The runs scatter around the sum of the kitchen's figure and the shared error. The prior separates the two.
    """
    both = prior_deviation**2 + shared**2
    division = prior_deviation**2 / both
    values = np.array([value for value, _ in seen]) - prior_mean
    rows = []
    for stray in STRAYS:
        variances = np.array([error**2 + (stray * run_deviation) ** 2 for _, error in seen])
        precision = 1 / both + (1 / variances).sum()
        centre = float((values / variances).sum() / precision)
        evidence = -0.5 * (np.log(variances).sum() + np.log(precision))
        evidence += -0.5 * (float((values**2 / variances).sum()) - precision * centre**2)
        rows.append((evidence, division * centre, division**2 / precision + division * shared**2))
    evidences, means, spreads = np.array(rows).T
    weights = _STRAY_WEIGHTS * np.exp(evidences - evidences.max())
    weights /= weights.sum()
    mean = float(weights @ means)
    return Posterior(
        mean=prior_mean + mean,
        deviation=sqrt(float(weights @ (spreads + (means - mean) ** 2))),
        run_deviation=run_deviation * sqrt(float(weights @ STRAYS**2)),
    )


def _widened(
    runs: Sequence[_Run],
    posterior_of: Callable[[Sequence[_Run]], Posterior],
    own: Callable[[_Run], tuple[float, float]],
) -> Posterior:
    """The posterior of all runs, widened by the mean square of the misses where that is above 1.

    A miss is the distance of a run's ``own`` figure, given with its error, from the prediction by the other runs.
    """
    posterior = posterior_of(runs)
    if len(runs) < _FEWEST:
        return posterior
    misses = []
    for left, run in enumerate(runs):
        others = posterior_of([*runs[:left], *runs[left + 1 :]])
        value, error = own(run)
        misses.append((value - others.mean) / hypot(hypot(others.deviation, others.run_deviation), error))
    return posterior.widened(max(1.0, sqrt(float(np.mean(np.square(misses))))))


@lru_cache(maxsize=4)
def _kernels(first: float, last: float, count: int, run_deviation: float) -> Floats:
    """Share of runs at each rate (column) in kitchens of each rate (row), for each stray, on an even grid."""
    grid = np.linspace(first, last, count)
    apart = (grid[:, None] - grid[None, :]) / (STRAYS * run_deviation)[:, None, None]
    kernels = np.exp(-0.5 * apart**2)
    shares: Floats = kernels / kernels.sum(axis=2, keepdims=True)
    return shares


def _interpolated(grid: Floats, at: Floats, values: Floats) -> Floats:
    """``values`` (g, n) at ``at`` (g,), interpolated linearly onto ``grid`` and constant outside; shape (grid, n)."""
    place = np.clip(np.searchsorted(at, grid) - 1, 0, len(at) - 2)
    part = np.clip((grid - at[place]) / (at[place + 1] - at[place]), 0.0, 1.0)[:, None]
    return np.asarray(values[place] * (1 - part) + values[place + 1] * part)
