"""Heat: core temperature and hold, log reductions, come-up, chamber."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from itertools import takewhile

from handbook.base.formats import (
    format_number,
    format_temperature,
    format_temperature_range,
    format_time,
    format_time_range,
)
from handbook.base.ranges import Range
from handbook.base.units import kelvin
from handbook.catalogue.food_families import RED_MEAT, RISKY_RAW
from handbook.safety.case import CoreCurve, SafetyCase
from handbook.safety.conditions import Condition
from handbook.safety.food_state import (
    COOKED_THROUGH,
    drying_spans,
    is_cured,
    is_heated,
    is_smoked,
    warm_sausage_spans,
)
from handbook.safety.judging import (
    FAILS,
    KNOWN_TO_FAIL,
    MAY_FAIL,
    MET,
    NOT_KNOWN,
    UNKNOWN,
    Finding,
    Outcome,
    Rule,
    at_least,
    at_most,
    fitting,
    judge,
    without_limit,
)
from handbook.safety.limits import Limit
from handbook.safety.step_times import StepTime, heat_works, stated_core, total_time, works
from handbook.safety.timeline import Span, heat_spans, timeline

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
HOT_HOLD = Rule(id="hot-holding", topic="heat", title="Keeping hot", advice="Keep it hotter, or eat it sooner.")
RAW = Rule(
    id=CORE.id,
    topic="heat",
    title="Raw food that is eaten as it is",
    advice="Cook it through, or say `eaten: cooked by the eater`.",
)
LETHALITY = Rule(
    id="lethality",
    topic="heat",
    title="Log reductions over the computed core curve",
    advice="A hotter core or a longer hold brings more.",
    binds="own",
)
COME_UP = Rule(
    id="come-up-time",
    topic="heat",
    title="Time in which the core warms through the growth range",
    advice="Heat faster: a hotter chamber, thinner pieces, fewer at once.",
)
COLD_SMOKE = Rule(
    id="cold-smoke-chamber",
    topic="heat",
    title="Chamber while cold smoking",
    advice="Cool the smoke, or smoke on a colder day; a chamber in between neither cooks nor keeps.",
)
CHAMBER = Rule(
    id="smoker-chamber",
    topic="heat",
    title="Chamber while hot smoking",
    advice="A cooler smoke at first is common, but finish hotter, in the smoker or an oven.",
    on_fail="act",
)
RULES = (CORE, DENIED, LETHALITY, COME_UP, INTERRUPTED, REHEAT, HOT_HOLD, COLD_SMOKE, CHAMBER)
_SHORT_HOLD = 20.0  # s: a hold as short as the reading of a thermometer takes; the stated core stands for it
#: K: meat at this core needs no hold, 158 °F in the table for meat [fsis-cooking-guideline].
_NO_HOLD = kelvin(70)
_DENIED_BY = 1.0  # K below the stated core from which the computed core denies it
_WHOLE_DEGREE = 0.5  # K: how far a printed Fahrenheit figure and its whole degree Celsius may lie apart
_KEPT_HOT = 1800.0  # s out of the cold after reheating from which the food is kept hot and not just served
_ORGANISMS = (Condition.SALMONELLA, Condition.LISTERIA)


def core_temperature(case: SafetyCase) -> tuple[Finding, ...]:
    """Core and hold, as stated in the steps and as computed, against every cooking rule that fits.

    Food that the eater cooks is judged raw: its label says so. Cured raw fish, and meat that is soured or dried, have
    rules of their own.
    """
    if case.food.food_class not in RISKY_RAW or case.method.pieces.state == "cooked":
        return ()
    if case.is_for_the_eater_to_cook:
        message = "The label and the page say: cook before eating. No cooking rule of finished food is judged here."
        return (without_limit(CORE, "note", "cooked by the eater", message),)
    heated = heat_works(case)
    if heated:
        limits = _cooking_limits(case)
        found = judge(case, CORE, limits, lambda limit: _core_outcome(case, heated, limit))
        if found or limits:
            return found
        message = f"No rule found for cooking {case.food.food_class} in {case.house.audience} kitchens."
        return (without_limit(CORE, "act", "no rule found", message, certainty=NOT_KNOWN),)
    if case.food.food_class == "fish" or drying_spans(case) or warm_sausage_spans(case):
        return ()
    message = "This page never cooks it, and raw it is not eaten as it is. " + RAW.advice
    return stopped_raw(case, message)


def stopped_raw(case: SafetyCase, message: str) -> tuple[Finding, ...]:
    """The stop of raw food eaten as it is, with the documents that say what cooks it."""
    found = judge(case, CORE, fitting(case, CORE), lambda limit: (FAILS, "raw: never heated through on this page"))
    if any(each.level == "stop" for each in found):
        return found
    figure = "raw: never heated through on this page"
    return (*found, without_limit(RAW, "stop", figure, message, certainty=KNOWN_TO_FAIL))


def computed_core(case: SafetyCase) -> tuple[Finding, ...]:
    """A stated core that the computed one denies, in a step whose time the page states."""
    if case.is_measured or case.core is None or case.food.food_class not in RISKY_RAW:
        return ()
    found: list[Finding] = []
    for each in heat_spans(case):
        if each.step.core is None or each.step.until is not None or each.core is None:
            continue
        start, end = case.stage_times[each.number]
        inside = (case.core.time >= start - 1e-6) & (case.core.time <= end + 1e-6)
        highest = float(case.core.high[inside].max())
        if highest < each.step.core.low - _DENIED_BY:
            figure = (
                f"step {each.number} states {format_temperature(each.step.core.low)}; the computed core reaches "
                f"{format_temperature(highest)} at most"
            )
            message = f"In its time the food does not get there. {DENIED.advice}"
            mend = "replace `time` by `until: core`: the page then shows the time that it takes"
            found.append(
                without_limit(DENIED, "stop", figure, message, certainty=KNOWN_TO_FAIL, line=each.line, mend=mend)
            )
    return tuple(found)


def interrupted(case: SafetyCase) -> tuple[Finding, ...]:
    """Food that is heated, not cooked through, and left: the first heating may be short only.

    Meat cured with nitrite that the eater cooks is bacon, not half-cooked food.
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
    if any(each.step.until == "core" for each in run) or not _is_left(first[len(run) :]):
        return ()
    time = total_time(run)
    line = run[0].line

    def outcome(limit: Limit) -> Outcome:
        result = at_most(time, limit.value("time"))
        figure = f"first heating {format_time_range(time)}" if time else "first heating: no time is stated"
        mend = f"heat for at most {format_time(limit.value('time'))} first, or cook through in one go"
        return Outcome(limit=limit, result=result, figure=figure, line=line, mend="" if result == MET else mend)

    return judge(case, INTERRUPTED, fitting(case, INTERRUPTED), outcome)


