"""The definition of a heating step, by temperatures first and by names of stages second.

Models, rules, labels and pages all use it. Whether food is cooked through depends on its core temperature: see
handbook.safety.food_state.
"""

from __future__ import annotations

from handbook.base.units import kelvin
from handbook.page.method import Method
from handbook.page.steps import Step

#: K: surroundings at or above this heat the food through the range in which bacteria grow.
HOT = kelvin(60)
#: K: the hottest chamber that still counts as cold smoke, 90 °F [ontario-fish-smoking].
COLD_SMOKE = kelvin(32.2)
#: Stages of fire and smoke.
_HEATING = ("smoke", "cook")
_COLD_STAGES = ("cool", "freeze", "thaw")
_COLD_PLACES = ("fridge", "freezer")


def heats(step: Step, kind: str = "") -> bool:
    """Whether a step heats the food.

    A step heats when its surroundings stay at or above HOT, or when it brings the core to a stated temperature above
    COLD_SMOKE. Where a page states neither, the stages smoke and cook count as heat, but the smoke of a ``kind``
    "cold smoke" does not. A cooling, freezing or thawing step never heats, even where it states a core. A prepare step
    heats only where it states a core; otherwise its temperature is that of a brine or a glaze.
    """
    if step.stage in _COLD_STAGES or (step.stage == "prepare" and step.core is None and step.place == "stove"):
        return False
    around = step.chamber or step.temperature
    if around is not None and around.low >= HOT:
        return True
    if step.core is not None and step.core.low > COLD_SMOKE:
        return step.stage in _HEATING or (around is not None and around.high >= step.core.low)
    if around is not None or step.place in _COLD_PLACES:
        return False
    return step.stage == "cook" or (step.stage == "smoke" and kind != "cold smoke")


def has_curve(step: Step) -> bool:
    """Whether the heat model computes a step: it heats the food, or smokes it at any temperature."""
    return step.stage in _HEATING or heats(step)


def heating_numbers(method: Method) -> tuple[int, ...]:
    """Numbers, from 1, of the steps that heat the food; empty for a method that does not heat it."""
    return tuple(number for number, step in enumerate(method.steps, 1) if heats(step))
