"""Run the uptake model over one method: translate its steps into stages, and collect the results and tables."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

from handbook.base.errors import PageError, RangeError
from handbook.base.ranges import Range
from handbook.brine.make_up import MakeUp
from handbook.brine.nitrite import Process, cure_process
from handbook.catalogue.food_families import FIRM
from handbook.catalogue.foods import Food
from handbook.page.house import House
from handbook.page.method import Method, Salting, Step
from handbook.report.calibration import Calibration
from handbook.report.heat_course import HeatCourse
from handbook.report.heat_stages import surroundings, thickness_range
from handbook.salt.diffusivity import salt_diffusivity, sugar_diffusivity
from handbook.salt.uptake import (
    Piece,
    Stage,
    ThicknessTime,
    UptakeResult,
    UptakeStageResult,
    hours_to_target,
    run,
    salt_at_end,
    time_to_target,
    with_bath_scaled,
)

WATER_SPREAD = 0.03  # relative, of a food's water between animals (estimate of the handbook)
NATIVE_SPREAD = 0.30  # relative, of its own sodium (estimate of the handbook)
COLDEST = 268.15  # K
WARMEST = 353.15  # K: upper end of the uptake model's rates; hotter food is computed at it
COOKING_WATER = 2.0  # kg per kg of food, where a page states none (common practice, no source)
RINSE = Range(3.0, 10.0, 30.0)  # s
LATER_STAGES = ("rinse", "freshen", "rest", "smoke", "cook", "cool")  # stages in which salt moves though none is added
FIRST_GUESS = 24 * 3600.0
MOST_LOST = 0.6  # of the weight: upper bound of a calibrated loss
#: Final weight gain in brine / green weight: (strength, low, typical, high). Estimates that agree with the published
#: signs (gain below about 18 % salt, loss above) [brining-gain].
TYPICAL_GAIN = (
    (0.00, 0.00, 0.00, 0.00),
    (0.03, 0.03, 0.06, 0.10),
    (0.06, 0.04, 0.09, 0.14),
    (0.10, 0.02, 0.06, 0.12),
    (0.15, -0.04, 0.02, 0.07),
    (0.20, -0.09, -0.03, 0.02),
    (0.27, -0.15, -0.09, -0.04),
)


@dataclass(frozen=True, kw_only=True)
class SaltCourse:
    """The uptake run of a method with its target and tables; ``steps`` are the step numbers behind each stage."""

    result: UptakeResult
    steps: tuple[tuple[int, ...], ...]
    salting_index: int
    target: float | None
    durations: dict[int, Range]
    by_thickness: tuple[ThicknessTime, ...]
    thickness_aim: float | None
    half_bath: Range | None
    double_bath: Range | None

    @property
    def salted(self) -> UptakeStageResult:
        """The result of the (last) salting's own stage."""
        return self.result.stages[self.salting_index]


@dataclass(frozen=True, kw_only=True)
class SaltInputs:
    """Input of the uptake model: the piece, the stages, and the step numbers behind each stage.

    ``salting`` is the last salting, ``salting_index`` that of its stage.
    """

    piece: Piece
    stages: tuple[Stage, ...]
    steps: tuple[tuple[int, ...], ...]
    salting: Salting
    salting_index: int


def salt_inputs(
    method: Method,
    food: Food,
    house: House,
    makes: dict[str, MakeUp],
    course: HeatCourse | None,
    calibration: Calibration | None = None,
) -> SaltInputs | None:
    """Translate the method's steps into a piece and stages; None for a page without a salting.

    A ``calibration`` replaces published figures by the kitchen's own. Raises RangeError as the uptake model does.
    """
    if not any(step.stage in ("salt", "ferment") for step in method.steps) or not method.saltings:
        return None
    inputs = _uncalibrated(method, food, house, makes, course, calibration)
    return inputs if inputs is None or calibration is None else _calibrated(inputs, calibration)


