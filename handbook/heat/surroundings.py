"""The chamber, bath or room of one stage as every sample sees it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from handbook.base.arrays import Floats
from handbook.base.errors import RangeError
from handbook.base.ranges import Range
from handbook.heat.evaporation import mass_conductance
from handbook.heat.heated_piece import HEATED, HeatStage
from handbook.heat.humid_air import saturation
from handbook.uncertainty.sampling import Draws

_MOST_VAPOUR = 0.98  # of the total pressure


@dataclass(frozen=True, kw_only=True)
class Surroundings:
    """One stage as the samples see it: chamber start and end (n,), vapour pressure or relative humidity, film."""

    start: Floats
    end: Floats
    duration: float
    coefficient: Floats
    humidity: Floats | None
    vapour_pressure: Floats | None
    is_air: bool
    most_vapour: float

    def temperature(self, elapsed: float) -> Floats:
        """Chamber temperature in K, shape (n,), ``elapsed`` s into the stage."""
        if self.end is self.start:
            return self.start
        return self.start + (self.end - self.start) * min(elapsed / self.duration, 1.0)

    def vapour(self, temperature: Floats) -> Floats:
        """Vapour pressure in Pa of the chamber at its ``temperature``."""
        if temperature is self.start:
            return self._vapour_at_start
        return self._vapour(temperature)

    def film(self, temperature: Floats, pressure: float) -> tuple[Floats, Floats]:
        """Mole fraction of vapour in the air and conductance of its film in kg/(m2 s): see drying.mass_conductance."""
        if temperature is self.start:
            return self._film_at_start(pressure)
        share = self.vapour(temperature) / pressure
        return share, mass_conductance(self.coefficient, share)

    @cached_property
    def _vapour_at_start(self) -> Floats:
        return self._vapour(self.start)

    def _film_at_start(self, pressure: float) -> tuple[Floats, Floats]:
        if pressure not in self._film_store:
            share = self._vapour_at_start / pressure
            self._film_store[pressure] = (share, mass_conductance(self.coefficient, share))
        return self._film_store[pressure]

    @cached_property
    def _film_store(self) -> dict[float, tuple[Floats, Floats]]:
        return {}

    def _vapour(self, temperature: Floats) -> Floats:
        saturated = saturation(temperature)
        held: Floats | float = self.most_vapour if self.vapour_pressure is None else self.vapour_pressure
        vapour: Floats = np.minimum(saturated if self.humidity is None else self.humidity * saturated, held)
        return vapour


def surroundings(stage: HeatStage, draws: Draws, pressure: float) -> Surroundings:
    """The stage as each of the ``draws`` has it.

    Raises RangeError where air as stated would hold more vapour than the total ``pressure`` in Pa. Samples beyond what
    is stated are held to that limit.
    """
    start = draws.of(stage.chamber_input(stage.temperature))
    end = draws.of(stage.chamber_input(stage.end_temperature)) if stage.end_temperature else start
    coefficient = draws.of(stage.airflow_input)
    is_air = stage.medium == "air"
    most_vapour = _MOST_VAPOUR * pressure
    humidity = vapour = None
    if is_air and (stage.relative_humidity is not None or max(start[0], end[0]) < HEATED):
        humidity = draws.of(stage.humidity_input)
        _check_vapour(stage, most_vapour)
    elif is_air:
        vapour = saturation(draws.of(stage.dew_point_input))
    return Surroundings(
        start=start,
        end=end,
        duration=stage.duration,
        coefficient=coefficient,
        humidity=humidity,
        vapour_pressure=vapour,
        is_air=is_air,
        most_vapour=most_vapour,
    )


def _check_vapour(stage: HeatStage, most: float) -> None:
    # Each of temperature and humidity at its high end, the other at its typical value.
    humidity = stage.humidity_input.range
    highest = max(
        _vapour_at(each, humidity) for each in (stage.temperature, stage.end_temperature or stage.temperature)
    )
    if highest > most:
        allowed = f"at most {most:.0f} Pa; air this hot holds less relative humidity"
        raise RangeError("vapour pressure of the chamber", highest, allowed)


def _vapour_at(temperature: Range, humidity: Range) -> float:
    typical, high = saturation(np.array([temperature.typical, temperature.high]))
    return float(max(humidity.high * typical, humidity.typical * high))
