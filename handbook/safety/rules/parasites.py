"""Parasites in fish and pork that are not cooked through, and histamine."""

from __future__ import annotations

from handbook.base.formats import (
    format_number,
    format_temperature,
    format_temperature_range,
    format_time,
    format_time_range,
)
from handbook.base.ranges import Range
from handbook.safety.case import SafetyCase
from handbook.safety.conditions import Condition
from handbook.safety.food_state import freezing_exemption, is_cooked_through
from handbook.safety.judging import (
    BESIDE,
    FAILS,
    MAY_FAIL,
    MET,
    UNKNOWN,
    Finding,
    Outcome,
    Rule,
    at_least,
    at_most,
    conclude,
    fitting,
    judge,
    shown,
)
from handbook.safety.limits import Limit
from handbook.safety.step_times import StepTime, heat_works, works

FREEZING = Rule(
    id="parasite-freezing",
    topic="parasites",
    title="Freezing of what is not cooked through",
    advice="Salt, acid and cold smoke do not kill parasites: freeze it long and cold enough first, or cook it through.",
)
HISTAMINE = Rule(
    id="histamine",
    topic="parasites",
    title="Fish that form histamine",
    advice="Histamine has no smell and no heat destroys it: ice at once, work fast, know the history of the fish.",
)
RULES = (FREEZING, HISTAMINE)


def parasite_freezing(case: SafetyCase) -> tuple[Finding, ...]:
    """One of the freezing rules for fish that stays below cooking heat; the old trichinae rule for raw pork, game."""
    if case.food.food_class not in ("fish", "pork", "game"):
        return ()
    cooked = is_cooked_through(case)
    if cooked:
        return ()
    if case.food.food_class != "fish":
        return _trichinae(case)
    frozen = [each for each in works(case) if each.step.stage == "freeze"]
    exempt = freezing_exemption(case)
    asked = [each for each in fitting(case, FREEZING) if Condition.EXEMPT not in each.when]
    outcomes = [_freeze_outcome(limit, frozen, cooked) for limit in asked]
    if exempt and not any(each.result == MET for each in outcomes):
        outcomes = [_beside(each, "not asked for where the exemption holds") for each in outcomes]
        return (*conclude(case, FREEZING, outcomes), *_exempt(case, exempt))
    # One way is enough: the one that comes nearest decides, the others are shown without a verdict.
    best = min(outcomes, key=lambda each: (MET, MAY_FAIL, UNKNOWN, FAILS).index(each.result))
    outcomes = [each if each is best else _beside(each, "another way; one is enough") for each in outcomes]
    return conclude(case, FREEZING, outcomes)


def histamine(case: SafetyCase) -> tuple[Finding, ...]:
    """How much of the chilled life the method uses up before the heat."""
    if not case.food.is_scombroid:
        return ()
    heated = heat_works(case)
    raw = works(case)[: heated[0].number - 1] if heated else works(case)
    raw = [each for each in raw if each.step.stage not in ("freeze",) and each.step.place != "freezer"]
    return judge(case, HISTAMINE, fitting(case, HISTAMINE), lambda limit: _histamine(raw, limit))


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """All findings of this topic."""
    return (*parasite_freezing(case), *histamine(case))


def _freeze_outcome(limit: Limit, frozen: list[StepTime], cooked: bool | None) -> Outcome:
    if cooked is None:
        return Outcome(limit=limit, result=UNKNOWN, figure="heated, but no core is stated or computed")
    if not frozen:
        return Outcome(limit=limit, result=FAILS, figure="not frozen, and not cooked through")
    known = [each for each in frozen if each.around is not None and each.duration is not None]
    if len(known) < len(frozen):
        return Outcome(
            limit=limit, result=UNKNOWN, figure="frozen, but a freezing step states no temperature or no time"
        )
    cold = [each for each in known if each.around.high <= limit.value("temperature") + 1e-6]
    figure = "; ".join(
        f"{format_temperature_range(each.around)} for {format_time_range(each.duration)}" for each in known
    )
    if not cold or (limit.has("first") and not _starts_colder(known, limit)):
        return Outcome(limit=limit, result=FAILS, figure=figure)
    time = Range(*(sum(getattr(each.duration, end) for each in cold) for end in ("low", "typical", "high")))
    return Outcome(limit=limit, result=at_least(time, limit.value("time")), figure=figure)


def _starts_colder(known: list[StepTime], limit: Limit) -> bool:
    """Whether the fish is first frozen solid at the colder temperature, in a step of its own."""
    return len(known) > 1 and known[0].around.high <= limit.value("first") + 1e-6


def _beside(outcome: Outcome, text: str) -> Outcome:
    return Outcome(limit=outcome.limit, result=BESIDE, figure=text)


def _exempt(case: SafetyCase, exempt: str) -> tuple[Finding, ...]:
    found = next(each for each in fitting(case, FREEZING) if Condition.EXEMPT in each.when)
    message = "Raw fish without freezing: only with a written statement of how it was raised or which species it is."
    return (shown(FREEZING, found, "act", exempt, message),)


def _trichinae(case: SafetyCase) -> tuple[Finding, ...]:
    rule = Rule(id=FREEZING.id, topic=FREEZING.topic, title=FREEZING.title, advice=FREEZING.advice, on_fail="act")
    frozen = [each for each in works(case) if each.step.stage == "freeze" and each.around and each.duration]

    def result(limit: Limit) -> tuple[str, str]:
        if not frozen:
            return FAILS, "not frozen, and not cooked through"
        figure = "; ".join(
            f"{format_temperature_range(each.around)} for {format_time_range(each.duration)}" for each in frozen
        )
        for cold, time in reversed(limit.rows):
            spent = [each.duration for each in frozen if each.around.high <= cold + 1e-6]
            if spent and sum(each.low for each in spent) >= time:
                return MAY_FAIL if case.food.food_class == "game" else MET, figure
        return FAILS, figure

    return judge(case, rule, fitting(case, rule), result)


def _histamine(raw: list[StepTime], limit: Limit) -> Outcome:
    if any(each.duration is None or each.around is None for each in raw):
        return Outcome(
            limit=limit, result=UNKNOWN, figure="not known: a step before the heat states no temperature or no time"
        )
    used, warm = [0.0, 0.0], 0.0
    for each in raw:
        row = next((row for row in limit.rows if each.around.high <= row[0] + 1e-6), None)
        if row is None:
            warm += each.duration.high
        else:
            used[0] += each.duration.typical / row[1]
            used[1] += each.duration.high / row[1]
    share = Range(used[0], used[0], max(used))
    figure = f"{format_number(share.high * 100, 0)} % of the chilled life before the heat"
    if warm:
        figure += f", and {format_time(warm)} above {format_temperature(limit.rows[-1][0])}"
    result = at_most(share, 1.0)
    if result == MET and warm:
        result = FAILS if warm > 4 * 3600 else MAY_FAIL
    return Outcome(limit=limit, result=result, figure=figure)
