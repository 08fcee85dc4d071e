"""How long the finished food keeps, cold and frozen."""

from __future__ import annotations

from msgspec.structs import replace

from handbook.base.formats import format_temperature, format_time_range
from handbook.base.ranges import Range
from handbook.catalogue.food_families import MEAT
from handbook.safety.case import SafetyCase
from handbook.safety.conditions import Condition
from handbook.safety.food_state import is_heated, is_pickled
from handbook.safety.held_conditions import conditions
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
    judge_most,
    without_limit,
)
from handbook.safety.limits import Limit
from handbook.safety.notions import notion
from handbook.safety.ripening import is_dried_after_heat, is_fermented
from handbook.safety.rules.dried import is_dry_enough, is_well_dried
from handbook.safety.rules.shelf import keeps_without_fridge
from handbook.safety.step_times import total_time
from handbook.safety.timeline import DAY, Span, before_heat, thawing_spans, timeline

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
RAW = replace(
    COLD,
    title="Days that raw food waits before it is cooked",
    advice="Buy it later, cook it sooner, or freeze it meanwhile.",
)
RULES = (COLD, FROZEN)
_RAW = frozenset({Condition.COOKED_BY_EATER, Condition.UNCOOKED, Condition.BACON})


def keeping_time(case: SafetyCase) -> tuple[Finding, ...]:
    """Time in the cold compared with every document that fits. Waiting steps in the cold count with the keeping."""
    time = _cold_life(case)
    if time is None or is_well_dried(case) or is_dry_enough(case) or keeps_without_fridge(case):
        return ()
    fit = fitting(case, COLD)
    if case.is_for_the_eater_to_cook:
        # Limits for finished food do not apply to raw food.
        raw = (each for each in fit if _RAW & set(each.when))
        return judge(case, COLD, lambda limit: _outcome(case, time, limit), raw)
    if is_pickled(case):
        fit = tuple(each for each in fit if Condition.PICKLED in each.when and case.house.audience in each.audience)
    found = judge(case, COLD, lambda limit: _outcome(case, time, limit), fit)
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


def raw_waiting(case: SafetyCase) -> tuple[Finding, ...]:
    """Days in the cold of raw poultry, mince and organ meat before the heat, but for the days in salt and those that thaw it.

    Whole red meat ages for weeks, and no document here speaks of that.
    """
    held = conditions(case)
    is_short_lived = case.food.food_class == "poultry" or not {Condition.MINCED, Condition.ORGAN}.isdisjoint(held)
    if case.food.food_class not in MEAT or not is_short_lived or case.is_for_the_eater_to_cook:
        return ()
    if case.method.pieces.state == "cooked":
        return ()
    thawing = {each.number for each in thawing_spans(case)}
    waits: list[Span] = []
    for each in before_heat(case):
        is_salted = case.method.salting_of(each.step) is not None
        if each.is_cold and not (is_salted or each.is_frozen or each.number in thawing) and each.duration is not None:
            waits.append(each)
    time = total_time(waits) or Range.exact(0.0)
    if time.high < notion("waits"):
        return ()
    fit = fitting(case, RAW, Condition.COOKED_BY_EATER)
    raw = (each for each in fit if Condition.COOKED_BY_EATER in each.when)
    line = max(waits, key=lambda each: each.longest).line
    days = _whole_days(time)
    return judge_most(case, RAW, "time", days, f"{format_time_range(days)} raw", line=line, found=raw)


def keeping_frozen(case: SafetyCase) -> tuple[Finding, ...]:
    """Stated time in the freezer, in the same way."""
    keeping = case.method.keeping
    if keeping is None or keeping.frozen is None:
        return ()
    time = Range.of(keeping.frozen)
    return judge_most(case, FROZEN, "time", time, format_time_range(time))


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """All findings of this topic."""
    return (*raw_waiting(case), *keeping_time(case), *keeping_frozen(case))


def _cold_life(case: SafetyCase) -> Range | None:
    """The longest time in s that the food is kept in the cold: in steps that only wait, and as the page keeps it then.

    None where it is kept nowhere. Chilling and thawing take hours and are no keeping. Food in vinegar and ferments take
    their weeks on purpose and are counted from their end.
    """
    keeping = case.method.keeping
    kept = Range.of(keeping.time) if keeping is not None and keeping.time is not None else None
    if is_pickled(case) or is_fermented(case) or is_dried_after_heat(case) or (keeping is not None and kept is None):
        return kept
    runs: list[list[Span]] = [[]]
    for each in timeline(case):
        if _works_on(case, each):
            runs.append([])
        elif each.is_cold and not each.is_frozen and each.duration is not None:
            runs[-1].append(each)
    lives = [total_time(run) or Range.exact(0.0) for run in (runs[1:] if is_heated(case) else runs[-1:])]
    lives = [_whole_days(each) if each.high >= notion("waits") else Range.exact(0.0) for each in lives]
    if lives and kept is not None:
        lives[-1] = lives[-1].plus(kept)
    longest = max(lives, key=lambda each: each.high, default=kept)
    return longest if longest is not None and longest.high > 0 else kept


def _whole_days(time: Range) -> Range:
    """The documents count in days, so some further hours are not a further day."""
    return Range(*(round(each / DAY) * DAY for each in time.ends))


def _works_on(case: SafetyCase, span: Span) -> bool:
    """Whether a span processes the food instead of only keeping it: heat, else salting, smoking or drying."""
    if is_heated(case):
        return span.is_heat
    dries = span.step.loss is not None or span.step.humidity is not None
    return dries or span.step.place == "smoker" or case.method.salting_of(span.step) is not None


def _warmest(case: SafetyCase) -> float | None:
    """Keeping temperature in K: that of the page, else of the warmest of its cold steps."""
    keeping = case.method.keeping
    if keeping is not None:
        return keeping.temperature.high if keeping.temperature is not None else None
    return max((each.around.high for each in timeline(case) if each.is_cold and each.around is not None), default=None)


def _outcome(case: SafetyCase, time: Range, limit: Limit) -> Outcome:
    figure = f"{format_time_range(time)} in the fridge"
    kept = _warmest(case)
    if limit.has("temperature") and (kept is None or kept > limit.value("temperature") + 1e-6):
        at = format_temperature(kept, 1) if kept else "no stated temperature"
        more = f"This figure holds at or below {format_temperature(limit.value('temperature'), 1)} and is not applied."
        return Outcome(limit, BESIDE, f"{figure} at {at}", more)
    result = at_most(time, limit.value("time"))
    if result == FAILS and limit.has("latest") and at_most(time, limit.value("latest")) == MET:
        result = MAY_FAIL
    return Outcome(limit, result, figure)
