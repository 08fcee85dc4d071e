"""How long the finished food keeps, cold and frozen."""

from __future__ import annotations

from dataclasses import replace

from handbook.base.formats import format_temperature, format_time_range
from handbook.base.ranges import Range
from handbook.safety.case import SafetyCase
from handbook.safety.conditions import Condition
from handbook.safety.food_state import is_pickled
from handbook.safety.judging import (
    BESIDE,
    FAILS,
    MAY_FAIL,
    MET,
    NOT_KNOWN,
    Finding,
    Outcome,
    Rule,
    at_most,
    fitting,
    judge,
    without_limit,
)
from handbook.safety.limits import Limit
from handbook.safety.ripening import is_fermented
from handbook.safety.rules.dried import is_dry_enough, is_well_dried
from handbook.safety.rules.shelf import keeps_without_fridge

COLD = Rule(
    id="keeping-time",
    topic="keeping",
    title="Keeping time in the fridge",
    advice="Eat it sooner or freeze it; label the pack with the day.",
    binds="own",
)
FROZEN = Rule(
    id="keeping-frozen",
    topic="keeping",
    title="Keeping time in the freezer",
    advice="Frozen food stays safe and loses taste.",
    on_fail="note",
    is_quality=True,
)
RULES = (COLD, FROZEN)
_RAW = frozenset({Condition.COOKED_BY_EATER, Condition.UNCOOKED, Condition.BACON})


def keeping_time(case: SafetyCase) -> tuple[Finding, ...]:
    """Stated time in the fridge, compared with every document that fits."""
    keeping = case.method.keeping
    if keeping is None or keeping.time is None or is_well_dried(case) or is_dry_enough(case):
        return ()
    if keeps_without_fridge(case):
        return ()
    time, fit = Range.of(keeping.time), fitting(case, COLD)
    if case.is_for_the_eater_to_cook:
        # Limits for finished food do not apply to raw food.
        return judge(
            case, COLD, (each for each in fit if _RAW & set(each.when)), lambda limit: _outcome(case, time, limit)
        )
    if is_pickled(case):
        fit = tuple(each for each in fit if Condition.PICKLED in each.when and case.house.audience in each.audience)
    found = judge(case, COLD, fit, lambda limit: _outcome(case, time, limit))
    if is_fermented(case) or any(each.decides for each in found):
        return found
    if is_pickled(case) and not found:
        message = f"No rule found for food in vinegar in {case.house.audience} kitchens: its days are not judged."
        return (replace(without_limit(COLD, "note", format_time_range(time), message), is_judged=False),)
    if found:
        message = f"No rule found for {case.house.audience} kitchens: have the cold life validated."
        return (*found, without_limit(COLD, "act", format_time_range(time), message, certainty=NOT_KNOWN))
    message = "No document in this handbook prints a time in the fridge for this food. Smell and look can only show that it is spoilt."
    return (without_limit(COLD, "note", format_time_range(time), message),)


def keeping_frozen(case: SafetyCase) -> tuple[Finding, ...]:
    """Stated time in the freezer, in the same way."""
    keeping = case.method.keeping
    if keeping is None or keeping.frozen is None:
        return ()
    time = Range.of(keeping.frozen)
    return judge(
        case,
        FROZEN,
        fitting(case, FROZEN),
        lambda limit: (at_most(time, limit.value("time")), format_time_range(time)),
    )


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """All findings of this topic."""
    return (*keeping_time(case), *keeping_frozen(case))


def _outcome(case: SafetyCase, time: Range, limit: Limit) -> Outcome:
    figure = f"{format_time_range(time)} in the fridge"
    kept = case.method.keeping.temperature if case.method.keeping else None
    if limit.has("temperature") and (kept is None or kept.high > limit.value("temperature") + 1e-6):
        at = format_temperature(kept.high, 1) if kept else "no stated temperature"
        return Outcome(
            limit=limit,
            result=BESIDE,
            figure=f"{figure} at {at}",
            more=f"This figure holds at or below {format_temperature(limit.value('temperature'), 1)} and is not applied.",
        )
    result = at_most(time, limit.value("time"))
    if result == FAILS and limit.has("latest") and at_most(time, limit.value("latest")) == MET:
        result = MAY_FAIL
    return Outcome(limit=limit, result=result, figure=figure)
