"""Time by the clock in which food is out of the cold and not heated."""

from __future__ import annotations

from collections.abc import Iterable

from handbook.base.formats import format_temperature, format_time, format_time_range
from handbook.base.ranges import Range
from handbook.safety.case import SafetyCase
from handbook.safety.food_state import COOKED_THROUGH, is_cooked_plant
from handbook.safety.judging import (
    FAILS,
    MAY_FAIL,
    MET,
    STATED,
    UNKNOWN,
    Finding,
    Outcome,
    Rule,
    at_most,
    fitting,
    judge,
)
from handbook.safety.limits import Limit
from handbook.safety.notions import notion
from handbook.safety.ripening import is_fermented
from handbook.safety.rules.cold import judged_elsewhere
from handbook.safety.step_times import total_time
from handbook.safety.timeline import COOLS, MINUTE, Span, before_heat, timeline

GROWTH = Rule(
    id="growth-range-time",
    topic="cold",
    title="Time out of the cold",
    advice="Work in smaller turns and put back in the cold what is not in hand.",
    on_unknown="stop",
)
RULES = (GROWTH,)


def growth_range_time(case: SafetyCase) -> tuple[Finding, ...]:
    """Time by the clock in which the food is out of the cold and not heated: the longest run between heated steps."""
    if is_fermented(case) or not case.method.steps:
        return ()
    return judge(case, GROWTH, fitting(case, GROWTH), lambda limit: _growth(case, limit))


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """All findings of this topic."""
    return growth_range_time(case)


def cooling_numbers(case: SafetyCase) -> frozenset[int]:
    """Numbers of the spans in which food that is cooked through cools. The rules of cooling judge them."""
    spans = timeline(case)
    last = max((each.number for each in spans if each.is_heat), default=None)
    cooked = any(each.is_heat and each.step.core is not None and each.step.core.low >= COOKED_THROUGH for each in spans)
    if last is None or not cooked:
        return frozenset()
    found: list[int] = []
    for each in spans[last:]:
        if any(one.is_cold and one.number in found for one in spans) and not each.is_cold:
            break  # out of the cold again, it is no longer cooling
        if (
            each.step.medium in ("ice", "water")
            or each.medium == "water"
            or (each.around and each.around.high <= COOLS)
        ):
            found.append(each.number)
        else:
            break
    if not any(each.number in found and (each.is_cold or each.medium == "water") for each in spans):
        return frozenset()
    return frozenset(found)


def _growth(case: SafetyCase, limit: Limit) -> Outcome:
    runs = [run for segment in _segments(case) for run in _runs(case, segment, limit)]
    worst = max(runs, key=lambda run: sum(_out(each, limit) for each in run), default=())
    if not worst:
        return Outcome(limit=limit, result=MET, figure="none by the clock")
    line = max(worst, key=lambda each: _out(each, limit)).line
    if any(each.duration is None for each in worst):
        return Outcome(
            limit=limit, result=UNKNOWN, figure="not known: a step out of the cold states no time", line=line
        )
    time = _seconds(worst)
    out = sum(_out(each, limit) for each in worst)
    if out < time.high:
        time = Range(min(time.low, out), min(time.typical, out), out)
    allowed, figure = limit.value("time"), f"{_clock(time)} by the clock"
    if limit.has("hot_room") and any(each.around and each.around.high > limit.value("hot_room") for each in worst):
        allowed = limit.value("hot_time")
        figure += f", above {format_temperature(limit.value('hot_room'))}"
    results = [at_most(time, allowed)]
    if limit.has("warm"):
        warm = [each for each in worst if each.around is None or each.around.high > limit.value("warm")]
        results.append(at_most(_seconds(warm), limit.value("warm_time")))
        figure += f", of which {_clock(_seconds(warm))} above {format_temperature(limit.value('warm'))}"
    if any(each.around is None for each in worst):
        figure += ", a temperature not stated"
    result = next(each for each in (FAILS, MAY_FAIL, MET) if each in results)
    mend = "" if result == MET else f"take {format_time(max(time.high - allowed, MINUTE))} off the time out of the cold"
    origin = STATED if out >= sum(each.longest for each in worst) else case.by_model
    return Outcome(limit=limit, result=result, figure=figure, line=line, mend=mend, basis=origin)


def _segments(case: SafetyCase) -> list[list[Span]]:
    """Runs of spans between the heated ones, without the spans that the cooling rules judge."""
    runs: list[list[Span]] = [[]]
    raw = _raw_plant_numbers(case)
    exempt = {each.number for each in judged_elsewhere(case)}
    spans = timeline(case)
    cooling = cooling_numbers(case)
    for each in spans:
        if each.is_heat:
            runs.append([])
        elif each.number not in exempt and each.number not in cooling and each.number not in raw:
            runs[-1].append(each)
        else:
            runs.append([])
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
    return (
        each.time_below(limit.value("to"))
        if each.core is not None and each.core[1][0] >= limit.value("to")
        else each.longest
    )


def _clock(time: Range) -> str:
    return format_time_range(time) if time.high else "none"


def _seconds(run: Iterable[Span]) -> Range:
    return total_time(each for each in run if each.duration is not None) or Range.exact(0.0)
