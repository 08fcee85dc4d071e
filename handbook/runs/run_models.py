"""Rerun the models under the conditions of one run: its batch, brine, thickness, times and chamber.

Rates are the published ones. Conditions that the run does not record stay as on the page, with their spread.
"""

from __future__ import annotations

from functools import cached_property

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from handbook.base.arrays import Floats
from handbook.base.errors import HandbookError, RangeError
from handbook.base.ranges import Range
from handbook.base.units import Quantity
from handbook.brine.make_up import MakeUp
from handbook.brine.strength_reading import StrengthReading, salt_from_reading
from handbook.catalogue.foods import Food
from handbook.heat import heat_run as heat
from handbook.page.heated import DRYNESS, has_curve
from handbook.page.house import House
from handbook.page.method import Method
from handbook.page.steps import Step
from handbook.page.until import TARGET_SALT
from handbook.report.calibration import Calibration
from handbook.report.heat_course import HeatCourse, heat_course
from handbook.report.heat_stages import first_heat_step, heat_piece, heat_stages
from handbook.report.method_report import Report
from handbook.report.salt_stages import SaltInputs, salt_inputs
from handbook.runs.run_record import BrineReading, Run, RunRecord
from handbook.salt.uptake import Stage

MEASURED_CHAMBER = 1.0  # K up or down, of a measured chamber (estimate of the handbook)


class CoreRise(Struct, frozen=True, kw_only=True):
    """Time in s from the start of step ``number`` until the logged core reaches the page's ``target`` (K)."""

    number: int
    target: float
    start: float
    time: float


class LossSpan(Struct, frozen=True, kw_only=True):
    """Measured loss / weight before, from the end of step ``before`` (0: the start) to the end of step ``last``."""

    before: int
    last: int
    loss: float


