"""Heat: core temperature and hold, the computed core compared with the stated one, log reductions."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from msgspec.structs import replace

from handbook.base.formats import (
    format_least_temperature,
    format_number,
    format_stated_temperature,
    format_temperature,
    format_temperature_range,
    format_time,
    format_time_range,
)
from handbook.base.ranges import Range
from handbook.catalogue.food_families import RED_MEAT, RISKY_RAW, is_viscera
from handbook.safety.case import CoreCurve, SafetyCase
from handbook.safety.conditions import Condition
from handbook.safety.food_state import is_heated
from handbook.safety.judging import (
    AIMED_AT,
    COMPUTED,
    FAILS,
    KNOWN_TO_FAIL,
    MAY_FAIL,
    MEASURED,
    MET,
    NOT_KNOWN,
    UNKNOWN,
    Finding,
    Outcome,
    Rule,
    at_least,
    fitting,
    judge,
    without_limit,
)
from handbook.safety.limits import Limit, limits
from handbook.safety.notions import notion
from handbook.safety.ripening import drying_spans, warm_sausage_spans
from handbook.safety.timeline import Span, heat_spans, stated_core, timeline

CORE = Rule(
    id="core-temperature",
    topic="heat",
    title="Core temperature and hold",
    advice="Bring the thickest place there, hold it, and prove it with a calibrated thermometer.",
    on_unknown="stop",
)
DENIED = Rule(
    id="computed-core",
    topic="heat",
    title="Computed core against the stated one",
    advice="Heat longer or hotter, cut thinner, or let the time be computed with `until: core`.",
)
RAW = replace(
    CORE, title="Raw food that is eaten as it is", advice="Cook it through, or say `eaten: cooked by the eater`."
)
LETHALITY = Rule(
    id="lethality",
    topic="heat",
    title="Log reductions over the computed core curve",
    advice="A hotter core or a longer hold gives more. A rise of the core after the heat is not counted.",
    binds="own",
)
RULES = (CORE, DENIED, LETHALITY)
_ORGANISMS = (Condition.SALMONELLA, Condition.LISTERIA)


def core_temperature(case: SafetyCase) -> tuple[Finding, ...]:
    """Core and hold, as stated in the steps and as computed, compared with every cooking rule that fits.

    Food that the eater cooks is judged as raw, and its label says so. Cured raw fish, and meat that is soured or dried,
    have rules of their own.
    """
    if case.food.food_class not in RISKY_RAW or case.method.pieces.state == "cooked":
        return ()
    if case.is_for_the_eater_to_cook:
        message = "The label and the page say: cook before eating. No cooking rule of finished food is judged here."
        return (without_limit(CORE, "note", "cooked by the eater", message),)
    heated = heat_spans(case)
    if heated:
        limits = _cooking_limits(case)
        found = judge(case, CORE, lambda limit: _core_outcome(case, heated, limit), limits)
        if found or limits:
            return found
        message = f"No rule found for cooking {case.food.food_class} in {case.house.audience} kitchens."
        return (without_limit(CORE, "act", "no rule found", message, certainty=NOT_KNOWN),)
    if case.food.food_class == "fish" or drying_spans(case) or warm_sausage_spans(case):
        return ()
    message = "This page never cooks it, and raw it is not eaten as it is. " + RAW.advice
    return stopped_raw(case, message)


def stopped_raw(case: SafetyCase, message: str) -> tuple[Finding, ...]:
    """The stop of raw food eaten as it is, with the documents for cooking it."""
    figure = "raw: never heated through on this page"
    found = judge(case, CORE, lambda limit: Outcome(limit, FAILS, figure))
    if any(each.level == "stop" for each in found):
        return found
    return (*found, without_limit(RAW, "stop", figure, message, certainty=KNOWN_TO_FAIL))


def computed_core(case: SafetyCase) -> tuple[Finding, ...]:
    """A stated core that the computed one does not reach in the page's time, and a core that no model computes: a stop
    for food that must be cooked, a note for other food."""
    if case.unfollowed and not case.is_measured:
        return (_unfollowed(case),)
    if case.is_measured or case.core is None or case.food.food_class not in RISKY_RAW:
        return ()
    found: list[Finding] = []
    for each in heat_spans(case):
        if each.step.core is None or each.step.until is not None or each.core is None:
            continue
        start, end = case.stage_times[each.number]
        inside = (case.core.time >= start - 1e-6) & (case.core.time <= end + 1e-6)
        highest = float(case.core.high[inside].max())
        if highest < each.step.core.low - notion("denied-by"):
            figure = (
                f"step {each.number} states {format_temperature(each.step.core.low)}; the computed core reaches "
                f"{format_temperature(highest)} at most"
            )
            message = f"The food does not reach it in the stated time. {DENIED.advice}"
            mend = "replace `time` by `until: core`: the page then shows the time that it takes"
            found.append(
                without_limit(DENIED, "stop", figure, message, certainty=KNOWN_TO_FAIL, line=each.line, mend=mend)
            )
    return tuple(found)


def lethality(case: SafetyCase) -> tuple[Finding, ...]:
    """Log reductions of the computed core curve compared with the targets. There are none for liver and kidney."""
    if not is_heated(case) or case.is_for_the_eater_to_cook or is_viscera(case.food):
        return ()
    found: list[Finding] = []
    for organism, reduction in sorted(case.log_reductions.items()):
        sign = next((each for each in _ORGANISMS if each in organism.casefold()), None)
        if sign:
            outcome = partial(_lethality_outcome, case, reduction)
            found += judge(case, LETHALITY, outcome, fitting(case, LETHALITY, sign))
    return tuple(found)


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """All findings of this topic."""
    return (*core_temperature(case), *computed_core(case), *lethality(case))


def _unfollowed(case: SafetyCase) -> Finding:
    line = next((each.line for each in heat_spans(case)), 0)
    figure = f"not known: {case.unfollowed}"
    if case.food.food_class not in RISKY_RAW:
        message = "Core temperature, times and yield of the heated steps are not computed on this page."
        return without_limit(DENIED, "note", figure, message, certainty=NOT_KNOWN, line=line)
    message = "No computed core is available to compare with the stated one."
    mend = "a shorter or cooler step, or thicker pieces: the core can then be computed"
    return without_limit(DENIED, "stop", figure, message, certainty=NOT_KNOWN, line=line, mend=mend)


def _core_outcome(case: SafetyCase, heated: tuple[Span, ...], limit: Limit) -> Outcome:
    stated = stated_core(case)
    result, figures, more = UNKNOWN, [], ""
    if stated:
        # Name the step that meets the limit; where none does, the hottest step.
        meeting = [each for each in stated if _meets(case, *each, limit)]
        result = MET if meeting else FAILS
        _, core, hold = max(meeting or stated, key=lambda each: (each[1], each[2]))
        figures.append(
            f"{format_stated_temperature(core)}{f' held {format_time(hold)}' if hold else ', no hold'}, {case.by_page}"
        )
    if case.core is not None:
        computed, figure = _computed_core(case, case.core, limit)
        figures.append(figure)
        if result == UNKNOWN and (case.is_measured or computed == FAILS):
            result = computed
        elif result == UNKNOWN:
            more = "Computed only, and a model is no proof for a cooking rule: state the core and the hold, and measure them."
        elif result == MET and computed == FAILS and not any(each.step.waits_for == "core" for each in heated):
            result = MAY_FAIL
            more = "In the stated time the computed core does not reach it: go by the thermometer, not by the clock."
    return Outcome(
        limit,
        result,
        figure="; ".join(figures) or "not known: no core temperature is stated or computed",
        more=more,
        line=heated[-1].line,
        mend=_mend(stated, limit),
        basis=MEASURED if case.is_measured else AIMED_AT if stated else COMPUTED,
    )


def _lethality_outcome(case: SafetyCase, reduction: Range, limit: Limit) -> Outcome:
    return Outcome(limit, at_least(reduction, limit.value("log10")), _log10(reduction), basis=case.by_model)


def _mend(stated: Sequence[tuple[Span, float, float]], limit: Limit) -> str:
    """The change that meets the limit: the hold that the stated core still needs, or a hotter core."""
    core, hold = max(((core, hold) for _, core, hold in stated), default=(0.0, 0.0))
    row = max((row for row in limit.rows if row[0] <= core + 1e-6), default=None, key=lambda each: each[0])
    if row is not None and row[1] > hold:
        return f"hold {format_time(row[1] - hold)} longer at {format_temperature(core)}"
    first = limit.rows[-1] if len(limit.rows) > 1 else limit.rows[0]
    return f"bring the core to {format_least_temperature(first[0])}" + (
        f" and hold {format_time(first[1])}" if first[1] else ""
    )


def _cooking_limits(case: SafetyCase) -> tuple[Limit, ...]:
    """The cooking limits that fit. Where the food's own family has one (strips for drying, liver and kidney), the others
    step back: they are printed for meat."""
    found = fitting(case, CORE)
    families = {Condition.JERKY, *((Condition.ORGAN, Condition.VISCERA) if is_viscera(case.food) else ())}
    own = tuple(each for each in found if families & set(each.when))
    return own or found


def _meets(case: SafetyCase, span: Span, core: float, hold: float, limit: Limit) -> bool:
    """Whether a stated core and hold meet a row of the limit. A hold shorter than a minute need not be stated."""
    return any(
        core >= row[0] - 1e-6
        and (
            hold + _held_after(case, span, row[0], limit) >= row[1] - 1e-6
            or row[1] <= notion("short-hold")
            or (case.food.food_class in RED_MEAT and core >= _no_hold())
            or (limit.has("counts_rest") and row[1] - hold <= _computed_rest(case, row[0]))
        )
        for row in limit.rows
    )


def _no_hold() -> float:
    """The core in K at which the printed table for meat requires no hold."""
    return next(core for core, hold in limits()["commercial-cook-meat"].rows if not hold) - 1e-6


def _computed_rest(case: SafetyCase, core: float) -> float:
    """Time in s that the computed core, lifted to the stated one, stays at or above ``core`` after the heat; else 0."""
    if case.core is None or case.is_measured:
        return 0.0
    return case.core.hold(core).low


def _computed_core(case: SafetyCase, curve: CoreCurve, limit: Limit) -> tuple[str, str]:
    highest = curve.highest
    rows = [(core, hold, curve.hold(core)) for core, hold in limit.rows]
    surely = any(highest.low >= core - 1e-6 and held.low >= hold - 1e-6 for core, hold, held in rows)
    likely = any(highest.typical >= core - 1e-6 and held.typical >= hold - 1e-6 for core, hold, held in rows)
    at, _, held = next((row for row in rows if highest.typical >= row[0]), rows[-1])
    figure = f"{case.by_model} core at most {format_temperature_range(highest)}"
    if highest.high >= at:
        figure += f", at or above {format_temperature(at)} for {format_time_range(held)}"
    return (MET if surely else MAY_FAIL if likely else FAILS), figure


def _held_after(case: SafetyCase, span: Span, core: float, limit: Limit) -> float:
    """Time in s after a step in which the core stays up: continued heat above ``core``, and rest where it counts."""
    held = 0.0
    for each in timeline(case)[span.number :]:
        if each.duration is None or each.around is None:
            break
        goes_on = each.is_heat and each.around.low >= core
        rests = limit.has("counts_rest") and not each.is_heat and each.around.low > notion("rests")
        if goes_on or rests:
            held += each.duration.low
        if not goes_on:
            break
    return held


def _log10(value: Range) -> str:
    most = notion("most-log10")
    if value.low > most:
        return f"more than {format_number(most, 0)} log10"
    if value.high > most:
        return f"{format_number(value.low, 1)} log10 or more"
    low, typical, high = (format_number(end, 1) for end in value.ends)
    return f"{typical} log10 ({low}–{high})" if low != high else f"{typical} log10"
