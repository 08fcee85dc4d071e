"""The course of one method through salt: from its steps to the stages of the uptake model, and what comes out."""

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
    hours_to_target,
    run,
    salt_at_end,
    time_to_target,
    with_bath_scaled,
)

WATER_SPREAD = 0.03  # relative, of a food's water from one animal to the next (estimate of the handbook)
NATIVE_SPREAD = 0.30  # relative, of its own sodium (estimate of the handbook)
COLDEST = 268.15  # K
WARMEST = 353.15  # K: the rates of the uptake model end at 80 °C; hotter food counts as that
COOKING_WATER = 2.0  # kg per kg of food, where a page does not say (common practice, no source)
RINSE = Range(3.0, 10.0, 30.0)  # s
LATER_STAGES = ("rinse", "freshen", "rest", "smoke", "cook", "cool")  # in which salt moves without being added
FIRST_GUESS = 24 * 3600.0
MOST_LOST = 0.6  # of its weight, that a calibrated step may lose
#: Weight gained in brine by its strength, of green weight, near the end: (strength, low, typical, high). Estimates
#: that agree with the published signs (gain below about 18 % salt, loss above) [brining-gain].
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
    """The uptake run of a method: which steps each stage stands for, the aim, and the tables around it."""

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
    def salted(self):
        """The stage result of the (last) salting itself."""
        return self.result.stages[self.salting_index]


@dataclass(frozen=True, kw_only=True)
class SaltInputs:
    """What the uptake model is given: ``steps`` are the numbers of the method's steps behind each stage."""

    piece: Piece
    stages: tuple[Stage, ...]
    steps: tuple[tuple[int, ...], ...]
    salting_index: int


def salt_inputs(
    method: Method,
    food: Food,
    house: House,
    makes: dict[str, MakeUp],
    course: HeatCourse | None,
    calibration: Calibration | None = None,
) -> SaltInputs | None:
    """Piece and stages of the method's steps; None for a page without a salting.

    With a ``calibration`` the kitchen's own figures take the place of the published ones. RangeError as in uptake.
    """
    if not any(step.stage in ("salt", "ferment") for step in method.steps) or not method.saltings:
        return None
    piece = _piece(method, food, house)
    stages, steps, salting_index = _stages(method, food, house, makes, course, calibration)
    if salting_index is None:
        return None
    if calibration is not None:
        piece, stages = _calibrated(piece, stages, salting_index, calibration)
    return SaltInputs(piece=piece, stages=tuple(stages), steps=steps, salting_index=salting_index)


def salt_course(
    method: Method,
    food: Food,
    house: House,
    makes: dict[str, MakeUp],
    course: HeatCourse | None,
    calibration: Calibration | None = None,
) -> SaltCourse | None:
    """Run the uptake model over the method's steps; None for a page without a salting.

    ``makes`` are the saltings as made up for the written batch, by name; ``calibration`` as in salt_inputs().

    Raises
    ------
    PageError   a step asks for what the model cannot do, with its line
    """
    try:
        inputs = salt_inputs(method, food, house, makes, course, calibration)
        if inputs is None:
            return None
        piece, steps, salting_index = inputs.piece, inputs.steps, inputs.salting_index
        stages = list(inputs.stages)
        salting = _salting_of(method, steps[salting_index])
        target = _target(salting, food)
        stages, durations = _computed(piece, stages, steps, salting_index, target, method)
        result = run(piece, stages, target=target)
        aim = _thickness_aim(result.stages[salting_index], target, method)
        half_bath, double_bath = _other_baths(piece, stages, salting_index)
        return SaltCourse(
            result=result,
            steps=steps,
            salting_index=salting_index,
            target=target,
            durations=durations,
            by_thickness=() if aim is None else _by_thickness(piece, stages[salting_index], aim, house, method),
            thickness_aim=aim,
            half_bath=half_bath,
            double_bath=double_bath,
        )
    except RangeError as error:
        line = error.line or next(step.line for step in method.steps if step.stage in ("salt", "ferment"))
        raise PageError(method.file, line, f"steps: {error.name}", f"{error.value:.4g}", error.allowed) from None