def salt_course(
    method: Method,
    food: Food,
    house: House,
    makes: dict[str, MakeUp],
    course: HeatCourse | None,
    calibration: Calibration | None = None,
) -> SaltCourse | None:
    """Run the uptake model over the method's steps; None for a page without a salting.

    ``makes`` are the make-ups of the saltings for the written batch, by name; ``calibration`` as in salt_inputs().

    Raises
    ------
    PageError   a step asks for what the model cannot do, with its line
    """
    try:
        inputs = salt_inputs(method, food, house, makes, course, calibration)
        if inputs is None:
            return None
        piece, index = inputs.piece, inputs.salting_index
        target = _target(inputs.salting, food)
        stages, durations = _timed(inputs, target, method)
        result = run(piece, stages, target=target)
        aim = _thickness_aim(result.stages[index], target, inputs.salting)
        half_bath, double_bath = _other_baths(piece, stages, index)
        return SaltCourse(
            result=result,
            steps=inputs.steps,
            salting_index=index,
            target=target,
            durations=durations,
            by_thickness=() if aim is None else _by_thickness(piece, stages[index], aim, house, method),
            thickness_aim=aim,
            half_bath=half_bath,
            double_bath=double_bath,
        )
    except RangeError as error:
        line = error.line or next(step.line for step in method.steps if step.stage in ("salt", "ferment"))
        raise PageError(method.file, line, f"steps: {error.name}", f"{error.value:.4g}", error.allowed) from None


def _piece(method: Method, food: Food, house: House) -> Piece:
    pieces = method.pieces
    is_block = pieces.shape == "block"
    water_spread = min(WATER_SPREAD * food.water, 0.4 * (1 - food.water))  # watery food varies little
    return Piece(
        shape=pieces.shape,
        thickness=thickness_range(method, house),
        width=pieces.width.middle if is_block and pieces.width else None,
        length=pieces.length.middle if is_block and pieces.length else None,
        skin_closed=pieces.skin != "off" and pieces.shape in ("slab", "block"),
        water_fraction=Range(food.water - water_spread, food.water, food.water + water_spread),
        native_salt_fraction=Range(*(food.native_salt_fraction * (1 + sign * NATIVE_SPREAD) for sign in (-1, 0, 1))),
        salt_diffusivity=salt_diffusivity(food.food_class, food.name),
        sugar_diffusivity=sugar_diffusivity(food.food_class),
    )


def _calibrated(inputs: SaltInputs, calibration: Calibration) -> SaltInputs:
    """The inputs with the kitchen's own diffusivity of salt, and its own change of weight in the bath."""
    stages, piece = list(inputs.stages), inputs.piece
    salting = stages[inputs.salting_index]
    piece = replace(piece, salt_diffusivity=calibration.diffusivity(piece.salt_diffusivity))
    if calibration.gain is not None and salting.weight_gain is not None:
        stages[inputs.salting_index] = replace(salting, weight_gain=calibration.gain.shifted(salting.weight_gain))
    return replace(inputs, piece=piece, stages=tuple(stages))


def _uncalibrated(
    method: Method,
    food: Food,
    house: House,
    makes: dict[str, MakeUp],
    course: HeatCourse | None,
    calibration: Calibration | None,
) -> SaltInputs | None:
    """The inputs with the published diffusivity and change of weight; losses of weight are the kitchen's own."""
    stages: list[Stage] = []
    steps: list[tuple[int, ...]] = []
    salting, index = None, 0
    for number, step in enumerate(method.steps, 1):
        used = _used(step, method)
        if used is not None and used is salting:
            # The same brine or cure continues: a rest or packing in between adds no second dose of salt.
            stages, steps = stages[: index + 1], steps[: index + 1]
            stages[-1] = _continued(stages[-1], step, house)
            steps[-1] = (*steps[-1], number)
        elif used is not None:
            stages.append(_salting_stage(step, used, makes[used.name], method, food, house))
            steps.append((number,))
            salting, index = used, len(stages) - 1
        elif salting is not None and (stage := _later_stage(step, number, house, course, calibration)) is not None:
            stages.append(stage)
            steps.append((number,))
    if salting is None:
        return None
    piece = _piece(method, food, house)
    return SaltInputs(piece=piece, stages=tuple(stages), steps=tuple(steps), salting=salting, salting_index=index)


