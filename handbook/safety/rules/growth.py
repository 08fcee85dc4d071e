"""Time by the clock in which food is out of the cold and not heated."""

from __future__ import annotations

from collections.abc import Iterable

from handbook.base.formats import format_temperature, format_time, format_time_range
from handbook.base.ranges import Range
from handbook.safety.case import SafetyCase
from handbook.safety.food_state import COOKED_THROUGH, is_cooked_plant
from handbook.safety.judging import MET, STATED, UNKNOWN, Finding, Outcome, Rule, at_most, judge, worst
from handbook.safety.limits import Limit
from handbook.safety.notions import notion
from handbook.safety.ripening import is_fermented
from handbook.safety.rules.cold import judged_elsewhere
from handbook.safety.step_times import total_time
from handbook.safety.timeline import COOLS, MINUTE, Span, after_heat, before_heat, stated_core, timeline

GROWTH = Rule(
    id="growth-range-time",
    topic="cold",
    title="Time out of the cold",
    advice="Work in smaller turns and put back in the cold what is not in hand.",
    on_unknown="stop",
)
RULES = (GROWTH,)


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """Time by the clock in which the food is out of the cold and not heated: the longest run between heated steps."""
    if is_fermented(case) or not case.method.steps:
        return ()
    return judge(case, GROWTH, lambda limit: _growth(case, limit))


def cooling_numbers(case: SafetyCase) -> frozenset[int]:
    """Numbers of the spans in which food that is cooked through cools. The rules of cooling judge them."""
    if not any(core >= COOKED_THROUGH for _, core, _ in stated_core(case)):
        return frozenset()
    found: list[Span] = []
    for each in after_heat(case):
        cools = each.medium in ("ice", "water") or (each.around is not None and each.around.high <= COOLS)
        # Out of the cold again, it is no longer cooling.
        if not cools or (not each.is_cold and any(one.is_cold for one in found)):
            break
        found.append(each)
    is_cooled = any(each.is_cold or each.medium == "water" for each in found)
    return frozenset(each.number for each in found) if is_cooled else frozenset()


def _growth(case: SafetyCase, limit: Limit) -> Outcome:
    runs = [run for segment in _segments(case) for run in _runs(case, segment, limit)]
    longest = max(runs, key=lambda run: sum(_out(each, limit) for each in run), default=())
    if not longest:
        return Outcome(limit, MET, figure="none by the clock")
    line = max(longest, key=lambda each: _out(each, limit)).line
    if any(each.duration is None for each in longest):
        return Outcome(limit, UNKNOWN, "not known: a step out of the cold states no time", line=line)
    time = _seconds(longest)
    out = sum(_out(each, limit) for each in longest)
    if out < time.high:
        time = Range(min(time.low, out), min(time.typical, out), out)
    allowed, figure = limit.value("time"), f"{_clock(time)} by the clock"
    if limit.has("hot_room") and any(each.around and each.around.high > limit.value("hot_room") for each in longest):
        allowed = limit.value("hot_time")
        figure += f", above {format_temperature(limit.value('hot_room'))}"
    results = [at_most(time, allowed)]
    if limit.has("warm"):
        warm = [each for each in longest if each.around is None or each.around.high > limit.value("warm")]
        results.append(at_most(_seconds(warm), limit.value("warm_time")))
        figure += f", of which {_clock(_seconds(warm))} above {format_temperature(limit.value('warm'))}"
    if any(each.around is None for each in longest):
        figure += ", a temperature not stated"
    mend = f"take {format_time(max(time.high - allowed, MINUTE))} off the time out of the cold"
    origin = STATED if out >= sum(each.longest for each in longest) else case.by_model
    return Outcome(limit, worst(results), figure, line=line, mend=mend, basis=origin)


def _segments(case: SafetyCase) -> list[list[Span]]:
    """Runs of spans between the heated ones, without the spans that the cooling rules judge."""
    runs: list[list[Span]] = [[]]
    exempt = {each.number for each in judged_elsewhere(case)} | cooling_numbers(case) | _raw_plant_numbers(case)
    for each in timeline(case):
        if each.is_heat or each.number in exempt:
            runs.append([])
        else:
            runs[-1].append(each)
    return runs


def _raw_plant_numbers(case: SafetyCase) -> frozenset[int]:
    """Numbers of the spans before a vegetable or fruit is heated. No document requires the cold for raw ones."""
    if not is_cooked_plant(case) or case.method.pieces.state == "cooked":
        return frozenset()
    return frozenset(each.number for each in before_heat(case))


def _runs(case: SafetyCase, segment: list[Span], limit: Limit) -> list[tuple[Span, ...]]:
    """Unbroken runs of spans in the growth range; one run of all of them where the document counts the sum.

    A short while in the cold cools no piece through and breaks no run.
    """
    runs: list[list[Span]] = [[]]
    for each in segment:
        if _in_range(each, limit):
            runs[-1].append(each)
        elif not limit.has("cumulative") and (each.is_frozen or each.longest > notion("left-alone")):
            runs.append([])
    return [tuple(run) for run in runs if run]


def _in_range(each: Span, limit: Limit) -> bool:
    """Whether the food is in the growth range in the span. It is where the food is out of the fridge at no stated temperature."""
    if each.is_frozen:
        return False
    if each.around is None:
        return True
    return each.around.high > limit.value("from") + 1e-6 and each.around.low < limit.value("to")


def _out(each: Span, limit: Limit) -> float:
    """Time in s of the span in the growth range, without the time that the computed core spends above it."""
    is_hot_first = each.core is not None and each.core[1][0] >= limit.value("to")
    return each.time_below(limit.value("to")) if is_hot_first else each.longest


def _clock(time: Range) -> str:
    return format_time_range(time) if time.high else "none"


def _seconds(run: Iterable[Span]) -> Range:
    return total_time(each for each in run if each.duration is not None) or Range.exact(0.0)