def reheating(case: SafetyCase) -> tuple[Finding, ...]:
    """Cooked food that was cooled, is warmed again and then kept hot: the core that reheating must reach."""
    spans = timeline(case)
    found: list[Finding] = []
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
        if sum(one.longest for one in run if one.number > reached.number) < _KEPT_HOT:
            continue
        core = max((one.step.core.low for one in group if one.step.core is not None), default=None)
        found += judge(
            case,
            REHEAT,
            fitting(case, REHEAT),
            partial(_reheat_outcome, core, each.line),
        )
        break
    return tuple(found)


def lethality(case: SafetyCase) -> tuple[Finding, ...]:
    """Log reductions of the computed core curve against the targets."""
    if not is_heated(case) or case.is_for_the_eater_to_cook:
        return ()
    found: list[Finding] = []
    for organism, reduction in sorted(case.log_reductions.items()):
        sign = next((each for each in _ORGANISMS if each in organism.casefold()), None)
        if sign:
            found += judge(case, LETHALITY, fitting(case, LETHALITY, sign), partial(_lethality_result, reduction))
    return tuple(found)


def come_up_time(case: SafetyCase) -> tuple[Finding, ...]:
    """Warming time of the core: computed, else an upper bound from the clock of the heated steps."""
    heated = heat_works(case)
    if not heated:
        return ()
    return judge(case, COME_UP, fitting(case, COME_UP), lambda limit: _come_up(case, heated, limit))


def cold_smoke_chamber(case: SafetyCase) -> tuple[Finding, ...]:
    """Chamber and hours of smoke that does not cook."""
    smoked = [each for each in timeline(case) if _is_cold_smoke(each)]
    if not smoked or is_heated(case):
        return ()
    chamber = _hottest(smoked)
    time = total_time(smoked)
    figure = format_temperature_range(chamber) if chamber else "not known: no chamber temperature is stated"
    figure += f" for {format_time_range(time)}" if time else ""

    def outcome(limit: Limit) -> Outcome:
        results = [at_most(chamber, limit.value("chamber"))]
        if limit.has("time"):
            results.append(at_most(time, limit.value("time")))
        worst = next(each for each in (FAILS, UNKNOWN, MAY_FAIL, MET) if each in results)
        return Outcome(limit=limit, result=worst, figure=figure, line=smoked[0].line)

    return judge(case, COLD_SMOKE, fitting(case, COLD_SMOKE), outcome)


