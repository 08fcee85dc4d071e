"""One stage of a heat run: its time steps, their record, and the end of a stage that waits for the food.

A stage that waits ends in each sample at the sample's own time. Finished samples are held until the last one finishes,
so the next stage starts from the state in which each of them ended. The record keeps the times of the typical sample.
For each of these it also keeps the time of every sample at the same share of its own stage.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from handbook.base.arrays import Bools, Floats
from handbook.base.errors import RangeError
from handbook.heat.heat_record import Record
from handbook.heat.heat_results import HeatStageResult, StageFinish
from handbook.heat.heat_state import HeatState
from handbook.heat.heated_piece import HeatStage
from handbook.heat.lethality import log10_reductions
from handbook.heat.moisture_stepping import INSTANT, SOAKING_TIME
from handbook.heat.surroundings import surroundings
from handbook.heat.time_stepping import TimeStepper
from handbook.uncertainty.sampling import range_of

# Time steps: the first of a stage and the first after a coating, in half thickness^2 / diffusivity, and the minimum
# number per stage. Otherwise the surface sets the step. Compared with far finer steps the core is within 0.3 K (1.5 K
# where juice leaves fast) and the mass within 0.2 % (0.8 %): see the tests.
_FIRST_FOURIER, _FOURIER_AFTER_COATING = 0.02, 0.6
_STEPS_PER_STAGE = 10
_CORE_STEP, _DRIFT_STEP = 0.12, 0.02  # in stages that end at a core: of the slowest time constant, of the elapsed time
_DRYING_STEP = 0.1  # in stages that end at a dryness: of the elapsed time
_REJECTED, _SHORTEST = 0.25, 2.0  # repeat a step that changes the surface 4 times too much, down to 2 s
#: A stage that waits is followed for this multiple of the typical sample's time, and at least this long after it [s].
_FOLLOWED, _AFTER = 3.0, 3600.0


def run_stage(stepper: TimeStepper, stage: HeatStage, record: Record) -> HeatStageResult:
    """Run one stage from the stepper's state and add its states to the record.

    No equation: it calls ``TimeStepper.step`` until the stage's time is over, or until every sample is done.

    Parameters
    ----------
    stepper : TimeStepper
    stage : HeatStage
    record : Record

    Returns
    -------
    HeatStageResult

    Raises
    ------
    BeyondModelError  the typical sample leaves the range of the model

    Notes
    -----
    Source: numerical choice; see ``handbook.heat.heat_run.run``. Valid as ``run``.

    Examples
    --------
    An hour in warm water:

    >>> from handbook.heat.heat_example import ALONE, BATH, FILLET
    >>> stepper = TimeStepper(FILLET, [BATH], ALONE, 101325.0)
    >>> run_stage(stepper, BATH, Record(stepper)).end
    3600.0
    """
    try:
        return _run_stage(stepper, stage, record)
    except RangeError as error:
        raise type(error)(error.name, error.value, error.allowed, error.line or stage.line, error.read) from None


def _run_stage(stepper: TimeStepper, stage: HeatStage, record: Record) -> HeatStageResult:
    work = _Work(stepper=stepper, stage=stage, record=record)
    before = _Before(
        mass=record.rows[-1][4],
        dripped=stepper.state.dripped,
        coated=stepper.state.coated,
        row=len(record.rows),
    )
    stepper.enter(work.around)
    finish = _wait(work) if stage.waits else None
    hold = stage.hold if finish is not None and np.isfinite(finish.reached[0]) else 0.0
    if finish is None:
        _pass(work, stage.duration)
    elif hold > 0:
        _hold(work, hold)
    stepper.check()
    return _stage_result(stepper, stage, record, before, finish)


class _Before(Struct, frozen=True, kw_only=True):
    # State at the start of a stage.
    mass: Floats
    dripped: Floats
    coated: Floats
    row: int


class _Work:
    # A stage in progress: s since its start, the next step, and the coatings still to come.
    def __init__(self, *, stepper: TimeStepper, stage: HeatStage, record: Record) -> None:
        self.stepper, self.stage, self.record = stepper, stage, record
        self.elapsed = self.step = 0.0
        self.around = surroundings(stage, stepper.draws, stepper.pressure)
        self.begin, self.clock = record.time[-1], record.clock[-1]
        coats = [(time, coating) for coating in stage.coatings for time in coating.times]
        self.coats = sorted(coats, key=lambda each: each[0])

    def add(self) -> None:
        time = self.elapsed
        self.record.add(self.begin + time, self.clock + time, self.record.row(self.around.temperature(time)))

    def start(self) -> None:
        # Choose the first step of the stage, or of the time after a coating.
        stepper = self.stepper
        if self.elapsed == 0:
            # The surface adapts to the new surroundings at once. The higher the Biot number, the shorter the first step.
            stepper.step(self.around, 0.0, INSTANT)
            stepper.settle()
            ratio = stepper.biot(self.stage) / stepper.heat_modes.biot
            first, self.growth = _FIRST_FOURIER / max(1.0, 4.0 * (ratio - 1.0)), 2.0
        else:
            first, self.growth = _FOURIER_AFTER_COATING, 6.0
        self.step = min(first * stepper.time_scale, self._longest())
        if self.elapsed > 0:
            self.step = min(self.step, SOAKING_TIME)  # resolves the cooling by a baste on the curve

    def advance(self, until: float, still: Bools | None = None) -> tuple[HeatState, float]:
        # One step towards ``until``; returns the state before it and its length. ``still`` are samples that are held.
        stepper = self.stepper
        while True:
            left = until - self.elapsed
            length = left if left < 1.4 * self.step else self.step
            before = stepper.state.copy()
            stepper.step(self.around, self.elapsed + length, length)
            pace = stepper.pace(before, still)
            if pace >= _REJECTED or length <= _SHORTEST:
                break
            stepper.state, self.step = before, max(0.3 * length, _SHORTEST)
        self.elapsed += length
        self.step = min(max(self.step * min(max(pace, 0.4), self.growth), _SHORTEST), self._longest())
        return before, length

    def _longest(self) -> float:
        # A core reaches its target within a few of the slowest time constants, or drifts for hours while the piece
        # dries.
        longest = self.stage.duration / _STEPS_PER_STAGE
        if not self.stage.waits:
            return longest
        drift = _DRYING_STEP if self.stage.dries else _DRIFT_STEP
        return min(longest, max(_CORE_STEP * self.stepper.slowest_time, drift * self.elapsed))

    def next_coat(self, limit: float) -> float:
        return min(self.coats[0][0], limit) if self.coats else limit

    def coat(self) -> bool:
        # Apply the coatings that are due now.
        due = bool(self.coats) and self.coats[0][0] <= self.elapsed + 1e-6
        while self.coats and self.coats[0][0] <= self.elapsed + 1e-6:
            self.stepper.coat(self.coats.pop(0)[1])
        return due


def _pass(work: _Work, limit: float) -> None:
    # Run a stage of a known duration.
    while work.coat() or work.elapsed < limit - 1e-6:
        until = work.next_coat(limit)
        work.start()
        while work.elapsed < until - 1e-6:
            work.advance(until)
            work.add()


def _hold(work: _Work, hold: float) -> None:
    # After each sample has reached its goal, all continue together for the hold time.
    work.begin, work.clock, work.elapsed = work.record.time[-1], work.record.clock[-1], 0.0
    work.coats = []
    work.start()
    while work.elapsed < hold - 1e-6:
        work.advance(hold)
        work.add()


def _wait(work: _Work) -> StageFinish:
    # Step until every sample reaches its goal, at most as long as _FOLLOWED and _AFTER allow.
    stepper, limit = work.stepper, work.stage.duration
    goal = _Goal(work)
    trail, rows = [0.0], [work.record.row(work.around.temperature(0.0))]
    while not goal.done.all() and work.elapsed < limit - 1e-6:
        until = work.next_coat(limit)
        work.start()
        while work.elapsed < until - 1e-6 and not goal.done.all():
            try:
                before, length = work.advance(until, goal.done)
            except (RangeError, FloatingPointError):
                if not goal.done[0]:
                    raise
                # A sample that leaves the range of the model counts as not reached.
                stepper.state = goal.last.copy()
                limit = work.elapsed
                break
            goal.meet(before, length)
            trail.append(work.elapsed)
            rows.append(work.record.row(work.around.temperature(work.elapsed)))
            if goal.done[0]:
                limit = min(limit, max(_FOLLOWED * goal.reached[0], goal.reached[0] + _AFTER))
                until = min(until, limit)
        work.coat()
    took = np.where(goal.done, goal.reached, work.elapsed)
    _add_waited(work, np.array(trail), rows, took)
    return StageFinish(reached=goal.reached, tested=work.elapsed)


class _Goal:
    # The condition that ends the stage, and when each sample reached it (s from the start of the stage).

    def __init__(self, work: _Work):
        self.work, count = work, work.stepper.start.size
        self.reached: Floats = np.full(count, np.inf)
        self.done: Bools = np.zeros(count, dtype=bool)
        self.killed: list[Floats] = []
        organisms = work.stage.until_reduction
        if organisms:
            core = np.stack([row[1] for row in work.record.rows], axis=1)
            clock = np.stack([np.broadcast_to(each, (count,)) for each in work.record.clock], axis=1)
            self.killed = [log10_reductions(clock, core, each) for each in organisms]
        self.last = work.stepper.state.copy()
        self._mark(self._progress(work.stepper.state, work.stepper.state, 0.0)[0] >= 0.0, 0.0)

    def _progress(self, before: HeatState, after: HeatState, length: float) -> tuple[Floats, list[Floats]]:
        # How far each sample is past its goal: 0 or more where it is reached.
        stage = self.work.stage
        if stage.until_core is not None:
            return after.core - stage.until_core, []
        if stage.dries:
            return self._dried(after), []
        core = np.stack([before.core, after.core], axis=1)
        killed = [
            old + log10_reductions([0.0, length], core, each)
            for old, each in zip(self.killed, stage.until_reduction, strict=True)
        ]
        shares = [each / one.log10_target for each, one in zip(killed, stage.until_reduction, strict=True)]
        return np.minimum.reduce(shares) - 1.0, killed

    def _dried(self, state: HeatState) -> Floats:
        # How far each sample is past the required weight loss or below the required water activity.
        work, stepper = self.work, self.work.stepper
        if work.stage.until_loss is not None:
            water = stepper.solids * state.mean_moisture + state.film
            lost: Floats = 1.0 - water - state.dry_matter - work.stage.until_loss
            return lost
        wanted = work.stage.until_activity or 1.0
        whole = np.maximum(state.mean_moisture, 1e-6)
        drier: Floats = wanted - np.exp(stepper.isotherm.log_activity(whole)[0])
        return drier

    def meet(self, before: HeatState, length: float) -> None:
        # After a step, hold the samples that reached the goal in the state at which they reached it.
        work, stepper = self.work, self.work.stepper
        past = self._progress(before, before, 0.0)[0]
        now, killed = self._progress(before, stepper.state, length)
        if now[0] >= 0.0 and not self.done[0]:
            work.elapsed -= length
            length = self._shorten(before, length, float(past[0]), float(now[0]))
            work.elapsed += length
            now, killed = self._progress(before, stepper.state, length)
            now[0] = max(now[0], 0.0)
        self.killed = killed
        fresh = (now >= 0.0) & ~self.done
        if fresh.any():
            share = np.where(fresh, np.clip(-past / np.where(fresh, now - past, 1.0), 0.0, 1.0), 1.0)
            share[0] = 1.0
            stepper.state = _between(before, stepper.state, share)
            self._mark(fresh, work.elapsed - (1.0 - share) * length)
        if self.done.any():
            stepper.state = _merged(stepper.state, self.last, self.done & ~fresh)
        self.last = stepper.state.copy()

    def _mark(self, fresh: Bools, at: Floats | float) -> None:
        self.reached = np.where(fresh, at, self.reached)
        self.done = self.done | fresh

    def _shorten(self, before: HeatState, length: float, past: float, now: float) -> float:
        # Shorten the last step so that it ends when the typical sample reaches the goal. Returns its length.
        work, stepper = self.work, self.work.stepper
        low, high = (0.0, past), (length, now)
        for _ in range(4):
            length = low[0] - low[1] / (high[1] - low[1]) * (high[0] - low[0])
            length = max(length, 1e-3)
            stepper.state = before.copy()
            stepper.step(work.around, work.elapsed + length, length)
            found = float(self._progress(before, stepper.state, length)[0][0])
            if abs(found) < (1e-4 if work.stage.dries else 0.01):
                break
            low, high = ((length, found), high) if found < 0.0 else (low, (length, found))
        return length


def _between(before: HeatState, after: HeatState, share: Floats) -> HeatState:
    # The state at a share of the step, sample by sample.
    def at(name: str) -> Floats:
        old, new = getattr(before, name), getattr(after, name)
        middle: Floats = old + (share[:, None] if new.ndim == 2 else share) * (new - old)
        return middle

    return HeatState(**{name: at(name) for name in HeatState.__struct_fields__})


def _merged(state: HeatState, still: HeatState, mask: Bools) -> HeatState:
    # ``state``, with the samples of ``mask`` taken from ``still``.
    def at(name: str) -> Floats:
        new = getattr(state, name)
        merged: Floats = np.where(mask[:, None] if new.ndim == 2 else mask, getattr(still, name), new)
        return merged

    return HeatState(**{name: at(name) for name in HeatState.__struct_fields__})


def _add_waited(work: _Work, trail: Floats, rows: list[tuple[Floats, ...]], took: Floats) -> None:
    # Add the states at the typical sample's times. Every other sample is taken at the same share of its own time.
    nodes = np.minimum(trail, took[0])
    nodes = nodes[: int(np.searchsorted(trail, took[0] - 1e-9)) + 1]
    own = nodes / max(float(took[0]), 1e-9) * took[:, None]
    axis = np.minimum(trail, took[:, None])
    at = np.clip(np.searchsorted(trail, own, side="right") - 1, 0, max(trail.size - 2, 0))
    after = np.minimum(at + 1, trail.size - 1)
    start, end = np.take_along_axis(axis, at, 1), np.take_along_axis(axis, after, 1)
    width = end - start
    share = np.where(width > 0, np.clip((own - start) / np.where(width > 0, width, 1.0), 0.0, 1.0), 1.0)
    found = []
    for values in zip(*rows, strict=True):
        column = np.stack(values, axis=1)
        first, second = np.take_along_axis(column, at, 1), np.take_along_axis(column, after, 1)
        found.append(first + share * (second - first))
    for number in range(1, nodes.size):
        row = tuple(column[:, number] for column in found)
        work.record.add(work.begin + float(nodes[number]), work.clock + own[:, number], row)


def _stage_result(
    stepper: TimeStepper, stage: HeatStage, record: Record, before: _Before, finish: StageFinish | None
) -> HeatStageResult:
    state, rows = stepper.state, record.rows[max(before.row - 1, 0) :]
    mass = stepper.mass()
    core = np.stack([row[1] for row in rows])
    dripped, coated = state.dripped - before.dripped, state.coated - before.coated
    shift = stepper.unfrozen
    return HeatStageResult(
        name=stage.name,
        start=record.time[before.row - 1],
        end=record.time[-1],
        core=range_of(shift(state.core)),
        highest_core=range_of(shift(core.max(0))),
        surface=range_of(shift(state.surface)),
        mean=range_of(shift(state.mean)),
        mass_lost=range_of(1.0 - mass / before.mass),
        dripped=range_of(dripped),
        evaporated=range_of(before.mass - mass + coated - dripped),
        coated=float(coated[0]),
        finish=finish,
    )
