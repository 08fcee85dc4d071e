"""Slow processes in the food: vegetables that sour, meat that dries, raw sausage that sours."""

from __future__ import annotations

from handbook.catalogue.food_families import MEAT, is_olive
from handbook.page.until import WATER_ACTIVITY, WEIGHT_LOSS
from handbook.safety.case import SafetyCase
from handbook.safety.food_state import PICKLED_FROM, is_minced, vinegar_share
from handbook.safety.notions import notion
from handbook.safety.timeline import Span, before_heat, timeline

#: K: raw sausage sours above this temperature of its surroundings, and only dries below it.
SOURS_FROM = notion("sours")
_JERKY_AIR = (notion("jerky-air-low"), notion("jerky-air-high"))


def souring_spans(case: SafetyCase) -> tuple[Span, ...]:
    """The spans in which vegetables and olives sour by themselves: salted, without vinegar, out of the cold for a long
    time.

    What a ferment may do in the warm is never granted to raw fish, meat, poultry or eggs, nor to fruit and pulses, for
    which no document is held. Heat kills what sours a vegetable: after it, only a culture that the page names does.
    """
    sours = case.food.food_class == "vegetable" or is_olive(case.food)
    if not sours or not case.method.saltings or vinegar_share(case) >= PICKLED_FROM:
        return ()
    first_heat = next((each.number for each in timeline(case) if each.is_heat), None)
    if first_heat is None or _has_culture(case):
        return _warm_spans(case)
    return tuple(each for each in _warm_spans(case) if each.number < first_heat)


def _has_culture(case: SafetyCase) -> bool:
    parts = (part for made in case.makes.values() for part in made.parts)
    return any(part.ingredient.name.startswith("starter culture") for part in parts)


def salt_paste_spans(case: SafetyCase) -> tuple[Span, ...]:
    """The spans in which pulses with much water-phase salt ripen warm: a bean paste."""
    salt = case.water_phase_salt
    if case.food.food_class != "pulse" or salt is None or salt.low < notion("salt-paste"):
        return ()
    return _warm_spans(case)


def _warm_spans(case: SafetyCase) -> tuple[Span, ...]:
    return tuple(
        each
        for each in timeline(case)
        if not each.is_heat and not each.is_cold and each.longest >= notion("ferments-for") and each.is_alone
    )


def is_fermented(case: SafetyCase) -> bool:
    """Whether the food is a vegetable or an olive that sours on the page."""
    return bool(souring_spans(case))


def drying_spans(case: SafetyCase) -> tuple[Span, ...]:
    """The spans in which salted raw meat hangs to dry for days."""
    if case.food.food_class not in MEAT or not case.method.saltings:
        return ()
    return tuple(
        each
        for each in timeline(case)
        if not each.is_heat
        and not each.is_frozen
        and each.longest >= notion("hangs-for")
        and each.step.use is None
        and each.medium in ("air", "cased", "wrapped")
        and (each.step.loss is not None or each.step.humidity is not None or not each.is_cold)
    )


def is_dried_after_heat(case: SafetyCase) -> bool:
    """Whether meat is heated to a stated core and then loses much of its weight, as dried strips do."""
    if case.food.food_class not in MEAT:
        return False
    cored = [each.number for each in timeline(case) if each.is_heat and each.step.core is not None]
    later = [each.step for each in timeline(case) if cored and each.number > cored[0]]
    if any(step.waits_for == WATER_ACTIVITY for step in later):
        return True
    ends = [step.until.value for step in later if step.until is not None and step.waits_for == WEIGHT_LOSS]
    lost = sum(step.loss.middle for step in later if step.loss is not None)
    return max(lost, *(each for each in ends if each is not None), 0.0) >= notion("dried-by")


def warm_sausage_spans(case: SafetyCase) -> tuple[Span, ...]:
    """The spans before any heat in which raw minced meat hangs warm to sour."""
    if case.food.food_class not in MEAT or not is_minced(case):
        return ()
    return tuple(
        each
        for each in before_heat(case)
        if not each.is_frozen
        and each.is_alone
        and each.longest >= notion("sours-for")
        and (each.around is None or each.around.high > SOURS_FROM)
        and each.step.place not in ("smoker", "fridge")
    )


def dries_thin(case: SafetyCase) -> bool:
    """Whether thin meat stays in warm air for hours: jerky, whatever the page calls it."""
    if case.food.food_class not in MEAT or case.method.pieces.thickness.low > notion("jerky-thickness"):
        return False
    return any(
        each.around is not None
        and _JERKY_AIR[0] <= each.around.typical <= _JERKY_AIR[1]
        and each.longest >= notion("jerky-time")
        for each in timeline(case)
    )
