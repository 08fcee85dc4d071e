"""Cold: brining, thawing, storage."""

from __future__ import annotations

from functools import partial
from math import inf

from msgspec.structs import replace

from handbook.base.formats import format_temperature_range, format_time_range
from handbook.base.ranges import Range
from handbook.catalogue.food_families import FISH
from handbook.safety.case import SafetyCase
from handbook.safety.food_state import PERISHABLE, is_cured, is_heated, is_only_frozen, is_perishable
from handbook.safety.judging import MET, NOT_KNOWN, Finding, Outcome, Rule, at_most, judge, judge_most, without_limit
from handbook.safety.limits import Limit, figure
from handbook.safety.notions import notion
from handbook.safety.ripening import drying_spans, is_fermented, salt_paste_spans, souring_spans, warm_sausage_spans
from handbook.safety.rules.dried import is_well_dried
from handbook.safety.rules.shelf import is_shelf_salt, keeps_without_fridge, shelf_figure
from handbook.safety.step_times import total_time
from handbook.safety.timeline import COOLS, DAY, Span, before_heat, thawing_spans, timeline

COLD_WORK = Rule(
    id="cold-work",
    topic="cold",
    title="Brining, curing and resting in the cold",
    advice="Salt does not replace the cold: brine, cure and rest in a fridge whose thermometer has been checked.",
    on_unknown="stop",
)
THAWING = Rule(
    id="thawing",
    topic="cold",
    title="Thawing",
    advice="Thaw in the fridge, the pack opened or pierced; never on the bench.",
    on_unknown="stop",
)
HOLDING = Rule(
    id="cold-holding",
    topic="cold",
    title="Storage of the finished food",
    advice="Keep it colder, with a thermometer that remembers its highest reading, or freeze it.",
    on_unknown="stop",
)
RULES = (COLD_WORK, THAWING, HOLDING)
HOLDING_OTHER = replace(HOLDING, on_unknown="act")


def cold_work(case: SafetyCase) -> tuple[Finding, ...]:
    """Temperature around raw food while it is unattended in brine, cure, water or on the rack."""
    waiting = [each for each in _waiting(case) if each.longest > notion("left-alone")]
    if not waiting or case.food.food_class not in PERISHABLE:
        return ()
    around: list[tuple[Range | None, int]] = [(each.around, each.line) for each in waiting]
    around += [(Range.of(each.temperature), each.line) for each in case.method.saltings if each.temperature]
    if is_fermented(case):
        return ()
    unknown = next((line for each, line in around if each is None), None)
    if unknown is not None:
        text = "not known: a step of hours states no temperature"
        return judge_most(case, COLD_WORK, "temperature", None, text, line=unknown)
    known = [(each, line) for each, line in around if each is not None]
    warmest, line = max(known, key=lambda each: (each[0].typical, each[0].high))
    text = f"at most {format_temperature_range(warmest, 1)}, {case.by_page}"
    return judge_most(case, COLD_WORK, "temperature", warmest, text, line=line)


def thawing(case: SafetyCase) -> tuple[Finding, ...]:
    """Temperature around the food while it thaws, whatever the step is called. Cold water has its own limit."""
    spans = thawing_spans(case)
    return tuple(found for each in spans for found in judge(case, THAWING, partial(_thaw_outcome, each)))


def cold_holding(case: SafetyCase) -> tuple[Finding, ...]:
    """Temperature at which the finished food is kept."""
    keeping = case.method.keeping
    if keeping is None:
        text, message = "this page does not say how it is kept", "Eat it at once, or keep it cold for a short time."
        return (without_limit(HOLDING, "note", text, message),)
    if is_only_frozen(case):
        return ()
    kept = Range.of(keeping.temperature) if keeping.temperature else None
    text = format_temperature_range(kept, 1) if kept else "not known: no temperature is stated"
    if kept is not None and keeps_without_fridge(case):
        text += f"; {shelf_figure(case)}"
        return judge(case, HOLDING, lambda limit: Outcome(limit, MET, text))
    rule = HOLDING if is_perishable(case) else HOLDING_OTHER
    return judge_most(case, rule, "temperature", kept, text, line=keeping.line)


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """All findings of this topic."""
    return (*cold_work(case), *thawing(case), *cold_holding(case), *smoke_by_practice(case))


def judged_elsewhere(case: SafetyCase) -> tuple[Span, ...]:
    """Spans with rules of their own: souring vegetables, bean pastes, salt fish, cold smoke, and raw meat that is
    dried or soured as it should be."""
    found = [*souring_spans(case), *salt_paste_spans(case)]
    if is_well_dried(case):
        found += [*drying_spans(case), *warm_sausage_spans(case)]
    if is_shelf_salt(case):
        found += [each for each in timeline(case) if each.longest >= DAY and not each.is_heat]
    return (*found, *_cold_smoke(case))


def smoke_by_practice(case: SafetyCase) -> tuple[Finding, ...]:
    """Cold smoke of cheese and of cured meat: no document was found, and trade practice is not a limit."""
    if case.food.food_class in FISH:
        return ()
    found = _cold_smoke(case)
    if not found:
        return ()
    warmest = max((each.around for each in found if each.around is not None), key=lambda each: each.high)
    time = total_time(found)
    text = f"cold smoke at {format_temperature_range(warmest)} for {format_time_range(time) if time else 'a time not stated'}"
    message = (
        f"No rule found for cold smoke of {case.food.food_class}: as common practice has it, no source. It is not "
        "judged; a process authority validates it."
    )
    return (without_limit(COLD_WORK, "act", text, message, certainty=NOT_KNOWN, line=found[0].line),)


def _waiting(case: SafetyCase) -> list[Span]:
    """The spans before the food is done in which it is unattended: not heated, frozen, thawed, smoked, dried or soured."""
    exempt = {each.number for each in (*judged_elsewhere(case), *thawing_spans(case))}
    return [
        each
        for each in before_heat(case)
        if each.is_alone and not each.is_frozen and each.number not in exempt and each.step.place != "smoker"
    ]


def _cold_smoke(case: SafetyCase) -> list[Span]:
    """Smoke that does not cook: fish, judged by its chamber and hours; cheese for some hours; cured meat in a cool
    chamber, as the trade does it."""
    if is_heated(case):
        return []
    smoke = [each for each in timeline(case) if each.step.place == "smoker" and not each.is_heat]
    if case.food.food_class in FISH:
        salt = case.water_phase_salt
        if salt is None or salt.typical < figure("pack-salt-air-maine", "water_phase_salt"):
            return []
        most, longest = figure("cold-smoke-chamber-fda", "chamber"), inf
    elif case.food.food_class == "cheese":
        most, longest = COOLS, notion("cheese-smoke-time")
    elif is_cured(case):
        most, longest = notion("cured-smoke"), notion("cured-smoke-time")
    else:
        return []
    return [each for each in smoke if each.around is not None and each.around.high <= most and each.longest <= longest]


def _thaw_outcome(span: Span, limit: Limit) -> Outcome:
    text = format_temperature_range(span.around, 1) if span.around else "not known: no temperature is stated"
    most = limit.value("water" if span.medium == "water" else "temperature")
    return Outcome(limit, at_most(span.around, most), figure=text, line=span.line)
