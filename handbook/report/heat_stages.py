"""Translate a method's steps into the piece and the stages of the heat model."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec.structs import replace

from handbook.base.errors import RangeError
from handbook.base.ranges import Range
from handbook.base.units import celsius
from handbook.brine.make_up import MakeUp
from handbook.catalogue.food_families import FIRM, FISH, FLESH
from handbook.catalogue.foods import Food
from handbook.heat.film import film_of_speed
from handbook.heat.heated_piece import BONE, CASING_OPEN, SKIN_OPEN, Coating, HeatPiece, HeatStage
from handbook.heat.lethality import Organism, organisms
from handbook.page.heated import DRYNESS, dries, has_curve
from handbook.page.house import House
from handbook.page.method import Method
from handbook.page.piece_size import solid_of
from handbook.page.salting import Salting
from handbook.page.schedule import MAX_REPEATS, repeat_starts
from handbook.page.steps import Step, air_speed
from handbook.page.until import WATER_ACTIVITY
from handbook.warmth.box import BoxCourse

ROOM = Range(289.15, 293.15, 298.15)  # K of a bench or room where the page states none
FRIDGE_SPREAD = 1.5  # K up or down in a fridge that is opened (common practice, no source)
CHAMBER_SPREAD = 0.05  # of the rise above 20 °C: deviation of a smoker or oven (common practice, no source)
COLDEST = 272.15  # K: food begins to freeze here; the models hold for unfrozen food
GLAZE_TEMPERATURE = 293.15
BOILING = 373.15  # K: food in hotter fat fries, which the model does not follow
IN_FAT = Range(40.0, 100.0, 250.0)  # W/(m2 K) of still fat, about half of still water's [film-coefficients]
#: Fat over the food keeps its water in like a bag, and in a chamber has the temperature of the air around the pan.
_WRAPPED = {"vacuum": "bag", "wrapped": "bag", "jar": "bag", "oil": "bag"}
LONGEST_DRYING = 400 * 86400.0  # s; the same for a step that waits until the food is dry
LONGEST = 24 * 3600.0  # s: a computed step that takes longer is reported as not reached


def is_followed(method: Method, food: Food) -> bool:
    """Whether the heat model computes any step: the food is heated, is smoked, or is meat or fish that dries."""
    return any(has_curve(step) for step in method.steps) or bool(drying_numbers(method, food))


def drying_numbers(method: Method, food: Food) -> tuple[int, ...]:
    """Numbers, from 1, of the steps in which meat or fish dries in air. The model covers no other food."""
    if food.food_class not in FLESH:
        return ()
    return tuple(number for number, step in enumerate(method.steps, 1) if _is_dried(step))


def _is_dried(step: Step) -> bool:
    """Whether a step dries the food: in an oven or a smoker only where it says so."""
    return dries(step) and (not has_curve(step) or step.stage == "dry" or step.waits_for in DRYNESS)


def _counts(step: Step) -> bool:
    return has_curve(step) or dries(step)


def first_heat_step(method: Method) -> int:
    """Index of the first step of the curve: the one after the last freezing or thawing before the last heat.

    The model does not cover frozen food.
    """
    heated = [index for index, step in enumerate(method.steps) if _counts(step)]
    frozen = [index for index in range(heated[-1] if heated else 0) if _is_frozen(method.steps, index)]
    return frozen[-1] + 1 if frozen else 0


def heat_steps(method: Method) -> tuple[Step, ...]:
    """The steps of the curve: from its first step to the freezing of the finished food."""
    steps = method.steps[first_heat_step(method) :]
    heated = max((index for index, step in enumerate(steps) if _counts(step)), default=0)
    end = next((index for index in range(heated, len(steps)) if _is_frozen(steps, index)), len(steps))
    return steps[:end]


def _is_frozen(steps: tuple[Step, ...], index: int) -> bool:
    """Whether the food is frozen in a step, or thaws in it after a frozen one, whatever the step is called."""
    if _counts(steps[index]):
        return False
    return is_frozen(steps[index]) or (index > 0 and is_frozen(steps[index - 1]))


def is_frozen(step: Step) -> bool:
    """Whether the food is frozen in a step: in surroundings colder than COLDEST, or, unstated, in the freezer."""
    stated = step.chamber or step.temperature
    return step.place == "freezer" if stated is None else stated.middle < COLDEST


def heat_piece(method: Method, food: Food, house: House, salt_to_water: float) -> HeatPiece:
    """The page's piece as input of the heat model, with the composition of the raw food.

    The skin of a slab is closed to water but not to heat.
    """
    pieces = method.pieces
    start = first_heat_step(method)
    previous = method.steps[start - 1] if start else None
    thawed = Range(COLDEST, COLDEST + 1.0, COLDEST + FRIDGE_SPREAD)
    if previous is None:
        temperature = fridge(house)
    else:
        temperature = thawed if is_frozen(previous) else surroundings(previous, house, method.lies_in(previous))
    if pieces.temperature is not None and start == 0:
        temperature = Range.of(pieces.temperature)
    solid = solid_of(pieces, thickness_range(method, house))
    minced = pieces.worked_form in ("minced", "mixed") or pieces.casing != "none"
    return HeatPiece(
        shape=solid.shape,
        thickness=solid.thickness,
        composition=food.composition,
        temperature=temperature,
        width=solid.width,
        length=solid.length,
        open_fraction=SKIN_OPEN[pieces.skin] * CASING_OPEN[pieces.casing],
        exudes="minced" if minced and _exudes(food) == "meat" else _exudes(food),
        salt_to_water_ratio=min(salt_to_water, 0.36),
        fat_cap=min(pieces.fat_cap.middle, 0.4 * solid.thickness.typical) if pieces.fat_cap else 0.0,
        bone=BONE if (pieces.bone or ("in" if pieces.shape == "bird" else "out")) == "in" else 0.0,
    )


def heat_stages(
    method: Method, food: Food, house: House, glazes: dict[str, MakeUp], boxes: Mapping[int, BoxCourse] | None = None
) -> tuple[HeatStage, ...]:
    """One stage for each step of the curve, in order; ``glazes`` are the make-ups of the glazes by name, ``boxes`` the
    courses of the steps in a box by number.
    """
    shares = _coating_shares(method, glazes)
    size = solid_of(method.pieces, thickness_range(method, house)).thickness.typical
    stages = (_stage(step, method, food, house, shares, size) for step in heat_steps(method))
    return tuple(
        _in_box(stage, boxes[number]) if boxes and number in boxes else stage
        for number, stage in enumerate(stages, first_heat_step(method) + 1)
    )


def _in_box(stage: HeatStage, course: BoxCourse) -> HeatStage:
    """A stage whose surroundings follow the box: closed, so its air is moist and still."""
    return replace(
        stage,
        temperature=Range.exact(course.start),
        end_temperature=course.end,
        relative_humidity=Range(0.9, 0.97, 1.0) if stage.medium == "air" else None,
        heat_transfer_coefficient=None,
        air="still",
    )


def surroundings(step: Step, house: House, salting: Salting | None = None) -> Range:
    """Temperature in K around the food during a step, as stated with its usual spread, else that of the place.

    Raises RangeError with the step's line where the food would freeze.
    """
    stated = step.chamber or step.temperature
    if stated is None:
        return fridge(house) if step.place in ("fridge", "freezer") else ROOM
    if stated.middle < COLDEST:
        allowed = f"{celsius(COLDEST):.0f} °C or warmer, but where the food is frozen"
        raise RangeError(_around_key(step), stated.middle, allowed, step.line, stated.text)
    spread = FRIDGE_SPREAD
    if step.chamber is not None:
        spread = max(CHAMBER_SPREAD * (stated.middle - 293.15), FRIDGE_SPREAD)
    if medium(step, salting) != "air" or stated.is_range:
        spread = 0.5
    return Range(max(stated.low - spread, COLDEST), stated.middle, stated.high + spread)


def fridge(house: House) -> Range:
    """The house's fridge with its spread, in K."""
    middle = house.fridge.middle
    return Range(max(middle - FRIDGE_SPREAD, COLDEST), middle, middle + FRIDGE_SPREAD)


