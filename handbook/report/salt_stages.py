"""Translate a method's steps into the piece and the stages of the uptake model."""

from __future__ import annotations

from msgspec import Struct
from msgspec.structs import replace

from handbook.base.errors import RangeError
from handbook.base.ranges import Range
from handbook.brine.make_up import MakeUp
from handbook.brine.nitrite import Process, cure_process
from handbook.catalogue.foods import Food
from handbook.page.heated import has_curve, heats
from handbook.page.house import House
from handbook.page.method import Method
from handbook.page.piece_size import solid_of
from handbook.page.salting import Salting
from handbook.page.steps import Step
from handbook.report.before_salting import before_salting, loss_aimed_at
from handbook.report.calibration import Calibration
from handbook.report.cured_food import dry_cure_taken
from handbook.report.dry_cure_stage import usually_drawn, with_stated_loss
from handbook.report.food_clock import FoodClock, food_clock
from handbook.report.heat_course import HeatCourse, core_durations
from handbook.report.heat_stages import is_frozen, is_wrapped, surroundings, thickness_range
from handbook.report.stirred_in import is_stirred_in, stirred_stage
from handbook.report.usual_gain import usual_gain
from handbook.salt.diffusivity import Diffusivity, salt_diffusivity, sugar_diffusivity
from handbook.salt.uptake import FRESHENING_WATER, NOTHING, Piece, Stage

WATER_SPREAD = 0.03  # relative, of a food's water between animals (estimate of the handbook)
NATIVE_SPREAD = 0.30  # relative, of its own sodium (estimate of the handbook)
COLDEST = 268.15  # K
WARMEST = 353.15  # K: upper end of the uptake model's rates; hotter food is computed at this temperature
COOKING_WATER = 2.0  # kg per kg of food, where a page states none (common practice, no source)
RINSE = Range(3.0, 10.0, 30.0)  # s
RINSED_WITHIN = 1800.0  # s: a batch in water for longer, or with a stated amount of water, is freshened (estimate)
#: s: up to this time work by hand, and any step, moves too little salt for a stage (estimate).
BRIEF, MOMENT = 3600.0, 600.0
LOST_AT_REST = 0.05  # of the weight: food that loses more counts as drying (estimate)
FIRST_GUESS = 24 * 3600.0
MOST_MIXED_IN = 0.9  # of green weight: bound of the model
MOST_PUMPED_SALT = 0.9  # of what is pumped or mixed in: bound of the model; dry salt in mince is a little above it
LEAST_LEFT = 0.05  # of the water, in food that dried before a stated loss (estimate)
MOST_LOST = 0.6  # of the weight: upper bound of a calibrated loss


class SaltInputs(Struct, frozen=True, kw_only=True):
    """Input of the uptake model: the piece, the stages, and the step numbers behind each stage.

    ``salting`` is the last salting, ``salting_index`` that of its stage.
    """

    piece: Piece
    stages: tuple[Stage, ...]
    steps: tuple[tuple[int, ...], ...]
    salting: Salting
    salting_index: int

    @property
    def salting_stage(self) -> Stage:
        """The stage of the (last) salting."""
        return self.stages[self.salting_index]

    def with_salting_stage(self, stage: Stage) -> SaltInputs:
        """The same inputs with another stage for the (last) salting."""
        stages = list(self.stages)
        stages[self.salting_index] = stage
        return replace(self, stages=tuple(stages))


class _Around(Struct, frozen=True, kw_only=True):
    """What later stages are made from; ``mass`` is the typical weight before the step / green weight, nearly.

    ``filled`` is the weight with a cure mixed in / green weight: what a loss of weight counts from. ``is_cased``: a casing keeps water and
    food apart, though juice may leave.
    """

    house: House
    course: HeatCourse | None
    rate: Diffusivity
    durations: dict[int, Range]
    calibration: Calibration | None
    food: Food
    mass: float = 1.0
    filled: float = 1.0
    is_cased: bool = False

    def after(self, stages: list[Stage]) -> _Around:
        """The same with the weight after some stages."""
        mass = self.mass
        for stage in stages:
            if stage.ends_at is not None:
                mass = stage.ends_at
                continue
            gain = stage.weight_gain.typical if stage.weight_gain else 0.0
            if stage.cured_loss is not None:
                gain = -stage.cured_loss.typical
            elif stage.kind == "dry cure":
                gain = dry_cure_taken(stage.bath_salt.typical, stage.drawn_water.typical, self.food)
                gain -= stage.drawn_water.typical
            change = gain - stage.water_loss.typical - stage.drip.typical
            mass += change * (mass if stage.of_start or stage.cured_loss is not None else 1.0) + stage.pump.typical
        return replace(self, mass=mass)


