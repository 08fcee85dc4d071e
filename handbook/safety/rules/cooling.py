"""Cooling of cooked food in stages: computed for this piece where a curve is given, else from the stated steps."""

from __future__ import annotations

from handbook.base.formats import format_temperature, format_time, format_time_range
from handbook.base.ranges import Range
from handbook.safety.case import SafetyCase
from handbook.safety.food_state import is_fermented
from handbook.safety.judging import FAILS, MAY_FAIL, MET, UNKNOWN, Finding, Outcome, Rule, at_most, fitting, judge
from handbook.safety.limits import Limit
from handbook.safety.step_times import heat_works, works

COOLING = Rule(
    id="cooling-stages",
    topic="cooling",
    title="Cooling after cooking",
    advice="Cool in thinner or smaller pieces, in moving air or in ice and water, and measure the core.",
)
RULES = (COOLING,)
_COOLS = ("cool", "rest", "glaze", "pack", "serve", "prepare")


def cooling_stages(case: SafetyCase) -> tuple[Finding, ...]:
    """Every stage of every cooling rule that fits, for food that is cooked and then kept."""
    heated = heat_works(case)
    if not heated or is_fermented(case):
        return ()
    after = works(case)[heated[-1].number :]
    if not any(each.step.stage == "cool" for each in after):
        if case.method.keeping is None:
            return ()
        return judge(
            case,
            _LEFT_OVER,
            fitting(case, COOLING),
            lambda limit: (UNKNOWN, "served hot; this page states no cooling of what is left"),
        )
    return judge(case, COOLING, fitting(case, COOLING), lambda limit: _outcome(case, after, limit))


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """All findings of this topic."""
    return cooling_stages(case)


_LEFT_OVER = Rule(id=COOLING.id, topic=COOLING.topic, title=COOLING.title, advice=COOLING.advice, on_fail="note")


def _outcome(case: SafetyCase, after, limit: Limit) -> Outcome:
    results, figures = [], []
    for warm, cold, allowed in limit.rows:
        time = _computed(case, warm, cold)
        basis = case.by_model
        if time is None:
            time, basis = _stated(after, warm, cold), case.by_page
        span = f"{format_temperature(warm)} to {format_temperature(cold)}"
        if time is None:
            results.append(UNKNOWN)
            figures.append(f"{span}: not known, no core is stated or computed")
        else:
            results.append(at_most(time, allowed))
            figures.append(f"{span}: {format_time_range(time)} {basis} (allowed {format_time(allowed)})")
    result = next(each for each in (FAILS, UNKNOWN, MAY_FAIL, MET) if each in results)
    return Outcome(limit=limit, result=result, figure="; ".join(figures))


def _computed(case: SafetyCase, warm: float, cold: float) -> Range | None:
    """From the curve; None where no curve is given or it ends before the cold point."""
    return None if case.core is None else case.core.fall(warm, cold)


def _stated(after, warm: float, cold: float) -> Range | None:
    """Between the last stated core at or above ``warm`` (else the end of the heat) and the first at or below ``cold``.

    The core may cool faster than the page gives it time for; only a curve or a thermometer tells.
    """
    clock, start = Range.exact(0.0), Range.exact(0.0)
    for each in after:
        if each.step.stage not in _COOLS or each.duration is None:
            return None
        clock = clock.plus(each.duration)
        core = each.step.core.low if each.step.core else None
        if core is not None and core >= warm:
            start = clock
        if core is not None and core <= cold + 1e-6:
            return Range(
                *(
                    max(end - begin, 0.0)
                    for end, begin in (
                        (clock.low, start.low),
                        (clock.typical, start.typical),
                        (clock.high, start.high),
                    )
                )
            )
    return None