def medium(step: Step, salting: Salting | None = None) -> str:
    """Medium around the food: air, water or steam; ``salting`` is the mixture around the food. A brine and melting ice
    transfer heat like water, and so does fat of a stated temperature that does not fry.
    """
    if step.air in ("water", "steam"):
        return step.air
    if step.medium == "ice" or _is_in_mild_fat(step):
        return "water"
    is_in_brine = step.medium == "brine" or (step.medium is None and salting is not None and salting.covers_food)
    return "water" if is_in_brine or step.is_in_plain_water else "air"


def _is_in_mild_fat(step: Step) -> bool:
    """Whether the food lies in fat of a stated temperature in which its water does not boil."""
    around = step.temperature if step.chamber is None else None
    return step.medium == "oil" and around is not None and around.high <= BOILING - 0.5


def is_wrapped(step: Step) -> bool:
    """Whether a cover separates the food's juice from the water around it."""
    return _cover(step, medium(step)) not in ("none", "lid")


def thickness_range(method: Method, house: House) -> Range:
    """Thickness in m: the written range, or the written value with the house's spread of hand-cut pieces."""
    written = method.pieces.thickness
    if written.is_range:  # as written, or estimated from the mass
        return Range(written.low, written.middle, written.high)
    spread = house.thickness_spread.middle
    return Range(written.low * (1 - spread), written.low, written.low * (1 + spread))


