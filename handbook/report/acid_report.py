"""How sour it gets: pickles in vinegar at equilibrium and to their centre, and ferments over their days."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from handbook.acid.charge_balance import ACIDS, Buffer, acid_for_ph, buffer_capacity, mixture_ph
from handbook.acid.food_acidity import FoodAcidity, food_acidity
from handbook.acid.into_piece import time_to_share
from handbook.acid.souring import LAG, MOST_ACID, PER_SUGAR, SPREAD, souring_rate
from handbook.base.arrays import Floats
from handbook.base.errors import RangeError
from handbook.base.ranges import Range
from handbook.brine.equilibrium import Equilibrium
from handbook.brine.make_up import MakeUp
from handbook.catalogue.food_families import FLESH
from handbook.catalogue.foods import Food
from handbook.page.house import House
from handbook.page.method import Method
from handbook.page.piece_size import solid_of
from handbook.page.salting import Salting
from handbook.page.steps import Step
from handbook.page.until import PH
from handbook.report.heat_stages import surroundings, thickness_range
from handbook.salt.diffusion import geometry

#: pH that the centre must reach for food to count as acid; a computed pH shows the way there and clears nothing.
ACID = 4.6
_MODEL_ERROR, _BUFFER_FACTOR = 0.15, 1.5  # of a predicted pH; of a food's buffering, either way
_LEMON = {"lemon juice, raw": ("citric", Range(0.045, 0.050, 0.060))}  # from memory [acid-constants]
_PRINTED = re.compile(r"(\d+(?:\.\d+)?) ?%")
_PICKLES = 0.25  # share of vinegar in a brine from which flesh is pickled (estimate of the handbook)
_SALT_MOLAR = 0.058443
_GRID = np.linspace(2.6, 6.6, 81)
_DAYS = np.linspace(0.0, 1.0, 41)


@dataclass(frozen=True, kw_only=True)
class PickleReport:
    """Food and brine of one salting at equilibrium. ``missing`` names what is not known; then the figures that need it are
    None: without a vinegar's strength all of them, without the food's own pH the last two.

    acid : acid in food and brine together, as acetic acid in kg/kg; brine_acid : in the brine as made
    ph : at equilibrium; centre : s until the centre has the pH of ACID, None where it never does or nobody knows
    why_no_centre : why the time to the centre is not known
    """

    name: str
    missing: str
    brine_acid: float | None = None
    acid: float | None = None
    ph: Range | None = None
    centre: Range | None = None
    why_no_centre: str = ""


@dataclass(frozen=True, kw_only=True)
class FermentReport:
    """A ferment over its steps: pH of the slow, typical and quick ferment over ``time`` in s from its start, arrays (n,).

    acid : lactic acid at the end in kg/kg of food and brine, whose ``mass`` is in kg; acid_reached : s until ACID, None where not in the steps
    """

    numbers: tuple[int, ...]
    missing: str
    time: Floats | None = None
    high: Floats | None = None
    typical: Floats | None = None
    low: Floats | None = None
    acid: Range | None = None
    ph: Range | None = None
    acid_reached: tuple[float | None, float | None, float | None] = (None, None, None)
    salt: float | None = None
    mass: float = 0.0


@dataclass(frozen=True, kw_only=True)
class AcidReport:
    """The pickles and the ferment of a method; ``durations`` in s of steps that wait for a pH, by number."""

    pickles: tuple[PickleReport, ...]
    ferment: FermentReport | None
    durations: Mapping[int, Range]

    @property
    def sources(self) -> tuple[str, ...]:
        """Keys of the sources of these figures."""
        keys = ["acid-constants", "food-buffering", "food-ph-list"]
        keys += ["acid-diffusion"] if self.pickles else []
        return (*keys, "souring-rate") if self.ferment else tuple(keys)


def acid_report(
    method: Method,
    food: Food,
    house: House,
    makes: Mapping[str, MakeUp],
    balance: Equilibrium | None,
    blends: Mapping[str, MakeUp] | None = None,
) -> AcidReport | None:
    """How sour a method gets; None for a page with neither an acid in a brine nor a ferment, or of marinated flesh.

    ``blends`` are the make-ups of what is poured on, by name: vinegar that is blended with a vegetable sours it too.
    """
    if food.food_class in FLESH and not any(_is_vinegar(made) for made in makes.values()):
        return None
    numbers = _fermenting(method, food, makes)
    ferment, durations = _ferment(method, food, numbers, makes, balance) if numbers else (None, {})
    sour = [each for each in method.saltings if any(_acids(makes[each.name]))]
    pickles = tuple(
        _pickle(each.name, each, _together(makes[each.name], makes, ferment), method, food, house, ferment)
        for each in sour
    )
    poured = {name: made for name, made in _staying(method, blends or {}).items() if any(_acids(made))}
    pickles += tuple(
        _pickle(name, None, _together(made, makes, ferment), method, food, house, ferment)
        for name, made in poured.items()
    )
    return AcidReport(pickles=pickles, ferment=ferment, durations=durations) if pickles or ferment else None


def _is_vinegar(made: MakeUp) -> bool:
    """Whether a brine is mostly vinegar, so that flesh in it is pickled and not marinated."""
    return sum(part.mass.typical for part in made.parts if "vinegar" in part.ingredient.name) >= _PICKLES * made.mass


def _acids(made: MakeUp) -> tuple[dict[str, float], list[str]]:
    """Amounts of acids in mol, and the names of ingredients whose strength is not known."""
    found: dict[str, float] = {}
    unknown = []
    for part in made.parts:
        name = part.ingredient.name
        printed = _PRINTED.search(name)
        if "vinegar" in name and printed is None:
            unknown.append(name)
            continue
        if "vinegar" in name and printed is not None:
            acid, share = "acetic", float(printed[1]) / 100
        elif name in _LEMON:
            acid, share = _LEMON[name][0], _LEMON[name][1].typical
        elif name.startswith("citric acid"):
            acid, share = "citric", 1.0
        else:
            continue
        found[acid] = found.get(acid, 0.0) + part.mass.typical * share / ACIDS[acid][0]
    return found, unknown


def _staying(method: Method, blends: Mapping[str, MakeUp]) -> dict[str, MakeUp]:
    """What stays with a batch of each thing that is poured on it."""
    found = {}
    for glaze in method.glazes:
        made = blends.get(glaze.name)
        if made is not None and made.mass and glaze.stays_on is not None:
            factor = glaze.stays_on.fraction * method.batches.written_for.low / made.mass
            found[glaze.name] = MakeUp(parts=tuple(part.scaled(factor) for part in made.parts))
    return found


def _together(made: MakeUp, makes: Mapping[str, MakeUp], ferment: FermentReport | None) -> MakeUp:
    """What a vinegar is blended with: the ferment's own brine, or nothing."""
    if ferment is None:
        return made
    others = [each.parts for each in makes.values() if each is not made]
    return MakeUp(parts=tuple(part for parts in (made.parts, *others) for part in parts))


