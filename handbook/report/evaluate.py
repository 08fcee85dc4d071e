"""Evaluate one method in its house: every figure that the method's page shows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import hypot

from handbook.base.errors import PageError, RangeError, UnfollowedError
from handbook.base.ranges import Range
from handbook.brine.equilibrium import Equilibrium, equilibrium
from handbook.brine.make_up import IngredientMass, MakeUp, make_up, mislabelled
from handbook.brine.nitrite import cure_process
from handbook.brine.strength import Strength, strength
from handbook.catalogue.foods import Food
from handbook.catalogue.ingredients import Ingredient
from handbook.catalogue.tables import Tables
from handbook.page.amounts import Share
from handbook.page.container import VesselFill, choose
from handbook.page.house import House
from handbook.page.ingredient_lines import find_ingredient
from handbook.page.measures import Household, Weighed, household, weighed
from handbook.page.method import Method
from handbook.page.salting import Glaze, Salting
from handbook.page.schedule import Schedule, schedule
from handbook.report.calibration import Calibration
from handbook.report.cost import Bill, bill
from handbook.report.heat_course import HeatCourse, core_durations, heat_course
from handbook.report.portions import Portion, Yield, portion, stated_yield
from handbook.report.safety_inputs import safety_case
from handbook.report.salt_course import SaltCourse, salt_course
from handbook.safety.findings import Finding, SafetyCase, findings
from handbook.safety.held_conditions import family_kind
from handbook.safety.rules import cure


@dataclass(frozen=True, kw_only=True)
class BatchRow:
    """One ingredient in one batch: its exact mass, the mass to weigh, and cups and spoons."""

    part: IngredientMass
    weighed: Weighed
    household: Household | None

    @property
    def filling_is_off(self) -> bool:
        """Whether the spread of a cup's filling alone exceeds the error that the house allows."""
        return self.household is not None and self.household.filling_is_off


@dataclass(frozen=True, kw_only=True)
class BatchColumn:
    """One batch: its rows, their total and the vessel. Masses in kg, volumes in m3."""

    food_mass: float
    is_written: bool
    rows: tuple[BatchRow, ...]
    mass: float
    volume: float | None
    fill: VesselFill | None

    @property
    def to_food(self) -> float:
        """Brine mass / green weight."""
        return self.mass / self.food_mass


@dataclass(frozen=True, kw_only=True)
class Crystal:
    """The same volume of another salt crystal: its mass in kg, and the ratio to the mass of the named salt."""

    ingredient: Ingredient
    mass: Range
    ratio: float


@dataclass(frozen=True, kw_only=True)
class MixtureReport:
    """One salting or glaze in all batches.

    ``crystals`` are other salts in the volume of ``crystal_of``, the main salt. A glaze has no ``equilibrium``.
    """

    mixture: Salting | Glaze
    made: MakeUp
    strength: Strength | None
    columns: tuple[BatchColumn, ...]
    equilibrium: Equilibrium | None
    crystals: tuple[Crystal, ...]
    crystal_of: IngredientMass | None


@dataclass(frozen=True, kw_only=True)
class SaltingReport(MixtureReport):
    """One salting in all batches; ``equilibrium`` is that of the written batch."""

    mixture: Salting
    equilibrium: Equilibrium


@dataclass(frozen=True, kw_only=True)
class GlazeReport(MixtureReport):
    """One glaze in all batches."""

    mixture: Glaze
    equilibrium: None = None


@dataclass(frozen=True, kw_only=True)
class Report:
    """Everything computed for one method, but its cost: that is worked out from its ``bill``.

    ``course`` is the heat run, ``salted`` the uptake run; ``salt`` is that of the finished food.
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

    @property
    def sources(self) -> tuple[str, ...]:
        """Keys of the sources of the report's figures, each once."""
        mixtures: tuple[MixtureReport, ...] = (*self.saltings, *self.glazes)
        parts = [part for each in mixtures for part in each.made.parts]
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
        keys += [each.source for each in self.findings if each.source]
        return tuple(dict.fromkeys(keys))