def _stage(
    step: Step, method: Method, food: Food, house: House, shares: dict[str, tuple[float, float, float]], size: float
) -> HeatStage:
    salting = method.lies_in(step)
    kind = medium(step, salting)
    speed = air_speed(step.air)
    of_air = None if speed is None else film_of_speed(speed, size)
    temperature = surroundings(step, house, salting)
    if kind == "water" and temperature.low < 272.65:
        temperature = Range(272.65, max(272.65, temperature.typical), max(272.65, temperature.high))
    duration = step.time.middle if step.time else LONGEST
    until_loss, until_activity = _dryness(step, method, food)
    if until_loss or until_activity:
        duration = LONGEST_DRYING
    return HeatStage(
        name=kind,
        medium=kind,
        duration=duration,
        temperature=temperature,
        air=_air(step, kind),
        relative_humidity=Range.of(step.humidity) if step.humidity and kind == "air" else None,
        coatings=_coatings(step, duration, shares) if kind == "air" else (),
        heat_transfer_coefficient=IN_FAT if _is_in_mild_fat(step) else of_air,
        until_core=step.core.low if step.core and step.waits_for == "core" else None,
        until_reduction=_organisms(step, food) if step.waits_for == "lethality" else (),
        hold=step.hold.middle if step.hold and step.waits_for == "core" else 0.0,
        until_loss=until_loss,
        until_activity=until_activity,
        is_drying=food.food_class in FLESH and _is_dried(step),
        cover="bag" if kind == "air" and _lies_in_cure(step, salting) else _cover(step, kind),
        line=step.line,
    )


def cured_weight(method: Method) -> float:
    """Weight of the food / green weight after the page's stated changes in curing, which are not in the run."""
    cured = 1.0
    for each in method.steps:
        salting = method.lies_in(each)
        if medium(each, salting) != "air" or _is_under_salt(each, salting):
            cured *= 1 - (each.loss.middle if each.loss else 0.0) + (each.gain.middle if each.gain else 0.0)
    return cured


def _dryness(step: Step, method: Method, food: Food) -> tuple[float | None, float | None]:
    """The loss of weight or the water activity that a drying step of meat or fish waits for; None for any other step.

    A loss of weight is relative to green weight. Curing may already have changed the weight, which is not in the run.
    """
    if step.waits_for not in DRYNESS or step.until is None or step.until.value is None:
        return None, None
    if food.food_class not in FLESH or not _counts(step):
        return None, None
    if step.waits_for == WATER_ACTIVITY:
        return None, step.until.value
    cured = cured_weight(method)
    return max(1 - (1 - step.until.value) / cured, 0.001), None