def _pickle(
    name: str, salting: Salting | None, made: MakeUp, method: Method, food: Food, house: House,
    ferment: FermentReport | None,
) -> PickleReport:  # fmt: skip
    acids, unknown = _acids(made)
    own_acid = sum(acids.values())
    own = food_acidity(food)
    missing = [f"the strength of {each}" for each in unknown]
    missing += [] if own is not None else [f"the pH of {food.name}"]
    if unknown:
        return PickleReport(name=name, missing=" and ".join(missing))
    batch = method.batches.written_for.low
    brine_acid = own_acid * ACIDS["acetic"][0] / made.mass
    if ferment is not None and ferment.acid is not None:
        soured = ferment.acid.typical * ferment.mass / ACIDS["lactic"][0]
        acids = {**acids, "lactic": acids.get("lactic", 0.0) + soured}
    acid = sum(acids.values()) * ACIDS["acetic"][0] / (made.mass + batch)
    if own is None:
        return PickleReport(name=name, missing=missing[0], brine_acid=brine_acid, acid=acid)
    water = made.total("water") + food.water * batch
    ionic = made.total("salt") / _SALT_MOLAR / water
    ph = _ends(lambda end: mixture_ph(acids, water, [_buffer(food, own, end, batch)], ionic))
    centre, why = _centre(salting, method, food, house, own, acids, ph.typical, ionic)
    return PickleReport(
        name=name, missing="", brine_acid=brine_acid, acid=acid, ph=ph, centre=centre, why_no_centre=why
    )


