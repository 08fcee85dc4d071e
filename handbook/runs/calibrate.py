"""Bayesian updating of a kitchen's own figures from its runs, one method at a time.

Four figures, each of one parameter, so that no sampling of a chain is needed: the rate of salt on a grid, the three
others in closed form.

- Prior: log-normal (the change of weight: normal), with the 90 % bands that the engine already carries as published.
- A run strays from its kitchen: animal, cut, hands. Of salt's rate that is ``RATE_STRAY``; of the change of weight
  ``GAIN_STRAY``; of drying and warming what the model makes of thickness and of the temperatures that vary from run
  to run, while airflow, humidity and the food's own constants count as the kitchen's.
- Measurements err: ``WEIGHING``, ``SALT_ERROR``, ``TIME_ERROR``.

The strays and errors are estimates of the handbook: no source gives them for a kitchen.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import hypot, log, sqrt

import numpy as np

from handbook.base.errors import RangeError
from handbook.report.calibration import CalibratedFigure, Calibration
from handbook.runs.run_models import RunModel
from handbook.salt.uptake import Spread, run
from handbook.uncertainty.sampling import BAND

RATE_STRAY = log(1.2) / BAND  # of ln D: nine runs in ten within x or / 1.2 of the kitchen's own
GAIN_STRAY = 0.006  # of green weight
LEAST_GAIN_PRIOR = 0.01  # of green weight: a page's own stated gain counts as no surer than this
WEIGHING = 0.005  # of the weight: drip and scale
SALT_ERROR, LEAST_SALT_ERROR = 0.05, 0.0005  # of the salt measured, and in salt / food
TIME_ERROR = 0.05  # of the time to the core: where in the piece the probe sat
HOUSE_INPUTS = ("airflow", "humidity", "conductivity", "heat capacity", "moisture transport", "exudation")
#: Factors on the rate at which a run is computed, and the grid on which beliefs stand, in prior deviations.
_RUN_AT = np.linspace(-3.2, 3.2, 11)
_GRID = np.linspace(-4.0, 4.0, 321)
_SAMPLES = Spread(samples=128)
_LEAST_FINITE = 0.9  # share of samples in which the core must get there


@dataclass(frozen=True, eq=False, kw_only=True)
class RateTable:
    """What the uptake model says of one run's measured salt: ``log_factors`` (g,), ``salt`` (g, k, n).

    k measurements, n samples of everything uncertain but the rate; the same samples at each factor.
    """

    log_factors: np.ndarray
    salt: np.ndarray
    measured: np.ndarray
    error: np.ndarray


def rate_likelihood(table: RateTable, grid: np.ndarray, stray: float = RATE_STRAY) -> np.ndarray:
    """Likelihood of the kitchen's ln factor on salt's rate at the points of ``grid``, shape of it, highest 1.

    Averaged over the samples, all measurements of a run sharing one, and over how a run strays from its kitchen.
    """
    logs = np.log(table.salt)
    total = np.zeros((len(grid), table.salt.shape[2]))
    for at, (measured, error) in enumerate(zip(table.measured, table.error, strict=True)):
        salt = np.exp(_interpolated(grid, table.log_factors, logs[:, at, :]))
        total += -0.5 * ((measured - salt) / error) ** 2
    each = np.exp(total - total.max()).mean(axis=1)
    if stray > 0:
        kernel = np.exp(-0.5 * ((grid[:, None] - grid[None, :]) / stray) ** 2)
        each = kernel / kernel.sum(axis=1, keepdims=True) @ each
    return each / each.max()


def grid_belief(grid: np.ndarray, prior_deviation: float, likelihoods: list[np.ndarray]) -> tuple[float, float]:
    """Mean and standard deviation of ln factor: a normal prior about 0 times the likelihoods of independent runs."""
    logs = -0.5 * (grid / prior_deviation) ** 2
    for each in likelihoods:
        logs = logs + np.log(np.maximum(each, 1e-300))
    weights = np.exp(logs - logs.max())
    weights /= weights.sum()
    mean = float(weights @ grid)
    return mean, sqrt(float(weights @ (grid - mean) ** 2))


def normal_belief(prior_mean: float, prior_deviation: float, seen: list[tuple[float, float]]) -> tuple[float, float]:
    """Mean and standard deviation after (value, deviation) of independent runs, all normal."""
    precision = 1 / prior_deviation**2
    weighted = prior_mean * precision
    for value, deviation in seen:
        precision += 1 / deviation**2
        weighted += value / deviation**2
    return weighted / precision, 1 / sqrt(precision)


@dataclass(frozen=True, kw_only=True)
class Evidence:
    """What one run tells of one normal figure: value, deviations of measurement, of the kitchen, and of the run."""

    value: float
    error: float
    house: float
    stray: float
    prior_mean: float = 0.0


@dataclass(frozen=True, eq=False, kw_only=True)
class CalibrationResult:
    """Calibration from all runs, and from all but one: ``without`` in the order of the runs."""

    calibration: Calibration
    without: tuple[Calibration, ...]


def calibrate(models: list[RunModel]) -> CalibrationResult:
    """The kitchen's figures of one method from its runs, and as each run would have been foretold by the others."""
    tables = [rate_table(each) for each in models]
    evidence = {
        "gain": [gain_evidence(each) for each in models],
        "loss": [loss_evidence(each) for each in models],
        "come_up": [come_up_evidence(each) for each in models],
    }
    deviation = next((_prior_deviation(each) for each, table in zip(models, tables, strict=True) if table), 0.0)
    grid = _GRID * deviation
    likelihoods = [None if each is None else rate_likelihood(each, grid) for each in tables]
    temperature = next((_salting_temperature(each) for each, one in zip(models, tables, strict=True) if one), 276.15)

    def of(chosen: list[int]) -> Calibration:
        rates = [likelihoods[index] for index in chosen if likelihoods[index] is not None]
        salt = None
        if rates:
            mean, spread = grid_belief(grid, deviation, rates)
            salt = CalibratedFigure(
                prior_mean=0.0,
                prior_deviation=deviation,
                mean=mean,
                deviation=spread,
                run_deviation=RATE_STRAY,
                runs=len(rates),
            )
        figures = {name: _figure([all_[index] for index in chosen], name) for name, all_ in evidence.items()}
        return Calibration(runs=len(chosen), salt=salt, salt_temperature=temperature, **figures)

    everything = list(range(len(models)))
    without = [of([index for index in everything if index != left]) for left in everything]
    return CalibrationResult(calibration=of(everything), without=tuple(without))


