"""Temperatures of mixtures and boxes: a brine as mixed and with the food in it, and a box without heating or cooling."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from handbook.base.errors import PageError, RangeError
from handbook.base.formats import format_temperature_range
from handbook.base.ranges import Range
from handbook.base.units import Quantity
from handbook.brine.make_up import IngredientMass, MakeUp
from handbook.brine.nitrite import Process, cure_process
from handbook.brine.solution import freezing_point
from handbook.catalogue.foods import Food
from handbook.catalogue.thermal_properties import mixture
from handbook.page.house import House
from handbook.page.method import Method
from handbook.page.salting import IngredientLine, Salting
from handbook.page.steps import Step
from handbook.report.heat_stages import ROOM, fridge, surroundings
from handbook.warmth.box import BoxCourse, box_course, conductance, time_to
from handbook.warmth.mixing import ICE_POINT, SALT_HEAT, SUGAR_HEAT, WATER_HEAT, Portion, ice_for, mixed

ICE = Range(255.15, 268.15, ICE_POINT)  # K of ice from a freezer or a tray (common practice, no source)
COLD, HOT = 278.15, 333.15  # K up to which a brine is cold, and from which food is held hot: see the rules
_BRINE_HEAT, _DENSITY = 3800.0, 1050.0  # J/(kg K) and kg/m3 of a brine or food with it
_STRONGEST = 0.23  # salt / (salt + water) up to which a freezing point is known
_ENDS = ("low", "typical", "high")


class MixedBrine(Struct, frozen=True, kw_only=True):
    """One mixture as made: ``temperature`` in K, or None and the ``missing`` input.

    with_food : once food and brine have the same temperature [K]; ice_left [kg]; more_ice : further ice that would cool
    it to COLD [kg]
    number : step that puts the food into it; 0 where none does
    cold_after : s until food and brine are at COLD in the surroundings that the step states; None where never
    brought : temperature to which an earlier step brings the mixture, or None
    """

    name: str
    number: int
    temperature: Range | None
    missing: str = ""
    with_food: Range | None = None
    ice_left: float = 0.0
    more_ice: float = 0.0
    cold_after: float | None = None
    brought: Range | None = None


class BoxStand(Struct, frozen=True, kw_only=True):
    """A step in a box: its course, the limit of the trade that it may cross in K, and when in s (None: not in the step)."""

    number: int
    step: Step
    course: BoxCourse
    limit: float
    crossed: tuple[float | None, float | None, float | None]


class StandReport(Struct, frozen=True, kw_only=True):
    """All mixtures and boxes of a method whose temperature is computed."""

    brines: tuple[MixedBrine, ...]
    boxes: tuple[BoxStand, ...]

    @property
    def courses(self) -> dict[int, BoxCourse]:
        """The course of each step in a box, by step number."""
        return {each.number: each.course for each in self.boxes}

    def applied(self, method: Method) -> Method:
        """The method with these temperatures in its steps, as the models and the safety rules read them."""
        found = {each.number: _range_of(each.course) for each in self.boxes}
        for brine in self.brines:
            if brine.number and brine.temperature is not None and brine.brought is None:
                step = method.steps[brine.number - 1]
                stated = Range.of(step.temperature) if step.temperature else brine.temperature
                found[brine.number] = Range(
                    min(stated.low, brine.temperature.low), stated.typical, max(stated.high, brine.temperature.high)
                )
        steps = list(method.steps)
        for number, temperature in found.items():
            steps[number - 1] = replace(steps[number - 1], temperature=_quantity(temperature))
        return replace(method, steps=tuple(steps)) if found else method


def stand_report(method: Method, food: Food, house: House, makes: Mapping[str, MakeUp]) -> StandReport:
    """The temperatures of a method's mixtures and boxes. Raises PageError with the line of the box.

    What is worked into mince is never a mixture by itself: its ice melts in the meat, under a knife that warms both. The page
    states how warm that is.
    """
    brines = tuple(
        _mixed_brine(each, makes[each.name], method, food, house)
        for each in method.saltings
        if _is_asked(each) and cure_process(each.kind, method.pieces.worked_form) is not Process.MIXED_IN
    )
    boxes = tuple(
        _box(step, number, method, food, makes) for number, step in enumerate(method.steps, 1) if step.box is not None
    )
    return StandReport(brines=brines, boxes=boxes)


def _is_asked(salting: Salting) -> bool:
    """Whether a page states the temperature of a mixture's ingredients."""
    return any(line.temperature is not None or line.item == "water, ice" for line in salting.ingredients)


def _mixed_brine(salting: Salting, made: MakeUp, method: Method, food: Food, house: House) -> MixedBrine:
    number = next((index for index, step in enumerate(method.steps, 1) if _puts_in(step, salting, method)), 0)
    pairs = tuple(zip(salting.ingredients, made.parts, strict=True))
    unknown = [part for line, part in pairs if _is_unknown(line, part)]
    if unknown:
        names = " and ".join(f"{each.ingredient.name}, {each.written}" for each in unknown)
        return MixedBrine(name=salting.name, number=number, temperature=None, missing=f"the temperature of {names}")
    found = {end: mixed(_portions(pairs, end), _freezing(made)) for end in _ENDS}
    temperature = _ordered({end: each.temperature for end, each in found.items()})
    piece = Range.of(method.pieces.temperature) if method.pieces.temperature else fridge(house)
    batch = method.batches.written_for.low
    brought = _brought(method, salting, number)
    start = brought or temperature
    capacity, food_capacity = made.mass * _BRINE_HEAT, batch * _food_heat(food)
    ends = zip(start.ends, piece.ends, strict=True)
    with_food = Range(*((capacity * one + food_capacity * other) / (capacity + food_capacity) for one, other in ends))
    return MixedBrine(
        name=salting.name,
        number=number,
        temperature=temperature,
        with_food=with_food if number else None,
        ice_left=found["typical"].ice,
        more_ice=ice_for([Portion(mass=made.mass, temperature=temperature.typical, heat=_BRINE_HEAT)], COLD),
        cold_after=_cold_after(with_food, method, number, made.mass + batch, capacity + food_capacity, house),
        brought=brought,
    )


