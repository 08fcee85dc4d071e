"""Evaluate one method in its house: every figure that the method's page shows."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from msgspec.structs import replace

from handbook.base.ranges import Range
from handbook.catalogue.food_families import PLANTS
from handbook.catalogue.tables import Tables
from handbook.page.house import House
from handbook.page.method import Method
from handbook.page.until_times import UntilTime
from handbook.report.calibration import Calibration
from handbook.report.casing_need import casing_need
from handbook.report.cost import bill
from handbook.report.courses import Courses, follow
from handbook.report.finished_weight import finished_yield, salt_in_finished
from handbook.report.later_saltings import with_salt_so_far
from handbook.report.method_report import Report
from handbook.report.middle_report import middle_report
from handbook.report.mixtures import formula_report, glaze_on_batch
from handbook.report.portions import Portion, Yield, finished_salt, glaze_on_food, portion
from handbook.report.safety_inputs import log_reductions, safety_case
from handbook.report.salt_stages import weight_filled
from handbook.report.stirred_in import stirred_glazes
from handbook.report.weighed import Weighed, weigh
from handbook.safety.findings import Finding, SafetyCase, findings
from handbook.safety.held_conditions import family_kind
from handbook.safety.strictest import strictest


def evaluate(
    written: Method,
    house: House,
    tables: Tables,
    calibration: Calibration | None = None,
    recorded: Mapping[int, UntilTime] | None = None,
) -> Report:
    """The report of the ``written`` method in ``house``, with the kitchen's own figures where a ``calibration`` gives them.

    ``recorded`` are the recorded times of steps with a measured end. The findings are those of this evaluation;
    house_report.py merges them for the page.

    Raises
    ------
    PageError   a figure of the page cannot be computed, with the line of the block that asks for it
    """
    weighed = weigh(written, house, tables)
    courses = follow(weighed, house, calibration, recorded or {})
    method, salted = courses.method, courses.salted
    contains = _allergens(weighed)
    case = safety_case(weighed, courses, house, contains)
    cases = (case, *_of_other_foods(case, weighed, courses))
    family = family_kind(case)
    if family == "cook" and weighed.food.food_class in PLANTS:
        family = "cooked plant"
    finished = finished_yield(weighed, courses, family, calibration is not None and calibration.loss is not None)
    served, salt = _served(weighed, courses, finished)
    return Report(
        method=written,
        food=weighed.food,
        saltings=with_salt_so_far(weighed.saltings, salted),
        glazes=weighed.glazes,
        schedule=courses.plan,
        finished=finished,
        portion=served,
        bill=bill(method, weighed.whole.masses(method), weighed.made, finished),
        allergens=contains,
        salt=salt,
        course=courses.heat,
        salted=salted,
        findings=_findings(cases),
        cases=cases,
        calibration=calibration,
        drying=courses.dried,
        stands=courses.stands if courses.stands.brines or courses.stands.boxes else None,
        sour=courses.sour,
        formula=formula_report(weighed.whole, method, house) if method.formula else None,
        filled=weighed.filled,
        unknown_salt=courses.unknown_salt,
        middle=middle_report(method, weighed.food, house, salted),
        casing=casing_need(method, weighed.filled, weight_filled(method, weighed.salts)),
    )


def judged_for(audience: str, report: Report) -> Report:
    """The report with the findings of another audience's guidance. The figures are the same: no model reads the audience."""
    cases = tuple(replace(case, house=case.house.for_audience(audience)) for case in report.cases)
    return replace(report, cases=cases, findings=_findings(cases))


def _served(weighed: Weighed, courses: Courses, finished: Yield) -> tuple[Portion, Range]:
    """One portion, and the salt of the finished food, both with the glazes that stay on."""
    method, end = courses.method, courses.salt_end
    in_run = stirred_glazes(method, weighed.food) if courses.salted else frozenset()
    glazed = glaze_on_food(
        [(each.made, glaze_on_batch(each, method)) for each in weighed.glazes if each.mixture.name not in in_run]
    )
    on_green_weight, sugar = Range.exact(weighed.food.native_salt_fraction), 0.0
    salt = on_green_weight.times(1 / finished.ratio.typical)
    if end:
        on_green_weight, salt = end.salt_on_green_weight, salt_in_finished(end, finished)
        sugar = end.sugar_mass_fraction.typical * end.food_mass_ratio.typical
    whole = finished_salt(salt, finished.ratio.typical, glazed, method.batches.written_for.low)
    return portion(method, on_green_weight, sugar, glazed, finished), whole


def _allergens(weighed: Weighed) -> tuple[str, ...]:
    """Allergens of the food and of every ingredient, in alphabetical order."""
    of_mixtures = {name for each in weighed.made for part in each.parts for name in part.ingredient.allergens}
    return tuple(sorted((weighed.whole.allergens | of_mixtures) - {""}))


def _of_other_foods(case: SafetyCase, weighed: Weighed, courses: Courses) -> Iterator[SafetyCase]:
    """The case of each further food of a mixture."""
    for food in weighed.whole.judged[1:]:
        yield replace(case, food=food, log_reductions=log_reductions(courses.heat, food))


def _findings(cases: tuple[SafetyCase, ...]) -> tuple[Finding, ...]:
    """The findings on the food; on a mixture the strictest of those on each of its foods."""
    found = findings(cases[0])
    for case in cases[1:]:
        found = strictest(found, findings(case), f"Judged so for the {case.food.name} in it.")
    return found
