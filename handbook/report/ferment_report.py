"""A ferment over its steps: the fall of pH of vegetables in salt and of raw sausage that hangs warm."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from handbook.acid import meat_souring
from handbook.acid.charge_balance import ACIDS, Buffer, acid_for_ph, buffer_capacity
from handbook.acid.food_acidity import FoodAcidity, food_acidity
from handbook.acid.souring import LAG, MOST_ACID, PER_SUGAR, SPREAD, souring_rate
from handbook.base.arrays import Floats
from handbook.base.errors import RangeError
from handbook.base.ranges import Range
from handbook.brine.equilibrium import Equilibrium
from handbook.brine.make_up import MakeUp
from handbook.brine.solution import NACL_MOLAR_MASS
from handbook.catalogue.food_families import MEAT
from handbook.catalogue.foods import Food
from handbook.page.heated import heats
from handbook.page.method import Method
from handbook.page.steps import Step
from handbook.page.until import PH
from handbook.report.before_salting import times

#: pH that the centre must reach for food to count as acid; a computed pH is a prediction and does not count as proof.
ACID = 4.6
#: pH that a sausage must reach while it hangs warm [degree-hours-rule].
SOUR_SAUSAGE = 5.3
MODEL_ERROR, BUFFER_FACTOR = 0.15, 1.5  # of a predicted pH; of a food's buffering, in both directions
_GRID = np.linspace(2.6, 6.6, 81)
_DAYS = np.linspace(0.0, 1.0, 41)


class FermentReport(Struct, frozen=True, kw_only=True):
    """A ferment over its steps: pH of the slow, typical and quick ferment over ``time`` in s from its start, arrays (n,).

    acid : lactic acid at the end in kg/kg of food and brine, whose ``mass`` is in kg
    acid_reached : s until ``limit``, the pH that it is to reach, None where not in the steps
    source : key of the source of its rate
    has_culture : of raw sausage, whether a culture is in it; None of vegetables
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
    limit: float = ACID
    source: str = "souring-rate"
    has_culture: bool | None = None


class _Pace(Struct, frozen=True, kw_only=True):
    """Rate of souring: ``rates`` in 1/s of the steps, ``lag`` in units of 1 / rate, ``most`` acid in kg/kg."""

    rates: tuple[Range, ...]
    lag: float
    most: float


def fermenting_steps(method: Method, food: Food, has_acid: bool) -> tuple[int, ...]:
    """Numbers of the steps in which a food sours by itself: a vegetable in a brine without acid (``has_acid`` says that it has one), and
    raw minced meat before any heat.
    """
    is_sausage = food.food_class in MEAT and method.pieces.form in ("minced", "mixed")
    if not method.saltings or not (is_sausage or (food.food_class == "vegetable" and not has_acid)):
        return ()
    found = []
    for number, step in enumerate(method.steps, 1):
        if is_sausage and heats(step):
            break
        if step.waits_for == PH or (step.stage == "ferment" and step.time is not None):
            found.append(number)
    return tuple(found)


def ferment_report(
    method: Method, food: Food, numbers: tuple[int, ...], makes: Mapping[str, MakeUp], balance: Equilibrium | None
) -> tuple[FermentReport, dict[int, Range]]:
    """The ferment of these steps, and the times in s of those that wait for a pH."""
    steps = [method.steps[number - 1] for number in numbers]
    own = food_acidity(food)
    warmths = [_warmth(step, method) for step in steps]
    missing = [] if own is not None else [f"the pH of {food.name}"]
    missing += [f"the temperature of step {each}" for each, at in zip(numbers, warmths, strict=True) if at is None]
    missing += [] if balance is not None else ["the salt of the ferment"]
    if missing or own is None or balance is None:
        return FermentReport(numbers=numbers, missing=" and ".join(missing)), {}
    is_meat = food.food_class in MEAT
    # The food does not sour in a brine that only wilted it and was drained.
    salting = method.salting_of(steps[0]) or method.saltings[0]
    made = makes[salting.name]
    mass = method.batches.written_for.low + made.mass
    share = method.batches.written_for.low / mass
    salt = balance.water_phase_salt.typical
    water = made.total("water") / mass + food.water * share
    culture = any("starter culture" in part.ingredient.name for each in makes.values() for part in each.parts)
    try:
        known = [each for each in warmths if each is not None]
        pace = (
            _meat_pace(known, culture, made.total("sugars") / mass + meat_souring.OWN_SUGAR * share)
            if is_meat
            else _plant_pace(known, salt, own.sugars * share)
        )
    except RangeError as error:
        return FermentReport(numbers=numbers, missing=f"how it sours at {error.value - 273.15:.0f} °C"), {}
    curves = {end: _ph_of_acid(food, own, end, share, water, salt) for end in ("low", "typical", "high")}
    durations = _durations(steps, numbers, pace, curves)
    limit = SOUR_SAUSAGE if is_meat else ACID
    found = _over_time(numbers, steps, pace, curves, durations, limit)
    source = "sausage-souring-rate" if is_meat else "souring-rate"
    return replace(found, mass=mass, salt=salt, source=source, has_culture=culture if is_meat else None), durations


def _plant_pace(warmths: list[Range], salt: float, sugars: float) -> _Pace:
    rates = _rates(lambda at: souring_rate(at, salt), warmths, SPREAD)
    return _Pace(rates=rates, lag=LAG, most=min(PER_SUGAR * sugars, MOST_ACID))