def salt_inputs(
    method: Method,
    food: Food,
    house: House,
    makes: dict[str, MakeUp],
    course: HeatCourse | None,
    calibration: Calibration | None = None,
) -> SaltInputs | None:
    """Translate the method's steps into a piece and stages; None for a page without a salting.

    ``makes`` are the make-ups of its saltings, and of its glazes that are stirred in. A ``calibration`` replaces
    published figures by the kitchen's own. Raises RangeError as the uptake model does.
    """
    if all(method.lies_in(step) is None for step in method.steps):
        return None
    inputs = _uncalibrated(method, food, house, makes, course, calibration)
    return inputs if inputs is None or calibration is None else _calibrated(inputs, calibration)


def weight_filled(method: Method, makes: dict[str, MakeUp]) -> float:
    """Weight of the food with the cures that are mixed into it / green weight."""
    mixed = [
        makes[each.name].mass
        for each in method.saltings
        if cure_process(each.kind, method.pieces.worked_form) is Process.MIXED_IN
    ]
    return 1.0 + sum(mixed) / method.batches.written_for.low


def moves_salt(step: Step, follows_heat: bool) -> bool:
    """Whether salt moves in the food in a step after the salting. Frozen food and a pan beside the food do not count. A
    short step (see BRIEF and MOMENT) counts only if the food loses weight, is heated or is in water. Food that is still
    hot drips in any step.
    """
    if is_frozen(step) or step.is_beside_food:
        return False
    most = BRIEF if step.hands_on else 0.0 if follows_heat else MOMENT
    is_brief = step.time is not None and step.time.high <= most
    return not is_brief or step.loss is not None or has_curve(step) or step.is_in_plain_water


def _piece(method: Method, food: Food, house: House, course: HeatCourse | None) -> Piece:
    pieces = method.pieces
    solid = solid_of(pieces, thickness_range(method, house))
    is_block = solid.shape == "block"
    water_spread = min(WATER_SPREAD * food.water, 0.4 * (1 - food.water))  # watery food varies little
    piece = Piece(
        shape=solid.shape,
        thickness=solid.thickness,
        width=solid.width if is_block else None,
        length=solid.length if is_block else None,
        skin_closed=pieces.skin != "off" and pieces.shape in ("slab", "block"),
        water_fraction=Range(food.water - water_spread, food.water, food.water + water_spread),
        native_salt_fraction=Range(*(food.native_salt_fraction * (1 + sign * NATIVE_SPREAD) for sign in (-1, 0, 1))),
        salt_diffusivity=salt_diffusivity(food.food_class, food.name),
        sugar_diffusivity=sugar_diffusivity(food.food_class),
    )
    return before_salting(piece, method, course)


def _calibrated(inputs: SaltInputs, calibration: Calibration) -> SaltInputs:
    """The inputs with the kitchen's own diffusivity of salt, and its own change of weight in the bath."""
    piece, stage = inputs.piece, inputs.salting_stage
    piece = replace(piece, salt_diffusivity=calibration.diffusivity(piece.salt_diffusivity))
    if calibration.gain is not None and stage.weight_gain is not None:
        stage = replace(stage, weight_gain=calibration.gain.shifted(stage.weight_gain))
    return replace(inputs.with_salting_stage(stage), piece=piece)


