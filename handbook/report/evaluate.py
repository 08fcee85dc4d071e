"""From one method and its house to every figure that the method's page shows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import hypot

from handbook.base.errors import PageError, RangeError
from handbook.base.ranges import Range
from handbook.brine.make_up import Equilibrium, IngredientMass, MakeUp, equilibrium, make_up, mislabelled
from handbook.brine.nitrite import cure_process
from handbook.brine.strength import Strength, strength
from handbook.catalogue.foods import Food
from handbook.catalogue.ingredients import Ingredient
from handbook.catalogue.tables import Tables
from handbook.page.container import VesselFill, choose
from handbook.page.house import House
from handbook.page.ingredient_lines import find_ingredient
from handbook.page.measures import Household, Weighed, household, weighed
from handbook.page.method import Glaze, Method, Salting
from handbook.page.schedule import Schedule, schedule
from handbook.report.calibration import Calibration
from handbook.report.heat_course import HeatCourse, core_durations, heat_course
from handbook.report.portions import Cost, Portion, Yield, cost, portion, stated_yield
from handbook.report.safety_inputs import safety_case
from handbook.report.salt_course import SaltCourse, salt_course
from handbook.safety.findings import Finding, SafetyCase, findings
from handbook.safety.rules import cure


@dataclass(frozen=True, kw_only=True)
class BatchRow:
    """One ingredient in one batch: exact, as weighed, as cups and spoons."""

    part: IngredientMass
    weighed: Weighed
    household: Household | None

    @property
    def filling_is_off(self) -> bool:
        """Whether a cup of it may be off by more than the house allows, however well it is rounded."""
        return self.household is not None and self.household.filling_is_off


@dataclass(frozen=True, kw_only=True)
class BatchColumn:
    """One batch: its rows and what they make. Masses in kg, volumes in m3."""

    food_mass: float
    is_written: bool
    rows: tuple[BatchRow, ...]
    mass: float
    volume: float | None
    food_volume: float
    fill: VesselFill | None

    @property
    def to_food(self) -> float:
        """Brine mass / green weight."""
        return self.mass / self.food_mass


@dataclass(frozen=True, kw_only=True)
class Crystal:
    """The same volume of salt as another crystal type: mass in kg and its ratio to the salt named."""

    ingredient: Ingredient
    mass: Range
    ratio: float


@dataclass(frozen=True, kw_only=True)
class MixtureReport:
    """One salting or glaze in all batches."""

    mixture: Salting | Glaze
    made: MakeUp
    strength: Strength | None
    columns: tuple[BatchColumn, ...]
    equilibrium: Equilibrium | None
    crystals: tuple[Crystal, ...]
    crystal_of: IngredientMass | None


@dataclass(frozen=True, kw_only=True)
class Report:
    """Everything computed for one method."""

    method: Method
    food: Food
    saltings: tuple[MixtureReport, ...]
    glazes: tuple[MixtureReport, ...]
    schedule: Schedule
    finished: Yield
    portion: Portion
    cost: Cost
    allergens: tuple[str, ...]
    salt: Range
    course: HeatCourse | None
    salted: SaltCourse | None
    findings: tuple[Finding, ...]
    calibration: Calibration | None = None

    @property
    def sources(self) -> tuple[str, ...]:
        """Keys of the sources that the report's figures rest on, each once."""
        parts = [part for each in (*self.saltings, *self.glazes) for part in each.made.parts]
        keys = [self.food.source, *(part.ingredient.source for part in parts)]
        if self.finished.basis == "typical":
            keys.append("typical-yield")
        if any(column.fill for each in self.saltings for column in each.columns):
            keys.append("container-practice")
        if any(each.equilibrium.ingoing_nitrite_ppm for each in self.saltings):
            keys.append("fsis-calculations-handbook")
        if self.salted is not None:
            keys += self.salted.result.sources
        if self.course is not None:
            keys.append("choi-okos-1986")
        keys += [each.source for each in self.findings if each.source]
        return tuple(dict.fromkeys(keys))