def _piece(method: Method, food: Food, house: House) -> Piece:
    pieces = method.pieces
    block = pieces.shape == "block"
    water_spread = min(WATER_SPREAD * food.water, 0.4 * (1 - food.water))  # a watery food has little to vary
    return Piece(
        shape=pieces.shape,
        thickness=thickness_range(method, house),
        width=pieces.width.middle if block else None,
        length=pieces.length.middle if block else None,
        skin_closed=pieces.skin != "off" and pieces.shape in ("slab", "block"),
        water_fraction=Range(food.water - water_spread, food.water, food.water + water_spread),
        native_salt_fraction=Range(*(food.native_salt_fraction * (1 + sign * NATIVE_SPREAD) for sign in (-1, 0, 1))),
        salt_diffusivity=salt_diffusivity(food.food_class, food.name),
        sugar_diffusivity=sugar_diffusivity(food.food_class),
    )


def _calibrated(piece: Piece, stages: list[Stage], index: int, calibration: Calibration):
    """The piece with the kitchen's own rate of salt, the bath with the kitchen's own change of weight."""
    changed = list(stages)
    salting = stages[index]
    if calibration.salt is not None:
        piece = replace(piece, salt_diffusivity=calibration.diffusivity(piece.salt_diffusivity))
    if calibration.gain is not None and salting.weight_gain is not None:
        changed[index] = replace(salting, weight_gain=calibration.gain.shifted(salting.weight_gain))
    return piece, changed


def _stages(
    method: Method,
    food: Food,
    house: House,
    makes: dict[str, MakeUp],
    course: HeatCourse | None,
    calibration: Calibration | None,
):
    stages: list[Stage] = []
    steps: list[tuple[int, ...]] = []
    salting_index = None
    for number, step in enumerate(method.steps, 1):
        salting = _used(step, method)
        if salting is not None:
            if salting_index is not None and _salting_of(method, steps[salting_index]) is salting:
                # The same brine or cure goes on; a rest or a packing in between brings no second dose of salt.
                stages, steps = stages[: salting_index + 1], steps[: salting_index + 1]
                stages[-1] = _longer(stages[-1], step, house)
                steps[-1] = (*steps[-1], number)
            else:
                stages.append(_salting_stage(step, salting, makes[salting.name], method, food, house))
                steps.append((number,))
                salting_index = len(stages) - 1
        elif salting_index is not None:
            stage = _later_stage(step, number, method, house, course, calibration)
            if stage is not None:
                stages.append(stage)
                steps.append((number,))
    return stages, tuple(steps), salting_index


def _used(step: Step, method: Method) -> Salting | None:
    if step.stage == "salt":
        return method.salting(step.use)
    if step.stage == "ferment":
        return method.salting(step.use) if step.use else method.saltings[0]
    return None


def _salting_of(method: Method, numbers: tuple[int, ...]) -> Salting:
    return _used(method.steps[numbers[-1] - 1], method)


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
        # What is mixed into minced food is in it at once and stays there, as a pumped brine does.
        pump = Range.of(salting.pump) if salting.pump else Range.exact(made.mass / batch)
        return replace(
            stage,
            kind="inject",
            pump=pump,
            pump_salt_fraction=Range.exact(min(made.salt_mass_fraction, _MOST_PUMPED_SALT)),
            pump_sugar_fraction=Range.exact(made.sugar_mass_fraction),
        )
    if process is Process.DRY_CURED:
        return stage
    return replace(stage, weight_gain=_gain(step, made, food))


#: The salt model's bound on the salt in what is pumped or mixed in; dry salt rubbed into mince stays a little above it.
_MOST_PUMPED_SALT = 0.9


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


def _longer(stage: Stage, step: Step, house: House) -> Stage:
    more = Range.of(step.time) if step.time else Range.exact(FIRST_GUESS)
    longer = more.typical > stage.duration.typical
    gain = {"weight_gain": Range.of(step.gain)} if step.gain and stage.kind == "soak" else {}
    return replace(
        stage,
        duration=stage.duration.plus(more),
        temperature=_temperature(step, house) if longer else stage.temperature,
        **gain,
    )