def _meat_pace(warmths: list[Range], has_culture: bool, sugars: float) -> _Pace:
    spread = meat_souring.SPREAD if has_culture else meat_souring.WILD_SPREAD
    rates = _rates(lambda at: meat_souring.meat_souring_rate(at, has_culture), warmths, spread)
    return _Pace(rates=rates, lag=meat_souring.LAG, most=min(PER_SUGAR * sugars, meat_souring.MOST_ACID))


def _rates(rate: Callable[[float], float], warmths: list[Range], spread: float) -> tuple[Range, ...]:
    return tuple(Range(rate(at.low) / spread, rate(at.typical), rate(at.high) * spread) for at in warmths)


def _warmth(step: Step, method: Method) -> Range | None:
    stated = step.chamber or step.temperature
    salting = method.salting(step.use)
    if stated is None and salting is not None:
        stated = salting.temperature
    return Range.of(stated) if stated is not None else None


def _ph_of_acid(food: Food, own: FoodAcidity, end: str, share: float, water: float, salt: float) -> Floats:
    """Lactic acid in kg/kg at each pH of the grid, falling; for the most, typical or least buffered food."""
    ionic = salt / (1 - salt) / NACL_MOLAR_MASS
    buffer = food_buffer(food, own, end, share)
    amounts = [acid_for_ph("lactic", float(ph), water, [buffer], ionic) for ph in _GRID]
    return np.array(amounts) * ACIDS["lactic"][0]


def _durations(
    steps: list[Step], numbers: tuple[int, ...], pace: _Pace, curves: Mapping[str, Floats]
) -> dict[int, Range]:
    """Time of each step that waits for a pH, counted from the start of the ferment."""
    found: dict[int, Range] = {}
    passed = Range.exact(0.0)
    for step, number, rate in zip(steps, numbers, pace.rates, strict=True):
        if step.until is not None and step.until.what == PH and step.until.value is not None:
            paces = zip(rate.ends[::-1], passed.ends[::-1], ("low", "typical", "high"), strict=True)
            quick, typical, slow = (
                _time_to(step.until.value, speed, before, pace, curves[end]) for speed, before, end in paces
            )
            if typical is None or quick is None:
                continue
            found[number] = Range(quick, typical, slow if slow is not None else 3 * typical)
        time = _time(step, found.get(number))
        passed = passed.plus(times(rate, time))
    return found


def _time(step: Step, computed: Range | None) -> Range:
    """Time of a step in s: the computed one, else as stated."""
    return computed or (Range.of(step.time) if step.time else Range.exact(0.0))


def _time_to(ph: float, rate: float, before: float, pace: _Pace, curve: Floats) -> float | None:
    """Time in s at one rate until a pH; None where the sugars do not reach it."""
    needed = max(float(np.interp(ph, _GRID, curve)), 0.0)
    if needed >= pace.most or rate <= 0:
        return None
    return max(float(pace.lag - np.log1p(-needed / pace.most) - before) / rate, 0.0)


def _over_time(
    numbers: tuple[int, ...], steps: list[Step], pace: _Pace, curves: Mapping[str, Floats],
    durations: Mapping[int, Range], limit: float,
) -> FermentReport:  # fmt: skip
    lasted = [_time(step, durations.get(number)).typical for number, step in zip(numbers, steps, strict=True)]
    total = sum(lasted)
    time, found, acids = _DAYS * total, {}, {}
    edges = np.concatenate(([0.0], np.cumsum(lasted)))
    for end, speed in (("low", "high"), ("typical", "typical"), ("high", "low")):
        steps_passed = [getattr(rate, speed) * each for rate, each in zip(pace.rates, lasted, strict=True)]
        passed = np.concatenate(([0.0], np.cumsum(steps_passed)))
        acid = pace.most * -np.expm1(-np.maximum(np.interp(time, edges, passed) - pace.lag, 0.0))
        error = {"low": -MODEL_ERROR, "typical": 0.0, "high": MODEL_ERROR}[end]
        falling = np.interp(acid, curves[end][::-1], _GRID[::-1]) + error
        found[end], acids[end] = np.minimum(falling, falling[0]), float(acid[-1])

    def reached(end: str) -> float | None:
        sour = found[end] <= limit
        return float(time[int(np.argmax(sour))]) if sour.any() else None

    return FermentReport(
        numbers=numbers,
        missing="",
        time=time,
        high=found["high"],
        typical=found["typical"],
        low=found["low"],
        acid=Range(acids["high"], acids["typical"], acids["low"]),
        ph=Range(*sorted(float(found[end][-1]) for end in ("low", "typical", "high"))),
        acid_reached=(reached("low"), reached("typical"), reached("high")),
        limit=limit,
    )


def food_buffer(food: Food, own: FoodAcidity, end: str, mass: float) -> Buffer:
    """A food at one end of its range: sour and weakly buffered, typical, or the opposite."""
    factor = {"low": 1 / BUFFER_FACTOR, "typical": 1.0, "high": BUFFER_FACTOR}[end]
    ash = food.ash if food.food_class == "vegetable" else 0.0
    return Buffer(mass=mass, ph=getattr(own.ph, end), capacity=buffer_capacity(food.protein, ash) * factor)
