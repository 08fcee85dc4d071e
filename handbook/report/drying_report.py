"""Figures of food that dries: weight, water activity, the dry rim, the food's own temperature, degree-hours."""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from handbook.base.ranges import Range
from handbook.catalogue.food_families import FLESH
from handbook.catalogue.foods import Food
from handbook.drying.activity_course import ActivityCourse, activity_course
from handbook.drying.degree_hours import BASE, hours_allowed, warm_hours
from handbook.drying.dry_rim import DryRim, dry_rim
from handbook.heat.heat_results import HeatCurve
from handbook.page.heated import DRYNESS, dries, has_curve, heats
from handbook.page.method import Method
from handbook.page.schedule import Schedule
from handbook.page.steps import Step
from handbook.report.food_clock import step_loss
from handbook.report.heat_course import HeatCourse
from handbook.report.heat_stages import cured_weight, drying_numbers
from handbook.safety.limits import degree_hours_limit
from handbook.uncertainty.sampling import ends, range_of

#: s of drying from which the page has a section: before heat, and as the last step.
_DAYS, _HOURS = 2 * 86400.0, 2 * 3600.0
_FAHRENHEIT = 1.8  # degrees Fahrenheit per kelvin: the trade's limits are printed in °F
_EARLY = 0.2  # share of a step's loss at which the food's own temperature is reported
_NEAR = 5.0  # K below the air from which the food counts as warm
_COOLER = 8.0  # K below its air from which the food's own temperature is reported


class DryingStep(Struct, frozen=True, kw_only=True):
    """One drying step at its end. ``lost`` is of green weight, including the page's stated changes during curing.

    whole : water activity of the whole piece at equilibrium, as a measured slice shows it
    cool : the food's own temperature in K when a fifth of this step's loss has left, where it stays below the air;
        ``warm_after`` is the time in s until it comes within 5 K of the air, None where it does not
    taken : lost in this step, of the weight at its start, beside what the step itself may state
    missing : what the step does not state, so that a wide range stands for it
    """

    number: int
    step: Step
    lost: Range
    taken: Range
    surface: Range
    centre: Range
    whole: Range
    rim: DryRim
    cool: Range | None
    warm_after: float | None
    missing: tuple[str, ...] = ()


class DryingReport(Struct, frozen=True, kw_only=True):
    """The drying of a method: its steps, and the course from ``start`` to ``end`` in s of the heat run.

    shares : lost of green weight, (s, n)
    degree_hours : of minced food that hangs warm before any heat, K h; None where none does
    allowed : s in the warmest of these rooms until the trade's limit, and that limit in K h; None without
    """

    steps: tuple[DryingStep, ...]
    course: ActivityCourse
    shares: np.ndarray
    start: float
    end: float
    degree_hours: Range | None
    allowed: tuple[float, float] | None = None

    @property
    def lost(self) -> HeatCurve:
        """The loss of green weight, with its range."""
        return HeatCurve(*ends(self.shares))

    def lost_at(self, time: float) -> Range:
        """The loss of green weight at one time of the run in s."""
        return range_of(np.array([np.interp(time, self.course.time, each) for each in self.shares]))

    @property
    def last(self) -> DryingStep:
        """The last drying step."""
        return self.steps[-1]


def drying_report(method: Method, food: Food, course: HeatCourse | None, plan: Schedule) -> DryingReport | None:
    """The drying of a method; None where the model computes no drying."""
    numbers = [each for each in drying_numbers(method, food) if course is not None and course.stage(each) is not None]
    if course is None or not numbers:
        return None
    found = activity_course(course.result)
    first, last = course.stage(numbers[0]), course.stage(numbers[-1])
    if first is None or last is None or not _matters(method, course, numbers):
        return None
    lost = 1.0 - course.result.samples.mass * cured_weight(method)
    half = 0.5 * method.pieces.thickness.middle
    return DryingReport(
        steps=tuple(_step(course, found, number, method, half, lost) for number in numbers),
        course=found,
        shares=lost,
        start=first.start,
        end=last.end,
        degree_hours=warm_hours(warm) if (warm := _warm_spans(method, food, plan)) else None,
        allowed=_allowed(warm) if warm else None,
    )


