"""The input of the rules: one method with its computed values, and the core temperature over time."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import wraps
from typing import SupportsFloat, TypeVar

import numpy as np
from msgspec import Struct, field

from handbook.base.ranges import Range
from handbook.brine.make_up import MakeUp
from handbook.catalogue.foods import Food
from handbook.heat.heat_results import HeatResult
from handbook.heat.temperature_curve import fall_time, hold_time, time_in_range
from handbook.page.heated import heating_numbers
from handbook.page.house import House
from handbook.page.method import Method
from handbook.page.schedule import Schedule
from handbook.safety.notions import notion

Known = TypeVar("Known")
_STAYS = notion("stays")
_AIRY = ("air", "wrapped", "casing")


def once(compute: Callable[[SafetyCase], Known]) -> Callable[[SafetyCase], Known]:
    """Cache the result of ``compute`` for each case: many rules use it, and a case never changes."""
    name = f"{compute.__module__}.{compute.__qualname__}"

    @wraps(compute)
    def known(case: SafetyCase) -> Known:
        kept = vars(case)
        if name not in kept:
            kept[name] = compute(case)
        found: Known = kept[name]
        return found

    return known


class CoreCurve(Struct, frozen=True, eq=False, kw_only=True):
    """Core temperature in K over ``time`` in s, arrays (n,): typical, and the ends of its range.

    ``slow`` : times of the slowest pieces, where a step waits for the core; None: as ``time``
    """

    time: np.ndarray
    low: np.ndarray
    typical: np.ndarray
    high: np.ndarray
    slow: np.ndarray | None = None

    @classmethod
    def of(cls, result: HeatResult) -> CoreCurve:
        """The core of a heat run."""
        return cls(
            time=result.time,
            low=result.core.low,
            typical=result.core.typical,
            high=result.core.high,
            slow=result.clock_ends.high,
        )

    @property
    def highest(self) -> Range:
        """The highest core temperature in K."""
        return _range(self._curves.max(-1))

    def hold(self, at_least: float) -> Range:
        """The longest unbroken time in s at or above a temperature in K."""
        return _range(hold_time(self.time, self._curves, at_least))

    def time_in(self, low: float, high: float, before_peak: bool) -> Range:
        """Time in s that the core is between two temperatures in K; only up to its peak with ``before_peak``.

        The coldest curve is that of the slowest pieces, so it uses their times.
        """
        slow = self.time if self.slow is None else self.slow
        return _range(
            time_in_range(time[:last], curve[:last], low, high)
            for time, curve in zip((slow, self.time, self.time), self._curves, strict=True)
            for last in [int(np.argmax(curve)) + 1 if before_peak else time.size]
        )

    def fall(self, warm: float, cold: float) -> Range | None:
        """Time in s from the last fall below ``warm`` to the first time at ``cold`` (K); None if not reached."""
        found = fall_time(self.time, self._curves, warm, cold)
        return _range(found) if np.isfinite(found).all() else None

    @property
    def _curves(self) -> np.ndarray:
        return np.stack([self.low, self.typical, self.high])


class SafetyCase(Struct, frozen=True, kw_only=True, dict=True):
    """One method in one house with its computed values. None means unknown, and findings report it as unknown.

    Salt and water activity are fractions: ``equilibrium_salt`` / food mass at equilibrium, ``brine_salt`` /
    (salt + water) of the brine as made, ``water_phase_salt`` and ``water_activity`` of the FINISHED food, its mean;
    ``water_phase_salt_centre`` that of its deepest point.
    Nitrite and nitrate are ingoing ppm by mass as sodium salts;
    Range.exact(0) says that none is used. ``core`` runs over heating and cooling. ``log_reductions`` are log10
    by organism. ``final_ph`` is measured in a run. Without it a measurement of the page with its record is judged; a pH
    that is only written on the page does not count. ``makes`` are the page's saltings and glazes as made up, by name.
    ``stage_times`` are start and end in s on the core's clock, by step number. ``is_measured``: core, times and
    temperatures come from a run, and the findings say so. ``accelerator_ppm`` is ascorbate or erythorbate pumped in,
    on green weight. ``unfollowed`` says why the core of heated food is not computed; "" where it is.
    """

    method: Method
    house: House
    food: Food
    schedule: Schedule | None = None
    equilibrium_salt: Range | None = None
    brine_salt: Range | None = None
    water_phase_salt: Range | None = None
    water_phase_salt_centre: Range | None = None
    water_activity: Range | None = None
    ingoing_nitrite_ppm: Range | None = None
    ingoing_nitrate_ppm: Range | None = None
    final_ph: Range | None = None
    core: CoreCurve | None = None
    log_reductions: Mapping[str, Range] = field(default_factory=dict)
    is_measured: bool = False
    allergens: tuple[str, ...] = ()
    makes: Mapping[str, MakeUp] = field(default_factory=dict)
    stage_times: Mapping[int, tuple[float, float]] = field(default_factory=dict)
    accelerator_ppm: float = 0.0
    unfollowed: str = ""

    @property
    def by_model(self) -> str:
        """The findings' words for the origin of the core."""
        return "measured" if self.is_measured else "computed"

    @property
    def by_page(self) -> str:
        """The findings' words for the origin of the steps' times and temperatures."""
        return "as read" if self.is_measured else "as stated"

    @property
    def pack(self) -> str:
        """The pack of the finished food, from its keeping, else from a step after the heat; "" where unknown.

        A last step in oil, a jar or a vacuum decides, whatever the keeping block states.
        """
        stated = self.method.keeping.pack if self.method.keeping else ""
        return stated if stated and stated not in _AIRY else self._closed_by_step or stated

    @property
    def _closed_by_step(self) -> str:
        """The medium without air in which the steps leave the food; "" where they leave it in air or state none."""
        heated = heating_numbers(self.method)
        steps = self.method.steps[heated[-1] if heated else 0 :]
        last = next((step.medium for step in reversed(steps) if step.medium), "")
        if (
            not last
            and not self.method.keeping
            and heated
            and any(step.time is not None and step.time.high >= _STAYS for step in steps)
        ):
            last = self.method.steps[heated[-1] - 1].medium or ""
        return last if last in ("vacuum", "oil", "jar") else ""

    @property
    def is_for_the_eater_to_cook(self) -> bool:
        """Whether the page leaves the cooking to the eater, and its label says so.

        What is heated and then neither kept nor left to stand goes to the table as it is, whatever the page says.
        """
        return self.method.front_matter.eaten == "cooked by the eater" and not self._is_eaten_at_once

    @property
    def _is_eaten_at_once(self) -> bool:
        heated = heating_numbers(self.method)
        if self.method.keeping is not None or not heated:
            return False
        later = self.method.steps[heated[-1] :]
        return not any(step.time is not None and step.time.high >= _STAYS for step in later)


def _range(ends: Iterable[SupportsFloat]) -> Range:
    low, typical, high = (float(end) for end in ends)
    return Range(min(low, typical, high), typical, max(low, typical, high))