def _uncalibrated(
    method: Method,
    food: Food,
    house: House,
    makes: dict[str, MakeUp],
    course: HeatCourse | None,
    calibration: Calibration | None,
) -> SaltInputs | None:
    """The inputs with the published diffusivity and change of weight, and with the kitchen's own losses of weight."""
    stages: list[Stage] = []
    steps: list[tuple[int, ...]] = []
    salting, index = None, 0
    piece = _piece(method, food, house, course)
    around = _Around(
        house=house,
        course=course,
        rate=salt_diffusivity(food.food_class, food.name),
        durations=core_durations(course, calibration.come_up.next_run if calibration and calibration.come_up else None),
        calibration=calibration,
        food=food,
        mass=piece.kept.typical - piece.water_lost.typical,
        filled=weight_filled(method, makes),
        is_cased=method.pieces.casing != "none",
    )
    for number, step in enumerate(method.steps, 1):
        used = method.lies_in(step) or (salting if step.medium == "brine" else None)
        if used is not None and used is salting:
            # The same brine or cure continues: a rest or packing in between adds no second dose of salt; what is stirred in stays.
            kept = [at for at in range(len(stages)) if at <= index or stages[at].kind == "inject"]
            stages, steps = [stages[at] for at in kept], [steps[at] for at in kept]
            stages[index] = _continued(stages[index], step, house, used)
            steps[index] = (*steps[index], number)
        elif used is not None:
            stages.append(_salting_stage(step, used, makes[used.name], method, food, house))
            steps.append((number,))
            salting, index = used, len(stages) - 1
        elif salting is not None and is_stirred_in(step, method, food):
            weight = around.after(stages).mass
            stages.append(stirred_stage(step, method, makes, weight, _temperature(step, house)))
            steps.append((number,))
        elif salting is not None and (stage := _later_stage(step, number, around.after(stages))) is not None:
            stages.append(stage)
            steps.append((number,))
    if salting is None:
        return None
    return SaltInputs(piece=piece, stages=tuple(stages), steps=tuple(steps), salting=salting, salting_index=index)


def _salting_stage(step: Step, salting: Salting, made: MakeUp, method: Method, food: Food, house: House) -> Stage:
    batch = method.batches.written_for.low
    per_food = {
        what: Range(*sorted(made.total(what, end) / batch for end in ("low", "typical", "high")))
        for what in ("water", "salt", "sugars")
    }
    process = cure_process(salting.kind, method.pieces.worked_form)
    stage = Stage(
        kind="soak" if process is Process.IMMERSED else "dry cure",
        duration=Range.of(step.time) if step.time else Range.exact(FIRST_GUESS),
        temperature=_temperature(step, house, salting),
        bath_water=per_food["water"],
        bath_salt=per_food["salt"],
        bath_sugar=per_food["sugars"],
        name=salting.name,
    )
    if process in (Process.PUMPED, Process.MIXED_IN):
        # A cure mixed into minced food enters at once and stays, like a pumped brine.
        pump = Range.of(salting.pump) if salting.pump else Range.exact(made.mass / batch)
        if process is Process.MIXED_IN and pump.high > MOST_MIXED_IN:
            read = f"{pump.high:.3g} kg of {salting.name} to 1 kg of food"
            allowed = f"at most {MOST_MIXED_IN:g} kg: minced food takes up all that is mixed into it"
            raise RangeError("use", pump.high, allowed, step.line, read)
        return replace(
            stage,
            kind="inject",
            pump=pump,
            pump_salt_fraction=Range.exact(min(made.salt_mass_fraction, MOST_PUMPED_SALT)),
            pump_sugar_fraction=Range.exact(made.sugar_mass_fraction),
        )
    if process is Process.DRY_CURED:
        drawn = stage.drawn_water if salting.covers_food else usually_drawn(stage, food)
        return with_stated_loss(step, replace(stage, drawn_water=drawn))
    gain = _stated_change(step) or usual_gain(food.food_class, made.solution_salt)
    if step.gain and gain.typical > made.mass / batch:
        allowed = f"at most the brine, {made.mass / batch:.1%} of green weight"
        raise RangeError("gain", gain.typical, allowed, step.line, step.gain.text)
    return replace(stage, weight_gain=gain, of_start=True)


def _stated_change(step: Step) -> Range | None:
    """Stated gain of weight in a step, of green weight, below 0 for a loss; None where nothing is stated."""
    if step.gain:
        return Range.of(step.gain)
    return Range(-step.loss.high, -step.loss.middle, -step.loss.low) if step.loss else None


def _continued(stage: Stage, step: Step, house: House, salting: Salting) -> Stage:
    """The salting's stage extended by one more step in the same brine, at the temperature of the longer part."""
    added = Range.of(step.time) if step.time else Range.exact(FIRST_GUESS)
    is_longer = added.typical > stage.duration.typical
    continued = replace(
        stage,
        duration=stage.duration.plus(added),
        temperature=_temperature(step, house, salting) if is_longer else stage.temperature,
        weight_gain=(_stated_change(step) or stage.weight_gain) if stage.kind == "soak" else stage.weight_gain,
    )
    return with_stated_loss(step, continued) if stage.kind == "dry cure" else continued