def _matters(method: Method, course: HeatCourse, numbers: list[int]) -> bool:
    """Whether the drying is part of the product: it comes last, waits for a dryness, or takes days."""
    stages = [course.stage(each) for each in numbers]
    days = sum(each.end - each.start for each in stages if each is not None)
    is_last = not any(has_curve(step) for step in method.steps[numbers[-1] :])
    is_asked = any(method.steps[each - 1].waits_for in DRYNESS for each in numbers)
    return is_asked or days >= _DAYS or (is_last and days >= _HOURS)


def _step(
    course: HeatCourse, found: ActivityCourse, number: int, method: Method, half: float, lost: np.ndarray
) -> DryingStep:
    stage = course.stage(number)
    assert stage is not None  # drying_report passes only steps of the run
    end = _index(found, stage.end)
    at = found.at(stage.end)
    cool, warm_after = _cool(course, found, stage.start, stage.end)
    return DryingStep(
        number=number,
        step=method.steps[number - 1],
        lost=range_of(lost[:, end]),
        taken=step_loss(course, number) or Range.exact(0.0),
        surface=at["surface"],
        centre=at["centre"],
        whole=at["whole"],
        rim=dry_rim(found, stage.start, stage.end, half),
        cool=cool,
        warm_after=warm_after,
        missing=_missing(method.steps[number - 1]),
    )


def _missing(step: Step) -> tuple[str, ...]:
    """Conditions that a drying step does not state."""
    stated = {"humidity": step.humidity, "temperature": step.chamber or step.temperature, "air": step.air}
    return tuple(name for name, value in stated.items() if value is None)


def _index(found: ActivityCourse, time: float) -> int:
    return int(np.clip(np.searchsorted(found.time, time - 1e-6), 0, len(found.time) - 1))


def _cool(course: HeatCourse, found: ActivityCourse, start: float, end: float) -> tuple[Range | None, float | None]:
    """The core when a fifth of the step's loss has left, where it stays well below the air, and when it is warm."""
    begin, last = _index(found, start), _index(found, end)
    taken = found.lost[0, begin : last + 1]
    if last - begin < 2 or taken[-1] - taken[0] <= 0:
        return None, None
    fifth = begin + int(np.argmax(taken - taken[0] >= _EARLY * (taken[-1] - taken[0])))
    samples = course.result.samples
    below = samples.chamber[0] - samples.core[0]
    if below[fifth] < _COOLER:
        return None, None
    warm = np.flatnonzero(below[fifth : last + 1] <= _NEAR)
    return range_of(samples.core[:, fifth]), float(found.time[fifth + warm[0]] - start) if warm.size else None


def _warm_spans(method: Method, food: Food, plan: Schedule) -> tuple[tuple[Range, Range], ...]:
    """Stated temperature and time of the steps before any heat in which minced meat or fish hangs warm."""
    is_minced = method.pieces.form in ("minced", "mixed") or method.pieces.casing != "none"
    if not is_minced or food.food_class not in FLESH:
        return ()
    spans = []
    for each in plan.steps:
        if heats(each.step):
            break
        around = each.step.chamber or each.step.temperature
        hangs = dries(each.step) or each.step.stage in ("ferment", "rest", "hold", "smoke")
        if around is not None and around.high > BASE and hangs:
            spans.append((Range.of(around), each.duration))
    return tuple(spans)


def _allowed(spans: tuple[tuple[Range, Range], ...]) -> tuple[float, float]:
    """Longest time in the warmest room until pH 5.3, by the trade's row for it, and that row's limit in K h."""
    hottest = max(around.high for around, _ in spans)
    limit = degree_hours_limit(hottest).value("degree_hours") / _FAHRENHEIT
    return hours_allowed(hottest, limit), limit
