"""The finished weight for yield, portions and salt, from the runs of the models as far as they cover the food."""

from __future__ import annotations

from collections.abc import Mapping

from handbook.base.ranges import Range
from handbook.page.heated import dries, has_curve, heats
from handbook.page.method import Method
from handbook.page.steps import Step
from handbook.report.before_salting import computed_change, first_salting, loss_aimed_at, numbered, stated_change, times
from handbook.report.courses import Courses
from handbook.report.heat_course import HeatCourse
from handbook.report.portions import Yield, states_losses, typical_yield
from handbook.report.salt_stages import weight_filled
from handbook.report.stirred_in import stirred_without_gain
from handbook.report.weighed import Weighed
from handbook.salt.uptake_records import ALL, UptakeStageResult


def finished_yield(weighed: Weighed, courses: Courses, family: str, is_measured: bool) -> Yield:
    """The yield by the uptake run; without one by the stated losses of steps, and by the heat run where none is stated.

    The usual yield of the family stands only where a loss is neither stated nor computed: food that dries or is heated in
    a way that no model follows, or a page of which nothing is computed. ``family`` is what is done to the food,
    ``is_measured`` says that the kitchen's own losses are in the runs.
    """
    method, salted, heat = courses.method, courses.salted, courses.heat
    filled = weight_filled(method, weighed.salts)
    stirred = stirred_without_gain(method, weighed.food, weighed.mixtures)
    is_stated = states_losses(method)
    is_computed = salted is not None or heat is not None
    unknown = [] if is_stated else [step for number, step in numbered(method) if _is_open(step, number, method, heat)]
    if unknown or not (is_stated or is_computed):
        usual = "dried" if any(each.stage == "dry" for each in unknown) else family
        return Yield(ratio=typical_yield(method, usual, filled, stirred), basis="typical")
    basis = "measured" if is_measured and salted is not None else "stated" if is_stated else "computed"
    if salted is None:
        return Yield(ratio=_by_steps(method, heat, filled, stirred), basis=basis)
    begun, followed = first_salting(method), {number for numbers in salted.steps for number in numbers}
    ratio = salted.result.end.food_mass_ratio
    for number, step in numbered(method):
        if number >= begun and number not in followed:
            ratio = times(ratio, stated_change(step) or ALL)
        if number not in followed:
            ratio = ratio.plus(Range.exact(stirred.get(number, 0.0)))
    return Yield(ratio=ratio, basis=basis)


def salt_in_finished(end: UptakeStageResult, finished: Yield) -> Range:
    """Salt / finished food: that of the run, or its salt in the page's weight where that has another origin.

    x = s / m
    """
    ratio, of_run = finished.ratio, end.food_mass_ratio
    if abs(ratio.typical - of_run.typical) < 1e-9:
        return end.salt_mass_fraction
    salt = end.salt_on_green_weight
    if abs(ratio.typical / ratio.low - of_run.typical / of_run.low) < 1e-6:
        # The run's own spread, for another weight.
        return end.salt_mass_fraction.times(of_run.typical / ratio.typical)
    return Range(salt.low / ratio.high, salt.typical / ratio.typical, salt.high / ratio.low)


def _by_steps(method: Method, heat: HeatCourse | None, filled: float, stirred: Mapping[int, float]) -> Range:
    ratio = Range.exact(filled)
    has_begun = False
    for number, step in numbered(method):
        has_begun = has_begun or has_curve(step) or dries(step)
        ratio = ratio.plus(Range.exact(stirred.get(number, 0.0)))
        aim = loss_aimed_at(step)
        if aim is not None:
            ratio = Range.exact(filled * (1 - aim))
        else:
            computed = computed_change(number, heat) if has_begun else None
            ratio = times(ratio, stated_change(step) or computed or ALL)
    return ratio


def _is_open(step: Step, number: int, method: Method, heat: HeatCourse | None) -> bool:
    """Whether a step loses weight that is neither stated nor computed. Food that sours under brine or juice does not dry in air."""
    if step.stage == "ferment" and not heats(step) and any(each.covers_food for each in method.saltings):
        return False
    is_followed = heat is not None and heat.stage(number) is not None
    return (heats(step) or dries(step)) and not is_followed and stated_change(step) is None