def rate_table(model: RunModel) -> RateTable | None:
    """The uptake model over factors of the rate for one run; None where no salt was measured in the food."""
    inputs = model.salting_weighed
    measured = [each for each in model.record.steps if each.salt is not None]
    if inputs is None:
        return None
    found = []
    for each in measured:
        # The last stage that is over by then: steps in which no salt moves have no stage of their own.
        done = [index for index, numbers in enumerate(inputs.steps) if numbers[-1] <= each.step]
        if done and done[-1] >= inputs.salting_index:
            weight = model.weight(each.step)
            found.append((done[-1], each.salt.low, weight / model.record.batch.low if weight else None))
    if not found:
        return None
    stages = inputs.stages[: max(index for index, _, _ in found) + 1]
    published = inputs.piece.salt_diffusivity
    log_factors = _RUN_AT * _prior_deviation(model)
    rows = []
    for factor in np.exp(log_factors):
        certain = replace(
            published, reference=published.reference * factor, spread_factor=1.0, activation_energy_band=0.0
        )
        try:
            result = run(replace(inputs.piece, salt_diffusivity=certain), stages, _SAMPLES)
        except RangeError:
            return None
        rows.append([_salt(result, index, ratio) for index, _, ratio in found])
    values = np.array([salt * (ratio or 1.0) for _, salt, ratio in found])
    return RateTable(
        log_factors=log_factors,
        salt=np.array(rows),
        measured=values,
        error=np.maximum(SALT_ERROR * values, LEAST_SALT_ERROR),
    )


def gain_evidence(model: RunModel) -> Evidence | None:
    """How far the measured change of weight in the bath lies from the published one, of green weight."""
    stage = model.salting.stages[model.salting.salting_index] if model.salting else None
    if model.gain is None or stage is None or stage.weight_gain is None:
        return None
    published = stage.weight_gain
    house = max((published.high - published.low) / (2 * BAND), LEAST_GAIN_PRIOR)
    return Evidence(value=model.gain - published.typical, error=WEIGHING * sqrt(2), house=house, stray=GAIN_STRAY)


