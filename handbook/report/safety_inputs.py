"""Build the input of the safety rules from a method's computed figures; turn stops into faults of the page."""

from __future__ import annotations

from collections.abc import Mapping

from handbook.base.errors import PageError, RangeError, StopError
from handbook.base.ranges import Range
from handbook.brine.equilibrium import Equilibrium
from handbook.brine.make_up import MakeUp
from handbook.brine.solution import water_activity
from handbook.catalogue.foods import Food
from handbook.heat.lethality import lethality_range, organisms
from handbook.page.house import House
from handbook.page.method import Method
from handbook.page.schedule import Schedule
from handbook.report.heat_course import HeatCourse
from handbook.safety.findings import CoreCurve, Finding, SafetyCase


def safety_case(
    method: Method,
    house: House,
    food: Food,
    plan: Schedule,
    balance: Equilibrium | None,
    makes: Mapping[str, MakeUp],
    finished_salt: Range | None,
    course: HeatCourse | None,
    allergens: tuple[str, ...],
    cure_ppm: tuple[float, float] | None,
    accelerator_ppm: float,
    finished_centre: Range | None,
    unfollowed: str,
) -> SafetyCase:
    """The input of the safety rules for one method.

    ``makes`` are the make-ups of the saltings by name, ``balance`` the equilibrium of the last salting, and
    ``finished_salt`` the mean water-phase salt of the finished food, ``finished_centre`` that of its centre. Water activity counts salt alone; sugars and drying
    lower it further, so the figure is an upper bound. ``cure_ppm`` are ingoing nitrite and nitrate of every salting and
    glaze together, ``accelerator_ppm`` the ascorbate or erythorbate pumped in. ``unfollowed`` says why a heated piece
    has no ``course``.
    """
    alone = (balance.ingoing_nitrite_ppm, balance.ingoing_nitrate_ppm) if balance else (0.0, 0.0)
    nitrite, nitrate = cure_ppm or alone
    return SafetyCase(
        method=method,
        house=house,
        food=food,
        schedule=plan,
        equilibrium_salt=balance.salt_mass_fraction if balance else None,
        makes=makes,
        brine_salt=_brine_salt(method, makes),
        water_phase_salt=finished_salt,
        water_phase_salt_centre=finished_centre,
        water_activity=_activity(finished_salt),
        ingoing_nitrite_ppm=Range.exact(nitrite),
        ingoing_nitrate_ppm=Range.exact(nitrate),
        accelerator_ppm=accelerator_ppm,
        core=CoreCurve.of(course.result) if course else None,
        stage_times=_stage_times(course),
        log_reductions=log_reductions(course, food),
        allergens=allergens,
        unfollowed=unfollowed,
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


def _brine_salt(method: Method, makes: Mapping[str, MakeUp]) -> Range | None:
    """Salt / (salt + water) of the last salting as made; None where it is not a liquid."""
    if not method.saltings or method.saltings[-1].is_dry:
        return None
    return Range.exact(makes[method.saltings[-1].name].water_phase_salt)


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
    found = {}
    for key, organism in organisms().items():
        if food.food_class in organism.foods:
            found[key] = lethality_range(course.result, organism)
    return found
