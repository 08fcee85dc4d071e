"""Cold: brining, thawing, time out of the cold, storage."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial

from handbook.base.formats import (
    format_number,
    format_temperature,
    format_temperature_range,
    format_time,
    format_time_range,
)
from handbook.base.ranges import Range
from handbook.base.units import kelvin
from handbook.catalogue.food_families import FISH
from handbook.safety.case import SafetyCase
from handbook.safety.food_state import (
    COOKED_THROUGH,
    PERISHABLE,
    drying_spans,
    is_chilled,
    is_cured,
    is_fermented,
    is_heated,
    is_only_frozen,
    souring_spans,
    warm_sausage_spans,
)
from handbook.safety.judging import (
    FAILS,
    MAY_FAIL,
    MET,
    UNKNOWN,
    Finding,
    Outcome,
    Rule,
    at_most,
    fitting,
    judge,
    without_limit,
)
from handbook.safety.limits import Limit
from handbook.safety.rules.dried import MOST_ACTIVITY, is_well_dried
from handbook.safety.step_times import measurement, stated_ph, total_time
from handbook.safety.timeline import DAY, HOUR, Span, thawing_spans, timeline

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
GROWTH = Rule(
    id="growth-range-time",
    topic="cold",
    title="Time out of the cold",
    advice="Work in smaller turns and put back in the cold what is not in hand.",
    on_unknown="stop",
)
HOLDING = Rule(
    id="cold-holding",
    topic="cold",
    title="Storage of the finished food",
    advice="Keep it colder, with a thermometer that remembers its highest reading, or freeze it.",
    on_unknown="stop",
)
UNREFRIGERATED = Rule(
    id="unrefrigerated-keeping",
    topic="cold",
    title="Keeping without a fridge",
    advice="Keep it cold. Smoke, salt and sugar at the strength of the kitchen do not make it keep.",
)
RULES = (COLD_WORK, THAWING, GROWTH, HOLDING, UNREFRIGERATED)
HOLDING_OTHER = Rule(id=HOLDING.id, topic="cold", title=HOLDING.title, advice=HOLDING.advice)
_DRY, _ACID, _SALT_FISH = 0.85, 4.6, 0.17  # [21 CFR 114.3(b)]; Code of Maine Rules 01-001 chapter 359 for salt fish
_COLD_SMOKE = kelvin(32.2)
_CELLAR = kelvin(15)  # K of a cool smoke for cured meat; common practice, no source
_COOLS = kelvin(25)


def cold_work(case: SafetyCase) -> tuple[Finding, ...]:
    """Temperature around raw food while it is left alone in brine, cure, water or on the rack."""
    waiting = [each for each in _waiting(case) if each.longest > 2 * HOUR]
    if not waiting or case.food.food_class not in PERISHABLE:
        return ()
    around: list[tuple[Range | None, int]] = [(each.around, each.line) for each in waiting]
    around += [(Range.of(each.temperature), each.line) for each in case.method.saltings if each.temperature]
    if is_fermented(case):
        return ()
    known = [(each, line) for each, line in around if each is not None]
    unknown = next((line for each, line in around if each is None), None)
    warmest: Range | None = None
    if unknown is not None:
        figure, line = "not known: a step of hours states no temperature", unknown
    else:
        warmest, line = max(known, key=lambda each: (each[0].typical, each[0].high))
        figure = f"at most {format_temperature_range(warmest, 1)}, {case.by_page}"
    return judge(
        case,
        COLD_WORK,
        fitting(case, COLD_WORK),
        lambda limit: Outcome(
            limit=limit, result=at_most(warmest, limit.value("temperature")), figure=figure, line=line
        ),
    )


def thawing(case: SafetyCase) -> tuple[Finding, ...]:
    """Temperature around the food while it thaws, under whatever name; cold water has its own limit."""
    found: list[Finding] = []
    for each in thawing_spans(case):
        found += judge(case, THAWING, fitting(case, THAWING), partial(_thaw_outcome, each))
    return tuple(found)


def growth_range_time(case: SafetyCase) -> tuple[Finding, ...]:
    """Time by the clock that the food is out of the cold and not in the heat, the worst run between heated steps."""
    if is_fermented(case) or not case.method.steps:
        return ()
    return judge(case, GROWTH, fitting(case, GROWTH), lambda limit: _growth(case, limit))


def cold_holding(case: SafetyCase) -> tuple[Finding, ...]:
    """Temperature at which the finished food is kept."""
    keeping = case.method.keeping
    if keeping is None:
        figure, message = "this page does not say how it is kept", "Eat it at once, or keep it cold and short."
        return (without_limit(HOLDING, "note", figure, message),)
    if is_only_frozen(case):
        return ()
    kept = Range.of(keeping.temperature) if keeping.temperature else None
    figure = format_temperature_range(kept, 1) if kept else "not known: no temperature is stated"
    if kept is not None and keeps_without_fridge(case)[0] == MET:
        figure += f"; {keeps_without_fridge(case)[1]}"
        return judge(case, HOLDING, fitting(case, HOLDING), lambda limit: (MET, figure))
    rule = HOLDING if case.food.food_class in PERISHABLE else HOLDING_OTHER
    return judge(
        case,
        rule,
        fitting(case, rule),
        lambda limit: Outcome(
            limit=limit, result=at_most(kept, limit.value("temperature")), figure=figure, line=keeping.line
        ),
    )


def unrefrigerated_keeping(case: SafetyCase) -> tuple[Finding, ...]:
    """What must hold for food kept above 10 °C: sour, dry or salt enough, as measured."""
    keeping = case.method.keeping
    if keeping is None or keeping.temperature is None or is_chilled(case):
        return ()
    result, figure = keeps_without_fridge(case)
    return judge(
        case,
        UNREFRIGERATED,
        fitting(case, UNREFRIGERATED),
        lambda limit: Outcome(limit=limit, result=result, figure=figure, line=keeping.line),
    )


def keeps_without_fridge(case: SafetyCase) -> tuple[str, str]:
    """Whether the food keeps without a fridge, by what was measured and not by what was computed, and the figures.

    A whole, uncut leg that was cured dry, hung for 70 days and measured keeps as a country ham; fish at 17 % salt in
    its water keeps as salt fish; acid counts for vegetables alone.
    """
    activity, salt, acid = (measurement(case, what) for what in ("water activity", "water-phase salt", "pH"))
    parts = [f"{each.what} {each.value:g} measured" for each in (activity, salt, acid) if each is not None]
    figure = ", ".join(parts) or "neither water activity, salt nor pH measured with its record"
    if not parts:
        figure += f"; {_barriers(case)} as computed"
    if activity is not None and activity.value <= _DRY:
        return MET, figure
    if activity is not None and activity.value <= MOST_ACTIVITY and _is_country_leg(case):
        return MET, f"{figure}; a whole uncut leg, dry-cured and hung for 70 days"
    if salt is not None and salt.value >= _SALT_FISH and case.food.food_class in FISH:
        return MET, figure
    if (
        acid is not None
        and acid.value <= _ACID
        and case.food.food_class == "vegetable"
        and acid.how in ("meter", "lab")
    ):
        return MET, figure
    return FAILS, figure


def _is_country_leg(case: SafetyCase) -> bool:
    """Whether this is a whole leg dried as 9 CFR 319.106 asks."""
    total = sum(each.longest for each in timeline(case) if not each.is_frozen)
    is_whole = case.method.pieces.form == "whole" and case.food.food_class == "pork"
    return is_whole and is_well_dried(case) and 70 * DAY <= total < float("inf")


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """All findings of this topic."""
    return (
        *cold_work(case),
        *thawing(case),
        *growth_range_time(case),
        *cold_holding(case),
        *unrefrigerated_keeping(case),
    )


def _waiting(case: SafetyCase) -> list[Span]:
    """The spans before the food is done in which it is left alone: not heated, frozen, thawed, smoked, dried or soured."""
    spans = timeline(case)
    last = max((each.number for each in spans if each.is_heat), default=len(spans) + 1)
    exempt = {each.number for each in (*_exempt(case), *thawing_spans(case))}
    return [
        each
        for each in spans
        if each.is_alone
        and not each.is_heat
        and not each.is_frozen
        and each.number < last
        and each.number not in exempt
        and each.step.place != "smoker"
        and not _follows_heat(spans, each)
    ]


def _follows_heat(spans: tuple[Span, ...], each: Span) -> bool:
    return any(one.is_heat for one in spans[: each.number - 1])


def _exempt(case: SafetyCase) -> tuple[Span, ...]:
    """Spans that rules of their own judge: souring vegetables, and raw meat that is dried or soured as it should be."""
    found = list(souring_spans(case))
    if is_well_dried(case):
        found += [*drying_spans(case), *warm_sausage_spans(case)]
    salt = case.equilibrium_salt
    measured = measurement(case, "water-phase salt")
    if case.food.food_class in FISH and salt is not None and (measured is not None and measured.value >= _SALT_FISH):
        found += [each for each in timeline(case) if each.longest >= DAY and not each.is_heat]
    found += _cold_smoke(case)
    return tuple(found)


def _cold_smoke(case: SafetyCase) -> list[Span]:
    """Smoke that does not cook: of fish, judged by its chamber and hours; of cheese for some hours; of cured meat in a cool chamber for a night."""
    smoke = [each for each in timeline(case) if each.step.place == "smoker" and not each.is_heat]
    if is_heated(case):
        return []
    if case.food.food_class in FISH:
        return [
            each
            for each in smoke
            if case.method.saltings and each.around is not None and each.around.high <= _COLD_SMOKE
        ]
    if case.food.food_class == "cheese":
        return [
            each
            for each in smoke
            if each.around is not None and each.around.high <= _COOLS and each.longest <= 6 * HOUR
        ]
    if not is_cured(case):
        return []
    return [
        each for each in smoke if each.around is not None and each.around.high <= _CELLAR and each.longest <= 2 * DAY
    ]


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
    mend = "" if result == MET else f"take {format_time(max(time.high - allowed, 60.0))} off the time out of the cold"
    return Outcome(limit=limit, result=result, figure=figure, line=line, mend=mend)


def _segments(case: SafetyCase) -> list[list[Span]]:
    """Runs of spans between the heated ones. What cools cooked food is for the cooling rules, not for the clock."""
    runs: list[list[Span]] = [[]]
    exempt = {each.number for each in _exempt(case)}
    spans = timeline(case)
    cooling = cooling_numbers(case)
    for each in spans:
        if each.is_heat:
            runs.append([])
        elif each.number not in exempt and each.number not in cooling:
            runs[-1].append(each)
        else:
            runs.append([])
    return runs


def cooling_numbers(case: SafetyCase) -> frozenset[int]:
    """Numbers of the spans that cool food cooked through on its way to the cold: the rules of cooling judge them."""
    spans = timeline(case)
    last = max((each.number for each in spans if each.is_heat), default=None)
    cooked = any(each.is_heat and each.step.core is not None and each.step.core.low >= COOKED_THROUGH for each in spans)
    if last is None or not cooked:
        return frozenset()
    found: list[int] = []
    for each in spans[last:]:
        if (
            each.step.medium in ("ice", "water")
            or each.medium == "water"
            or (each.around and each.around.high <= _COOLS)
        ):
            found.append(each.number)
        else:
            break
    if not any(each.number in found and (each.is_cold or each.medium == "water") for each in spans):
        return frozenset()
    return frozenset(found)


def _runs(case: SafetyCase, segment: list[Span], limit: Limit) -> list[tuple[Span, ...]]:
    """Unbroken runs of spans in the growth range; one run of all of them where the document counts the sum."""
    runs: list[list[Span]] = [[]]
    for each in segment:
        if _in_range(each, limit):
            runs[-1].append(each)
        elif not limit.has("cumulative"):
            runs.append([])
    return [tuple(run) for run in runs if run]


def _in_range(each: Span, limit: Limit) -> bool:
    """Whether the span leaves the food in the growth range. Out of the fridge with no temperature: yes."""
    if each.is_frozen:
        return False
    if each.step.place == "stove" and each.step.stage == "prepare" and each.longest <= HOUR and each.step.use is None:
        return False  # brine or glaze is being made; the food is not there
    if each.around is None:
        return True
    return each.around.high > limit.value("from") + 1e-6 and each.around.low < limit.value("to")


def _out(each: Span, limit: Limit) -> float:
    """Time in s of the span in the growth range: what the computed core spends above it is not counted."""
    return (
        each.time_below(limit.value("to"))
        if each.core is not None and each.core[1][0] >= limit.value("to")
        else each.longest
    )


def _thaw_outcome(span: Span, limit: Limit) -> Outcome:
    figure = format_temperature_range(span.around, 1) if span.around else "not known: no temperature is stated"
    most = limit.value("water" if span.medium == "water" else "temperature")
    return Outcome(limit=limit, result=at_most(span.around, most), figure=figure, line=span.line)


def _clock(time: Range) -> str:
    return format_time_range(time) if time.high else "none"


def _seconds(run: Iterable[Span]) -> Range:
    return total_time(each for each in run if each.duration is not None) or Range.exact(0.0)


def _barriers(case: SafetyCase) -> str:
    return barriers_text(case.water_phase_salt, stated_ph(case), case.water_activity)


def barriers_text(salt: Range | None, ph: Range | None, activity: Range | None) -> str:
    """How the food stands: salt in its water, pH, water activity; unknown ones said as unknown."""
    parts = [
        f"water-phase salt {_percent(salt)}" if salt else "water-phase salt not known",
        f"pH {format_number(ph.high, 1)}" if ph else "pH not stated",
        f"water activity {_digits(activity, 3)}" if activity else "water activity not known",
    ]
    return ", ".join(parts)


def _percent(value: Range) -> str:
    return f"{_digits(value.times(100), 1)} %"


def _digits(value: Range, digits: int) -> str:
    low, typical, high = (format_number(end, digits) for end in (value.low, value.typical, value.high))
    return typical if low == high else f"{typical} ({low}–{high})"