def loss_evidence(model: RunModel) -> Evidence | None:
    """ln of the measured loss of weight after salting over the computed one."""
    found = model.loss_samples()
    if found is None or found[0].min() <= 0.005 or model.loss_span[2] <= 0.005:
        return None
    loss = model.loss_span[2]
    return _log_evidence(loss, *found, error=WEIGHING * sqrt(2) * (1 - loss) / loss)


def come_up_evidence(model: RunModel) -> Evidence | None:
    """ln of the logged time to the (last) core over the computed one."""
    if not model.core_rises:
        return None
    rise = model.core_rises[-1]
    found = model.come_up_samples(rise)
    if found is None:
        return None
    times, inputs = found
    finite = np.isfinite(times)
    if not finite[0] or finite.mean() < _LEAST_FINITE or rise.time <= 0 or times[finite].min() <= 0:
        return None
    kept = {name: values[finite] for name, values in inputs.items()}
    return _log_evidence(rise.time, times[finite], kept, TIME_ERROR)


def split_spread(values: np.ndarray, inputs: dict[str, np.ndarray]) -> tuple[float, float]:
    """Standard deviations of ``values`` (n,) that the kitchen's inputs make, and that single runs make.

    By least squares on the inputs' shares, which are free of correlation; what they leave unsaid counts to the runs.
    """
    names = [name for name, each in inputs.items() if np.ptp(each) > 0]
    shares = np.stack([inputs[name] - 0.5 for name in names], axis=1)
    design = np.column_stack([np.ones(len(values)), shares])
    weights, *_ = np.linalg.lstsq(design, values, rcond=None)
    parts = dict(zip(names, weights[1:] ** 2 * shares.var(axis=0), strict=True))
    house = sum(each for name, each in parts.items() if name in HOUSE_INPUTS)
    rest = sum(each for name, each in parts.items() if name not in HOUSE_INPUTS)
    return sqrt(house), sqrt(rest + float((values - design @ weights).var()))


def _log_evidence(measured: float, values: np.ndarray, inputs: dict[str, np.ndarray], error: float) -> Evidence | None:
    if len(values) < 16:
        return None  # the model gives no spread here, so there is nothing to weigh the run against
    logs = np.log(values / values[0])
    house, stray = split_spread(logs, inputs)
    return Evidence(
        value=log(measured / values[0]), error=error, house=house, stray=stray, prior_mean=float(logs.mean())
    )


def _figure(found: list[Evidence | None], name: str) -> CalibratedFigure | None:
    told = [each for each in found if each is not None]
    if not told:
        return None
    prior_mean = float(np.mean([each.prior_mean for each in told]))
    house = float(np.mean([each.house for each in told]))
    stray = float(np.mean([each.stray for each in told]))
    seen = [(each.value, hypot(each.error, each.stray)) for each in told]
    mean, deviation = normal_belief(prior_mean, house, seen)
    return CalibratedFigure(
        prior_mean=prior_mean,
        prior_deviation=house,
        mean=mean,
        deviation=deviation,
        run_deviation=stray,
        runs=len(told),
        is_factor=name != "gain",
    )


def _prior_deviation(model: RunModel) -> float:
    piece = model.salting.piece
    _, factor = piece.salt_diffusivity.values(np.array([_salting_temperature(model)]))
    return log(float(factor[0])) / BAND


def _salting_temperature(model: RunModel) -> float:
    return model.salting.stages[model.salting.salting_index].temperature.typical


def _salt(result, index: int, ratio: float | None) -> np.ndarray:
    # Salt on green weight where the food was weighed with it, else salt / food; without the typical row.
    state = result.stages[index].state
    salt = state.salt[1:, 0]
    if ratio is not None:
        return salt
    return salt / (result.solids[1:] + state.water[1:] + salt + state.sugar[1:, 0])


def _interpolated(grid: np.ndarray, at: np.ndarray, values: np.ndarray) -> np.ndarray:
    """``values`` (g, n) given at ``at`` (g,), straight between and level outside, on ``grid``; shape (grid, n)."""
    place = np.clip(np.searchsorted(at, grid) - 1, 0, len(at) - 2)
    part = np.clip((grid - at[place]) / (at[place + 1] - at[place]), 0.0, 1.0)[:, None]
    return values[place] * (1 - part) + values[place + 1] * part