def _later_stage(
    step: Step, number: int, method: Method, house: House, course: HeatCourse | None, calibration: Calibration | None
) -> Stage | None:
    if step.stage not in LATER_STAGES:
        return None
    nothing = Range.exact(0.0)
    duration = Range.of(step.time) if step.time else Range.exact(3600.0)
    common = {
        "duration": duration,
        "temperature": _temperature(step, house),
        "bath_water": nothing,
        "bath_salt": nothing,
        "bath_sugar": nothing,
        "name": step.do,
    }
    if step.stage == "rinse":
        # The step is for the batch; each piece meets the water for seconds (common practice, no source).
        return Stage(kind="rinse", **{**common, "duration": RINSE})
    if step.stage == "freshen":
        share = step.water.fraction if step.water else 3.0
        return Stage(kind="freshen", water_changes=step.changes, **{**common, "bath_water": Range.exact(share)})
    if step.stage == "cook" and step.air == "water":
        # Open in water, salt leaves as in freshening; how much water is used is seldom said.
        share = step.water.fraction if step.water else COOKING_WATER
        return Stage(kind="freshen", water_changes=1, **{**common, "bath_water": Range.exact(share)})
    if step.stage in ("rest", "smoke", "cook", "cool"):
        loss = _loss(step, number, course, calibration)
        return Stage(kind="rest" if step.stage == "rest" else "dry", water_loss=loss, **common)
    return None


def _loss(step: Step, number: int, course: HeatCourse | None, calibration: Calibration | None) -> Range:
    """Water lost in a step: by the kitchen's own runs, else as stated, else as the heat model computes it; no gain."""
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
    """The aim as salt / food, or None where none is stated or it is one of the whole."""
    if salting.target_salt is None or salting.target_salt.base == "all":
        return None
    x = salting.target_salt.fraction
    if salting.target_salt.base == "food":
        return x
    salt = x / (1 - x) * food.water
    return salt / (1 - food.native_salt_fraction + salt)


def _computed(piece: Piece, stages: list[Stage], steps, salting_index: int, target: float | None, method: Method):
    """Fill in the time of a salting step that waits for the target; (stages, step number -> its time)."""
    number = steps[salting_index][-1]
    step = method.steps[number - 1]
    if step.until != "target salt":
        return stages, {}
    aim = target if target is not None else step_aim(stages[salting_index], piece)
    found = time_to_target(piece, stages[: salting_index + 1], aim)
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
    # The cook stops at the typical time; the spread of the time is that of the pieces.
    stages[salting_index] = replace(stages[salting_index], duration=Range.exact(found.typical))
    return stages, {number: duration}


def step_aim(stage: Stage, piece: Piece) -> float:
    """95 % of where the bath would bring the food: the aim where the target is one of the whole."""
    water = piece.water_fraction.typical
    per_water = (stage.bath_salt.typical + piece.native_salt_fraction.typical) / (stage.bath_water.typical + water)
    return 0.95 * per_water * water / (1 + per_water * water)


def _by_thickness(piece, stage: Stage, aim: float, house: House, method: Method) -> tuple[ThicknessTime, ...]:
    sizes = {each.thickness.middle for each in method.pieces.sizes}
    thicknesses = tuple(sorted({each.low for each in house.thicknesses} | sizes))
    return hours_to_target(piece, stage, aim, thicknesses)


def _thickness_aim(salted, target: float | None, method: Method) -> float | None:
    """What other thicknesses should reach: the stated aim; in a strong brine what the page's own piece gets; else 95 %
    of rest. None where there is no bath to wait in."""
    if salted.stage.kind != "soak":
        return None
    if target is not None:
        return target
    if method.salting(salted.stage.name).kind == "immersion":
        return salted.salt_mass_fraction.typical
    return 0.95 * salted.equilibrium_salt_mass_fraction.typical


def _other_baths(piece, stages: list[Stage], index: int) -> tuple[Range | None, Range | None]:
    if stages[index].kind != "soak":
        return None, None
    found = []
    for factor in (0.5, 2.0):
        changed = [*stages[:index], with_bath_scaled(stages[index], factor)]  # later stages do not matter here
        found.append(salt_at_end(piece, changed))
    return found[0], found[1]
