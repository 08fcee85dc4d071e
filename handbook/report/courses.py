"""The food over time: its surroundings, heat, acid, salt and drying, and the resulting schedule."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from msgspec import Struct
from msgspec.structs import replace

from handbook.base.errors import PageError, RangeError, UnfollowedError
from handbook.base.ranges import Range
from handbook.brine.make_up import MakeUp
from handbook.catalogue.foods import Food
from handbook.page.heated import has_curve
from handbook.page.house import House
from handbook.page.method import Method
from handbook.page.schedule import Schedule, schedule
from handbook.page.until_times import UntilTime, until_times, with_times
from handbook.report.acid_report import AcidReport, acid_report
from handbook.report.calibration import Calibration
from handbook.report.drying_report import DryingReport, drying_report
from handbook.report.heat_course import HeatCourse, core_durations, drying_durations, heat_course, taught_pace
from handbook.report.salt_course import SaltCourse, salt_course
from handbook.report.salt_unknown import unknown_salt
from handbook.report.stand_report import StandReport, stand_report
from handbook.report.weighed import Weighed, cure_ppm
from handbook.safety.findings import SafetyCase
from handbook.safety.rules import cure
from handbook.salt.uptake_records import UptakeStageResult
from handbook.warmth.box import BoxCourse


class Courses(Struct, frozen=True, kw_only=True):
    """The food over time. ``method`` has the times of its measured ends; ``unfollowed`` says why there is no heat run."""

    method: Method
    stands: StandReport
    heat: HeatCourse | None
    unfollowed: str
    sour: AcidReport | None
    salted: SaltCourse | None
    dried: DryingReport | None
    plan: Schedule
    cured: tuple[float, float]
    unknown_salt: tuple[str, ...]

    @property
    def salt_end(self) -> UptakeStageResult | None:
        """The salt of the finished food; None without a run."""
        return self.salted.result.end if self.salted else None


def follow(
    weighed: Weighed, house: House, calibration: Calibration | None, recorded: Mapping[int, UntilTime]
) -> Courses:
    """The courses of a method: heat first, since salt moves at the food's temperature, then measured ends, then salt."""
    written, food, salts = weighed.written, weighed.food, weighed.salts
    stands = stand_report(written, food, house, salts)
    timed = stands.applied(with_times(written, until_times(written, {}, recorded)[0]))
    heat, unfollowed = _heat(timed, weighed, house, stands.courses)
    drying = drying_durations(heat)
    sour = acid_report(timed, food, house, salts, weighed.equilibrium, weighed.glazings)
    until = _until_times(written, {**drying, **(sour.durations if sour else {})}, recorded)
    if pace := taught_pace(drying, until):
        heat, unfollowed = _heat(timed, weighed, house, stands.courses, pace)
    method = stands.applied(with_times(written, until))
    mixtures = weighed.mixtures
    cured = cure_ppm(weighed, method)
    unknown = unknown_salt(method, mixtures, food)
    salted = None
    if not unknown:
        salted = _salted(
            method, house, food, mixtures, cured, lambda: salt_course(method, food, house, mixtures, heat, calibration)
        )
    come_up = calibration.come_up.next_run if calibration and calibration.come_up else None
    computed = {**core_durations(heat, come_up), **(salted.durations if salted else {})}
    plan = _schedule(method, computed, until, unfollowed)
    dried = drying_report(method, food, heat, plan)
    if salted is not None and dried is not None and _ends_dry(method, dried):
        # The heat run alone computes a surface that dries in air, so there is only one figure for it.
        salted = replace(salted, activity={"surface": dried.last.surface, "centre": dried.last.centre})
    return Courses(
        method=method,
        stands=stands,
        heat=heat,
        unfollowed=unfollowed,
        sour=sour,
        salted=salted,
        dried=dried,
        plan=plan,
        cured=cured,
        unknown_salt=unknown,
    )


def _heat(
    method: Method, weighed: Weighed, house: House, boxes: Mapping[int, BoxCourse], pace: Range | None = None
) -> tuple[HeatCourse | None, str]:
    """The heat run, or None and the reason why the model cannot compute the piece. The safety rules report it."""
    salt = weighed.equilibrium.water_phase_salt.typical if weighed.equilibrium else 0.0
    try:
        return heat_course(method, weighed.filled, house, salt / (1 - salt), weighed.glazings, boxes, pace), ""
    except UnfollowedError as error:
        return None, error.reason


def _salted(
    method: Method,
    house: House,
    food: Food,
    mixtures: dict[str, MakeUp],
    cured: tuple[float, float],
    compute: Callable[[], SaltCourse | None],
) -> SaltCourse | None:
    """The course of the salt; None where the model cannot compute it because of too much curing salt.

    A page with curing salt in place of common salt then shows its ppm instead of an error of the model.
    """
    try:
        return compute()
    except PageError:
        case = SafetyCase(
            method=method,
            house=house,
            food=food,
            makes=mixtures,
            ingoing_nitrite_ppm=Range.exact(cured[0]),
            ingoing_nitrate_ppm=Range.exact(cured[1]),
        )
        if any(each.level == "stop" for each in cure.findings(case)):
            return None
        raise


def _until_times(
    method: Method, modelled: Mapping[int, Range], recorded: Mapping[int, UntilTime]
) -> dict[int, UntilTime]:
    """The times of the steps with a measured end; raise PageError for one whose time is unknown."""
    found, unknown = until_times(method, modelled, recorded)
    for number in unknown:
        step = method.steps[number - 1]
        text = step.until.text if step.until else ""
        allowed = "a time beside it to plan with: no model computes it, and no run of the method has timed it"
        raise PageError(method.file, step.line, f"steps.{number}.until", text, allowed)
    return found


def _schedule(method: Method, computed: dict[int, Range], until: Mapping[int, UntilTime], unfollowed: str) -> Schedule:
    """The schedule with the computed times; raise PageError for a step without a stated or computed time."""
    for number, step in enumerate(method.steps, 1):
        if step.time is None and number not in computed:
            allowed = "a time: only a step that heats until core, and the last salting's last step, can be computed"
            if unfollowed:
                allowed = f"a time as measured: {unfollowed}"
            raise PageError(method.file, step.line, f"steps.{number}.until", step.waits_for or "nothing", allowed)
    try:
        return schedule(method.steps, computed, until)
    except RangeError as error:
        raise PageError(method.file, error.line, f"steps.{error.name}", f"{error.value:.4g}", error.allowed) from None


def _ends_dry(method: Method, dried: DryingReport) -> bool:
    """Whether drying is the last process that changes the food's water."""
    return not any(has_curve(step) for step in method.steps[dried.last.number :])