def _puts_in(step: Step, salting: Salting, method: Method) -> bool:
    """Whether a step puts the food into the mixture."""
    return step.stage in ("salt", "ferment") and method.salting(step.use) is salting


def _brought(method: Method, salting: Salting, number: int) -> Range | None:
    """The temperature to which an earlier step with the mixture brings it."""
    for step in method.steps[: max(number - 1, 0)]:
        if step.use == salting.name and step.use and step.stage in ("prepare", "cool") and step.temperature:
            return Range.of(step.temperature)
    return None


def _is_unknown(line: IngredientLine, part: IngredientMass) -> bool:
    return line.temperature is None and part.ingredient.name != "water, ice" and part.ingredient.water > 0.5


def _portions(pairs: tuple[tuple[IngredientLine, IngredientMass], ...], end: str) -> list[Portion]:
    """The mixed portions, each at the ``end`` of its temperature range. Dry goods are at room temperature."""
    found = []
    for line, part in pairs:
        mass, of = part.mass.typical, part.ingredient
        is_ice = of.name == "water, ice"
        usual = ICE if is_ice else ROOM
        at = getattr(Range.of(line.temperature) if line.temperature else usual, end)
        dry = max(1.0 - of.water - of.salt, 0.0)
        found.append(
            Portion(
                mass=mass,
                temperature=at,
                heat=of.water * WATER_HEAT + of.salt * SALT_HEAT + dry * SUGAR_HEAT,
                ice=mass if is_ice and at <= ICE_POINT else 0.0,
                salt=mass * of.salt if of.water < 0.5 else 0.0,
            )
        )
    return found


def _freezing(made: MakeUp) -> Callable[[float], float]:
    """Freezing point in K as a function of the melted ice in kg."""
    salt, water = made.total("salt"), made.total("water")
    ice = sum(part.mass.typical for part in made.parts if part.ingredient.name == "water, ice")

    def point(melted: float) -> float:
        liquid = max(water - ice + melted, 1e-6)
        return freezing_point(min(salt / (salt + liquid), _STRONGEST))

    return point


def _food_heat(food: Food) -> float:
    """Specific heat of the raw food in J/(kg K)."""
    return float(mixture(food.composition.fractions[None, :], np.array([280.0]))[1][0])


def _cold_after(start: Range, method: Method, number: int, mass: float, capacity: float, house: House) -> float | None:
    """Time in s until food and brine in a plastic tub are cold in the step's surroundings; None where never."""
    if not number or start.typical <= COLD:
        return None
    around = surroundings(method.steps[number - 1], house).typical
    flow = conductance("plastic", None, mass / _DENSITY).typical
    found = time_to(start.typical, around, capacity, flow, COLD)
    return found if np.isfinite(found) else None


def _box(step: Step, number: int, method: Method, food: Food, makes: Mapping[str, MakeUp]) -> BoxStand:
    box, stated = step.box, step.temperature
    assert box is not None and stated is not None  # check_method requires both
    batch = method.batches.written_for.low
    salting = method.salting(step.use) if step.use or step.stage in ("salt", "ferment") else None
    brine = makes[salting.name].mass if salting is not None and salting.is_bath else 0.0
    ice = box.ice.low if box.ice else 0.0
    capacity = batch * _food_heat(food) + brine * _BRINE_HEAT
    duration = step.time.high if step.time else 24 * 3600.0
    try:
        flow = conductance(box.wall, box.thickness.low if box.thickness else None, (batch + brine + ice) / _DENSITY)
        course = box_course(stated.middle, Range.of(box.room), capacity, flow, duration, ice)
    except RangeError as error:
        key, read = f"steps.{number}.box: {error.name}", f"{error.value:.4g}"
        raise PageError(method.file, box.line, key, read, error.allowed) from None
    limit = HOT if stated.middle >= HOT else COLD
    room = Range.of(box.room).typical

    def crossed(flow: float) -> float | None:
        time = time_to(stated.middle, room, capacity, flow, limit, ice)
        return time if 0 < time <= duration else None

    times = (crossed(flow.high), crossed(flow.typical), crossed(flow.low))
    return BoxStand(number=number, step=step, course=course, limit=limit, crossed=times)


def _range_of(course: BoxCourse) -> Range:
    """The range of temperatures over a step in a box, including the range at its end."""
    low, high = min(course.start, course.end.low), max(course.start, course.end.high)
    return Range(low, 0.5 * (course.start + course.end.typical), high)


def _ordered(found: Mapping[str, float]) -> Range:
    low, typical, high = (found[end] for end in _ENDS)
    return Range(min(low, typical), typical, max(high, typical))


def _quantity(span: Range) -> Quantity:
    text = format_temperature_range(span)
    return Quantity(low=span.low, high=span.high, dimension="temperature", text=text, is_estimated=True)
