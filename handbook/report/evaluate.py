"""Evaluate one method in its house: every figure that the method's page shows."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from handbook.base.errors import PageError, RangeError, UnfollowedError
from handbook.base.ranges import Range
from handbook.brine.make_up import MakeUp
from handbook.catalogue.foods import Food
from handbook.catalogue.tables import Tables
from handbook.page.heated import has_curve
from handbook.page.house import House
from handbook.page.method import Method
from handbook.page.schedule import Schedule, schedule
from handbook.page.until import WEIGHT_LOSS
from handbook.page.until_times import UntilTime, until_times, with_times
from handbook.report.acid_report import AcidReport, acid_report
from handbook.report.calibration import Calibration
from handbook.report.casing_need import CasingNeed, casing_need
from handbook.report.cost import Bill, bill
from handbook.report.drying_report import DryingReport, drying_report
from handbook.report.formula_foods import PageFood, filled_food, page_food
from handbook.report.heat_course import HeatCourse, core_durations, drying_durations, heat_course, taught_pace
from handbook.report.middle_report import MiddleReport, middle_report
from handbook.report.mixtures import (
    FormulaReport,
    GlazeReport,
    MixtureReport,
    SaltingReport,
    formula_report,
    glaze_on_batch,
    glaze_report,
    salting_report,
)
from handbook.report.portions import Portion, Yield, finished_salt, glaze_on_food, portion, stated_yield, states_losses
from handbook.report.safety_inputs import log_reductions, safety_case
from handbook.report.salt_course import SaltCourse, salt_course
from handbook.report.salt_stages import weight_filled
from handbook.report.salt_unknown import unknown_salt
from handbook.report.stand_report import StandReport, stand_report
from handbook.report.stirred_in import stirred_glazes, stirred_without_gain
from handbook.safety.findings import Finding, SafetyCase, findings
from handbook.safety.held_conditions import family_kind
from handbook.safety.rules import cure
from handbook.safety.strictest import strictest
from handbook.warmth.box import BoxCourse


@dataclass(frozen=True, kw_only=True)
class Report:
    """Everything computed for one method, but its cost: that is worked out from its ``bill``.

    ``course`` is the heat run, ``salted`` the uptake run; ``salt`` is that of the finished food, glazes counted. ``food`` is the mixture
    where the page has a ``formula``; ``filled`` is the food with what is mixed into it, as it is heated.
    """

    method: Method
    food: Food
    saltings: tuple[SaltingReport, ...]
    glazes: tuple[GlazeReport, ...]
    schedule: Schedule
    finished: Yield
    portion: Portion
    bill: Bill
    allergens: tuple[str, ...]
    salt: Range
    course: HeatCourse | None
    salted: SaltCourse | None
    findings: tuple[Finding, ...]
    calibration: Calibration | None = None
    drying: DryingReport | None = None
    stands: StandReport | None = None
    sour: AcidReport | None = None
    formula: FormulaReport | None = None
    filled: Food | None = None
    middle: MiddleReport | None = None
    casing: CasingNeed | None = None
    #: Ingredients whose salt nobody knows. No figure of the page's salt is then known.
    unknown_salt: tuple[str, ...] = ()

    @property
    def mixtures(self) -> tuple[MixtureReport, ...]:
        """Everything that is weighed: the formula, the saltings, the glazes."""
        return (*((self.formula,) if self.formula else ()), *self.saltings, *self.glazes)

    @property
    def food_masses(self) -> tuple[tuple[str, float], ...]:
        """The foods of the written batch, each with its mass in kg."""
        if self.formula is None:
            return ((self.method.front_matter.food, self.method.batches.written_for.low),)
        return tuple((part.ingredient.name, part.mass.typical) for part in self.formula.made.parts)

    @property
    def sources(self) -> tuple[str, ...]:
        """Keys of the sources of the report's figures, each once."""
        parts = [part for each in self.mixtures for part in each.made.parts]
        keys = [self.food.source, *(part.ingredient.source for part in parts)]
        if self.finished.basis == "typical":
            keys.append("typical-yield")
        if any(column.fill for each in self.saltings for column in each.columns):
            keys.append("container-practice")
        if any(each.equilibrium.ingoing_nitrite_ppm for each in self.saltings):
            keys.append("fsis-calculations-handbook")
        if self.salted is not None:
            keys += self.salted.sources
        if self.course is not None:
            keys.append("choi-okos-1986")
        if self.drying is not None:
            keys += ["muscle-isotherm", "pork-drying-sintef", "drying-diffusivity", "drying-room-air"]
            keys += ["degree-hours-rule"] if self.drying.degree_hours else []
        keys += ["casing-capacity"] if self.casing is not None else []
        if self.middle is not None and self.middle.is_raw:
            keys.append("ham-resting")
        if self.sour is not None:
            keys += self.sour.sources
        if self.stands is not None:
            keys += ["water-heat", "salt-solution-heat"] if self.stands.brines else []
            keys += ["insulation-values"] if self.stands.boxes else []
        keys += [each.source for each in self.findings if each.source]
        return tuple(dict.fromkeys(keys))


