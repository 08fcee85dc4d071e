"""The steps of a method as the rules see them: how warm it is around the food, and what is a heated step."""

from __future__ import annotations

from dataclasses import dataclass
from functools import reduce

from handbook import curing
from handbook.method import Salting, Step
from handbook.ranges import Range
from handbook.safety_rules.case import SafetyCase
from handbook.units import kelvin

HOT = kelvin(60)  # surroundings from here on heat the food through the growth range
_CURED_FROM = 100.0  # ppm ingoing nitrite from which cooling counts as that of cured food [fsis-appendix-b-revised]


@dataclass(frozen=True)
class Work:
    """One step with its duration in s (None where unknown) and the temperature around the food in K (or None)."""

    step: Step
    number: int
    duration: Range | None
    around: Range | None

    @property
    def is_heat(self) -> bool:
        """Whether the step heats the food through."""
        if self.step.stage not in ("cook", "smoke"):
            return False
        return self.step.core is not None or self.around is None or self.around.low >= HOT


def works(case: SafetyCase) -> tuple[Work, ...]:
    """All steps of the method in order."""
    timed = {each.number: each.duration for each in case.schedule.steps} if case.schedule else {}
    return tuple(
        Work(
            step,
            number,
            timed.get(number) or (Range.of(step.time) if step.time else None),
            _around(case, step),
        )
        for number, step in enumerate(case.method.steps, 1)
    )


def heat_works(case: SafetyCase) -> tuple[Work, ...]:
    """The steps that heat the food through; none for a cold-smoked method whose smoke has no stated heat."""
    found = tuple(each for each in works(case) if each.is_heat)
    if case.kind == "cold smoke":
        return tuple(each for each in found if each.step.stage == "cook" or each.step.core or each.around)
    return found


def segments(case: SafetyCase) -> tuple[tuple[Work, ...], ...]:
    """Runs of steps between the heated ones: before the first, between, after the last."""
    heated = {each.number for each in heat_works(case)}
    runs: list[list[Work]] = [[]]
    for each in works(case):
        if each.number in heated:
            runs.append([])
        else:
            runs[-1].append(each)
    return tuple(tuple(run) for run in runs if run)


def total_time(parts) -> Range | None:
    """Sum of durations in s; None when one is unknown. No parts: zero."""
    durations = [each.duration for each in parts]
    if any(each is None for each in durations):
        return None
    return reduce(Range.plus, durations, Range.exact(0.0))


def stated_ph(case: SafetyCase) -> Range | None:
    """Measured final pH, else the highest that the page lets a step end at."""
    if case.final_ph is not None:
        return case.final_ph
    stated = [step.final_ph for step in case.method.steps if step.final_ph is not None]
    return Range.exact(stated[-1]) if stated else None


def curing_saltings(case: SafetyCase) -> tuple[Salting, ...]:
    """The saltings whose ingredients bring nitrite or nitrate."""
    signs = ("nitrite", "nitrate", "curing salt")
    return tuple(
        salting
        for salting in case.method.saltings
        if any(sign in line.item.casefold() for line in salting.ingredients for sign in signs)
    )


def words(case: SafetyCase) -> frozenset[str]:
    """The conditions that hold for this method, as the limits name them."""
    food, name = case.food, case.food.name
    found = {"counts rest", case.pack or "not packed", food.food_class}
    found.add("injected" if any(each.kind == "injection" for each in case.method.saltings) else "intact")
    found.add("bacon" if curing.is_bacon(name) else "other than bacon")
    nitrite = case.ingoing_nitrite_ppm
    found.add("cured" if nitrite is not None and nitrite.typical >= _CURED_FROM else "uncured")
    if nitrite is not None and nitrite.high > 0:
        found.add("nitrite")
    if case.pack in ("vacuum", "brine"):
        found |= {"no air", "vacuum"}
    if not heat_works(case):
        found.add("uncooked")
    if any(each.step.stage == "smoke" for each in works(case)):
        found.add("smoked")
    for salting in curing_saltings(case):
        found.add("dry-cured" if curing.cure_process(salting.kind) == "dry-cured" else "wet")
    for salt in ("nitrite", "nitrate"):
        permission = curing.may_take(name, food.food_class, salt)
        if not permission.allowed:
            found.add("not permitted" if salt == "nitrite" else "nitrate not permitted")
        elif permission.limit == f"{salt}-fish":
            found.add(f"{salt} species")
    found |= {sign for sign in ("cabbage", "cucumber", "tuna") if name.startswith(sign)}
    if food.is_scombroid:
        found.add("scombroid")
    soaked = total_time(each for each in works(case) if each.step.stage == "salt")
    if soaked is None or soaked.high > 4 * 3600:
        found.add("over four hours")
    return frozenset(found)


def _around(case: SafetyCase, step: Step) -> Range | None:
    for stated in (step.chamber, step.temperature):
        if stated is not None:
            return Range.of(stated)
    if step.place == "fridge":
        return Range.of(case.house.fridge)
    if step.stage == "salt" and (salting := case.method.salting(step.use)) and salting.temperature:
        return Range.of(salting.temperature)
    return None