def evaluate(method: Method, house: House, tables: Tables, calibration: Calibration | None = None) -> Report:
    """The report of ``method`` in ``house``, with the kitchen's own figures where a ``calibration`` gives them.

    The findings are those of this evaluation; house_report.py merges them for the page.

    Raises
    ------
    PageError   a figure of the page cannot be computed, with the line of the block that asks for it
    """
    food = tables.foods[method.sheet.food]
    saltings = tuple(_salting(each, method, food, house, tables) for each in method.saltings)
    glazes = tuple(_glaze(each, method, food, house, tables) for each in method.glazes)
    salt_to_water = saltings[-1].equilibrium.water_phase_salt.typical if saltings else 0.0
    course, unfollowed = _course(method, food, house, salt_to_water / (1 - salt_to_water), glazes)
    makes = {each.mixture.name: each.made for each in saltings}
    mixtures = {**makes, **{each.mixture.name: each.made for each in glazes}}
    cured = _cure_ppm(saltings, glazes, method)
    salted = _salted(
        method, house, food, mixtures, cured, lambda: salt_course(method, food, house, makes, course, calibration)
    )
    come_up = calibration.come_up.next_run if calibration and calibration.come_up else None
    computed = {**core_durations(course, come_up), **(salted.durations if salted else {})}
    plan = _schedule(method, computed, unfollowed)
    glaze = glazes[0] if glazes else None
    glaze_mass = _glaze_on_food(glaze, method) if glaze else 0.0
    made = [each.made for each in (*saltings, *glazes)]
    end = salted.result.end if salted else None
    finished_salt = end.water_phase_salt_mean if end else None
    in_food = (
        (end.salt_on_green_weight, end.sugar_mass_fraction.typical * end.food_mass_ratio.typical)
        if end
        else (Range.exact(food.native_salt_fraction), 0.0)
    )
    case = safety_case(
        method,
        house,
        food,
        plan,
        saltings[-1].equilibrium if saltings else None,
        mixtures,
        finished_salt,
        course,
        allergens(food, made),
        cured,
        _accelerator_ppm(saltings),
        end.water_phase_salt_centre if end else None,
        unfollowed,
    )
    finished = measured_yield(calibration, salted, course) or stated_yield(method, family_kind(case))
    return Report(
        method=method,
        food=food,
        saltings=saltings,
        glazes=glazes,
        schedule=plan,
        finished=finished,
        portion=portion(method, *in_food, glaze.made if glaze else None, glaze_mass, finished),
        bill=bill(method, made, finished),
        allergens=allergens(food, made),
        salt=end.salt_mass_fraction if end else Range.exact(food.native_salt_fraction),
        course=course,
        salted=salted,
        findings=findings(case),
        calibration=calibration,
    )


def _course(
    method: Method, food: Food, house: House, salt_to_water: float, glazes: tuple[GlazeReport, ...]
) -> tuple[HeatCourse | None, str]:
    """The heat run, or None and why the model cannot follow the piece: the safety rules say what that means."""
    try:
        made = {each.mixture.name: each.made for each in glazes}
        return heat_course(method, food, house, salt_to_water, made), ""
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
            share = _glaze_on_food(each, method) / each.made.mass if each.made.mass else 0.0
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


def measured_yield(
    calibration: Calibration | None, salted: SaltCourse | None, course: HeatCourse | None
) -> Yield | None:
    """Yield by the kitchen's own runs: the change of weight in the bath times the calibrated loss after it.

    None where no run measured the loss. The ends combine both spreads as independent.
    """
    if calibration is None or calibration.loss is None or course is None:
        return None
    gain = salted.salted.stage.weight_gain if salted else None
    first = salted.steps[salted.salting_index][-1] - course.first + 1 if salted else 0
    computed = 1.0
    for stage in course.result.stages[max(first, 0) :]:
        computed *= 1 - stage.mass_lost.typical
    after = Range(*(1 - min((1 - computed) * end, 0.9) for end in reversed(_ends(calibration.loss.next_run))))
    before = Range.exact(1.0) if gain is None else Range(*(1 + end for end in _ends(gain)))
    typical = before.typical * after.typical
    low, high = (
        typical * (1 - hypot(1 - getattr(before, end) / before.typical, 1 - getattr(after, end) / after.typical) * sign)
        for end, sign in (("low", 1), ("high", -1))
    )
    return Yield(ratio=Range(low, typical, high), basis="measured")


def _ends(values: Range) -> tuple[float, float, float]:
    return values.low, values.typical, values.high


def _schedule(method: Method, computed: dict[int, Range], unfollowed: str) -> Schedule:
    """The schedule with the computed times; raise PageError for a step whose time nothing computes."""
    for number, step in enumerate(method.steps, 1):
        if step.time is None and number not in computed:
            allowed = "a time: only a step that heats until core, and the last salting's last step, can be computed"
            if unfollowed:
                allowed = f"a time as measured: {unfollowed}"
            raise PageError(method.file, step.line, f"steps.{number}.until", step.until or "nothing", allowed)
    try:
        return schedule(method.steps, computed)
    except RangeError as error:
        raise PageError(method.file, error.line, f"steps.{error.name}", f"{error.value:.4g}", error.allowed) from None