def _used(step: Step, method: Method) -> Salting | None:
    """The salting that a step uses, if any."""
    if step.stage == "salt":
        return method.salting(step.use)
    if step.stage == "ferment":
        return method.salting(step.use) if step.use else method.saltings[0]
    return None


def _salting_stage(step: Step, salting: Salting, made: MakeUp, method: Method, food: Food, house: House) -> Stage:
    batch = method.batches.written_for.low
    per_food = {
        what: Range(*sorted(made.total(what, end) / batch for end in ("low", "typical", "high")))
        for what in ("water", "salt", "sugars")
    }
    process = cure_process(salting.kind, method.pieces.form)
    stage = Stage(
        kind="soak" if process is Process.IMMERSED else "dry cure",
        duration=Range.of(step.time) if step.time else Range.exact(FIRST_GUESS),
        temperature=_temperature(step, house),
        bath_water=per_food["water"],
        bath_salt=per_food["salt"],
        bath_sugar=per_food["sugars"],
        name=salting.name,
    )
    if process in (Process.PUMPED, Process.MIXED_IN):
        # A cure mixed into minced food is in it at once and stays, as a pumped brine does.
        pump = Range.of(salting.pump) if salting.pump else Range.exact(made.mass / batch)
        return replace(
            stage,
            kind="inject",
            pump=pump,
            pump_salt_fraction=Range.exact(made.salt_mass_fraction),
            pump_sugar_fraction=Range.exact(made.sugar_mass_fraction),
        )
    if process is Process.DRY_CURED:
        return stage
    return replace(stage, weight_gain=_gain(step, made, food))


def _gain(step: Step, made: MakeUp, food: Food) -> Range:
    if step.gain:
        return Range.of(step.gain)
    if step.loss:
        return Range(-step.loss.high, -step.loss.middle, -step.loss.low)
    if food.food_class in FIRM:
        return Range.exact(0.0)
    strength = min(made.solution_salt, TYPICAL_GAIN[-1][0])
    for (weak, *below), (strong, *above) in pairwise(TYPICAL_GAIN):
        if weak <= strength <= strong:
            part = (strength - weak) / (strong - weak)
            # Fatty fish takes up half as much.
            scale = 0.5 if food.food_class == "fish" and food.fat > 0.05 else 1.0
            return Range(*(scale * (low + part * (high - low)) for low, high in zip(below, above, strict=True)))
    return Range.exact(0.0)


def _continued(stage: Stage, step: Step, house: House) -> Stage:
    """The salting's stage extended by one more step in the same brine, at the temperature of the longer part."""
    added = Range.of(step.time) if step.time else Range.exact(FIRST_GUESS)
    is_longer = added.typical > stage.duration.typical
    return replace(
        stage,
        duration=stage.duration.plus(added),
        temperature=_temperature(step, house) if is_longer else stage.temperature,
        weight_gain=Range.of(step.gain) if step.gain and stage.kind == "soak" else stage.weight_gain,
    )


def _later_stage(
    step: Step, number: int, house: House, course: HeatCourse | None, calibration: Calibration | None
) -> Stage | None:
    """The stage of a step after the salting; None for a step in which no salt moves."""
    if step.stage not in LATER_STAGES:
        return None
    duration = Range.of(step.time) if step.time else Range.exact(3600.0)
    temperature = _temperature(step, house)
    if step.stage == "rinse":
        # The step's time is for the batch; each piece is in the water for seconds (common practice, no source).
        return Stage(kind="rinse", duration=RINSE, temperature=temperature, name=step.do)
    if step.stage == "freshen" or (step.stage == "cook" and step.air == "water"):
        # In cooking water salt leaves the food as in freshening.
        is_freshening = step.stage == "freshen"
        share = step.water.fraction if step.water else 3.0 if is_freshening else COOKING_WATER
        return Stage(
            kind="freshen",
            duration=duration,
            temperature=temperature,
            bath_water=Range.exact(share),
            water_changes=step.changes if is_freshening else 1,
            name=step.do,
        )
    return Stage(
        kind="rest" if step.stage == "rest" else "dry",
        duration=duration,
        temperature=temperature,
        water_loss=_loss(step, number, course, calibration),
        name=step.do,
    )


