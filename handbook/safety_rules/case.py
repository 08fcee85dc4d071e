"""What the rules look at: one method with its computed values, and the core temperature over time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from handbook.foods import Food
from handbook.house import House
from handbook.method import Method
from handbook.ranges import Range
from handbook.schedule import Schedule


@dataclass(frozen=True, eq=False)
class CoreCurve:
    """Core temperature in K over ``time`` in s, arrays (n,): typical, and the ends of its range."""

    time: np.ndarray
    low: np.ndarray
    typical: np.ndarray
    high: np.ndarray

    @classmethod
    def of(cls, result) -> CoreCurve:
        """The core of a heat run: anything with ``time`` and a ``core`` of low, typical and high."""
        return cls(result.time, result.core.low, result.core.typical, result.core.high)

    @property
    def highest(self) -> Range:
        """The highest core temperature in K."""
        return _range(float(np.max(each)) for each in self._ends)

    def hold(self, at_least: float) -> Range:
        """The longest unbroken time in s at or above a temperature in K."""
        return _range(_longest(self.time, each, at_least) for each in self._ends)

    def time_in(self, low: float, high: float, before_peak: bool = False) -> Range:
        """Time in s that the core is between two temperatures in K; only up to its peak with ``before_peak``."""
        return _range(_time_between_bounds(self.time, each, low, high, before_peak) for each in self._ends)

    def fall(self, warm: float, cold: float) -> Range | None:
        """Time in s from the last fall through ``warm`` to the first time at ``cold`` (K); None if not reached."""
        found = [_fall(self.time, each, warm, cold) for each in self._ends]
        return None if any(each is None for each in found) else _range(found)

    @property
    def _ends(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        return self.low, self.typical, self.high


@dataclass(frozen=True)
class SafetyCase:
    """One method in one house with what was computed for it. None = unknown, and is said as unknown.

    Salt, water activity and mass ratio are fractions: ``equilibrium_salt`` / food mass at rest, ``brine_salt`` /
    (salt + water) of the brine as made, ``water_phase_salt`` and ``water_activity`` of the FINISHED food,
    ``finished_mass_ratio`` finished / green weight. Nitrite and nitrate are ingoing ppm by mass as sodium salts;
    Range.exact(0) says that none is used. ``core`` runs over heating and cooling. ``log_reductions`` are log10
    by organism. ``final_ph`` is measured; without it the page's own stated pH is judged. ``is_measured``: core, times
    and temperatures are those of a run, and the findings say so.
    """

    method: Method
    house: House
    food: Food
    schedule: Schedule | None = None
    equilibrium_salt: Range | None = None
    brine_salt: Range | None = None
    water_phase_salt: Range | None = None
    water_activity: Range | None = None
    ingoing_nitrite_ppm: Range | None = None
    ingoing_nitrate_ppm: Range | None = None
    finished_mass_ratio: Range | None = None
    final_ph: Range | None = None
    core: CoreCurve | None = None
    log_reductions: Mapping[str, Range] = field(default_factory=dict)
    is_measured: bool = False
    allergens: tuple[str, ...] = ()

    @property
    def by_model(self) -> str:
        """How the findings say where the core comes from."""
        return "measured" if self.is_measured else "computed"

    @property
    def by_page(self) -> str:
        """How the findings say where times and temperatures of the steps come from."""
        return "as read" if self.is_measured else "as stated"

    @property
    def kind(self) -> str:
        """The kind of method."""
        return self.method.sheet.kind

    @property
    def pack(self) -> str:
        """How the finished food is packed; "" where the page does not say."""
        return self.method.keeping.pack if self.method.keeping else ""


def _range(ends) -> Range:
    low, typical, high = ends
    return Range(min(low, typical, high), typical, max(low, typical, high))


def _longest(time: np.ndarray, temperature: np.ndarray, at_least: float) -> float:
    # Segments of one run share the count of colder points before them.
    run = np.cumsum(temperature < at_least)[:-1]
    return float(np.max(np.bincount(run, np.diff(time) * _share_above(temperature, at_least)), initial=0.0))


def _share_above(temperature: np.ndarray, bound: float) -> np.ndarray:
    """Share of each segment at or above ``bound``, straight lines between the points."""
    low = np.minimum(temperature[:-1], temperature[1:])
    high = np.maximum(temperature[:-1], temperature[1:])
    part = (high - bound) / np.where(high > low, high - low, 1.0)
    return np.where(low >= bound, 1.0, np.where(high < bound, 0.0, part))


def _time_between_bounds(time, temperature, low: float, high: float, before_peak: bool) -> float:
    last = int(np.argmax(temperature)) + 1 if before_peak else len(time)
    inside = _share_above(temperature[:last], low) - _share_above(temperature[:last], high)
    return float(np.sum(np.diff(time[:last]) * inside))


def _fall(time: np.ndarray, temperature: np.ndarray, warm: float, cold: float) -> float | None:
    above = np.nonzero(temperature > warm)[0]
    if not len(above):
        return 0.0
    if above[-1] == len(time) - 1:
        return None
    start = _crossing(time, temperature, int(above[-1]), warm)
    below = [index for index in range(int(above[-1]) + 1, len(time)) if temperature[index] <= cold]
    return None if not below else float(_crossing(time, temperature, below[0] - 1, cold) - start)


def _crossing(time: np.ndarray, temperature: np.ndarray, index: int, bound: float) -> float:
    first, second = temperature[index], temperature[index + 1]
    part = 0.0 if first == second else (first - bound) / (first - second)
    return float(time[index] + part * (time[index + 1] - time[index]))
