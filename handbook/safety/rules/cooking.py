"""Heat: core temperature and hold, log reductions, come-up, chamber."""

from __future__ import annotations

from handbook.base.formats import (
    format_number,
    format_temperature,
    format_temperature_range,
    format_time,
    format_time_range,
)
from handbook.base.ranges import Range
from handbook.catalogue.food_families import RISKY_RAW
from handbook.safety.case import SafetyCase
from handbook.safety.conditions import Condition
from handbook.safety.food_state import is_ready_to_eat
from handbook.safety.judging import (
    FAILS,
    MAY_FAIL,
    MET,
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

CORE = Rule(
    id="core-temperature",
    topic="heat",
    title="Core temperature and hold",
    advice="Bring the thickest place there, hold it, and prove it with a calibrated thermometer.",
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
    on_fail="act",
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
RULES = (CORE, LETHALITY, COME_UP, COLD_SMOKE, CHAMBER)
_SHORT_HOLD = 60.0  # s
_ORGANISMS = (Condition.SALMONELLA, Condition.LISTERIA)


def core_temperature(case: SafetyCase) -> tuple[Finding, ...]:
    """Core and hold, as stated in the steps and as computed, against every cooking rule that fits."""
    if case.food.food_class not in RISKY_RAW:
        return ()
    heated = heat_works(case)
    if heated:
        return judge(case, CORE, fitting(case, CORE), lambda limit: _core_outcome(case, heated, limit))
    if case.food.food_class == "poultry":
        return judge(case, CORE, fitting(case, CORE), lambda limit: (FAILS, "never heated through on this page"))
    if is_ready_to_eat(case):
        return ()
    message = "This page never cooks it. Cook it before eating, or have the process checked by someone licensed for it."
    return (without_limit(CORE, "act", "never heated through on this page", message),)


def lethality(case: SafetyCase) -> tuple[Finding, ...]:
    """Log reductions of the computed core curve against the targets."""
    found: list[Finding] = []
    for organism, reduction in sorted(case.log_reductions.items()):
        sign = next((each for each in _ORGANISMS if each in organism.casefold()), None)
        if sign:
            figure = _log10(reduction)
            found += judge(
                case,
                LETHALITY,
                fitting(case, LETHALITY, sign),
                lambda limit, reduction=reduction, figure=figure: (
                    at_least(reduction, limit.value("log10")),
                    figure,
                ),
            )
    return tuple(found)


def come_up_time(case: SafetyCase) -> tuple[Finding, ...]:
    """Warming time of the core: computed, else an upper bound from the clock of the heated steps."""
    heated = heat_works(case)
    if not heated:
        return ()
    return judge(case, COME_UP, fitting(case, COME_UP), lambda limit: _come_up(case, heated, limit))


def cold_smoke_chamber(case: SafetyCase) -> tuple[Finding, ...]:
    """The chamber of a cold-smoked method."""
    if case.kind != "cold smoke":
        return ()
    smoked = [each for each in works(case) if each.step.stage == "smoke"]
    chamber = _hottest(smoked)
    figure = format_temperature_range(chamber) if chamber else "not known: no chamber temperature is stated"
    return judge(
        case,
        COLD_SMOKE,
        fitting(case, COLD_SMOKE),
        lambda limit: (at_most(chamber, limit.value("chamber")), figure),
    )


def smoker_chamber(case: SafetyCase) -> tuple[Finding, ...]:
    """The hottest chamber of a hot-smoked method, finishing in an oven counted."""
    heated = [each for each in heat_works(case) if each.step.place in ("smoker", "oven")]
    if case.kind == "cold smoke" or not any(each.step.stage == "smoke" for each in heated):
        return ()
    chamber = _hottest(heated)
    figure = f"hottest chamber {format_temperature_range(chamber)}" if chamber else "not known: no chamber is stated"
    return judge(case, CHAMBER, fitting(case, CHAMBER), lambda limit: (at_least(chamber, limit.value("low")), figure))


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """All findings of this topic."""
    return (
        *core_temperature(case),
        *lethality(case),
        *come_up_time(case),
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
        computed, figure = _computed_core(case, limit)
        figures.append(figure)
        if result in (UNKNOWN, MAY_FAIL):
            result = computed
        elif result == MET and computed == FAILS and not any(work.step.until == "core" for work in heated):
            result = MAY_FAIL
            more = "In the stated time the computed core does not get there: go by the thermometer, not by the clock."
    return Outcome(
        limit=limit,
        result=result,
        figure="; ".join(figures) or "not known: no core temperature is stated or computed",
        more=more,
    )


def _stated_core_result(case: SafetyCase, stated, limit: Limit) -> str:
    """Core and hold as stated. A hold that is only not stated, and shorter than a minute, is a doubt."""
    results = {FAILS}
    for work, core, hold in stated:
        for row in limit.rows:
            if core < row[0] - 1e-6:
                continue
            if hold + _held_after(case, work, row[0], limit) >= row[1] - 1e-6:
                results.add(MET)
            elif work.step.hold is None and row[1] <= _SHORT_HOLD:
                results.add(MAY_FAIL)
    return next(each for each in (MET, MAY_FAIL, FAILS) if each in results)


def _computed_core(case: SafetyCase, limit: Limit) -> tuple[str, str]:
    highest = case.core.highest
    ends = []
    for name in ("low", "typical"):
        peak = getattr(highest, name)
        ends.append(
            any(peak >= core - 1e-6 and getattr(case.core.hold(core), name) >= hold - 1e-6 for core, hold in limit.rows)
        )
    at = next((row for row in limit.rows if highest.typical >= row[0]), limit.rows[-1])
    held = case.core.hold(at[0])
    figure = f"{case.by_model} core at most {format_temperature_range(highest)}"
    if highest.high >= at[0]:
        figure += f", at or above {format_temperature(at[0])} for {format_time_range(held)}"
    return (MET if ends[0] else MAY_FAIL if ends[1] else FAILS), figure


def _held_after(case: SafetyCase, work: StepTime, core: float, limit: Limit) -> float:
    """Time in s after a step that keeps the core up: heat above ``core`` that goes on, and rest where it counts."""
    held, after = 0.0, iter(works(case)[work.number :])
    for each in after:
        goes_on = each.is_heat and each.around is not None and each.around.low >= core
        rests = limit.has("counts_rest") and each.step.stage in ("rest", "serve")
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
    if clock is None:
        return UNKNOWN, "not known: the core is not computed"
    hold = heated[until - 1].step.hold
    bound = max(clock.high - (hold.low if hold and heated[until - 1].step.until == "core" else 0.0), 0.0)
    if bound <= allowed:
        return MET, f"at most {format_time(bound)} by the clock"
    return UNKNOWN, f"up to {format_time(bound)} by the clock; the core is not computed"


def _hottest(found) -> Range | None:
    known = [each.around for each in found if each.around is not None]
    if not known or len(known) < len([each for each in found if each.step.stage == "smoke"]):
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
