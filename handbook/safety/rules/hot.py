"""Food between heated steps: cooking in two stages, reheating, keeping hot, and the warming time of the core."""

from __future__ import annotations

from functools import partial
from itertools import takewhile

from handbook.base.formats import format_temperature, format_temperature_range, format_time, format_time_range
from handbook.base.ranges import Range
from handbook.catalogue.food_families import RED_MEAT, RISKY_RAW
from handbook.safety.case import SafetyCase
from handbook.safety.conditions import Condition
from handbook.safety.food_state import COOKED_THROUGH, is_cured, is_perishable
from handbook.safety.held_conditions import conditions
from handbook.safety.judging import (
    AIMED_AT,
    BESIDE,
    MET,
    STATED,
    UNKNOWN,
    Finding,
    Outcome,
    Rule,
    at_least,
    at_most,
    fitting,
    judge,
)
from handbook.safety.limits import Limit
from handbook.safety.notions import notion
from handbook.safety.ripening import is_dried_after_heat, is_fermented
from handbook.safety.rules.growth import GROWTH
from handbook.safety.step_times import total_time
from handbook.safety.timeline import COOLS, Span, heat_spans, timeline

COME_UP = Rule(
    id="come-up-time",
    topic="heat",
    title="Time in which the core warms through the growth range",
    advice="Heat faster: a hotter chamber, thinner pieces, fewer at once.",
)
INTERRUPTED = Rule(
    id="interrupted-cooking",
    topic="heat",
    title="Cooking in two stages",
    advice="Cook through in one go, or heat for at most the time allowed, chill at once and cook fully before eating.",
)
REHEAT = Rule(
    id="reheating",
    topic="heat",
    title="Reheating",
    advice="Heat cooled food through quickly before it is kept hot.",
    on_unknown="stop",
)
HOT_HOLD = Rule(
    id="hot-holding", topic="heat", title="Keeping hot", advice="Keep it hotter, or eat it sooner.", on_unknown="stop"
)
RULES = (COME_UP, INTERRUPTED, REHEAT, HOT_HOLD)


def come_up_time(case: SafetyCase) -> tuple[Finding, ...]:
    """Warming time of the core: computed, else an upper bound from the clock of the heated steps."""
    heated = heat_spans(case)
    return judge(case, COME_UP, lambda limit: _come_up(case, heated, limit)) if heated else ()


def interrupted(case: SafetyCase) -> tuple[Finding, ...]:
    """Food that is heated, not cooked through, and then left. Its first heating must be short.

    Meat cured with nitrite that the eater cooks counts as bacon, not as partly cooked food.
    """
    spans = heat_spans(case)
    if case.food.food_class not in RISKY_RAW or not spans or is_cured(case):
        return ()
    first = [each for each in timeline(case) if spans[0].number <= each.number]
    run = list(takewhile(lambda each: each.is_heat, first))
    later = [each for each in spans if each.number > run[-1].number]
    if not later and not case.is_for_the_eater_to_cook:
        return ()
    if any(each.step.core is not None and each.step.core.low >= COOKED_THROUGH for each in run):
        return ()
    if any(each.step.waits_for == "core" for each in run) or not _is_left(first[len(run) :]):
        return ()
    time = total_time(run)

    def outcome(limit: Limit) -> Outcome:
        figure = f"first heating {format_time_range(time)}" if time else "first heating: no time is stated"
        mend = f"heat for at most {format_time(limit.value('time'))} first, or cook through in one go"
        return Outcome(limit, at_most(time, limit.value("time")), figure, line=run[0].line, mend=mend)

    return judge(case, INTERRUPTED, outcome)


def reheating(case: SafetyCase) -> tuple[Finding, ...]:
    """Cooked food that is cooled, reheated and then kept hot: the core that reheating must reach."""
    spans = timeline(case)
    for index, each in enumerate(spans):
        before = spans[:index]
        cooked = [one for one in before if one.is_heat]
        if not each.is_heat or not cooked or not any(one.is_cold for one in before[cooked[-1].number :]):
            continue
        if not any(one.step.core is not None and one.step.core.low >= COOKED_THROUGH for one in cooked):
            continue
        run = list(takewhile(_is_warm, spans[index:]))
        group = [one for one in run if one.is_heat]
        reached = next((one for one in reversed(group) if one.step.core is not None), each)
        if sum(one.longest for one in run if one.number > reached.number) < notion("stays"):
            continue
        core = max((one.step.core.low for one in group if one.step.core is not None), default=None)
        return judge(case, REHEAT, partial(_reheat_outcome, core, each.line))
    return ()


