"""Core, surface and mean temperature, water loss and yield of one piece through its stages.

The public entry of the heat engine. Inputs: ``heated_piece``. Results: ``heat_results``. Numerics: ``time_stepping``,
``conduction`` and ``evaporation``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from handbook.base.arrays import Floats
from handbook.base.errors import RangeError
from handbook.base.ranges import Range
from handbook.catalogue.thermal_properties import Composition
from handbook.heat.heat_results import HeatCurve, HeatResult, HeatStageResult, Samples, TimeReached, crossing
from handbook.heat.heat_state import HeatState
from handbook.heat.heated_piece import AIR_CLASSES, AirClass, Coating, HeatPiece, HeatSpread, HeatStage
from handbook.heat.humid_air import STANDARD_PRESSURE
from handbook.heat.moisture_stepping import INSTANT, SOAKING_TIME
from handbook.heat.surroundings import Surroundings, surroundings
from handbook.heat.time_stepping import INPUTS, TimeStepper
from handbook.uncertainty.sampling import range_of

__all__ = [
    "AIR_CLASSES",
    "INPUTS",
    "AirClass",
    "Coating",
    "Composition",
    "HeatCurve",
    "HeatPiece",
    "HeatResult",
    "HeatSpread",
    "HeatStage",
    "HeatStageResult",
    "Range",
    "Samples",
    "TimeReached",
    "crossing",
    "run",
]

# Time steps: the first of a stage and the first after a coating, in half thickness^2 / diffusivity, and the least number
# per stage. Otherwise the surface sets the step. Compared with far finer steps the core is within 0.3 K (1.5 K where
# juice leaves fast) and the mass within 0.2 % (0.8 %): see the tests.
_FIRST_FOURIER, _FOURIER_AFTER_COATING = 0.02, 0.6
_STEPS_PER_STAGE = 10
_CORE_STEP, _DRIFT_STEP = 0.12, 0.02  # in stages that end at a core: of the slowest time, of the elapsed time
_REJECTED, _SHORTEST = 0.25, 2.0  # repeat a step that changes the surface 4 times too much, down to 2 s


def run(
    piece: HeatPiece,
    stages: Sequence[HeatStage],
    spread: HeatSpread | None = None,
    pressure: float = STANDARD_PRESSURE,
    fallbacks: Sequence[HeatStage] = (),
) -> HeatResult:
    """Heat, dry or cool a piece through its stages in order.

    rho c dT/dt = div(k grad T), with -k dT/dn = h (T_surface - T_chamber) + e sigma (T_surface^4 - T_chamber^4) + m h_fg

    Parameters
    ----------
    piece, stages, spread
        See ``heated_piece``. Lengths [m], times [s], temperatures [K], fractions 0 to 1.
    pressure : float [Pa]
        Of the air, 40 kPa to 120 kPa.
    fallbacks : sequence of HeatStage
        Stages to try in turn in place of the last one, where that one leaves the range of the model.

    Returns
    -------
    HeatResult, with ranges over ``spread.samples`` runs (see handbook/uncertainty/sampling.py)

    Raises
    ------
    ValueError  no stages
    RangeError  the piece would freeze or burn (mean temperature outside -3 to 150 degC), its surface would dry out
                completely, or the chamber air would be more than saturated at this pressure

    Notes
    -----
    Conduction: exact modes (see conduction.py), with properties from composition at the mean temperature and moisture,
    shrinking as the piece dries. Surface: convection and radiation from walls at chamber temperature, less evaporation by
    the analogy of heat and mass transfer. A wet surface therefore tends to the wet-bulb temperature (a little above it,
    because of radiation), and later to the chamber temperature as moisture transport from the inside falls behind.
    Radiation is linearised about the mean of surface and chamber.
    Source: [carslaw-jaeger-1959], [choi-okos-1986], [lewis-number], [muscle-isotherm].
    Valid for a mean temperature of -3 to 150 degC. Not modelled: opening the door, heat of smoke or fat rendering,
    melting or freezing, edges of a slab, bone, dripping dew.
    Error of the time steps: core 0.3 K (1.5 K where juice leaves fast), mass 0.2 % (0.8 %).
    Not a safety limit: a calibrated thermometer decides.

    Examples
    --------
    A closed 20 mm fillet in a bath at 60 degC approaches the bath's temperature:

    >>> muscle = Composition(water=0.75, protein=0.2, fat=0.04, ash=0.01)
    >>> fillet = HeatPiece(shape="slab", thickness=Range.exact(0.02), composition=muscle,
    ...                    temperature=Range.exact(277.15), open_fraction=0.0)
    >>> bath = HeatStage(name="bath", medium="water", duration=7200.0, temperature=Range.exact(333.15), air="still")
    >>> round(float(run(fillet, [bath], HeatSpread(samples=0)).core.typical[-1]) - 273.15, 1)
    60.0
    """
    if not stages:
        raise ValueError("stages: read none; allowed: at least one")
    if not 4e4 <= pressure <= 1.2e5:
        raise RangeError("pressure", pressure, "40000 to 120000 Pa")
    stepper = TimeStepper(piece, stages, spread or HeatSpread(), pressure)
    record = _Record(stepper)
    results = [_run_stage(stepper, stage, record) for stage in stages[:-1]]
    results.append(_run_last(stepper, (stages[-1], *fallbacks), record))
    return HeatResult(time=np.array(record.time), samples=record.samples(), stages=tuple(results))


def _run_last(stepper: TimeStepper, attempts: Sequence[HeatStage], record: _Record) -> HeatStageResult:
    before, rows = stepper.checkpoint(), len(record.rows)
    for stage in attempts[:-1]:
        try:
            return _run_stage(stepper, stage, record)
        except (RangeError, FloatingPointError):
            stepper.restore(before)
            record.truncate(rows)
    return _run_stage(stepper, attempts[-1], record)


class _Record:
    """Collects the state after every step."""

    def __init__(self, stepper: TimeStepper):
        self.stepper, self.time = stepper, [0.0]
        self.rows: list[tuple[Floats, ...]] = []
        self.add(stepper.start)

    def add(self, chamber: Floats, time: float | None = None) -> None:
        state = self.stepper.state
        if time is not None:
            self.time.append(time)
        self.rows.append(
            (
                chamber,
                state.core,
                state.surface,
                state.mean,
                self.stepper.mass(),
                self.stepper.water(),
                state.surface_moisture,
            )
        )

    def truncate(self, rows: int) -> None:
        """Keep the first ``rows`` states."""
        del self.time[rows:], self.rows[rows:]

    def samples(self) -> Samples:
        *columns, moisture = [np.stack(column, axis=1) for column in zip(*self.rows, strict=True)]
        if moisture.min() <= 0:  # the result past this point is outside the model
            raise RangeError("moisture of the surface", float(moisture.min()), "above 0: a shorter or cooler step")
        chamber, core, surface, mean, mass, water = columns
        return Samples(chamber, core, surface, mean, mass, water, self.stepper.draws)


def _run_stage(stepper: TimeStepper, stage: HeatStage, record: _Record) -> HeatStageResult:
    around = surroundings(stage, stepper.draws, stepper.pressure)
    clock = _Clock(begin=record.time[-1])
    before = _Before(mass=record.rows[-1][4], dripped=stepper.state.dripped, row=len(record.rows))
    coats = [(time, coating) for coating in stage.coatings for time in coating.times]
    coated = 0.0
    for time, coating in [*sorted(coats, key=lambda each: each[0]), (stage.duration, None)]:
        _run_until(stepper, stage, around, record, clock, time)
        if clock.elapsed < time - 1e-6:
            break
        if coating is not None:
            stepper.coat(coating)
            coated += coating.mass_on_green_weight
    stepper.check()
    return _stage_result(stepper, stage, record, clock, before, coated)


@dataclass(kw_only=True)
class _Clock:
    # Time of a stage: s since its start, and when the typical core reached its target.
    begin: float
    elapsed: float = 0.0
    reached: float | None = None


@dataclass(frozen=True, kw_only=True)
class _Before:
    # State at the start of a stage.
    mass: Floats
    dripped: Floats
    row: int


def _run_until(
    stepper: TimeStepper, stage: HeatStage, around: Surroundings, record: _Record, clock: _Clock, until: float
) -> None:
    # Step to ``until`` s into the stage, or to the end of the hold of a stage that ends at a core temperature.
    if stage.until_core is not None and clock.reached is None and stepper.state.core[0] >= stage.until_core:
        clock.reached = clock.elapsed
    first, growth = (_FIRST_FOURIER, 2.0) if clock.elapsed == 0 else (_FOURIER_AFTER_COATING, 6.0)
    if clock.elapsed == 0:
        # The surface adapts to the new surroundings at once. The higher the Biot number, the shorter the first step.
        stepper.step(around, 0.0, INSTANT)
        stepper.settle()
        first /= max(1.0, 4.0 * (stepper.biot(stage) / stepper.heat_modes.biot - 1.0))
    step = min(first * stepper.time_scale, _longest_step(stepper, stage, clock), until - clock.elapsed)
    if clock.elapsed > 0:
        step = min(step, SOAKING_TIME)  # resolves the cooling by a baste on the curve
    while True:
        limit = until if clock.reached is None else min(until, clock.reached + stage.hold)
        left = limit - clock.elapsed
        if left <= 1e-6:
            return
        length = left if left < 1.4 * step else step
        before = stepper.state.copy()
        stepper.step(around, clock.elapsed + length, length)
        pace = stepper.pace(before)
        if pace < _REJECTED and length > _SHORTEST:
            stepper.state, step = before, max(0.3 * length, _SHORTEST)
            continue
        if stage.until_core is not None and clock.reached is None and stepper.state.core[0] >= stage.until_core:
            length = _meet(stepper, around, clock.elapsed, length, before, stage.until_core)
            clock.reached = clock.elapsed + length
        clock.elapsed += length
        record.add(around.temperature(clock.elapsed), clock.begin + clock.elapsed)
        step = min(max(step * min(max(pace, 0.4), growth), _SHORTEST), _longest_step(stepper, stage, clock))


def _longest_step(stepper: TimeStepper, stage: HeatStage, clock: _Clock) -> float:
    # A core reaches its target within a few slowest times, or drifts for hours while the piece dries.
    longest = stage.duration / _STEPS_PER_STAGE
    if stage.until_core is None:
        return longest
    return min(longest, max(_CORE_STEP * stepper.slowest_time, _DRIFT_STEP * clock.elapsed))


def _meet(
    stepper: TimeStepper, around: Surroundings, elapsed: float, length: float, before: HeatState, target: float
) -> float:
    # Shorten the last step so that it ends when the typical core is at ``target``. Returns its length.
    low, high = (0.0, float(before.core[0])), (length, float(stepper.state.core[0]))
    for _ in range(4):
        length = low[0] + (target - low[1]) / (high[1] - low[1]) * (high[0] - low[0])
        length = max(length, 1e-3)
        stepper.state = before.copy()
        stepper.step(around, elapsed + length, length)
        core = float(stepper.state.core[0])
        if abs(core - target) < 0.01:
            break
        low, high = ((length, core), high) if core < target else (low, (length, core))
    return length


def _stage_result(
    stepper: TimeStepper, stage: HeatStage, record: _Record, clock: _Clock, before: _Before, coated: float
) -> HeatStageResult:
    state = stepper.state
    mass = stepper.mass()
    core = np.stack([row[1] for row in record.rows[max(before.row - 1, 0) :]])
    return HeatStageResult(
        name=stage.name,
        start=clock.begin,
        end=clock.begin + clock.elapsed,
        core=range_of(state.core),
        highest_core=range_of(core.max(0)),
        surface=range_of(state.surface),
        mean=range_of(state.mean),
        mass_lost=range_of(1.0 - mass / before.mass),
        dripped=range_of(state.dripped - before.dripped),
        coated=coated,
    )
