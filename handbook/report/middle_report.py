"""Whether the salt has reached the middle of a thick piece when it leaves the cold, and when it would reach it."""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from handbook.base.arrays import Floats
from handbook.base.ranges import Range
from handbook.base.root import rising_root
from handbook.brine.solution import water_activity
from handbook.catalogue.food_families import FLESH
from handbook.catalogue.foods import Food
from handbook.page.heated import heats
from handbook.page.house import House
from handbook.page.method import Method
from handbook.report.heat_stages import surroundings, thickness_range
from handbook.report.salt_course import SaltCourse
from handbook.salt.uptake import Stage, run

THICK = 0.03  # m from which the middle is reported (estimate of the handbook)
COLD = 279.15  # K up to which a room counts as cold, with the spread of a fridge
#: Water activity of the innermost part before a salted ham may leave the cold [ham-resting].
SAFE_MIDDLE = 0.96
_LONGEST = 250 * 86400.0  # s for which a longer stay in the cold is computed


class MiddleReport(Struct, frozen=True, kw_only=True):
    """The centre when the piece leaves the cold in step ``number``, ``at`` s after the salting began.

    centre, mean : water-phase salt then
    even : s from the start of the salting until centre and mean differ by at most a tenth; None where not within
    _LONGEST
    safe : s until the centre alone has the water activity SAFE_MIDDLE by its salt; None where it never has, or where
        the food is cooked
    is_raw : whether no step cooks it
    """

    number: int
    at: float
    centre: Range
    mean: Range
    even: tuple[float | None, float | None, float | None]
    safe: tuple[float | None, float | None, float | None]
    is_raw: bool

    @property
    def is_even(self) -> bool:
        """Whether centre and mean of the typical piece differ by at most a tenth when it leaves the cold."""
        return self.even[1] is not None and self.even[1] <= self.at


def middle_report(method: Method, food: Food, house: House, course: SaltCourse | None) -> MiddleReport | None:
    """The middle of a thick piece of flesh that is cured in the cold and leaves it; None for any other page."""
    if course is None or food.food_class not in FLESH or method.pieces.form in ("minced", "mixed"):
        return None
    if thickness_range(method, house).typical < THICK or course.salted.stage.kind == "inject":
        return None
    leaves = _leaves(method, house, course)
    if leaves is None or leaves <= course.salting_index:
        return None
    stages, begin = course.result.stages, course.salted.start
    last = stages[leaves - 1]
    is_raw = not any(heats(step) for step in method.steps)
    even, since = last.time_to_even, last.start - begin
    return MiddleReport(
        number=course.steps[leaves][0],
        at=stages[leaves].start - begin,
        centre=last.water_phase_salt_centre,
        mean=last.water_phase_salt_mean,
        even=(_after(since, even.low), _after(since, even.typical), _after(since, even.high)),
        safe=_safe(course, leaves, begin) if is_raw else (None, None, None),
        is_raw=is_raw,
    )


def _leaves(method: Method, house: House, course: SaltCourse) -> int | None:
    """Index of the first stage after the salting that is not in the cold; None where there is none."""
    for index, numbers in enumerate(course.steps):
        step = method.steps[numbers[-1] - 1]
        is_short = step.hands_on or step.stage in ("rinse", "freshen", "pack")
        if (
            index >= course.salting_index
            and not is_short
            and surroundings(step, house, method.lies_in(step)).typical > COLD
        ):
            return index
    return None


def _safe(course: SaltCourse, leaves: int, begin: float) -> tuple[float | None, float | None, float | None]:
    """When the centre is at SAFE_MIDDLE by its salt, had the piece stayed in the cold."""
    before = [each.stage for each in course.result.stages[:leaves]]
    cold = Stage(kind="rest", duration=Range.exact(_LONGEST), temperature=before[-1].temperature, name="cold")
    line = run(course.result.piece, [*before, cold]).timeline
    seconds = np.asarray(line.seconds) - begin
    needed, band = _salt_of(SAFE_MIDDLE), line.water_phase_centre
    low, typical, high = (_first(seconds, curve, needed) for curve in (band.high, band.typical, band.low))
    return low, typical, high


def _salt_of(activity: float) -> float:
    """Water-phase salt of a water activity."""
    return rising_root(lambda salt: -water_activity(salt), -activity, 0.0, 0.26)


def _first(seconds: Floats, curve: Floats, needed: float) -> float | None:
    """First time from 0 on at which a curve is at or above ``needed``, by straight lines."""
    above = np.flatnonzero((curve >= needed) & (seconds >= 0.0))
    if not above.size:
        return None
    at = int(above[0])
    if at == 0 or curve[at] == curve[at - 1]:
        return float(seconds[at])
    share = (needed - curve[at - 1]) / (curve[at] - curve[at - 1])
    return max(float(seconds[at - 1] + share * (seconds[at] - seconds[at - 1])), 0.0)


def _after(start: float, end: float | None) -> float | None:
    return None if end is None else start + end