def smoker_chamber(case: SafetyCase) -> tuple[Finding, ...]:
    """The hottest chamber of a hot-smoked method, finishing in an oven counted; 107 °C is the 225 °F of the sheets."""
    heated = [each for each in heat_spans(case) if each.step.place in ("smoker", "oven")]
    if case.is_for_the_eater_to_cook or not is_smoked(case) or not heated:
        return ()
    chamber = _hottest(heated)
    figure = f"hottest chamber {format_temperature_range(chamber)}" if chamber else "not known: no chamber is stated"
    return judge(
        case,
        CHAMBER,
        fitting(case, CHAMBER),
        lambda limit: (at_least(chamber, limit.value("low") - _WHOLE_DEGREE), figure),
    )


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """All findings of this topic."""
    return (
        *core_temperature(case),
        *computed_core(case),
        *lethality(case),
        *come_up_time(case),
        *interrupted(case),
        *reheating(case),
        *cold_smoke_chamber(case),
        *smoker_chamber(case),
    )


def _core_outcome(case: SafetyCase, heated: tuple[StepTime, ...], limit: Limit) -> Outcome:
    stated = stated_core(case)
    result, figures, more = UNKNOWN, [], ""
    if stated:
        result = _stated_core_result(case, stated, limit)
        _, core, hold = max(stated, key=lambda each: (each[1], each[2]))
        figures.append(
            f"{format_temperature(core)}{f' held {format_time(hold)}' if hold else ', no hold'}, {case.by_page}"
        )
    if case.core is not None:
        computed, figure = _computed_core(case, case.core, limit)
        figures.append(figure)
        if result == UNKNOWN and (case.is_measured or computed == FAILS):
            result = computed
        elif result == UNKNOWN:
            more = "Computed only, and no model clears a cooking rule: state the core and the hold, and measure them."
        elif result == MET and computed == FAILS and not any(work.step.until == "core" for work in heated):
            result = MAY_FAIL
            more = "In the stated time the computed core does not get there: go by the thermometer, not by the clock."
    return Outcome(
        limit=limit,
        result=result,
        figure="; ".join(figures) or "not known: no core temperature is stated or computed",
        more=more,
        line=heated[-1].step.line,
        mend="" if result == MET else _mend(stated, limit),
    )


def _reheat_outcome(core: float | None, line: int, limit: Limit) -> Outcome:
    least = limit.value("temperature")
    return Outcome(
        limit=limit,
        result=at_least(None if core is None else Range.exact(core), least),
        figure=f"reheated to {format_temperature(core)}" if core else "reheated; no core is stated",
        line=line,
        mend=f"heat the core to {format_temperature(least)} before it is kept hot",
    )


def _lethality_result(reduction: Range, limit: Limit) -> tuple[str, str]:
    return at_least(reduction, limit.value("log10")), _log10(reduction)


def _mend(stated: Sequence[tuple[StepTime, float, float]], limit: Limit) -> str:
    """What would bring the stated core and hold to the limit: the hold that its own core still needs, or a hotter core."""
    core, hold = max(((core, hold) for _, core, hold in stated), default=(0.0, 0.0))
    row = max((row for row in limit.rows if row[0] <= core + 1e-6), default=None, key=lambda each: each[0])
    if row is not None and row[1] > hold:
        return f"hold {format_time(row[1] - hold)} longer at {format_temperature(core)}"
    first = limit.rows[-1] if len(limit.rows) > 1 else limit.rows[0]
    return f"bring the core to {format_temperature(first[0])}" + (
        f" and hold {format_time(first[1])}" if first[1] else ""
    )


def _cooking_limits(case: SafetyCase) -> tuple[Limit, ...]:
    """The cooking limits that fit. Where the food's own family has one (strips for drying), the others step back."""
    found = fitting(case, CORE)
    own = tuple(each for each in found if Condition.JERKY in each.when)
    return own or found


def _is_cold_smoke(each: Span) -> bool:
    return not each.is_heat and (each.step.place == "smoker" or each.step.stage == "smoke")


def _is_warm(each: Span) -> bool:
    """Whether the surroundings keep food warm, or may do so."""
    return each.is_heat or each.around is None or each.around.high > kelvin(25)


