"""The food at its first salting, and the change of weight in a single step."""

from __future__ import annotations

from msgspec.structs import replace

from handbook.base.ranges import Range
from handbook.page.heated import dries, has_curve, heats
from handbook.page.method import Method
from handbook.page.steps import Step
from handbook.page.until import WEIGHT_LOSS
from handbook.report.food_clock import step_loss
from handbook.report.heat_course import HeatCourse
from handbook.salt.uptake_records import ALL, NOTHING, Piece


def before_salting(piece: Piece, method: Method, heat: HeatCourse | None) -> Piece:
    """The piece at its first salting. Trimming removes whole food; heat, air and a bath remove water."""
    kept, weight, has_begun = ALL, ALL, False
    for number, step in numbered(method)[: first_salting(method) - 1]:
        if step.is_beside_food:
            continue
        has_begun = has_begun or has_curve(step) or dries(step)
        change = stated_change(step)
        if change is not None and step.loss is not None and step.stage == "prepare" and not heats(step):
            kept = times(kept, change)
        else:
            # On the bench, before any heat or drying air, the food is cut and weighed: it loses nothing.
            weight = times(weight, change or (computed_change(number, heat) if has_begun else None) or ALL)
    lost = Range(1.0 - weight.high, 1.0 - weight.typical, 1.0 - weight.low) if weight != ALL else NOTHING
    return replace(piece, kept=kept, water_lost=lost.times(kept.typical))


def first_salting(method: Method) -> int:
    """Number of the first step in which the food lies in a salting; one past the last without any."""
    numbers = [number for number, step in numbered(method) if method.lies_in(step) is not None]
    return numbers[0] if numbers else len(method.steps) + 1


def stated_change(step: Step) -> Range | None:
    """Weight at the end of a step / at its start, as stated by the step."""
    if step.loss is None and step.gain is None:
        return None
    ratio = ALL
    if step.loss is not None:
        ratio = times(ratio, Range(1 - step.loss.high, 1 - step.loss.middle, 1 - step.loss.low))
    if step.gain is not None:
        ratio = times(ratio, Range(1 + step.gain.low, 1 + step.gain.middle, 1 + step.gain.high))
    return ratio


def loss_aimed_at(step: Step) -> float | None:
    """The loss of green weight that ends a step; None for a step that waits for nothing or for another end."""
    return step.until.value if step.until is not None and step.until.what == WEIGHT_LOSS else None


def computed_change(number: int, heat: HeatCourse | None) -> Range | None:
    """Weight at the end of a step / at its start by the heat run; None for a step outside it."""
    lost = step_loss(heat, number) if heat is not None else None
    return Range(1 - lost.high, 1 - lost.typical, 1 - lost.low) if lost is not None else None


def times(first: Range, second: Range) -> Range:
    """The product, low with low and high with high."""
    return Range(first.low * second.low, first.typical * second.typical, first.high * second.high)


def numbered(method: Method) -> list[tuple[int, Step]]:
    """The steps with their numbers from 1."""
    return list(enumerate(method.steps, 1))
