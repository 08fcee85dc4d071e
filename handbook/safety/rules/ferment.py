"""Ferments: salt, temperature, time and final pH."""

from __future__ import annotations

from msgspec.structs import replace

from handbook.base.formats import (
    format_number,
    format_percent_range,
    format_rounded_up,
    format_temperature,
    format_temperature_range,
    format_time,
    format_time_range,
)
from handbook.base.ranges import Range
from handbook.page.amounts import Share
from handbook.safety.case import SafetyCase
from handbook.safety.judging import (
    AIMED_AT,
    BESIDE,
    FAILS,
    MAY_FAIL,
    MEASURED,
    MET,
    UNKNOWN,
    Finding,
    Outcome,
    Rule,
    at_least,
    at_most,
    caution,
    conclude,
    deciding_ids,
    fitting,
    judge,
    judge_most,
    shown,
)
from handbook.safety.limits import Limit
from handbook.safety.limits import figure as figure_of
from handbook.safety.notions import notion
from handbook.safety.ripening import souring_spans
from handbook.safety.step_times import stated_ph, total_time
from handbook.safety.timeline import Span, timeline, with_heat_and_time

SALT = Rule(
    id="ferment-salt",
    topic="ferment",
    title="Salt of the ferment",
    advice="Too little salt lets the wrong bacteria start; weigh vegetable and salt.",
    on_unknown="stop",
)
TOO_SALT = replace(
    SALT, advice="With more salt it sours slowly; the measured pH says when it is done.", on_fail="act", is_quality=True
)
TEMPERATURE = Rule(
    id="ferment-temperature",
    topic="ferment",
    title="Temperature of the ferment",
    advice="Too cold it does not sour, and its acid is what keeps it safe: find a warmer place, or have the pH measured.",
    on_unknown="stop",
)
TOO_WARM = replace(TEMPERATURE, advice="Find a cooler place: too warm turns soft.", on_fail="act", is_quality=True)
TIME = Rule(
    id="ferment-time",
    topic="ferment",
    title="Time of the ferment",
    advice="Cut short, it may lack the acid that keeps it safe: let it stand longer, or have the pH measured.",
    on_unknown="stop",
)
PH = Rule(
    id="ferment-ph",
    topic="ferment",
    title="Final pH",
    advice="Measure vegetable and brine together with a calibrated meter; above the limit it is not done and does not keep.",
)
CARE = Rule(
    id="ferment-care",
    topic="ferment",
    title="Keep it under, watch it",
    advice="If in doubt, throw it away without tasting.",
)
RULES = (SALT, TEMPERATURE, TIME, PH, CARE)


def ferment_salt(case: SafetyCase) -> tuple[Finding, ...]:
    """Salt of cabbage as a share of the total, of cucumbers in the brine as made."""
    salt, brine = _salt_at_start(case)
    outcomes, over = [], set()
    for limit in fitting(case, SALT):
        value, name = (brine, "brine") if limit.has("brine") else (salt, "low")
        low = limit.value(name)
        result = at_least(value, low)
        # Two decimals where one decimal would print a salt below the limit as the limit itself.
        digits = 2 if value and result != MET and round(value.low, 3) >= low else 1
        figure = f"{format_percent_range(value, digits)} salt" if value else f"not known: {_unknown_salt(case)}"
        mend = f"{format_rounded_up(100 * max(low - value.low, 0.0), digits)} % more salt" if value else ""
        if result == MET and limit.has("high") and at_most(value, limit.value("high")) != MET:
            result, mend = at_most(value, limit.value("high")), ""
            over.add(limit.id)
        line = case.method.saltings[0].line if case.method.saltings else 0
        outcomes.append(Outcome(limit, result, figure, line=line, mend=mend))
    return _two_sided(case, outcomes, over, SALT, TOO_SALT)


def ferment_temperature(case: SafetyCase) -> tuple[Finding, ...]:
    """Every fermenting step compared with the range in which food sours and does not spoil."""
    steps = souring_spans(case)
    around = [each.around for each in steps if each.around is not None]
    if len(around) < len(steps):
        line = next(each.line for each in steps if each.around is None)
        unknown = "not known: no temperature is stated"
        return judge(
            case, TEMPERATURE, lambda limit: _by_ph(case, Outcome(limit, UNKNOWN, unknown, line=line, mend="state it"))
        )
    low, high = min(each.low for each in around), max(each.high for each in around)
    whole = Range(low, (low + high) / 2, high)
    figure = f"{format_temperature_range(whole)}, {case.by_page}"
    outcomes, over = [], set()
    for limit in fitting(case, TEMPERATURE):
        rule, result = _temperature(whole, limit)
        if rule is TOO_WARM:
            over.add(limit.id)
        low_end, best = (format_temperature(limit.value(name)) for name in ("low", "best"))
        outcome = Outcome(limit, result, figure, line=steps[0].line, mend=f"keep it at {low_end} to {best}")
        outcomes.append(outcome if rule is TOO_WARM else _by_ph(case, outcome))
    return _two_sided(case, outcomes, over, TEMPERATURE, TOO_WARM)


def ferment_time(case: SafetyCase) -> tuple[Finding, ...]:
    """Days of fermenting compared with the printed row at or below the coldest typical temperature."""
    steps = souring_spans(case)
    time = total_time(steps)
    figure = format_time_range(time) if time else "not known: no time is stated"
    if any(each.around is None for each in steps):
        figure += ", at a temperature that is not stated"
    return judge(case, TIME, lambda limit: _by_ph(case, _time(steps, time, figure, limit)))


