"""The chamber, bath or room of one stage as every sample sees it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from handbook.drying import mass_conductance
from handbook.errors import RangeError
from handbook.heat_model import HEATED, UNSTATED_COLD_HUMIDITY, UNSTATED_DEW_POINT, HeatStage
from handbook.psychrometrics import saturation
from handbook.spread import drawn


@dataclass(frozen=True)
class Surroundings:
    """One stage as the samples see it: chamber start and end (n,), vapour pressure or relative humidity, film."""

    start: np.ndarray
    end: np.ndarray
    duration: float
    coefficient: np.ndarray
    humidity: np.ndarray | None
    vapour_pressure: np.ndarray | None
    is_air: bool

    def temperature(self, elapsed: float) -> np.ndarray:
        """Chamber temperature in K, shape (n,), ``elapsed`` s into the stage."""
        if self.end is self.start:
            return self.start
        return self.start + (self.end - self.start) * min(elapsed / self.duration, 1.0)

    def vapour(self, temperature: np.ndarray) -> np.ndarray:
        """Vapour pressure in Pa of the chamber at its ``temperature``."""
        if temperature is self.start:
            return self._vapour_at_start
        return self._vapour(temperature)

    def film(self, temperature: np.ndarray, pressure: float) -> tuple[np.ndarray, np.ndarray]:
        """Mole fraction of vapour in the air and conductance of its film in kg/(m2 s): see drying.mass_conductance."""
        if temperature is self.start:
            return self._film_at_start(pressure)
        share = self.vapour(temperature) / pressure
        return share, mass_conductance(self.coefficient, share)

    @cached_property
    def _vapour_at_start(self) -> np.ndarray:
        return self._vapour(self.start)

    def _film_at_start(self, pressure: float) -> tuple[np.ndarray, np.ndarray]:
        if self._kept.get("pressure") != pressure:
            share = self._vapour_at_start / pressure
            self._kept.update(pressure=pressure, film=(share, mass_conductance(self.coefficient, share)))
        return self._kept["film"]

    @cached_property
    def _kept(self) -> dict:
        return {}

    def _vapour(self, temperature: np.ndarray) -> np.ndarray:
        saturated = saturation(temperature)
        if self.humidity is not None:
            return self.humidity * saturated
        return np.minimum(self.vapour_pressure, saturated)


def surroundings(stage: HeatStage, share: dict[str, np.ndarray], pressure: float) -> Surroundings:
    """The stage at the shares (n,) of each input's spread.

    Raises RangeError where the air would hold more vapour than the total ``pressure`` in Pa.
    """
    start = drawn(stage.temperature, share["chamber temperature"])
    end = drawn(stage.end_temperature, share["chamber temperature"]) if stage.end_temperature else start
    coefficient = drawn(stage.coefficient, share["airflow"], geometric=True)
    is_air = stage.medium == "air"
    humidity = vapour = None
    if is_air and (stage.relative_humidity is not None or max(start[0], end[0]) < HEATED):
        humidity = drawn(stage.relative_humidity or UNSTATED_COLD_HUMIDITY, share["humidity"])
    elif is_air:
        vapour = saturation(drawn(UNSTATED_DEW_POINT, share["humidity"]))
    around = Surroundings(start, end, stage.duration, coefficient, humidity, vapour, is_air)
    if is_air:
        highest = float(max(around.vapour(start).max(), around.vapour(end).max()))
        if highest > 0.98 * pressure:
            raise RangeError(
                "vapour pressure of the chamber",
                highest,
                f"at most {0.98 * pressure:.0f} Pa; air this hot holds less relative humidity",
            )
    return around