def evaluate(method: Method, house: House, tables: Tables, calibration: Calibration | None = None) -> Report:
    """The report of ``method`` in ``house``, with the kitchen's own figures where a ``calibration`` gives them.

    The safety findings here are those of the figures given; see house_report.py for what a page shows.

    Raises
    ------
    PageError   a figure of the page cannot be computed, with the line of the block that asks for it
    """
    food = tables.foods[method.sheet.food]
    saltings = tuple(_mixture(each, method, food, house, tables) for each in method.saltings)
    glazes = tuple(_mixture(each, method, food, house, tables) for each in method.glazes)
    salt_to_water = saltings[-1].equilibrium.water_phase_salt.typical if saltings else 0.0
    course = heat_course(
        method, food, house, salt_to_water / (1 - salt_to_water), {each.mixture.name: each.made for each in glazes}
    )
    makes = {each.mixture.name: each.made for each in saltings}
    mixtures = {**makes, **{each.mixture.name: each.made for each in glazes}}
    cured = _cure_ppm(saltings, glazes, method)
    salted = _salted(
        method, house, food, mixtures, cured, lambda: salt_course(method, food, house, makes, course, calibration)
    )
    come_up = calibration.come_up.next_run if calibration and calibration.come_up else None
    computed = {**core_durations(course, come_up), **(salted.durations if salted else {})}
    timed = _timed(method, computed)
    finished = measured_yield(calibration, salted, course) or stated_yield(method)
    at_rest = saltings[-1].equilibrium if saltings else None
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
        timed,
        at_rest,
        mixtures,
        finished_salt,
        finished.ratio,
        course,
        allergens(food, made),
        cured,
        _accelerator_ppm(saltings),
    )
    found = findings(case)
    return Report(
        method=method,
        food=food,
        saltings=saltings,
        glazes=glazes,
        schedule=timed,
        finished=finished,
        portion=portion(method, *in_food, glaze.made if glaze else None, glaze_mass, finished),
        cost=cost(method, made, house, finished),
        allergens=allergens(food, made),
        salt=end.salt_mass_fraction if end else Range.exact(food.native_salt_fraction),
        course=course,
        salted=salted,
        findings=found,
        calibration=calibration,
    )