def _centre(
    salting: Salting | None, method: Method, food: Food, house: House, own: FoodAcidity, acids: Mapping[str, float],
    at_end: float, ionic: float,
) -> tuple[Range | None, str]:  # fmt: skip
    """When the centre has the pH of ACID, or why that is not known."""
    pieces = method.pieces
    if salting is None or any(each.stage == "ferment" for each in method.steps):
        return None, "blended, it has none"
    if pieces.skin != "off":
        return None, "a skin or shell keeps acid out, how long is not known"
    step = next((each for each in method.steps if each.stage == "salt" and method.salting(each.use) is salting), None)
    if step is None:
        return None, "no step puts the food into it"
    main = max(acids, key=lambda each: acids[each])
    # The share of the acid that the food itself holds at equilibrium, of whatever goes with it.
    held = [acid_for_ph(main, ph, food.water, [_buffer(food, own, "typical", 1.0)], ionic) for ph in (ACID, at_end)]
    if at_end >= ACID or held[1] <= 0:
        return None, f"it never gets to pH {ACID}: stronger or more vinegar, or less food"
    solid = solid_of(pieces, thickness_range(method, house))
    shape = geometry(solid.shape if solid.shape != "block" else "slab")
    found = time_to_share(shape, 0.5 * solid.thickness.typical, held[0] / held[1], surroundings(step, house).typical)
    return found, ""


def _fermenting(method: Method, food: Food, makes: Mapping[str, MakeUp]) -> tuple[int, ...]:
    """Numbers of the steps in which a vegetable sours by itself, in a brine without vinegar."""
    if food.food_class != "vegetable" or not method.saltings or any(_acids(makes[method.saltings[0].name])):
        return ()
    return tuple(
        number
        for number, step in enumerate(method.steps, 1)
        if step.waits_for == PH or (step.stage == "ferment" and step.time is not None)
    )


def _ferment(
    method: Method, food: Food, numbers: tuple[int, ...], makes: Mapping[str, MakeUp], balance: Equilibrium | None
) -> tuple[FermentReport, dict[int, Range]]:
    steps = [method.steps[number - 1] for number in numbers]
    own = food_acidity(food)
    warmths = [_warmth(step, method) for step in steps]
    missing = [] if own is not None else [f"the pH of {food.name}"]
    missing += [f"the temperature of step {each}" for each, at in zip(numbers, warmths, strict=True) if at is None]
    missing += [] if balance is not None else ["the salt of the ferment"]
    if missing or own is None or balance is None:
        return FermentReport(numbers=numbers, missing=" and ".join(missing)), {}
    made = makes[method.saltings[0].name]
    batch = method.batches.written_for.low
    share = batch / (batch + made.mass)
    salt = balance.water_phase_salt.typical
    water = (made.total("water") + food.water * batch) / (batch + made.mass)
    most = min(PER_SUGAR * own.sugars * share, MOST_ACID)
    curves = {end: _ph_of_acid(food, own, end, share, water, salt) for end in ("low", "typical", "high")}
    try:
        rates = [_rate(at, salt) for at in warmths if at is not None]
    except RangeError as error:
        return FermentReport(numbers=numbers, missing=f"how it sours at {error.value - 273.15:.0f} °C"), {}
    durations = _durations(steps, numbers, rates, most, curves)
    found = _over_time(numbers, steps, rates, most, curves, durations, salt)
    return replace(found, mass=batch + made.mass), durations


def _warmth(step: Step, method: Method) -> Range | None:
    stated = step.chamber or step.temperature
    salting = method.salting(step.use)
    if stated is None and salting is not None:
        stated = salting.temperature
    return Range.of(stated) if stated is not None else None


def _rate(warmth: Range, salt: float) -> Range:
    low, typical, high = (souring_rate(end, salt) for end in (warmth.low, warmth.typical, warmth.high))
    return Range(low / SPREAD, typical, high * SPREAD)


def _ph_of_acid(food: Food, own: FoodAcidity, end: str, share: float, water: float, salt: float) -> Floats:
    """Lactic acid in kg/kg at each pH of the grid, falling; of the most, usual or least buffered food."""
    ionic = salt / (1 - salt) / _SALT_MOLAR
    buffer = _buffer(food, own, end, share)
    amounts = [acid_for_ph("lactic", float(ph), water, [buffer], ionic) for ph in _GRID]
    return np.array(amounts) * ACIDS["lactic"][0]