def _is_left(after: list[Span]) -> bool:
    """Whether the food leaves the fire for more than half an hour, or the page ends."""
    rest = list(takewhile(lambda each: not each.is_heat, after))
    return len(rest) == len(after) or sum(each.longest for each in rest) > 1800.0


def _stated_core_result(case: SafetyCase, stated: Sequence[tuple[StepTime, float, float]], limit: Limit) -> str:
    """Core and hold as stated. A hold that is only not stated, and shorter than a minute, is a doubt."""
    results = {FAILS}
    for work, core, hold in stated:
        for row in limit.rows:
            if core < row[0] - 1e-6:
                continue
            if (
                hold + _held_after(case, work, row[0], limit) >= row[1] - 1e-6
                or row[1] <= _SHORT_HOLD
                or (case.food.food_class in RED_MEAT and core >= _NO_HOLD)
                or (limit.has("counts_rest") and row[1] - hold <= _computed_rest(case, row[0]))
            ):
                results.add(MET)
    return MET if MET in results else FAILS


def _computed_rest(case: SafetyCase, core: float) -> float:
    """Time in s that the computed core, lifted to the stated one, stays at or above ``core`` after the heat; else 0."""
    if case.core is None or case.is_measured:
        return 0.0
    return case.core.hold(core).low


def _computed_core(case: SafetyCase, curve: CoreCurve, limit: Limit) -> tuple[str, str]:
    highest = curve.highest
    ends = []
    for name in ("low", "typical"):
        peak = getattr(highest, name)
        ends.append(
            any(peak >= core - 1e-6 and getattr(curve.hold(core), name) >= hold - 1e-6 for core, hold in limit.rows)
        )
    at = next((row for row in limit.rows if highest.typical >= row[0]), limit.rows[-1])
    held = curve.hold(at[0])
    figure = f"{case.by_model} core at most {format_temperature_range(highest)}"
    if highest.high >= at[0]:
        figure += f", at or above {format_temperature(at[0])} for {format_time_range(held)}"
    return (MET if ends[0] else MAY_FAIL if ends[1] else FAILS), figure


def _held_after(case: SafetyCase, work: StepTime, core: float, limit: Limit) -> float:
    """Time in s after a step that keeps the core up: heat above ``core`` that goes on, and rest where it counts."""
    held, after = 0.0, iter(works(case)[work.number :])
    for each in after:
        goes_on = each.is_heat and each.around is not None and each.around.low >= core
        rests = (
            limit.has("counts_rest") and not each.is_heat and each.around is not None and each.around.low > kelvin(15)
        )
        if each.duration is None or not (goes_on or rests):
            break
        held += each.duration.low
        if rests:
            break
    return held


def _come_up(case: SafetyCase, heated: tuple[StepTime, ...], limit: Limit) -> tuple[str, str]:
    low, high, allowed = (limit.value(name) for name in ("from", "to", "time"))
    if case.core is not None:
        time = case.core.time_in(low, high, before_peak=True)
        return at_most(time, allowed), f"{format_time_range(time)}, {case.by_model}"
    until = next((number for number, each in enumerate(heated, 1) if each.step.core is not None), None)
    clock = total_time(heated[:until]) if until else None
    if until is None or clock is None:
        return UNKNOWN, "not known: the core is not computed"
    hold = heated[until - 1].step.hold
    bound = max(clock.high - (hold.low if hold and heated[until - 1].step.until == "core" else 0.0), 0.0)
    if bound <= allowed:
        return MET, f"at most {format_time(bound)} by the clock"
    return UNKNOWN, f"up to {format_time(bound)} by the clock; the core is not computed"


def _hottest(found: Sequence[Span]) -> Range | None:
    known = [each.around for each in found if each.around is not None]
    if not known or len(known) < len(found):
        return None
    return max(known, key=lambda each: each.typical)


_MOST_LOG10 = 12


def _log10(value: Range) -> str:
    # Hundreds of tenfold reductions are arithmetic, not knowledge.
    if value.low > _MOST_LOG10:
        return f"more than {_MOST_LOG10} log10"
    if value.high > _MOST_LOG10:
        return f"{format_number(value.low, 1)} log10 or more"
    ends = [format_number(end, 1) for end in (value.low, value.typical, value.high)]
    return f"{ends[1]} log10 ({ends[0]}–{ends[2]})" if ends[0] != ends[2] else f"{ends[1]} log10"
