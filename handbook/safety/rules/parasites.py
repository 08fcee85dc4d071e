"""Parasites in fish and pork that are not cooked through, and histamine."""

from __future__ import annotations

from msgspec.structs import replace

from handbook.base.formats import (
    format_number,
    format_temperature,
    format_temperature_range,
    format_time,
    format_time_range,
)
from handbook.base.ranges import Range
from handbook.catalogue.food_families import is_roe, is_tuna
from handbook.safety.case import SafetyCase
from handbook.safety.conditions import Condition
from handbook.safety.food_state import forms_histamine, freezing_exemption, is_cooked_through, is_smoked, says_farmed
from handbook.safety.judging import (
    BESIDE,
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
    closest,
    conclude,
    fitting,
    judge,
    shown,
    without_limit,
)
from handbook.safety.limits import Limit, limits
from handbook.safety.limits import figure as limit_figure
from handbook.safety.ripening import drying_spans
from handbook.safety.timeline import Span, before_heat, frozen_spans, timeline, with_heat_and_time

FREEZING = Rule(
    id="parasite-freezing",
    topic="parasites",
    title="Freezing of what is not cooked through",
    advice="Salt, acid and cold smoke do not kill parasites: freeze it long and cold enough first, or cook it through.",
    on_unknown="stop",
)
HISTAMINE = Rule(
    id="histamine",
    topic="parasites",
    title="Fish that form histamine",
    advice="Histamine has no smell and no heat destroys it: ice at once, work fast, know the history of the fish.",
    on_unknown="stop",
)
GUTTING = Rule(
    id="gutting",
    topic="parasites",
    title="Gutting before salt and smoke",
    advice="The guts hold spores of botulism and bacteria that salt reaches last.",
)
RULES = (FREEZING, HISTAMINE, GUTTING)
#: The old curing method for pork: salt, days of drying at a minimum temperature, and days in total.
_CURING = "trichinae-sausage"


def parasite_freezing(case: SafetyCase) -> tuple[Finding, ...]:
    """One of the freezing rules for fish that is not cooked through; the trichinae rules for raw pork and game.

    Food that the eater cooks is exempt.
    """
    if case.food.food_class not in ("fish", "pork", "game") or case.is_for_the_eater_to_cook:
        return ()
    if is_cooked_through(case) or case.method.pieces.state == "cooked":
        return ()
    if case.food.food_class != "fish":
        return _trichinae(case)
    frozen = list(frozen_spans(case))
    exempt = freezing_exemption(case)
    asked = [each for each in fitting(case, FREEZING) if Condition.EXEMPT not in each.when]
    outcomes = [_freeze_outcome(limit, frozen, is_cooked_through(case)) for limit in asked]
    if exempt and not any(each.result == MET for each in outcomes):
        outcomes = [_beside(each, "not asked for where the exemption holds") for each in outcomes]
        return (*conclude(case, FREEZING, outcomes), *_exempt(case, exempt))
    # One way is enough: the closest one decides, and the others are shown without a verdict.
    best = closest(outcomes)
    if best is None:
        return ()
    told = best
    if says_farmed(case) and not exempt:
        figure = f"{best.figure}; {case.food.name} is caught and never farmed, whatever the page says"
        told = replace(best, figure=figure)
    outcomes = [told if each is best else _beside(each, "another way; one is enough") for each in outcomes]
    return conclude(case, FREEZING, outcomes)


def histamine(case: SafetyCase) -> tuple[Finding, ...]:
    """Share of the chilled life that the method uses before the heat."""
    if not forms_histamine(case.food):
        return ()
    raw = [each for each in before_heat(case) if not each.is_frozen]
    return judge(case, HISTAMINE, lambda limit: _histamine(raw, limit))


def gutting(case: SafetyCase) -> tuple[Finding, ...]:
    """Whole fish that is salted, smoked or kept must be gutted first."""
    pieces = case.method.pieces
    works_on = case.method.saltings or is_smoked(case) or case.method.keeping is not None
    is_whole_fish = case.food.food_class == "fish" and pieces.form == "whole" and not is_roe(case.food)
    if not is_whole_fish or not works_on or pieces.gutted:
        return ()
    if pieces.gutted is None:
        figure, message, certainty = "whole fish: not known whether the guts are out", "State `gutted: yes`.", NOT_KNOWN
    else:
        figure, message, certainty = "whole fish with its guts (viscera)", "Gut it first.", KNOWN_TO_FAIL
    message = f"{message} {GUTTING.advice} Maine 01-001 ch. 359, 2.B; CODEX STAN 244-2004."
    mend = "gut the fish first"
    return (without_limit(GUTTING, "stop", figure, message, certainty=certainty, line=pieces.line, mend=mend),)


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """All findings of this topic."""
    return (*parasite_freezing(case), *histamine(case), *gutting(case))


