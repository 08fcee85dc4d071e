"""Bayesian updating of a kitchen's own figures from its runs, one method at a time.

The four figures have one parameter each and need no Markov chain: the rate of salt is updated on a grid, the three
others in closed form. posterior.py has the statistics, which include errors of the runs.

- Prior: log-normal (change of weight: normal), with the published 90 % ranges of the engine.
- Single runs deviate from the kitchen's figure by animal, cut and cook: usually by ``RATE_DEVIATION`` in the rate of salt
  and ``GAIN_DEVIATION`` in the change of weight; in drying and warming by the model's spread from thickness and from
  temperatures that vary between runs. Airflow, humidity and the food's constants count as the kitchen's.
  The actual deviation is inferred from the runs.
- Measurement errors: ``WEIGHING``, ``SALT_ERROR``, ``TIME_ERROR``; and errors that all runs share, because one strip,
  scale or probe measures them all: ``SALT_SHARED``, ``WEIGHING_SHARED``, ``TIME_SHARED``.

The deviations and errors are estimates of the handbook; no source gives them for a kitchen.
"""

from __future__ import annotations

from math import log, sqrt

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from handbook.base.arrays import Floats
from handbook.base.errors import RangeError
from handbook.report.calibration import CalibratedFigure, Calibration
from handbook.report.salt_stages import SaltInputs
from handbook.runs.posterior import Posterior, RateTable, normal_posterior, rate_posterior, run_likelihood
from handbook.runs.run_models import RunModel
from handbook.salt.uptake import Spread, UptakeResult, run
from handbook.uncertainty.sampling import BAND

RATE_DEVIATION = log(1.2) / BAND  # of ln D: the usual run lies within a factor 1.2 of the kitchen's own
GAIN_DEVIATION = 0.006  # of green weight
LEAST_GAIN_PRIOR = 0.01  # of green weight: least deviation of a gain stated by the page
WEIGHING = 0.005  # of the weight: drip and scale
SALT_ERROR, LEAST_SALT_ERROR = 0.05, 0.0005  # of the salt measured, and in salt / food
TIME_ERROR = 0.05  # of the time to the core: position of the probe
SALT_SHARED = 0.10  # of the salt measured: strips or a refractometer that always read high or low
WEIGHING_SHARED = 0.003  # of the weight: a scale, or drip that is always left on
TIME_SHARED = 0.03  # of the time to the core: a probe that always reads high or low
HOUSE_INPUTS = ("airflow", "humidity", "conductivity", "heat capacity", "moisture transport", "exudation")
#: Factors on the rate at which a run is computed, and the grid of the posterior, both in prior deviations.
_RUN_AT = np.linspace(-3.2, 3.2, 11)
_GRID = np.linspace(-4.0, 4.0, 161)
_SAMPLES = Spread(samples=128)
_LEAST_FINITE = 0.9  # least share of samples in which the core reaches its target


class Evidence(Struct, frozen=True, kw_only=True):
    """One run's evidence for one normal figure, with the deviations of the measurement, of kitchens and of runs.

    ``shared`` is the deviation of an error that is the same in all runs.
    """

    value: float
    error: float
    house_deviation: float
    run_deviation: float
    shared: float
    prior_mean: float = 0.0


class CalibrationResult(Struct, frozen=True, eq=False, kw_only=True):
    """Calibration from all runs; ``without`` are those from all runs but one, in the order of the runs."""

    calibration: Calibration
    without: tuple[Calibration, ...]


def calibrate(models: list[RunModel]) -> CalibrationResult:
    """Calibrate one method from its runs, and once more without each run, to predict that run from the others."""
    tables = [rate_table(each) for each in models]
    evidence = {
        "gain": [gain_evidence(each) for each in models],
        "loss": [loss_evidence(each) for each in models],
        "come_up": [come_up_evidence(each) for each in models],
    }
    measured = [model.salting for model, table in zip(models, tables, strict=True) if table is not None]
    inputs = next((each for each in measured if each is not None), None)
    deviation = _prior_deviation(inputs) if inputs else 0.0
    temperature = inputs.salting_stage.temperature.typical if inputs else 276.15
    grid = _GRID * deviation
    likelihoods = [None if each is None else run_likelihood(each, grid, RATE_DEVIATION, SALT_SHARED) for each in tables]

    def of(chosen: list[int]) -> Calibration:
        rates = [each for each in (likelihoods[index] for index in chosen) if each is not None]
        salt = None
        if rates:
            salt = _calibrated(rate_posterior(grid, deviation, rates, RATE_DEVIATION), 0.0, deviation, len(rates))
        figures = {name: _figure([runs[index] for index in chosen], name) for name, runs in evidence.items()}
        return Calibration(runs=len(chosen), salt=salt, salt_temperature=temperature, **figures)

    everything = list(range(len(models)))
    without = [of([index for index in everything if index != left]) for left in everything]
    return CalibrationResult(calibration=of(everything), without=tuple(without))


