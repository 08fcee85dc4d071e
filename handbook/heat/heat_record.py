"""The record of a heat run: the state after every step, with each sample's own time."""

from __future__ import annotations

import numpy as np

from handbook.base.arrays import Floats
from handbook.heat.heat_results import Samples
from handbook.heat.time_stepping import TimeStepper


class Record:
    """Collects the state after every step, with each sample's own time."""

    def __init__(self, stepper: TimeStepper):
        self.stepper, self.time = stepper, [0.0]
        self.clock: list[Floats | float] = [0.0]
        self.rows: list[tuple[Floats, ...]] = []
        self.rows.append(self.row(stepper.start))

    def row(self, chamber: Floats) -> tuple[Floats, ...]:
        """The current state: chamber, core, surface, mean, mass, water, dripped, coated, moisture at surface and core and of the whole."""
        state = self.stepper.state
        return (
            chamber,
            state.core,
            state.surface,
            state.mean,
            self.stepper.mass(),
            self.stepper.water(),
            state.dripped,
            state.coated,
            state.surface_moisture,
            state.moisture @ self.stepper.moisture_modes.core,
            state.mean_moisture,
        )

    def add(self, time: float, clock: Floats | float, row: tuple[Floats, ...]) -> None:
        """Add one state at ``time`` s of the typical sample and ``clock`` s of each."""
        self.time.append(time)
        self.clock.append(clock)
        self.rows.append(row)

    def columns(self, begin: int = 0) -> list[Floats]:
        """The columns of the rows from number ``begin`` on, each (s, n)."""
        return [np.stack(column, axis=1) for column in zip(*self.rows[begin:], strict=True)]

    def samples(self) -> Samples:
        """All states so far."""
        chamber, core, surface, mean, mass, water, dripped, coated, *moisture = self.columns()
        shift = self.stepper.unfrozen
        clock = None
        if any(isinstance(each, np.ndarray) for each in self.clock):
            clock = np.stack([np.broadcast_to(each, mean.shape[:1]) for each in self.clock], axis=1)
        evaporated = 1.0 + coated - mass - dripped
        return Samples(
            chamber,
            shift(core),
            shift(surface),
            shift(mean),
            mass,
            water,
            dripped,
            evaporated,
            self.stepper.draws,
            clock,
            moisture=(moisture[0], moisture[1], moisture[2]),
            isotherm=self.stepper.isotherm,
        )
