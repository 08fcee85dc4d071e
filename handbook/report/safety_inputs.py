"""Build the input of the safety rules from a method's computed figures; turn stops into faults of the page."""

from __future__ import annotations

from handbook.base.errors import PageError, RangeError, StopError
from handbook.base.ranges import Range
from handbook.brine.solution import water_activity
from handbook.catalogue.foods import Food
from handbook.heat.lethality import lethality_range, organisms
from handbook.page.house import House
from handbook.page.method import Method
from handbook.report.courses import Courses
from handbook.report.heat_course import HeatCourse
from handbook.report.salt_stages import NATIVE_SPREAD
from handbook.report.weighed import Weighed, accelerator_ppm
from handbook.safety.findings import CoreCurve, Finding, SafetyCase


def safety_case(weighed: Weighed, courses: Courses, house: House, allergens: tuple[str, ...]) -> SafetyCase:
    """The input of the safety rules for one method.

    Water activity counts salt alone; sugars and drying lower it further, so the figure is an upper bound. Where an
    ingredient's salt is unknown, so is every figure of salt.
    """
    food, course, balance = weighed.whole.judged[0], courses.heat, weighed.equilibrium
    mean = centre = _own_salt(weighed)
    if end := courses.salt_end:
        mean, centre = end.water_phase_salt_mean, end.water_phase_salt_centre
    is_known = not courses.unknown_salt
    return SafetyCase(
        method=courses.method,
        house=house,
        food=food,
        schedule=courses.plan,
        equilibrium_salt=balance.salt_mass_fraction if balance and is_known else None,
        makes=weighed.mixtures,
        brine_salt=_brine_salt(weighed) if is_known else None,
        water_phase_salt=mean if is_known else None,
        water_phase_salt_centre=centre,
        water_activity=_activity(mean) if is_known else None,
        ingoing_nitrite_ppm=Range.exact(courses.cured[0]),
        ingoing_nitrate_ppm=Range.exact(courses.cured[1]),
        accelerator_ppm=accelerator_ppm(weighed.saltings),
        core=CoreCurve.of(course.result) if course else None,
        stage_times=_stage_times(course),
        log_reductions=log_reductions(course, food),
        allergens=allergens,
        unfollowed=courses.unfollowed,
    )


def stop_faults(method: Method, found: tuple[Finding, ...]) -> list[PageError]:
    """Each stop as a fault of the page, with its rule, the method's figure, and the limit as printed with its source."""
    return [
        StopError(
            method.file,
            each.line or _block_of(each, method),
            f"safety.{each.rule}",
            f"{each.title}: {each.figure}",
            _allowed(each),
        )
        for each in found
        if each.level == "stop"
    ]


def _block_of(finding: Finding, method: Method) -> int:
    """The line of the block concerned by a finding without a line of its own: packing and keeping, else the page's head."""
    if method.keeping is not None and finding.rule.startswith(("pack", "keep")):
        return method.keeping.line
    return method.front_matter.line


def _allowed(finding: Finding) -> str:
    """The allowed value of a stop's fault: the limit as printed and its source, the correction, and the certainty."""
    printed = f"{finding.printed} ({finding.source}, {finding.trust})" if finding.printed else finding.message
    mend = f"to mend it: {finding.mend}" if finding.mend else ""
    parts = (printed, mend, finding.certainty)
    return "; ".join(part for part in parts if part)


def _own_salt(weighed: Weighed) -> Range | None:
    """Salt / (salt + water) of food that no salting of the page touches: a cheese, a ham and a sauce come salted.

    x = n / (n + w), n of the table of foods with its spread, w before anything dries
    """
    if weighed.saltings:
        return None
    food = weighed.food
    salts = (food.native_salt_fraction * (1 + sign * NATIVE_SPREAD) for sign in (-1, 0, 1))
    return Range(*(each / (each + food.water) for each in salts))


def _brine_salt(weighed: Weighed) -> Range | None:
    """Salt / (salt + water) of the last salting as made; None where it is not a liquid."""
    if not weighed.saltings or weighed.saltings[-1].mixture.is_dry:
        return None
    return Range.exact(weighed.saltings[-1].made.water_phase_salt)


def _activity(salt: Range | None) -> Range | None:
    if salt is None:
        return None
    try:
        return Range(*(water_activity(end) for end in (salt.high, salt.typical, salt.low)))
    except RangeError:
        return None


def _stage_times(course: HeatCourse | None) -> dict[int, tuple[float, float]]:
    if course is None:
        return {}
    return {course.first + index: (each.start, each.end) for index, each in enumerate(course.result.stages)}


def log_reductions(course: HeatCourse | None, food: Food) -> dict[str, Range]:
    """log10 reductions at the core by organism, of the organisms in this food."""
    if course is None:
        return {}
    own = ((key, organism) for key, organism in organisms().items() if food.food_class in organism.foods)
    return {key: lethality_range(course.result, organism) for key, organism in own}