def _durations(
    steps: list[Step], numbers: tuple[int, ...], rates: list[Range], most: float, curves: Mapping[str, Floats]
) -> dict[int, Range]:
    """Time of each step that waits for a pH, counted from the start of the ferment."""
    found: dict[int, Range] = {}
    passed = Range.exact(0.0)
    for step, number, rate in zip(steps, numbers, rates, strict=True):
        if step.until is not None and step.until.what == PH and step.until.value is not None:
            times = [
                _time_to(step.until.value, pace, before, most, curves[end])
                for pace, before, end in (
                    (rate.high, passed.high, "low"),
                    (rate.typical, passed.typical, "typical"),
                    (rate.low, passed.low, "high"),
                )
            ]
            if times[1] is None or times[0] is None:
                continue
            found[number] = Range(times[0], times[1], times[2] if times[2] is not None else 3 * times[1])
        time = found.get(number) or (Range.of(step.time) if step.time else Range.exact(0.0))
        passed = passed.plus(Range(rate.low * time.low, rate.typical * time.typical, rate.high * time.high))
    return found


def _time_to(ph: float, pace: float, before: float, most: float, curve: Floats) -> float | None:
    """Time in s at one pace until a pH; None where the sugars do not reach it."""
    needed = float(np.interp(ph, _GRID, curve))
    if needed >= most or pace <= 0:
        return None
    return max(float(LAG - np.log1p(-needed / most) - before) / pace, 0.0)


def _over_time(
    numbers: tuple[int, ...], steps: list[Step], rates: list[Range], most: float, curves: Mapping[str, Floats],
    durations: Mapping[int, Range], salt: float,
) -> FermentReport:  # fmt: skip
    times = [
        (durations.get(number) or (Range.of(step.time) if step.time else Range.exact(0.0))).typical
        for number, step in zip(numbers, steps, strict=True)
    ]
    total = sum(times)
    time, found, acids = _DAYS * total, {}, {}
    edges = np.concatenate(([0.0], np.cumsum(times)))
    for end, pace in (("low", "high"), ("typical", "typical"), ("high", "low")):
        passed = np.concatenate(
            ([0.0], np.cumsum([getattr(rate, pace) * each for rate, each in zip(rates, times, strict=True)]))
        )
        acid = most * -np.expm1(-np.maximum(np.interp(time, edges, passed) - LAG, 0.0))
        error = {"low": -_MODEL_ERROR, "typical": 0.0, "high": _MODEL_ERROR}[end]
        falling = np.interp(acid, curves[end][::-1], _GRID[::-1]) + error
        found[end], acids[end] = np.minimum(falling, falling[0]), float(acid[-1])
    reached = tuple(
        float(time[int(np.argmax(found[end] <= ACID))]) if (found[end] <= ACID).any() else None
        for end in ("low", "typical", "high")
    )
    return FermentReport(
        numbers=numbers,
        missing="",
        time=time,
        high=found["high"],
        typical=found["typical"],
        low=found["low"],
        acid=Range(acids["high"], acids["typical"], acids["low"]),
        ph=Range(*sorted(float(found[end][-1]) for end in ("low", "typical", "high"))),
        acid_reached=(reached[0], reached[1], reached[2]),
        salt=salt,
    )


def _buffer(food: Food, own: FoodAcidity, end: str, mass: float) -> Buffer:
    """A food at the sour and little buffered, the typical or the other end."""
    factor = {"low": 1 / _BUFFER_FACTOR, "typical": 1.0, "high": _BUFFER_FACTOR}[end]
    ash = food.ash if food.food_class == "vegetable" else 0.0
    return Buffer(mass=mass, ph=getattr(own.ph, end), capacity=buffer_capacity(food.protein, ash) * factor)


def _ends(compute: Callable[[str], float]) -> Range:
    low, typical, high = (compute(end) for end in ("low", "typical", "high"))
    return Range(min(low, typical) - _MODEL_ERROR, typical, max(high, typical) + _MODEL_ERROR)