def _freeze_outcome(limit: Limit, frozen: list[Span], cooked: bool | None) -> Outcome:
    mend = f"freeze it {format_time(limit.value('time'))} at {format_temperature(limit.value('temperature'))} first"
    if cooked is None:
        figure = "heated, but no core is stated or computed"
        return Outcome(limit, UNKNOWN, figure, mend=f"state the core that it reaches, or {mend}")
    if not frozen:
        return Outcome(limit, FAILS, "not frozen, and not cooked through", mend=mend)
    known = with_heat_and_time(frozen)
    if len(known) < len(frozen):
        figure = "frozen, but a freezing step states no temperature or no time"
        return Outcome(limit, UNKNOWN, figure, mend=f"state both, or {mend}")
    cold = [time for _, around, time in known if around.high <= limit.value("temperature") + 1e-6]
    figure = _freezing_figure(known)
    if not cold or (limit.has("first") and not _starts_colder(known, limit)):
        return Outcome(limit, FAILS, figure, mend=mend)
    time = Range(*(sum(getattr(each, end) for each in cold) for end in ("low", "typical", "high")))
    result = at_least(time, limit.value("time"))
    more = max(limit.value("time") - time.low, 0.0)
    mend = f"freeze it {format_time(more)} longer" if result != MET and more else ""
    return Outcome(limit, result, figure, line=known[0][0].line, mend=mend)


def _freezing_figure(known: list[tuple[Span, Range, Range]]) -> str:
    return "; ".join(f"{format_temperature_range(around)} for {format_time_range(time)}" for _, around, time in known)


def _starts_colder(known: list[tuple[Span, Range, Range]], limit: Limit) -> bool:
    """Whether the fish is first frozen solid at the colder temperature, in a step of its own."""
    return len(known) > 1 and known[0][1].high <= limit.value("first") + 1e-6


def _beside(outcome: Outcome, text: str) -> Outcome:
    return Outcome(outcome.limit, BESIDE, text)


def _exempt(case: SafetyCase, exempt: str) -> tuple[Finding, ...]:
    found = next(each for each in fitting(case, FREEZING) if Condition.EXEMPT in each.when)
    message = "Raw fish without freezing: only with a written statement of how it was raised or of what it is."
    level = "act" if says_farmed(case) and not is_tuna(case.food) else "note"
    return (shown(FREEZING, found, level, exempt, message),)


def _trichinae(case: SafetyCase) -> tuple[Finding, ...]:
    """Raw pork and game: frozen long and cold enough, or salted and dried as the old method requires."""
    frozen = with_heat_and_time(frozen_spans(case))
    if case.food.food_class == "pork" and _is_cured_and_dried(case):
        message = "Salted and dried as the curing way asks: another way than freezing."
        return (shown(FREEZING, limits()[_CURING], "note", "salted and dried against trichinae", message),)

    def result(limit: Limit) -> Outcome:
        line = case.method.steps[0].line
        cold, time = limit.rows[0]
        mend = f"freeze it {format_time(time)} at {format_temperature(cold)} first"
        if not frozen:
            figure = "not frozen, not cooked through, and not salted and dried long enough"
            return Outcome(limit, FAILS, figure, line=line, mend=mend)
        figure = _freezing_figure(frozen)
        for cold, time in reversed(limit.rows):  # the coldest first
            spent = [lasted for _, around, lasted in frozen if around.high <= cold + 1e-6]
            if spent and sum(each.low for each in spent) >= time:
                held = MAY_FAIL if case.food.food_class == "game" else MET
                return Outcome(limit, held, figure)
        return Outcome(limit, FAILS, figure, line=line, mend=mend)

    return judge(case, FREEZING, result)


def _is_cured_and_dried(case: SafetyCase) -> bool:
    salt = sum(
        made.total("salt") / case.method.batches.written_for.low
        for each in case.method.saltings
        if each.is_dry and (made := case.makes.get(each.name)) is not None
    )
    spans = [each for each in timeline(case) if not each.is_frozen and not each.is_heat]
    dried = sum(
        each.longest
        for each in drying_spans(case)
        if each.around and each.around.low >= limit_figure(_CURING, "temperature")
    )
    whole = sum(each.longest for each in spans if each.duration is not None)
    return (
        salt >= limit_figure(_CURING, "salt") - 1e-6
        and dried >= limit_figure(_CURING, "time")
        and whole >= limit_figure(_CURING, "total")
    )


def _histamine(raw: list[Span], limit: Limit) -> Outcome:
    known = with_heat_and_time(raw)
    if len(known) < len(raw):
        return Outcome(limit, UNKNOWN, "not known: a step before the heat states no temperature or no time")
    typical = longest = warm = 0.0
    for _, around, time in known:
        row = next((row for row in limit.rows if around.high <= row[0] + 1e-6), None)
        if row is None:
            warm += time.high
        else:
            typical += time.typical / row[1]
            longest += time.high / row[1]
    share = Range(typical, typical, longest)
    figure = f"{format_number(share.high * 100, 0)} % of the chilled life before the heat"
    if warm:
        figure += f", and {format_time(warm)} above {format_temperature(limit.rows[-1][0])}"
    result = at_most(share, 1.0)
    if result == MET and warm:
        result = FAILS if warm > limit_figure("growth-range-fish-fda", "time") else MAY_FAIL
    return Outcome(limit, result, figure)
