"""The definitions of a heating step and of a drying step, by temperatures, place and air.

Models, rules, labels and pages all use it. Whether food is cooked through depends on its core temperature: see
handbook.safety.food_state.
"""

from __future__ import annotations

from handbook.base.units import kelvin
from handbook.page.method import Method
from handbook.page.steps import Step
from handbook.page.until import WATER_ACTIVITY, WEIGHT_LOSS

#: K: surroundings at or above this heat the food through the range in which bacteria grow.
HOT = kelvin(60)
#: K: the coldest air in which unfrozen food dries.
_FREEZES = 272.15
#: K: the hottest chamber that still counts as cold smoke, 90 °F [ontario-fish-smoking].
COLD_SMOKE = kelvin(32.2)
_COLD_PLACES = ("fridge", "freezer")
_HOT_PLACES = ("oven", "stove", "smoker")
#: Ends of a drying step.
DRYNESS = (WEIGHT_LOSS, WATER_ACTIVITY)
#: Stages in which food is not in open air, whatever the page states of the room.
_NOT_IN_AIR = ("salt", "rinse", "freshen", "prepare", "freeze", "thaw", "pack", "serve")


def heats(step: Step) -> bool:
    """Whether a step heats the food.

    A step heats when its surroundings stay at or above HOT, or when they bring the core to a stated temperature above
    COLD_SMOKE. Where a page states no surroundings, a step with such a core heats in an oven, in a smoker or on
    the stove, and anywhere where the core reaches HOT. An oven of unknown temperature without a core does not count as
    heating. The name of a stage does not decide. On the stove while the food is prepared there is a brine or a glaze,
    unless the step states a core. Such a name never makes raw food count as cooked.
    """
    if step.is_beside_food:
        return False
    around = step.chamber or step.temperature
    if around is not None and around.low >= HOT:
        return True
    warms = step.core is not None and step.core.low > COLD_SMOKE
    if around is not None:
        return warms and step.core is not None and around.high >= step.core.low
    if step.place in _COLD_PLACES:
        return False
    return warms and step.core is not None and (step.place in _HOT_PLACES or step.core.low >= HOT)


def has_curve(step: Step) -> bool:
    """Whether the heat model computes a step: it heats the food, or smokes it at any temperature."""
    return step.place == "smoker" or heats(step)


def dries(step: Step) -> bool:
    """Whether food dries in open air: the page calls the step drying, states the air's humidity, or waits for a loss of
    weight or a water activity.

    Food under brine, in a pack or under a lid loses no water. Frozen food is not modelled.
    """
    around = step.chamber or step.temperature
    is_frozen = step.place == "freezer" if around is None else around.middle < _FREEZES
    if step.stage in _NOT_IN_AIR or is_frozen or step.air in ("water", "steam"):
        return False
    if step.medium not in (None, "air", "cased") or step.cover not in ("none", "paper"):
        return False
    return step.stage == "dry" or step.humidity is not None or step.waits_for in DRYNESS


def heating_numbers(method: Method) -> tuple[int, ...]:
    """Numbers, from 1, of the steps that heat the food; empty where none does."""
    return tuple(number for number, step in enumerate(method.steps, 1) if heats(step))