def ferment_ph(case: SafetyCase) -> tuple[Finding, ...]:
    """The pH as measured through the piece. A pH that is only written on the page is a target and does not count."""
    ph = stated_ph(case)
    if ph is None:
        targets = [step.final_ph for step in case.method.steps if step.final_ph is not None]
        figure = f"target pH {format_number(targets[-1], 1)}, not measured" if targets else "pH not measured"
        own = deciding_ids(fitting(case, PH), PH, case.house.audience)
        noted = (shown(PH, limit, "note", figure, PH.advice, AIMED_AT) for limit in fitting(case, PH))
        return tuple(replace(each, decides=each.limit in own) for each in noted)
    figure = f"pH {format_number(ph.high, 1)}, measured"
    return judge_most(case, PH, "ph", ph, figure, basis=MEASURED)


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """All findings of this topic."""
    if not souring_spans(case):
        return ()
    return (
        *ferment_salt(case),
        *ferment_temperature(case),
        *ferment_time(case),
        *ferment_ph(case),
        *caution(case, CARE),
    )


def _salt_at_start(case: SafetyCase) -> tuple[Range | None, Range | None]:
    """Salt of food and brine together, and of the brine as made, when the souring begins: what is salted later keeps
    nothing from starting."""
    first = souring_spans(case)[0].number
    if _is_watered(case, first):
        return None, None
    steps = case.method.steps
    brought = [each for step in steps[:first] if (each := case.method.salting_of(step)) is not None]
    late = [each for step in steps[first:] if (each := case.method.salting_of(step)) is not None]
    early = [each for each in case.method.saltings if each in brought or each not in late]
    if len(case.method.saltings) == 1 or not all(each.name in case.makes for each in early):
        return case.equilibrium_salt or _stated_salt(case), case.brine_salt
    made = [case.makes[each.name] for each in early]
    whole = case.method.batches.written_for.low + sum(each.mass for each in made)
    baths = [case.makes[each.name].water_phase_salt for each in early if not each.is_dry]
    return Range.exact(sum(each.total("salt") for each in made) / whole), Range.exact(baths[-1]) if baths else None


def _is_watered(case: SafetyCase, first: int) -> bool:
    """Whether the salted vegetable lies in plain water, for longer than a rinse, before span ``first`` in which it sours,
    and is not salted again: how much salt is left is not known."""
    is_so = False
    for each in timeline(case)[: first - 1]:
        if case.method.salting_of(each.step) is not None:
            is_so = False
        elif each.step.is_in_plain_water and each.longest > notion("stays"):
            is_so = True
    return is_so and case.method.steps[first - 1].use is None


def _unknown_salt(case: SafetyCase) -> str:
    watered = _is_watered(case, souring_spans(case)[0].number)
    return "plain water has taken salt out again before it sours" if watered else "the salt is not computed"


def _stated_salt(case: SafetyCase) -> Range | None:
    """Salt on vegetable and salt together, from shares of food that the page states."""
    shares = [
        line.amount.fraction
        for salting in case.method.saltings
        if salting.is_dry
        for line in salting.ingredients
        if line.item.startswith("salt") and isinstance(line.amount, Share) and line.amount.base == "food"
    ]
    return Range.exact(sum(shares) / (1 + sum(shares))) if shares else None


def _two_sided(
    case: SafetyCase, outcomes: list[Outcome], over: set[str], under_rule: Rule, over_rule: Rule
) -> tuple[Finding, ...]:
    """Findings of a range whose two ends have different consequences; ``over`` are limits exceeded above."""
    above = {each.limit: each for each in conclude(case, over_rule, outcomes) if each.limit in over}
    return tuple(above.get(each.limit, each) for each in conclude(case, under_rule, outcomes))


def _by_ph(case: SafetyCase, outcome: Outcome) -> Outcome:
    """The outcome. It does not decide where the measured pH shows the acid that time and warmth should produce."""
    ph = stated_ph(case)
    if outcome.result == MET or ph is None or ph.high > figure_of("ferment-ph-acidified", "ph"):
        return outcome
    more = f"pH {format_number(ph.high, 1)} as measured shows that it has soured, and decides."
    return replace(outcome, result=BESIDE, more=more)


def _temperature(whole: Range, limit: Limit) -> tuple[Rule, str]:
    """The side on which the temperature is out of range, and by how much."""
    low, best, high = (limit.value(name) for name in ("low", "best", "high"))
    if whole.typical < low:
        return TEMPERATURE, FAILS
    if whole.high > high + 1e-6:
        return TOO_WARM, FAILS
    if whole.high > best + 1e-6:
        return TOO_WARM, MAY_FAIL
    return TEMPERATURE, MET if whole.low >= low - 1e-6 else MAY_FAIL


def _time(steps: tuple[Span, ...], time: Range | None, figure: str, limit: Limit) -> Outcome:
    known = with_heat_and_time(steps)
    if time is None or len(known) < len(steps):
        return Outcome(limit, UNKNOWN, figure, line=steps[0].line, mend="state both")
    _, around, _ = max(known, key=lambda each: each[2].typical)
    row = next((row for row in limit.rows if around.typical >= row[0] - 1e-6), limit.rows[-1])
    result = at_least(time, row[1])
    mend = "" if result == MET else f"let it stand {format_time(row[1] - time.low)} longer"
    figure = f"{figure} at {format_temperature_range(around)}"
    return Outcome(limit, result, figure, line=steps[0].line, mend=mend)