def _cure_ppm(
    saltings: tuple[MixtureReport, ...], glazes: tuple[MixtureReport, ...], method: Method
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
        ppm = {"ingoing_nitrite_ppm": Range.exact(cured[0]), "ingoing_nitrate_ppm": Range.exact(cured[1])}
        case = SafetyCase(method=method, house=house, food=food, makes=mixtures, **ppm)
        if any(each.level == "stop" for each in cure.findings(case)):
            return None
        raise


def _accelerator_ppm(saltings: tuple[MixtureReport, ...]) -> float:
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
    """Yield by the kitchen's own runs: change of weight in the bath, then the computed loss after it as calibrated.

    None where the runs tell nothing of the loss. Ends by the product of both, their spreads taken as independent.
    """
    if calibration is None or calibration.loss is None or course is None:
        return None
    gain = salted.salted.stage.weight_gain if salted else None
    first = salted.steps[salted.salting_index][-1] - course.first + 1 if salted else 0
    kept = 1.0
    for stage in course.result.stages[max(first, 0) :]:
        kept *= 1 - stage.mass_lost.typical
    after = Range(*(1 - min((1 - kept) * end, 0.9) for end in reversed(_ends(calibration.loss.next_run))))
    before = Range.exact(1.0) if gain is None else Range(*(1 + end for end in _ends(gain)))
    typical = before.typical * after.typical
    low, high = (
        typical * (1 - hypot(1 - getattr(before, end) / before.typical, 1 - getattr(after, end) / after.typical) * sign)
        for end, sign in (("low", 1), ("high", -1))
    )
    return Yield(ratio=Range(low, typical, high), basis="measured")


def _ends(values: Range) -> tuple[float, float, float]:
    return values.low, values.typical, values.high


def _timed(method: Method, computed: dict[int, Range]) -> Schedule:
    for number, step in enumerate(method.steps, 1):
        if step.time is None and number not in computed:
            allowed = "a time: only a smoke or cook step until core, and the last salting's last step, can be computed"
            raise PageError(method.file, step.line, f"steps.{number}.until", step.until, allowed)
    try:
        return schedule(method.steps, computed)
    except RangeError as error:
        raise PageError(method.file, error.line, f"steps.{error.name}", f"{error.value:.4g}", error.allowed) from None


def batch_masses(method: Method, house: House) -> tuple[float, ...]:
    """Green weights in kg that the page shows, rising, the written one among them."""
    shown = {each.low for each in (method.batches.show or house.batches)}
    return tuple(sorted(shown | {method.batches.written_for.low}))


def allergens(food: Food, made: list[MakeUp]) -> tuple[str, ...]:
    """Allergens of the food and of every ingredient, in alphabetical order."""
    found = {food.allergen} | {name for each in made for part in each.parts for name in part.ingredient.allergens}
    return tuple(sorted(found - {""}))


def _mixture(mixture: Salting | Glaze, method: Method, food: Food, house: House, tables: Tables) -> MixtureReport:
    written_for = method.batches.written_for.low
    is_salting = isinstance(mixture, Salting)
    target = mixture.target_salt if is_salting else None
    try:
        made = make_up(mixture.ingredients, lambda line: find_ingredient(line, tables), food, written_for, target)
    except RangeError as error:
        raise PageError(method.file, mixture.line, error.name, f"{error.value:.4g}", error.allowed) from None
    if is_salting and method.pieces.form != "minced" and (allowed := mislabelled(mixture, made, written_for)):
        read = f"{mixture.kind} with {made.total('water') * 1000:.4g} g of water, {made.total('salt') * 1000:.4g} g of salt"
        raise PageError(method.file, mixture.line, "salting.kind", read, allowed)
    temperature = mixture.temperature.middle if is_salting and mixture.temperature else house.fridge.middle
    strong = strength(made, temperature) if is_salting and not mixture.is_dry else None
    columns = tuple(
        _column(mass, mass == written_for, made.scaled(mass / written_for), strong, mixture, food, house)
        for mass in batch_masses(method, house)
    )
    at_rest = None
    if is_salting:
        process, pump = cure_process(mixture.kind, method.pieces.form), mixture.pump.middle if mixture.pump else None
        at_rest = equilibrium(made, food, written_for, process, pump)
    salts = [part for part in made.parts if part.ingredient.kind == "salt" and part.ingredient.kg_per_m3]
    main = max(salts, key=lambda part: part.mass.typical, default=None)
    return MixtureReport(
        mixture=mixture,
        made=made,
        strength=strong,
        columns=columns,
        equilibrium=at_rest,
        crystals=_crystals(main, tables),
        crystal_of=main,
    )


def _column(
    mass: float, is_written: bool, made: MakeUp, strong: Strength | None, mixture, food: Food, house: House
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
    holds_food = isinstance(mixture, Salting) and mixture.is_bath
    named = mixture.container if isinstance(mixture, Salting) else None
    filled = choose(house.containers, named, food_volume, volume) if volume and holds_food else None
    return BatchColumn(
        food_mass=mass,
        is_written=is_written,
        rows=rows,
        mass=made.mass,
        volume=volume,
        food_volume=food_volume,
        fill=filled,
    )


def _crystals(main: IngredientMass | None, tables: Tables) -> tuple[Crystal, ...]:
    if main is None:
        return ()
    volume = main.mass.typical / main.ingredient.kg_per_m3[1]
    return tuple(
        Crystal(
            ingredient=salt,
            mass=Range(*salt.mass_of_volume(volume)),
            ratio=salt.kg_per_m3[1] / main.ingredient.kg_per_m3[1],
        )
        for salt in tables.salts
    )


def _glaze_on_food(report: MixtureReport, method: Method) -> float:
    batch = method.batches.written_for.low
    stays = report.mixture.stays_on
    return min(stays.fraction * batch if stays else report.made.mass, report.made.mass)