def evaluate(
    written: Method,
    house: House,
    tables: Tables,
    calibration: Calibration | None = None,
    recorded: Mapping[int, UntilTime] | None = None,
) -> Report:
    """The report of the ``written`` method in ``house``, with the kitchen's own figures where a ``calibration`` gives them.

    ``recorded`` are the times of steps with a measured end by the runs. The findings are those of this evaluation; house_report.py merges them for the page.

    Raises
    ------
    PageError   a figure of the page cannot be computed, with the line of the block that asks for it
    """
    whole = page_food(written, tables)
    food = whole.food
    saltings = tuple(salting_report(each, written, whole, house, tables) for each in written.saltings)
    glazes = tuple(glaze_report(each, written, whole, house, tables) for each in written.glazes)
    salt_to_water = saltings[-1].equilibrium.water_phase_salt.typical if saltings else 0.0
    makes = {each.mixture.name: each.made for each in saltings}
    filled = filled_food(food, written, makes)
    stands = stand_report(written, food, house, makes)
    timed = stands.applied(with_times(written, until_times(written, {}, recorded or {})[0]))
    course, unfollowed = _course(timed, filled, house, salt_to_water / (1 - salt_to_water), glazes, stands.courses)
    sour = acid_report(
        timed,
        food,
        house,
        makes,
        saltings[-1].equilibrium if saltings else None,
        {each.mixture.name: each.made for each in glazes},
    )
    modelled = {**drying_durations(course), **(sour.durations if sour else {})}
    until = _until_times(written, modelled, recorded or {})
    if pace := taught_pace(drying_durations(course), until):
        course, unfollowed = _course(
            timed, filled, house, salt_to_water / (1 - salt_to_water), glazes, stands.courses, pace
        )
    method = stands.applied(with_times(written, until))
    mixtures = {**makes, **{each.mixture.name: each.made for each in glazes}}
    cured = _cure_ppm(saltings, glazes, method)
    unknown = unknown_salt(method, mixtures)
    salted = None
    if not unknown:
        salted = _salted(
            method,
            house,
            food,
            mixtures,
            cured,
            lambda: salt_course(method, food, house, mixtures, course, calibration),
        )
    come_up = calibration.come_up.next_run if calibration and calibration.come_up else None
    computed = {**core_durations(course, come_up), **(salted.durations if salted else {})}
    plan = _schedule(method, computed, until, unfollowed)
    in_run = stirred_glazes(method, food) if salted else frozenset()
    glazed = glaze_on_food(
        [(each.made, glaze_on_batch(each, method)) for each in glazes if each.mixture.name not in in_run]
    )
    dried = drying_report(method, food, course, plan)
    made = [each.made for each in (*saltings, *glazes)]
    end = salted.result.end if salted else None
    water_phase_salt = end.water_phase_salt_mean if end else None
    in_food = (
        (end.salt_on_green_weight, end.sugar_mass_fraction.typical * end.food_mass_ratio.typical)
        if end
        else (Range.exact(food.native_salt_fraction), 0.0)
    )
    if salted is not None and dried is not None and _ends_dry(method, dried):
        # One figure for one thing: the surface that the air dries is followed by the heat run alone.
        salted = replace(salted, activity={"surface": dried.last.surface, "centre": dried.last.centre})
    contains = allergens(whole.allergens, made)
    case = safety_case(
        method,
        house,
        whole.judged[0],
        plan,
        saltings[-1].equilibrium if saltings else None,
        mixtures,
        water_phase_salt,
        course,
        contains,
        cured,
        _accelerator_ppm(saltings),
        end.water_phase_salt_centre if end else None,
        unfollowed,
    )
    if unknown:
        case = replace(case, equilibrium_salt=None, brine_salt=None, water_phase_salt=None, water_activity=None)
    finished = run_yield(calibration, salted, method) or stated_yield(
        method, family_kind(case), weight_filled(method, makes), stirred_without_gain(method, food, mixtures)
    )
    if finished.basis == "typical" and course is not None and dried is not None:
        ratio = salted.result.end.food_mass_ratio if salted else course.result.yield_
        finished = Yield(ratio=ratio, basis="computed")
    return Report(
        method=written,
        food=food,
        saltings=saltings,
        glazes=glazes,
        schedule=plan,
        finished=finished,
        portion=portion(method, *in_food, glazed, finished),
        bill=bill(method, whole.masses(method), made, finished),
        allergens=contains,
        salt=finished_salt(
            end.salt_mass_fraction if end else Range.exact(food.native_salt_fraction),
            end.food_mass_ratio.typical if end else finished.ratio.typical,
            glazed,
            method.batches.written_for.low,
        ),
        course=course,
        salted=salted,
        findings=_findings(case, whole, course),
        calibration=calibration,
        drying=dried,
        stands=stands if stands.brines or stands.boxes else None,
        sour=sour,
        formula=formula_report(whole, method, house) if method.formula else None,
        filled=filled,
        unknown_salt=unknown,
        middle=middle_report(method, food, house, salted),
        casing=casing_need(method, filled, weight_filled(method, makes)),
    )


