"""Core, surface and mean temperature, water loss and yield of one piece through its stages.

The public face of the heat engine: records from ``heat_model``, results from ``heat_result``, numerics in
``heat_steps``, ``conduction`` and ``drying``.
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
from handbook.heat.heated_piece import AIR_CLASSES, AirClass, Coating, HeatPiece, HeatSpread, HeatStage
from handbook.heat.humid_air import STANDARD_PRESSURE
from handbook.heat.surroundings import Surroundings, surroundings
from handbook.heat.time_stepping import INPUTS, INSTANT, SOAKING_TIME, HeatState, TimeStepper
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

# Steps in time: the first of a stage and after a coating in half-thickness^2 / diffusivity, and how few a stage takes
# at least. Between, the surface sets the pace. Against far finer steps the core is within 0.3 K, within 1.5 K where juice
# leaves fast, the mass within 0.2 % and 0.8 %: see the tests.
_FIRST_FOURIER, _FOURIER_AFTER_COATING = 0.02, 0.6
_STEPS_PER_STAGE = 10
_CORE_STEP, _DRIFT_STEP = 0.12, 0.02  # while a core is waited for: of the slowest time, of what has passed
_REJECTED, _SHORTEST = 0.25, 2.0  # a step that changes the surface 4 times too much is taken again, down to 2 s


def run(
    piece: HeatPiece,
    stages: Sequence[HeatStage],
    spread: HeatSpread | None = None,
    pressure: float = STANDARD_PRESSURE,
    fallbacks: Sequence[HeatStage] = (),
) -> HeatResult:
    """Heat, dry or cool ``piece`` through ``stages`` in order.

    Parameters
    ----------
    piece, stages, spread
        See ``heat_model``. Lengths in m, times in s, temperatures in K, fractions 0..1.
    pressure : float
        Of the air in Pa, 40 kPa to 120 kPa.
    fallbacks
        Stages to try in turn in place of the last one, where that one leaves the range of the model.

    Returns
    -------
    HeatResult, with ranges over ``spread.samples`` runs (see uncertainty.py)

    Raises
    ------
    RangeError  the piece would freeze or burn (mean temperature outside -3 to 150 degC), its surface would dry to
                nothing, or the chamber air would be more than saturated at this pressure

    Notes
    -----
    Conduction: exact modes (see conduction.py) with properties from composition at the mean temperature and moisture,
    shrinking as it dries. Surface: convection + radiation from walls at chamber temperature - evaporation, by the
    analogy of heat and mass transfer; so a wet surface tends to the wet-bulb temperature (a little above it, for the
    radiation), and to the chamber's as inner moisture transport falls behind. Not counted: opening the door, heat of
    smoke or fat rendering, melting or freezing, edges of a slab, bone; dew stays on the piece, none drips.
    Not a safety limit: a calibrated thermometer decides.
    """
    if not stages:
        raise ValueError("stages: read none; allowed: at least one")
    if not 4e4 <= pressure <= 1.2e5:
        raise RangeError("pressure", pressure, "40000 to 120000 Pa")
    walker = TimeStepper(piece, stages, spread or HeatSpread(), pressure)
    record = _Record(walker)
    results = [_run_stage(walker, stage, record) for stage in stages[:-1]]
    results.append(_run_last(walker, (stages[-1], *fallbacks), record))
    return HeatResult(time=np.array(record.time), samples=record.samples(), stages=tuple(results))


def _run_last(walker: TimeStepper, attempts: Sequence[HeatStage], record: _Record) -> HeatStageResult:
    before, rows = walker.checkpoint(), len(record.rows)
    for stage in attempts[:-1]:
        try:
            return _run_stage(walker, stage, record)
        except (RangeError, FloatingPointError):
            walker.restore(before)
            record.truncate(rows)
    return _run_stage(walker, attempts[-1], record)


class _Record:
    """Collects the state after every step."""

    def __init__(self, walker: TimeStepper):
        self.walker, self.time = walker, [0.0]
        self.rows: list[tuple[Floats, ...]] = []
        self.add(walker.start)

    def add(self, chamber: Floats, time: float | None = None) -> None:
        state = self.walker.state
        if time is not None:
            self.time.append(time)
        self.rows.append(
            (
                chamber,
                state.core,
                state.surface,
                state.mean,
                self.walker.mass(),
                self.walker.water(),
                state.surface_moisture,
            )
        )

    def truncate(self, rows: int) -> None:
        """Keep the first ``rows`` states."""
        del self.time[rows:], self.rows[rows:]

    def samples(self) -> Samples:
        *columns, moisture = [np.stack(column, axis=1) for column in zip(*self.rows, strict=True)]
        if moisture.min() <= 0:  # the run marched on, but its drying past this point means nothing
            raise RangeError("moisture of the surface", float(moisture.min()), "above 0: a shorter or cooler step")
        chamber, core, surface, mean, mass, water = columns
        return Samples(chamber, core, surface, mean, mass, water, self.walker.draws)


def _run_stage(walker: TimeStepper, stage: HeatStage, record: _Record) -> HeatStageResult:
    around = surroundings(stage, walker.draws, walker.pressure)
    clock = _Clock(begin=record.time[-1])
    before = _Before(mass=record.rows[-1][4], dripped=walker.state.dripped, row=len(record.rows))
    coats = [(time, coating) for coating in stage.coatings for time in coating.times]
    coated = 0.0
    for time, coating in [*sorted(coats, key=lambda each: each[0]), (stage.duration, None)]:
        _run_until(walker, stage, around, record, clock, time)
        if clock.elapsed < time - 1e-6:
            break
        if coating is not None:
            walker.coat(coating)
            coated += coating.mass_on_green_weight
    walker.check()
    return _stage_result(walker, stage, record, clock, before, coated)


@dataclass(kw_only=True)
class _Clock:
    # Where a stage stands: s since it began, and when the typical core reached its target.
    begin: float
    elapsed: float = 0.0
    reached: float | None = None


@dataclass(frozen=True, kw_only=True)
class _Before:
    # What a stage starts from.
    mass: Floats
    dripped: Floats
    row: int


def _run_until(
    walker: TimeStepper, stage: HeatStage, around: Surroundings, record: _Record, clock: _Clock, until: float
) -> None:
    # March to ``until`` s into the stage, or to the end of the hold of a stage that waits for the core.
    if stage.until_core is not None and clock.reached is None and walker.state.core[0] >= stage.until_core:
        clock.reached = clock.elapsed
    first, growth = (_FIRST_FOURIER, 2.0) if clock.elapsed == 0 else (_FOURIER_AFTER_COATING, 6.0)
    if clock.elapsed == 0:
        # The surface jumps to its new surroundings; the more abruptly, the shorter the first step.
        walker.step(around, 0.0, INSTANT)
        walker.settle()
        first /= max(1.0, 4.0 * (walker.biot(stage) / walker.heat_modes.biot - 1.0))
    step = min(first * walker.time_scale, _longest_step(walker, stage, clock), until - clock.elapsed)
    if clock.elapsed > 0:
        step = min(step, SOAKING_TIME)  # so that the curve shows the dip of a baste
    while True:
        limit = until if clock.reached is None else min(until, clock.reached + stage.hold)
        left = limit - clock.elapsed
        if left <= 1e-6:
            return
        length = left if left < 1.4 * step else step
        before = walker.state.copy()
        walker.step(around, clock.elapsed + length, length)
        pace = walker.pace(before)
        if pace < _REJECTED and length > _SHORTEST:
            walker.state, step = before, max(0.3 * length, _SHORTEST)
            continue
        if stage.until_core is not None and clock.reached is None and walker.state.core[0] >= stage.until_core:
            length = _meet(walker, around, clock.elapsed, length, before, stage.until_core)
            clock.reached = clock.elapsed + length
        clock.elapsed += length
        record.add(around.temperature(clock.elapsed), clock.begin + clock.elapsed)
        step = min(max(step * min(max(pace, 0.4), growth), _SHORTEST), _longest_step(walker, stage, clock))


def _longest_step(walker: TimeStepper, stage: HeatStage, clock: _Clock) -> float:
    # A core that is waited for comes within a few slowest times, or drifts on for hours as the piece dries.
    longest = stage.duration / _STEPS_PER_STAGE
    if stage.until_core is None:
        return longest
    return min(longest, max(_CORE_STEP * walker.slowest_time, _DRIFT_STEP * clock.elapsed))


def _meet(
    walker: TimeStepper, around: Surroundings, elapsed: float, length: float, before: HeatState, target: float
) -> float:
    # Shorten the step just taken until it ends where the typical core is at ``target``; returns its length.
    low, high = (0.0, float(before.core[0])), (length, float(walker.state.core[0]))
    for _ in range(4):
        length = low[0] + (target - low[1]) / (high[1] - low[1]) * (high[0] - low[0])
        length = max(length, 1e-3)
        walker.state = before.copy()
        walker.step(around, elapsed + length, length)
        core = float(walker.state.core[0])
        if abs(core - target) < 0.01:
            break
        low, high = ((length, core), high) if core < target else (low, (length, core))
    return length


def _stage_result(
    walker: TimeStepper, stage: HeatStage, record: _Record, clock: _Clock, before: _Before, coated: float
) -> HeatStageResult:
    state = walker.state
    mass = walker.mass()
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