class RunModel:
    """One run with its method's published report: its measurements, and the inputs of the models for it."""

    def __init__(self, run: Run, report: Report, house: House) -> None:
        self.run, self.report, self.house = run, report, house
        self.method = as_run(report, run)

    @property
    def record(self) -> RunRecord:
        """The run's file."""
        return self.run.record

    @cached_property
    def course(self) -> HeatCourse | None:
        """The heat model of this run; None where nothing is heated or the run is outside the model's range."""
        try:
            return heat_course(self.method, self._filled, self.house, self._salt_to_water, self._glazes)
        except HandbookError:
            return None

    @cached_property
    def salting(self) -> SaltInputs | None:
        """Inputs of the uptake model for this run, with the published rates and change of weight."""
        return self.salting_with(None)

    def salting_with(self, calibration: Calibration | None) -> SaltInputs | None:
        """The same with calibrated figures; None where nothing is salted or the run is outside the model's range."""
        makes = {each.mixture.name: each.made for each in (*self.report.saltings, *self.report.glazes)}
        try:
            inputs = salt_inputs(self.method, self.report.food, self.house, makes, self.course, calibration)
            if inputs is None:
                return None
            return inputs.with_salting_stage(self._as_measured(inputs.salting_stage))
        except RangeError:
            return None

    @cached_property
    def salting_weighed(self) -> SaltInputs | None:
        """The same with the measured change of weight, where there is one."""
        inputs, gain = self.salting, self.gain
        if inputs is None or gain is None or inputs.salting_stage.weight_gain is None:
            return inputs
        return inputs.with_salting_stage(replace(inputs.salting_stage, weight_gain=Range.exact(gain)))

    @cached_property
    def salted_step(self) -> int | None:
        """Number of the last step of the salting."""
        return self.salting.steps[self.salting.salting_index][-1] if self.salting else None

    @cached_property
    def gain(self) -> float | None:
        """Measured change of weight in the salting, of green weight; None where the food was not weighed after it."""
        weight = self.weight(self.salted_step) if self.salted_step else None
        return None if weight is None else weight / self.record.batch.low - 1

    def weight(self, number: int) -> float | None:
        """Weight in kg at the end of a step; None where it was not recorded."""
        reading = self.record.step(number)
        return reading.weight.low if reading and reading.weight else None

    @cached_property
    def loss_span(self) -> LossSpan | None:
        """The loss from the first weight after salting to the last one; None without two weights.

        Where a step ends when the food is dry enough, its loss is fixed by that end and only its time tests the model.
        """
        if any(step.waits_for in DRYNESS for step in self.report.method.steps):
            return None
        first_heat = first_heat_step(self.method)
        weights = {each.step: each.weight.low for each in self.record.steps if each.weight}
        begin = self.salted_step or first_heat
        after = sorted(number for number in weights if number >= max(begin, first_heat + 1))
        if len(after) >= 2:
            before, weight = after[0], weights[after[0]]
        elif after and not self.salted_step and not first_heat:
            before, weight = 0, self.record.batch.low
        else:
            return None
        return LossSpan(before=before, last=after[-1], loss=1 - weights[after[-1]] / weight)

    def loss_samples(self) -> tuple[Floats, dict[str, Floats]] | None:
        """Loss of weight over ``loss_span`` by the heat model, per sample, and the samples of its inputs."""
        course, span = self.course, self.loss_span
        if course is None or span is None:
            return None
        first, last = course.stage(span.before), course.stage(span.last)
        if last is None or (first is None and span.before):
            return None
        result, begin = course.result, first.end if first else 0.0
        at = [int(np.argmin(np.abs(result.time - moment))) for moment in (begin, last.end)]
        mass = result.samples.mass[:, at]
        return 1 - mass[:, 1] / mass[:, 0], result.samples.inputs

    def log_start(self, number: int) -> float | None:
        """Start of step ``number`` in s on the log's clock; None before the log or after a step without a time."""
        settings = self.record.log
        if settings is None or number < settings.begins_with:
            return None
        total = 0.0
        for each in range(settings.begins_with, number):
            reading = self.record.step(each)
            if reading is None or reading.time is None:
                return None
            total += reading.time.low
        return total

    @cached_property
    def core_rises(self) -> tuple[CoreRise, ...]:
        """The times at which the logged core reached each target core of the page."""
        log = self.run.log
        if log is None:
            return ()
        found = []
        for number, step in enumerate(self.report.method.steps, 1):
            start = self.log_start(number)
            if step.core is None or not has_curve(step) or start is None or start >= log.seconds[-1]:
                continue
            reached = float(heat.crossing(log.seconds, log.core[None, :], step.core.low, start)[0])
            if np.isfinite(reached):
                found.append(CoreRise(number=number, target=step.core.low, start=start, time=reached - start))
        return tuple(found)

    def come_up_samples(self, rise: CoreRise) -> tuple[Floats, dict[str, Floats]] | None:
        """Time in s from the step's start to its core by the heat model, per sample, and the samples of its inputs."""
        first = first_heat_step(self.method)
        if rise.number <= first:
            return None
        piece = heat_piece(self.method, self._filled, self.house, self._salt_to_water)
        stages = list(heat_stages(self.method, self._filled, self.house, self._glazes))[: rise.number - first]
        for factor in (3.5, 2.5, 1.8, 1.3):
            stages[-1] = replace(stages[-1], until_core=None, hold=0.0, duration=max(factor * rise.time, 600.0))
            try:
                with np.errstate(invalid="raise", divide="raise", over="raise"):
                    result = heat.run(piece, stages)
            except (RangeError, FloatingPointError):
                continue
            return result.core_times(rise.target, start=result.stages[-1].start), result.samples.inputs
        return None

    def brine(self) -> BrineReading | None:
        """The reading of the salting's brine."""
        return self._reading_of(self.salting.salting_stage) if self.salting else None

    def measured_salt(self, use: str, reading: StrengthReading, at: Quantity | None) -> float:
        """Salt / (salt + water) by a reading of the brine ``use``. Raises RangeError as salt_from_reading."""
        made = self._made(use)
        sugar = made.total("sugars") / made.total("salt")
        salt = salt_from_reading(reading, at.low if at else 293.15, sugar)
        return salt / (1 - sugar * salt)

    def _as_measured(self, stage: Stage) -> Stage:
        """The bath at its measured strength: the water as made up, the salt by the reading."""
        reading = self._reading_of(stage)
        if reading is None or reading.strength is None or stage.kind != "soak":
            return stage
        salt = self.measured_salt(stage.name, reading.strength, reading.at)
        return replace(stage, bath_salt=stage.bath_water.times(salt / (1 - salt)))

    def _reading_of(self, stage: Stage) -> BrineReading | None:
        first = self.report.method.saltings[0].name
        return next((each for each in self.record.brines if (each.use or first) == stage.name), None)

    def _made(self, name: str) -> MakeUp:
        return next(each.made for each in self.report.saltings if each.mixture.name == name)

    @property
    def _filled(self) -> Food:
        """The food with what is mixed into it."""
        return self.report.filled or self.report.food

    @property
    def _glazes(self) -> dict[str, MakeUp]:
        return {each.mixture.name: each.made for each in self.report.glazes}

    @property
    def _salt_to_water(self) -> float:
        saltings = self.report.saltings
        salt = saltings[-1].equilibrium.water_phase_salt.typical if saltings else 0.0
        return salt / (1 - salt)