def batch_masses(method: Method, house: House) -> tuple[float, ...]:
    """Green weights in kg that the page shows, in rising order, including the written one."""
    shown = {each.low for each in (method.batches.show or house.batches)}
    return tuple(sorted(shown | {method.batches.written_for.low}))


def allergens(food: Food, made: list[MakeUp]) -> tuple[str, ...]:
    """Allergens of the food and of every ingredient, in alphabetical order."""
    found = {food.allergen} | {name for each in made for part in each.parts for name in part.ingredient.allergens}
    return tuple(sorted(found - {""}))


def _salting(salting: Salting, method: Method, food: Food, house: House, tables: Tables) -> SaltingReport:
    written_for, form = method.batches.written_for.low, method.pieces.worked_form
    made = _make_up(salting, salting.target_salt, method, food, tables)
    if form != "minced" and (allowed := mislabelled(salting, made, written_for)):
        grams = {what: f"{made.total(what) * 1000:.4g} g of {what}" for what in ("water", "salt")}
        read = f"{salting.kind} with {grams['water']}, {grams['salt']}"
        raise PageError(method.file, salting.line, "salting.kind", read, allowed)
    temperature = salting.temperature.middle if salting.temperature else house.fridge.middle
    strong = None if salting.is_dry else strength(made, temperature)
    pump = salting.pump.middle if salting.pump else None
    main = _main_salt(made)
    return SaltingReport(
        mixture=salting,
        made=made,
        strength=strong,
        columns=_columns(salting, made, strong, method, food, house),
        equilibrium=equilibrium(made, food, written_for, cure_process(salting.kind, form), pump),
        crystals=_crystals(main, tables),
        crystal_of=main,
    )


def _glaze(glaze: Glaze, method: Method, food: Food, house: House, tables: Tables) -> GlazeReport:
    made = _make_up(glaze, None, method, food, tables)
    main = _main_salt(made)
    return GlazeReport(
        mixture=glaze,
        made=made,
        strength=None,
        columns=_columns(glaze, made, None, method, food, house),
        crystals=_crystals(main, tables),
        crystal_of=main,
    )


def _make_up(mixture: Salting | Glaze, target: Share | None, method: Method, food: Food, tables: Tables) -> MakeUp:
    batch = method.batches.written_for.low
    try:
        return make_up(mixture.ingredients, lambda line: find_ingredient(line, tables), food, batch, target)
    except RangeError as error:
        raise PageError(method.file, mixture.line, error.name, f"{error.value:.4g}", error.allowed) from None


def _columns(
    mixture: Salting | Glaze, made: MakeUp, strong: Strength | None, method: Method, food: Food, house: House
) -> tuple[BatchColumn, ...]:
    written_for = method.batches.written_for.low
    return tuple(
        _column(mass, mass == written_for, made.scaled(mass / written_for), strong, mixture, food, house)
        for mass in batch_masses(method, house)
    )


def _column(
    mass: float,
    is_written: bool,
    made: MakeUp,
    strong: Strength | None,
    mixture: Salting | Glaze,
    food: Food,
    house: House,
) -> BatchColumn:
    rows = tuple(
        BatchRow(
            part=part,
            weighed=weighed(part.mass.typical, house),
            household=household(part.mass.typical, part.ingredient, house),
        )
        for part in made.parts
    )
    food_volume = mass / food.density
    volume = made.mass / strong.density if strong and strong.density else None
    filled = None
    if volume and isinstance(mixture, Salting) and mixture.is_bath:
        filled = choose(house.containers, mixture.container, food_volume, volume)
    return BatchColumn(
        food_mass=mass,
        is_written=is_written,
        rows=rows,
        mass=made.mass,
        volume=volume,
        fill=filled,
    )


def _main_salt(made: MakeUp) -> IngredientMass | None:
    salts = [part for part in made.parts if part.ingredient.kind == "salt" and part.ingredient.kg_per_m3]
    return max(salts, key=lambda part: part.mass.typical, default=None)


def _crystals(main: IngredientMass | None, tables: Tables) -> tuple[Crystal, ...]:
    if main is None or main.ingredient.kg_per_m3 is None:
        return ()
    density = main.ingredient.kg_per_m3[1]
    volume = main.mass.typical / density
    return tuple(
        Crystal(ingredient=salt, mass=Range(*salt.mass_of_volume(volume)), ratio=salt.kg_per_m3[1] / density)
        for salt in tables.salts
        if salt.kg_per_m3 is not None
    )


def _glaze_on_food(report: GlazeReport, method: Method) -> float:
    batch = method.batches.written_for.low
    stays = report.mixture.stays_on
    return min(stays.fraction * batch if stays else report.made.mass, report.made.mass)