def rate_table(model: RunModel) -> RateTable | None:
    """The uptake model of one run at several rates; None where no salt was measured in the food."""
    inputs = model.salting_weighed
    if inputs is None:
        return None
    found = []
    for each in model.record.steps:
        # The last stage that has ended: steps in which no salt moves have no stage of their own.
        done = [index for index, numbers in enumerate(inputs.steps) if numbers[-1] <= each.step]
        if each.salt is not None and done and done[-1] >= inputs.salting_index:
            weight = model.weight(each.step)
            found.append((done[-1], each.salt.low, weight / model.record.batch.low if weight else None))
    if not found:
        return None
    stages = inputs.stages[: max(index for index, _, _ in found) + 1]
    published = inputs.piece.salt_diffusivity
    log_factors = _RUN_AT * _prior_deviation(inputs)
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
    """Measured minus published change of weight in the bath, of green weight."""
    stage = model.salting.salting_stage if model.salting else None
    if model.gain is None or stage is None or stage.weight_gain is None:
        return None
    published = stage.weight_gain
    house = max((published.high - published.low) / (2 * BAND), LEAST_GAIN_PRIOR)
    return Evidence(
        value=model.gain - published.typical,
        error=WEIGHING * sqrt(2),
        house_deviation=house,
        run_deviation=GAIN_DEVIATION,
        shared=WEIGHING_SHARED,
    )


def loss_evidence(model: RunModel) -> Evidence | None:
    """ln of the measured loss of weight after salting over the computed one."""
    found, span = model.loss_samples(), model.loss_span
    if found is None or span is None or found[0].min() <= 0.005 or span.loss <= 0.005:
        return None
    loss = span.loss
    per_loss = (1 - loss) / loss
    return _log_evidence(loss, *found, error=WEIGHING * sqrt(2) * per_loss, shared=WEIGHING_SHARED * per_loss)


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
    return _log_evidence(rise.time, times[finite], kept, error=TIME_ERROR, shared=TIME_SHARED)


def split_spread(values: Floats, inputs: dict[str, Floats]) -> tuple[float, float]:
    """Standard deviations of ``values`` (n,) due to the kitchen's inputs, and due to single runs.

    By least squares on the inputs' shares, which are uncorrelated; the residual counts as due to runs.
    """
    names = [name for name, each in inputs.items() if np.ptp(each) > 0]
    shares = np.stack([inputs[name] - 0.5 for name in names], axis=1)
    design = np.column_stack([np.ones(len(values)), shares])
    weights, *_ = np.linalg.lstsq(design, values, rcond=None)
    parts = dict(zip(names, weights[1:] ** 2 * shares.var(axis=0), strict=True))
    house = sum(each for name, each in parts.items() if name in HOUSE_INPUTS)
    rest = sum(each for name, each in parts.items() if name not in HOUSE_INPUTS)
    return sqrt(house), sqrt(rest + float((values - design @ weights).var()))


def _log_evidence(
    measured: float, values: Floats, inputs: dict[str, Floats], *, error: float, shared: float
) -> Evidence | None:
    if len(values) < 16:
        return None  # without a spread of the model no prior exists
    logs = np.log(values / values[0])
    house, single = split_spread(logs, inputs)
    return Evidence(
        value=log(measured / values[0]),
        error=error,
        house_deviation=house,
        run_deviation=single,
        shared=shared,
        prior_mean=float(logs.mean()),
    )


def _figure(found: list[Evidence | None], name: str) -> CalibratedFigure | None:
    known = [each for each in found if each is not None]
    if not known:
        return None
    prior_mean = float(np.mean([each.prior_mean for each in known]))
    house = float(np.mean([each.house_deviation for each in known]))
    single = float(np.mean([each.run_deviation for each in known]))
    shared = float(np.mean([each.shared for each in known]))
    seen = [(each.value, each.error) for each in known]
    posterior = normal_posterior(prior_mean, house, seen, single, shared)
    return _calibrated(posterior, prior_mean, house, len(known), is_factor=name != "gain")


def _calibrated(
    posterior: Posterior, prior_mean: float, prior_deviation: float, runs: int, is_factor: bool = True
) -> CalibratedFigure:
    return CalibratedFigure(
        prior_mean=prior_mean,
        prior_deviation=prior_deviation,
        mean=posterior.mean,
        deviation=posterior.deviation,
        run_deviation=posterior.run_deviation,
        runs=runs,
        is_factor=is_factor,
    )


def _prior_deviation(inputs: SaltInputs) -> float:
    """Published standard deviation of ln diffusivity at the temperature of the salting."""
    temperature = inputs.salting_stage.temperature.typical
    _, factor = inputs.piece.salt_diffusivity.values(np.array([temperature]))
    return log(float(factor[0])) / BAND


def _salt(result: UptakeResult, index: int, ratio: float | None) -> Floats:
    """Salt after a stage, by sample: salt / green weight where the food was weighed, else salt / food."""
    state = result.stages[index].state
    salt: Floats = state.salt[1:, 0]  # row 0 is the typical run
    if ratio is not None:
        return salt
    return np.asarray(salt / (result.solids[1:] + state.water[1:] + salt + state.sugar[1:, 0]))