def _ends_dry(method: Method, dried: DryingReport) -> bool:
    """Whether drying is the last that happens to the food's water."""
    return not any(has_curve(step) for step in method.steps[dried.last.number :])


def _course(
    method: Method,
    food: Food,
    house: House,
    salt_to_water: float,
    glazes: tuple[GlazeReport, ...],
    boxes: Mapping[int, BoxCourse],
    pace: Range | None = None,
) -> tuple[HeatCourse | None, str]:
    """The heat run, or None and why the model cannot follow the piece: the safety rules say what that means."""
    try:
        made = {each.mixture.name: each.made for each in glazes}
        return heat_course(method, food, house, salt_to_water, made, boxes, pace), ""
    except UnfollowedError as error:
        return None, error.reason


def _cure_ppm(
    saltings: tuple[SaltingReport, ...], glazes: tuple[GlazeReport, ...], method: Method
) -> tuple[float, float]:
    """Ingoing nitrite and nitrate in ppm on green weight, of every salting and every glaze together."""
    batch = method.batches.written_for.low
    sums = []
    for what in ("nitrite", "nitrate"):
        ppm = sum(getattr(each.equilibrium, f"ingoing_{what}_ppm") for each in saltings)
        for each in glazes:
            share = glaze_on_batch(each, method) / each.made.mass if each.made.mass else 0.0
            ppm += each.made.total(what) * share / batch * 1e6
        sums.append(ppm)
    return sums[0], sums[1]


def _salted(
    method: Method,
    house: House,
    food: Food,
    mixtures: dict[str, MakeUp],
    cured: tuple[float, float],
    compute: Callable[[], SaltCourse | None],
) -> SaltCourse | None:
    """The course of the salt; None where the model cannot follow it and too much curing salt is why it must not.

    A page whose curing salt stands in place of common salt names its ppm, and no error of a model hides it.
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


def _accelerator_ppm(saltings: tuple[SaltingReport, ...]) -> float:
    """Ascorbate and erythorbate in ppm on green weight that pumped brines bring in."""
    return sum(
        part.mass.typical / each.made.mass * each.mixture.pump.middle * 1e6
        for each in saltings
        if each.mixture.pump is not None and each.made.mass
        for part in each.made.parts
        if "ascorbate" in part.ingredient.name or "erythorbate" in part.ingredient.name
    )


def run_yield(calibration: Calibration | None, salted: SaltCourse | None, method: Method) -> Yield | None:
    """Yield by the uptake run, which takes the kitchen's own losses, else those stated, else the computed ones.

    None without a run, and for a page whose losses nobody measured or stated: there the usual yield of its family stands.
    None too where a dry cure states what the food loses in it, which the model works out by itself, where a step ends at
    a stated loss of weight, and where a loss or gain is stated of a step that the run leaves out, such as a boil before the salt.
    """
    is_measured = calibration is not None and calibration.loss is not None
    if salted is None or not (is_measured or states_losses(method)):
        return None
    stages = list(zip(salted.result.stages, salted.steps, strict=True))
    followed = {number for _, numbers in stages for number in numbers}
    stated = {number for number, step in enumerate(method.steps, 1) if step.loss or step.gain}
    if not is_measured and not stated <= followed:
        return None
    cured = [number for each, numbers in stages if each.stage.kind == "dry cure" for number in numbers]
    if not is_measured and any(method.steps[number - 1].loss for number in cured):
        return None
    if any(step.waits_for == WEIGHT_LOSS for step in method.steps):
        return None
    return Yield(ratio=salted.result.end.food_mass_ratio, basis="measured" if is_measured else "stated")


def _until_times(
    method: Method, modelled: Mapping[int, Range], recorded: Mapping[int, UntilTime]
) -> dict[int, UntilTime]:
    """The times of the steps with a measured end; raise PageError for one whose time nothing tells."""
    found, unknown = until_times(method, modelled, recorded)
    for number in unknown:
        step = method.steps[number - 1]
        text = step.until.text if step.until else ""
        allowed = "a time beside it to plan with: no model computes it, and no run of the method has timed it"
        raise PageError(method.file, step.line, f"steps.{number}.until", text, allowed)
    return found


def _schedule(method: Method, computed: dict[int, Range], until: Mapping[int, UntilTime], unfollowed: str) -> Schedule:
    """The schedule with the computed times; raise PageError for a step whose time nothing computes."""
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


def allergens(of_food: set[str], made: list[MakeUp]) -> tuple[str, ...]:
    """Allergens of the food and of every ingredient, in alphabetical order."""
    found = of_food | {name for each in made for part in each.parts for name in part.ingredient.allergens}
    return tuple(sorted(found - {""}))


def _findings(case: SafetyCase, whole: PageFood, course: HeatCourse | None) -> tuple[Finding, ...]:
    """The findings on the food; on a mixture the strictest of those on each of its foods."""
    found = findings(case)
    for food in whole.judged[1:]:
        other = findings(replace(case, food=food, log_reductions=log_reductions(course, food)))
        found = strictest(found, other, f"Judged so for the {food.name} in it.")
    return found
