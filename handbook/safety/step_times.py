"""The steps of a method for the rules: duration, and temperature around the food."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Protocol

from handbook.base.ranges import Range
from handbook.page.finished_food import Measured
from handbook.page.steps import Step
from handbook.safety.case import SafetyCase


class Timed(Protocol):
    """A part of a method with a duration."""

    @property
    def duration(self) -> Range | None:
        """How long it takes in s; None where unknown."""


def total_time(parts: Iterable[Timed]) -> Range | None:
    """Sum of durations in s; None when one is unknown, 0 without parts."""
    total = Range.exact(0.0)
    for each in parts:
        if each.duration is None:
            return None
        total = total.plus(each.duration)
    return total


def stated_ph(case: SafetyCase) -> Range | None:
    """The measured pH of the finished food: from a run, or from the page with its record. A target does not count."""
    if case.final_ph is not None:
        return case.final_ph
    found = measurement(case, "pH")
    return Range.exact(found.value) if found else None


def measurement(case: SafetyCase, what: str) -> Measured | None:
    """The page's measurement of ``what`` that the trade accepts: taken in the food, by meter, scale or laboratory, and
    recorded. A strip, a reading in the brine alone and a value without a record are only claims."""
    for each in case.method.measured:
        in_food = each.where != "brine" and (each.where != "surface" or what == "weight loss")
        if each.what == what and each.record and in_food and each.how != "strip":
            return each
    return None


def surroundings(case: SafetyCase, step: Step) -> Range | None:
    """Temperature in K around the food in a step, as the page or the house states it; None where neither does."""
    for stated in (step.chamber, step.temperature):
        if stated is not None:
            return Range.of(stated)
    if step.place == "fridge":
        return Range.of(case.house.fridge)
    # The temperature of a ferment step that names no mixture is its own, not that of the salting.
    salting = None if step.use is None and step.stage == "ferment" else case.method.salting_of(step)
    if salting is not None and salting.temperature is not None:
        return Range.of(salting.temperature)
    return None
