"""Cooling of cooked food in stages: from the computed curve of this piece, else from the stated steps."""

from __future__ import annotations

from functools import partial

from msgspec.structs import replace

from handbook.base.formats import format_temperature, format_time, format_time_range
from handbook.base.ranges import Range
from handbook.safety.case import SafetyCase
from handbook.safety.food_state import NO_AIR_PACKS, is_perishable
from handbook.safety.judging import (
    AIMED_AT,
    COMPUTED,
    FAILS,
    MEASURED,
    UNKNOWN,
    Finding,
    Outcome,
    Rule,
    at_most,
    judge,
    worst,
)
from handbook.safety.limits import Limit
from handbook.safety.ripening import is_dried_after_heat, is_fermented
from handbook.safety.timeline import COOLS, Span, after_heat, heat_spans

COOLING = Rule(
    id="cooling-stages",
    topic="cooling",
    title="Cooling after cooking",
    advice="Cool in thinner or smaller pieces, in moving air or in ice and water, and measure the core.",
    on_unknown="stop",
    on_doubt="stop",
)
RULES = (COOLING,)


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """Every stage of every cooling rule that fits, for food that is cooked and kept.

    Food that is kept or packed without a cooling step is a stop: a missing step does not count as cooling.
    """
    if not heat_spans(case) or is_fermented(case) or is_dried_after_heat(case):
        return ()
    after = after_heat(case)
    if not is_perishable(case) and case.pack not in NO_AIR_PACKS:
        return ()
    is_kept = case.method.keeping is not None or case.pack in NO_AIR_PACKS
    cooled = [each for each in after if each.around is not None and each.around.high <= COOLS and each.is_alone]
    if not is_kept and not any(each.is_cold and each.is_alone for each in cooled):
        return ()
    line = after[0].line if after else case.method.steps[-1].line
    if not cooled:
        return judge(case, COOLING, partial(_nothing_cools, line))
    return judge(case, COOLING, lambda limit: replace(_outcome(case, after, limit), line=line))


def _nothing_cools(line: int, limit: Limit) -> Outcome:
    mend = (
        f"{_asked_steps(limit)}, or leave the keeping out where all of it is eaten hot; "
        "where it dries for keeping, state the `loss` of weight of the step"
    )
    return Outcome(limit, FAILS, "nothing on this page cools it, and it is kept", line=line, mend=mend)


def _outcome(case: SafetyCase, after: tuple[Span, ...], limit: Limit) -> Outcome:
    results, figures, bases = [], [], {case.by_model}
    for warm, cold, allowed in limit.rows:
        time, basis = case.core.fall(warm, cold) if case.core else None, case.by_model
        if time is None:
            time, basis = _stated(after, warm, cold), case.by_page
            bases.add(MEASURED if case.is_measured else AIMED_AT)
        span = f"{format_temperature(warm)} to {format_temperature(cold)}"
        if time is None:
            results.append(UNKNOWN)
            figures.append(f"{span}: not known, no core is stated or computed")
        else:
            results.append(at_most(time, allowed))
            figures.append(f"{span}: {format_time_range(time)} {basis} (allowed {format_time(allowed)})")
    result = worst(results)
    mend = "cool it in ice and water (`air: water`), or in smaller pieces"
    if result == UNKNOWN:
        mend = _asked_steps(limit)
    origin = next(each for each in (COMPUTED, AIMED_AT, MEASURED) if each in bases)
    return Outcome(limit, result, "; ".join(figures), mend=mend, basis=origin)


def _asked_steps(limit: Limit) -> str:
    """The cooling steps that the limit requires of a page, in the page's own keys."""
    steps = [
        f"`core: {format_temperature(cold)}` at most {format_time(allowed)} after {format_temperature(warm)}"
        for warm, cold, allowed in limit.rows
    ]
    return f"add a step of the stage cool for each core and its time: {', then '.join(steps)}"


def _stated(after: tuple[Span, ...], warm: float, cold: float) -> Range | None:
    """Between the last stated core at or above ``warm`` (else the end of the heat) and the first at or below ``cold``.

    The core may cool faster than the page's times allow. Only a curve or a thermometer shows it.
    """
    clock, start = Range.exact(0.0), Range.exact(0.0)
    for each in after:
        if each.is_heat or each.is_frozen or each.duration is None:
            return None
        clock = clock.plus(each.duration)
        core = each.step.core.low if each.step.core else None
        if core is not None and core >= warm:
            start = clock
        if core is not None and core <= cold + 1e-6:
            lasts = (clock.low - start.low, clock.typical - start.typical, clock.high - start.high)
            return Range(*(max(each, 0.0) for each in lasts))
    return None
