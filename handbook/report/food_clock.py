"""Inputs of the salt model from one step of the heat run: its time, the food's own temperature, and the water that leaves."""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from handbook.base.arrays import Floats
from handbook.base.ranges import Range
from handbook.heat.heat_run import HeatResult
from handbook.report.heat_course import HeatCourse
from handbook.salt.diffusivity import GAS_CONSTANT, HIGHEST, LOWEST, Diffusivity
from handbook.uncertainty.sampling import range_of

_POINTS = 33  # of a course over a step
_LEAST = 1e-6  # of the weight: less water counts as none


class FoodClock(Struct, frozen=True, kw_only=True):
    """One step of the heat run.

    duration : [s]; temperature : the constant temperature at which salt would diffuse as far [K]
    evaporated, dripped : of the weight at the start of the step, 0 or more
    water_left : share of its water that the typical piece keeps over the step
    diffusing, evaporating, dripping : shares that are complete at evenly spaced times, as in Stage
    """

    duration: Range
    temperature: Range
    evaporated: Range
    dripped: Range
    water_left: float
    diffusing: tuple[float, ...]
    evaporating: tuple[float, ...]
    dripping: tuple[float, ...]

    @property
    def drip_share(self) -> float:
        """Share of the loss that drips as juice."""
        lost = self.evaporated.typical + self.dripped.typical
        return self.dripped.typical / lost if lost > _LEAST else 0.0


def food_clock(course: HeatCourse, number: int, rate: Diffusivity) -> FoodClock | None:
    """The clock of step ``number`` for a solute with the temperature dependence of ``rate``; None outside the curve."""
    inside, result = _inside(course, number), course.result
    if inside is None:
        return None
    clock = np.broadcast_to(result.clock, result.samples.mean.shape)[:, inside]
    times = clock - clock[:, :1]
    passed = _summed(times, _pace(result.samples.mean[:, inside], rate))
    took = np.maximum(times[:, -1], 1e-6)
    mass = result.samples.mass[:, inside[0]]
    evaporated, dripped = _leaving(result, inside)
    return FoodClock(
        duration=_ordered(range_of(took)),
        temperature=_ordered(range_of(_steady(passed[:, -1] / took, rate))),
        evaporated=range_of(evaporated[:, -1] / mass),
        dripped=range_of(dripped[:, -1] / mass),
        water_left=float(result.samples.water[0, inside[-1]] / max(result.samples.water[0, inside[0]], _LEAST)),
        diffusing=_shares(times[0], passed[0]),
        evaporating=_shares(times[0], evaporated[0]),
        dripping=_shares(times[0], dripped[0]),
    )


def step_loss(course: HeatCourse, number: int) -> Range | None:
    """What the food loses in step ``number``, of the weight at its start; None outside the curve."""
    inside, result = _inside(course, number), course.result
    if inside is None:
        return None
    evaporated, dripped = _leaving(result, inside)
    return range_of((evaporated[:, -1] + dripped[:, -1]) / result.samples.mass[:, inside[0]])


def _inside(course: HeatCourse, number: int) -> np.ndarray | None:
    """Indices of the times of step ``number`` in the run; None for a step outside it or without a time."""
    stage, time = course.stage(number), course.result.time
    if stage is None or stage.end <= stage.start:
        return None
    return np.flatnonzero((time >= stage.start - 1e-6) & (time <= stage.end + 1e-6))


def _leaving(result: HeatResult, inside: np.ndarray) -> tuple[Floats, Floats]:
    """Water that has evaporated and juice that has dripped from the food since the start of the step, rising, (s, n).

    Dew forms and evaporates on the surface, so evaporation counts from the start of the step. Water of a glaze is not
    the food's: with a glaze the loss is the fall in weight, which the remaining glaze makes slightly too small.
    """
    samples = result.samples
    evaporated, dripped, mass = (each[:, inside] for each in (samples.evaporated, samples.dripped, samples.mass))
    gone, drip = evaporated - evaporated[:, :1], dripped - dripped[:, :1]
    if np.any(evaporated + mass + dripped > 1.0 + _LEAST):
        lighter = np.maximum(mass[:, :1] - mass, 0.0)
        drip = np.minimum(drip, lighter)
        gone = lighter - drip
    return np.maximum.accumulate(np.maximum(gone, 0.0), axis=1), np.maximum.accumulate(drip, axis=1)


def _pace(temperature: Floats, rate: Diffusivity) -> Floats:
    """Diffusivity / that at the reference temperature."""
    clipped = np.clip(temperature, LOWEST, HIGHEST)
    pace: Floats = np.exp(-rate.activation_energy / GAS_CONSTANT * (1 / clipped - 1 / rate.reference_temperature))
    return pace


def _steady(pace: Floats, rate: Diffusivity) -> Floats:
    """Temperature at which diffusion has a given pace."""
    with np.errstate(divide="ignore"):  # a pace of 0 becomes the lowest temperature of the rates
        steady: Floats = 1 / (1 / rate.reference_temperature - GAS_CONSTANT / rate.activation_energy * np.log(pace))
    return np.clip(steady, LOWEST, HIGHEST)


def _summed(times: Floats, pace: Floats) -> Floats:
    """Integral of the pace from the first time, by trapezia, shape as ``pace``."""
    steps = np.diff(times, axis=1) * (pace[:, 1:] + pace[:, :-1]) / 2
    return np.concatenate([np.zeros((len(pace), 1)), np.cumsum(steps, axis=1)], axis=1)


def _shares(times: Floats, rising: Floats) -> tuple[float, ...]:
    """``rising`` at evenly spaced times as shares of its end; empty where it does not rise."""
    if rising[-1] <= _LEAST * max(1.0, abs(float(rising[0]))):
        return ()
    even = np.interp(np.linspace(0.0, times[-1], _POINTS), times, rising) / rising[-1]
    return tuple(float(each) for each in even)


def _ordered(values: Range) -> Range:
    """A range whose ends differ by rounding alone is exact."""
    is_exact = values.high - values.low <= 1e-9 * abs(values.typical)
    return Range.exact(values.typical) if is_exact else values