def _loss(step: Step, number: int, course: HeatCourse | None, calibration: Calibration | None) -> Range:
    """Water lost in a step: by the kitchen's own runs, else as stated, else as computed by the heat model; 0 or more."""
    stage = course.stage(number) if course else None
    if calibration is not None and calibration.loss is not None and stage is not None:
        factor = calibration.loss.next_run
        typical = max(stage.mass_lost.typical, 0.0)
        return Range(*(min(typical * end, MOST_LOST) for end in (factor.low, factor.typical, factor.high)))
    if step.loss:
        return Range.of(step.loss)
    if stage is None:
        return Range.exact(0.0)
    return Range(*(max(end, 0.0) for end in (stage.mass_lost.low, stage.mass_lost.typical, stage.mass_lost.high)))


def _temperature(step: Step, house: House) -> Range:
    around = surroundings(step, house)
    return Range(*(min(max(end, COLDEST), WARMEST) for end in (around.low, around.typical, around.high)))


def _target(salting: Salting, food: Food) -> float | None:
    """The stated target as salt / food; None without one, or for a target of food and brine together."""
    if salting.target_salt is None or salting.target_salt.base == "all":
        return None
    x = salting.target_salt.fraction
    if salting.target_salt.base == "food":
        return x
    salt = x / (1 - x) * food.water
    return salt / (1 - food.native_salt_fraction + salt)


def _timed(inputs: SaltInputs, target: float | None, method: Method) -> tuple[list[Stage], dict[int, Range]]:
    """The stages with the computed time of a salting step that waits for its target, and that time by step number."""
    stages, index = list(inputs.stages), inputs.salting_index
    number = inputs.steps[index][-1]
    step = method.steps[number - 1]
    if step.until != "target salt":
        return stages, {}
    aim = target if target is not None else step_aim(stages[index], inputs.piece)
    found = time_to_target(inputs.piece, stages[: index + 1], aim)
    if found.typical is None:
        raise PageError(
            method.file,
            step.line,
            f"steps.{number}.until",
            "target salt",
            "a target that this brine reaches: more salt, more brine, or a lower target",
        )
    high = found.high if found.high is not None else 3 * found.typical
    duration = Range(found.low or 0.0, found.typical, high)
    # The cook stops at the typical time; the range of the time is that of the pieces.
    stages[index] = replace(stages[index], duration=Range.exact(found.typical))
    return stages, {number: duration}


def step_aim(stage: Stage, piece: Piece) -> float:
    """95 % of the food's salt at equilibrium with the bath: the target where the page states none of the food."""
    water = piece.water_fraction.typical
    per_water = (stage.bath_salt.typical + piece.native_salt_fraction.typical) / (stage.bath_water.typical + water)
    return 0.95 * per_water * water / (1 + per_water * water)


def _by_thickness(piece: Piece, stage: Stage, aim: float, house: House, method: Method) -> tuple[ThicknessTime, ...]:
    sizes = {each.thickness.middle for each in method.pieces.sizes}
    thicknesses = tuple(sorted({each.low for each in house.thicknesses} | sizes))
    return hours_to_target(piece, stage, aim, thicknesses)


def _thickness_aim(salted: UptakeStageResult, target: float | None, salting: Salting) -> float | None:
    """The salt that other thicknesses should reach; None without a bath.

    The stated target; in a strong brine the salt of the page's own piece; else 95 % of equilibrium.
    """
    if salted.stage.kind != "soak":
        return None
    if target is not None:
        return target
    if salting.kind == "immersion":
        return salted.salt_mass_fraction.typical
    equilibrium = salted.equilibrium_salt_mass_fraction
    return None if equilibrium is None else 0.95 * equilibrium.typical


def _other_baths(piece: Piece, stages: list[Stage], index: int) -> tuple[Range | None, Range | None]:
    if stages[index].kind != "soak":
        return None, None
    found = []
    for factor in (0.5, 2.0):
        changed = [*stages[:index], with_bath_scaled(stages[index], factor)]  # later stages change nothing here
        found.append(salt_at_end(piece, changed))
    return found[0], found[1]