def hot_holding(case: SafetyCase) -> tuple[Finding, ...]:
    """Cooked food that stays warm, in a box, an oven or a cooler: its computed core, else the temperature around it."""
    if not is_perishable(case) or is_fermented(case) or is_dried_after_heat(case):
        return ()
    kept = _kept_hot(case)
    if not kept:
        return ()
    coldest = min(kept, key=lambda each: _warmth(each).low)
    is_roast = case.food.food_class in RED_MEAT and Condition.WHOLE_CUT in conditions(case)
    warmth = _warmth(coldest)
    basis = "core, computed" if coldest.core is not None else "around it"
    total = sum(each.longest for each in kept)
    text = f"{format_temperature_range(warmth, 1)} {basis}, for {format_time(total)}"

    def outcome(limit: Limit) -> Outcome:
        least = limit.value("roast" if is_roast and limit.has("roast") else "temperature") - notion("whole-degree")
        result, origin = at_least(warmth, least), STATED if coldest.core is None else case.by_model
        if result != MET and total <= _allowed(case):
            return Outcome(limit, BESIDE, text, "Time is the control here: see time out of the cold.")
        warm = format_temperature(limit.value("temperature"))
        mend = f"keep it at {warm} or hotter; where it dries for keeping, state the `loss` of weight of the step"
        return Outcome(limit, result, text, line=coldest.line, mend=mend, basis=origin)

    return judge(case, HOT_HOLD, outcome)


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """All findings of this topic."""
    return (*come_up_time(case), *interrupted(case), *reheating(case), *hot_holding(case))


def _kept_hot(case: SafetyCase) -> list[Span]:
    """The spans that keep food warm after a step that brought it to its core, and before it is in the cold. A step with
    no hotter core than before does not cook it further."""
    found, reached = [], 0.0
    for each in timeline(case):
        core = each.step.core.low if each.step.core is not None else 0.0
        if reached and core <= reached and _keeps_warm(each):
            found.append(each)
        elif each.is_heat and core:
            reached = max(reached, core)
        elif each.is_cold:
            reached = 0.0
    return found if sum(each.longest for each in found) >= notion("stays") else []


def _allowed(case: SafetyCase) -> float:
    """The time in s out of the cold that the house's own documents allow; 0 where they print none."""
    own = [each for each in fitting(case, GROWTH) if case.house.audience in each.audience and each.has("time")]
    return min((each.value("time") for each in own if each.standing == "current"), default=0.0)


def _keeps_warm(each: Span) -> bool:
    return each.around is not None and each.around.low >= notion("kept-warm")


def _warmth(each: Span) -> Range:
    """The coldest computed core, else the temperature around the food."""
    if each.core is not None and each.around is not None and each.core.shape[1]:
        low, typical = (float(end.min()) for end in each.core)
        return Range(min(low, typical), typical, max(low, typical))
    assert each.around is not None
    return each.around


def _reheat_outcome(core: float | None, line: int, limit: Limit) -> Outcome:
    least = limit.value("temperature")
    figure = f"reheated to {format_temperature(core)}" if core else "reheated; no core is stated"
    mend = f"heat the core to {format_temperature(least)} before it is kept hot"
    result = at_least(None if core is None else Range.exact(core), least)
    return Outcome(limit, result, figure, line=line, mend=mend, basis=AIMED_AT)


def _is_warm(each: Span) -> bool:
    """Whether the surroundings keep food warm, surely or possibly."""
    return each.is_heat or each.around is None or each.around.high > COOLS


def _is_left(after: list[Span]) -> bool:
    """Whether the food is off the heat for more than half an hour, or the page ends."""
    rest = list(takewhile(lambda each: not each.is_heat, after))
    return len(rest) == len(after) or sum(each.longest for each in rest) > notion("stays")


def _come_up(case: SafetyCase, heated: tuple[Span, ...], limit: Limit) -> Outcome:
    low, high, allowed = (limit.value(name) for name in ("from", "to", "time"))
    if case.core is not None:
        time = case.core.time_in(low, high, before_peak=True)
        figure = f"{format_time_range(time)}, {case.by_model}"
        return Outcome(limit, at_most(time, allowed), figure, basis=case.by_model)
    until = next((index for index, each in enumerate(heated) if each.step.core is not None), None)
    clock = None if until is None else total_time(heated[: until + 1])
    if until is None or clock is None:
        return Outcome(limit, UNKNOWN, "not known: the core is not computed")
    last = heated[until].step
    bound = max(clock.high - (last.hold.low if last.hold and last.waits_for == "core" else 0.0), 0.0)
    if bound <= allowed:
        return Outcome(limit, MET, f"at most {format_time(bound)} by the clock")
    return Outcome(limit, UNKNOWN, f"up to {format_time(bound)} by the clock; the core is not computed")
