"""The chamber while food is smoked, cold and hot."""

from __future__ import annotations

from collections.abc import Sequence

from handbook.base.formats import format_temperature_range, format_time_range
from handbook.base.ranges import Range
from handbook.safety.case import SafetyCase
from handbook.safety.food_state import is_heated, is_smoked
from handbook.safety.judging import BESIDE, MET, Finding, Outcome, Rule, at_least, at_most, judge, worst
from handbook.safety.limits import Limit
from handbook.safety.notions import notion
from handbook.safety.step_times import total_time
from handbook.safety.timeline import Span, heat_spans, timeline

COLD_SMOKE = Rule(
    id="cold-smoke-chamber",
    topic="heat",
    title="Chamber while cold smoking",
    advice="Cool the smoke, or smoke on a colder day; a chamber in between is too cool to cook and too warm to keep.",
    on_unknown="stop",
)
CHAMBER = Rule(
    id="smoker-chamber",
    topic="heat",
    title="Chamber while hot smoking",
    advice="A cooler smoke at first is common, but finish hotter, in the smoker or an oven.",
    binds="own",
)
RULES = (COLD_SMOKE, CHAMBER)


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
        return Outcome(limit, worst(results), figure=figure, line=smoked[0].line)

    return judge(case, COLD_SMOKE, outcome)


def smoker_chamber(case: SafetyCase) -> tuple[Finding, ...]:
    """The hottest chamber of a hot-smoked method, including a finish in an oven. A whole degree Celsius counts as the
    printed degree Fahrenheit. The purpose of a hot chamber is a hot core in time: where the core is computed, the core
    decides."""
    heated = [each for each in heat_spans(case) if each.step.place in ("smoker", "oven")]
    if case.is_for_the_eater_to_cook or not is_smoked(case) or not heated:
        return ()
    chamber = _hottest(heated)
    figure = f"hottest chamber {format_temperature_range(chamber)}" if chamber else "not known: no chamber is stated"

    def outcome(limit: Limit) -> Outcome:
        result = at_least(chamber, limit.value("low") - notion("whole-degree"))
        if result == MET or case.core is None:
            return Outcome(limit, result, figure=figure, line=heated[0].line)
        more = f"{CHAMBER.advice} The core is computed on this page; its heat and its rise are judged separately."
        return Outcome(limit, BESIDE, figure=figure, more=more)

    return judge(case, CHAMBER, outcome)


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """All findings of this topic."""
    return (*cold_smoke_chamber(case), *smoker_chamber(case))


def _is_cold_smoke(each: Span) -> bool:
    return not each.is_heat and each.step.place == "smoker"


def _hottest(found: Sequence[Span]) -> Range | None:
    known = [each.around for each in found if each.around is not None]
    if not known or len(known) < len(found):
        return None
    return max(known, key=lambda each: each.typical)