def as_run(report: Report, run: Run) -> Method:
    """The method with the run's recorded values in place of the page's."""
    method, record = report.method, run.record
    planned = {each.number: each.duration for each in report.schedule.steps}
    steps = tuple(_step(number, step, record, planned[number]) for number, step in enumerate(method.steps, 1))
    steps = _with_logged_chamber(steps, run)
    pieces = method.pieces
    if record.thickness is not None:
        pieces = replace(pieces, thickness=record.thickness)
    return replace(method, steps=steps, pieces=pieces)


def quantity(value: float, dimension: str, spread: float) -> Quantity:
    """A measured SI value as a quantity, plus or minus ``spread``."""
    return Quantity(low=value - spread, high=value + spread, dimension=dimension)


def _step(number: int, step: Step, record: RunRecord, planned: Range) -> Step:
    reading = record.step(number)
    if reading is not None and reading.time is not None:
        step = replace(step, time=reading.time, until=None)
    elif step.until is not None and (step.until.is_measured or step.until.what == TARGET_SALT):
        time = Quantity(low=planned.low, high=planned.high, dimension="time")
        step = replace(step, time=time, until=None)
    if reading is not None and reading.temperature is not None:
        step = replace(step, temperature=quantity(reading.temperature.low, "temperature", MEASURED_CHAMBER))
    if reading is not None and reading.chamber is not None:
        step = replace(step, chamber=quantity(reading.chamber.low, "temperature", MEASURED_CHAMBER))
    return step


def _with_logged_chamber(steps: tuple[Step, ...], run: Run) -> tuple[Step, ...]:
    """Steps with the mean of the logged chamber, where the run's file states no chamber."""
    log, settings = run.log, run.record.log
    if log is None or log.chamber is None or settings is None:
        return steps
    changed, start = list(steps), 0.0
    for number in range(settings.begins_with, len(steps) + 1):
        reading = run.record.step(number)
        if reading is None or reading.time is None:
            break
        inside = (log.seconds >= start) & (log.seconds <= start + reading.time.low)
        start += reading.time.low
        if steps[number - 1].chamber is not None and reading.chamber is None and inside.sum() >= 3:
            mean = float(log.chamber[inside].mean())
            changed[number - 1] = replace(steps[number - 1], chamber=quantity(mean, "temperature", MEASURED_CHAMBER))
    return tuple(changed)
