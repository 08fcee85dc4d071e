"""Water that a dry cure draws from the food: as stated by its steps, else the usual amount for its salt and sugar."""

from __future__ import annotations

from msgspec.structs import replace

from handbook.base.ranges import Range
from handbook.base.units import Quantity
from handbook.catalogue.foods import Food
from handbook.page.steps import Step
from handbook.salt.uptake import NOTHING, Stage
from handbook.salt.uptake_records import DRAWN_WATER

USUAL_CURE = 0.025  # of the weight: salt and sugar of the dry cure of which the drawn water is known [drawn-brine]
MOST_DRAWN = 0.6  # of the food's water: upper bound of what a dry cure draws


def usually_drawn(stage: Stage, food: Food) -> Range:
    """Usual water that a dry cure draws, where no loss is stated: more salt and sugar draw more."""
    factor = max(1.0, (stage.bath_salt.typical + stage.bath_sugar.typical) / USUAL_CURE)
    return Range(*(min(end * factor, MOST_DRAWN * food.water) for end in DRAWN_WATER.ends))


def with_stated_loss(step: Step, stage: Stage) -> Stage:
    """The stage of a dry cure with the weight stated by its step.

    What a draught takes leaves its salt on the food, and is no brine that runs away. A gain has no brine to come from.
    """
    if step.loss is None:
        return stage
    return replace(stage, cured_loss=_after_both(stage.cured_loss, step.loss), is_airy=step.air not in (None, "still"))


def _after_both(first: Range | None, then: Quantity) -> Range:
    """The loss of weight over two steps."""
    before = first or NOTHING
    ends = ((before.low, then.low), (before.typical, then.middle), (before.high, then.high))
    return Range(*(1.0 - (1.0 - a) * (1.0 - b) for a, b in ends))