def _organisms(step: Step, food: Food) -> tuple[Organism, ...]:
    """The organism whose reduction a step waits for: the least heat-resistant one of this food.

    Spores survive cooking and are left out.
    """
    found = (each for each in organisms().values() if food.food_class in each.foods)
    first, around = min(found, key=lambda each: each.lowest, default=None), step.chamber or step.temperature
    if first is None:
        allowed = f"a core: no death of germs is known for {food.name}"
        raise RangeError("until", 0.0, allowed, step.line, "lethality")
    if around is not None and around.high < first.lowest:
        allowed = f"above {celsius(first.lowest):.0f} °C, from where {first.name} is counted"
        raise RangeError(_around_key(step), around.high, allowed, step.line, around.text)
    return (first,)


def _lies_in_cure(step: Step, salting: Salting | None) -> bool:
    """Whether the food lies under salt or in the pickle that was pumped into it, without moving air."""
    is_aired = step.air not in (None, "still") and salting is not None and not salting.is_dry
    return step.stage == "salt" and salting is not None and not is_aired


def _around_key(step: Step) -> str:
    return "temperature" if step.chamber is None else "chamber"


def _is_under_salt(step: Step, salting: Salting | None) -> bool:
    """Whether the food lies under a dry cure. The cure draws its water, and none evaporates."""
    return step.stage == "salt" and salting is not None and salting.is_dry and medium(step, salting) == "air"


def _cover(step: Step, kind: str) -> str:
    """The cover of the food: as written, else by the medium that wraps it. Food that is filled or packed hot is closed
    in.

    A lid changes nothing in water or steam.
    """
    own = "bag" if step.stage == "pack" else _WRAPPED.get(step.medium or "", "none")
    cover = step.cover if step.cover != "none" else own
    return "none" if cover == "lid" and kind != "air" else cover


def _air(step: Step, kind: str) -> str:
    if kind != "air" or step.cover == "lid":
        return "still"
    if step.air in ("still", "draught", "forced"):
        return step.air
    return "draught" if step.place in ("smoker", "oven") else "still"


def _exudes(food: Food) -> str:
    if food.food_class in FISH:
        return "fish"
    return "none" if food.food_class in FIRM else "meat"


def _coating_shares(method: Method, glazes: dict[str, MakeUp]) -> dict[str, tuple[float, float, float]]:
    """Per glaze: mass of one application / green weight, and the mass fractions of its water and sugar."""
    shares = {}
    for glaze in method.glazes:
        used = (step for step in method.steps if step.use == glaze.name)
        uses = sum(max(len(_times(step, step.time.middle if step.time else 0.0)), 1) for step in used)
        if glaze.stays_on is not None and uses:
            made, share = glazes[glaze.name], glaze.stays_on.fraction / uses
            shares[glaze.name] = (share, made.total("water") / made.mass, made.sugar_mass_fraction)
    return shares


def _coatings(step: Step, duration: float, shares: dict[str, tuple[float, float, float]]) -> tuple[Coating, ...]:
    if step.use is None or step.use not in shares:
        return ()
    mass, water, sugar = shares[step.use]
    coating = Coating(
        times=_times(step, duration) or (0.0,),
        mass_on_green_weight=mass,
        water_mass_fraction=water,
        sugar_mass_fraction=sugar,
        temperature=GLAZE_TEMPERATURE,
    )
    return (coating,)


def _times(step: Step, duration: float) -> tuple[float, ...]:
    if step.repeat is not None and step.time is None:
        # LONGEST only bounds a computed step. The schedule counts its actual repeats.
        duration = min(duration, MAX_REPEATS * step.repeat.every.middle)
    return tuple(time for time in repeat_starts(step, duration) if time < duration)