def _later_stage(step: Step, number: int, around: _Around) -> Stage | None:
    """The stage of a step after the salting; None for a step in which no salt moves.

    A step that ends at a loss of weight ends at it in every sample. Where there is a heat run, salt moves at the food's own temperature over the run's own time.
    """
    clock = food_clock(around.course, number, around.rate) if around.course else None
    if not moves_salt(step, follows_heat=clock is not None):
        return None
    if _is_rinse(step):
        # The step's time is for the batch; each piece is in the water for seconds (common practice, no source).
        return Stage(kind="rinse", duration=RINSE, temperature=_temperature(step, around.house), name=step.do)
    if clock is None:
        duration = Range.of(step.time) if step.time else NOTHING  # the schedule reports a missing time
        stage = Stage(kind="rest", duration=duration, temperature=_temperature(step, around.house), name=step.do)
    else:
        stage = Stage(
            kind="rest",
            duration=Range.of(step.time) if step.time else around.durations.get(number, clock.duration),
            temperature=clock.temperature,
            diffusing=clock.diffusing,
            evaporating=clock.evaporating,
            dripping=clock.dripping,
            water_left=_water_left(step, clock, around),
            name=step.do,
        )
    evaporated, dripped = _losses(step, clock, around)
    stage = replace(stage, water_loss=evaporated, drip=dripped, of_start=True)
    if (aim := loss_aimed_at(step)) is not None:
        stage = replace(stage, ends_at=(1.0 - aim) * around.filled, water_left=LEAST_LEFT)
    if _is_in_water(step) and not around.is_cased:
        # In cooking water salt leaves the food as in freshening.
        share = step.water.fraction if step.water else COOKING_WATER if heats(step) else FRESHENING_WATER
        return replace(stage, kind="freshen", bath_water=Range.exact(share), water_changes=step.changes)
    is_at_rest = clock is None and (step.loss is None or step.loss.middle <= LOST_AT_REST)
    return replace(stage, kind="rest" if is_at_rest else "dry")


def _water_left(step: Step, clock: FoodClock, around: _Around) -> float:
    """Minimum share of the water that stays. After a cure or a rest that drew water there is less to lose than the heat
    run or a stated loss assumes. An impossible loss remains a fault.
    """
    if step.loss is None:
        return 0.5 * min(clock.water_left, 1.0)
    return LEAST_LEFT if step.loss.high * around.mass < around.food.water else 0.0


def _is_in_water(step: Step) -> bool:
    """Whether plain water touches the food, so that salt leaves it: uncovered in water, or cooked uncovered in it."""
    if is_wrapped(step) or step.medium not in (None, "water"):
        return False
    return step.is_in_plain_water or (heats(step) and step.air == "water")


def _is_rinse(step: Step) -> bool:
    """Whether each piece is in cold water for seconds: no amount of water is stated and the batch takes minutes."""
    is_brief = step.time is not None and step.time.high <= RINSED_WITHIN
    return step.is_in_plain_water and is_brief and step.water is None and step.changes == 1 and not heats(step)


def _losses(step: Step, clock: FoodClock | None, around: _Around) -> tuple[Range, Range]:
    """Water that evaporates and juice that drips in a step, of the weight at its start, 0 or more.

    In this order: the loss of weight that ends the step, the kitchen's own runs, the stated loss, the loss computed by
    the heat model, which separates juice from vapour.
    """
    calibration = around.calibration
    if (aim := loss_aimed_at(step)) is not None:
        lost = Range.exact(max(1.0 - (1.0 - aim) * around.filled / around.mass, 0.0))
    elif calibration is not None and calibration.loss is not None and clock is not None:
        factor = calibration.loss.next_run
        typical = clock.evaporated.typical + clock.dripped.typical
        lost = Range(*(min(typical * end, MOST_LOST) for end in factor.ends))
    elif step.loss:
        lost = Range.of(step.loss)
    elif clock is None:
        return NOTHING, NOTHING
    else:
        return clock.evaporated, clock.dripped
    share = clock.drip_share if clock is not None else 1.0 if _drips(step) else 0.0
    return lost.times(1.0 - share), lost.times(share)


def _drips(step: Step) -> bool:
    """Whether the loss of a step is juice with its salt: in water or steam, under brine or juice, or pressed or sieved
    by hand in minutes. Any other loss evaporates.
    """
    is_in_water = heats(step) and step.air in ("water", "steam")
    is_under_juice = step.stage == "ferment" or step.medium in ("brine", "jar")
    return is_in_water or is_under_juice or (step.hands_on and not heats(step))


def _temperature(step: Step, house: House, salting: Salting | None = None) -> Range:
    around = surroundings(step, house, salting)
    return Range(*(min(max(end, COLDEST), WARMEST) for end in around.ends))
