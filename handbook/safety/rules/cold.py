"""Cold: brining, thawing, time out of the cold, storage."""

from __future__ import annotations

from handbook.base.formats import format_number, format_temperature, format_temperature_range, format_time_range
from handbook.base.ranges import Range
from handbook.safety.case import SafetyCase
from handbook.safety.food_state import is_chilled, is_fermented
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
from handbook.safety.step_times import StepTime, heat_works, segments, stated_ph, total_time, works

COLD_WORK = Rule(
    id="cold-work",
    topic="cold",
    title="Brining, curing and resting in the cold",
    advice="Salt does not replace the cold: brine, cure and rest in a fridge whose thermometer has been checked.",
)
THAWING = Rule(
    id="thawing",
    topic="cold",
    title="Thawing",
    advice="Thaw in the fridge, the pack opened or pierced; never on the bench.",
)
GROWTH = Rule(
    id="growth-range-time",
    topic="cold",
    title="Time out of the cold",
    advice="Work in smaller turns and put back in the cold what is not in hand.",
)
HOLDING = Rule(
    id="cold-holding",
    topic="cold",
    title="Storage of the finished food",
    advice="Keep it colder, with a thermometer that remembers its highest reading, or freeze it.",
)
UNREFRIGERATED = Rule(
    id="unrefrigerated-keeping",
    topic="cold",
    title="Keeping without a fridge",
    advice="Keep it cold. Smoke, salt and sugar at the strength of the kitchen do not make it keep.",
)
RULES = (COLD_WORK, THAWING, GROWTH, HOLDING, UNREFRIGERATED)
_COLD_STAGES = ("salt", "freshen", "rest")


def cold_work(case: SafetyCase) -> tuple[Finding, ...]:
    """Temperature around the food while it waits in brine, cure, water or on the rack."""
    if is_fermented(case):
        return ()
    heated = heat_works(case)
    last_heat = heated[-1].number if heated else len(case.method.steps) + 1
    waiting = [
        each
        for each in works(case)
        if each.step.stage in _COLD_STAGES and _waits(each) and (each.number < last_heat or each.step.place == "fridge")
    ]
    if not waiting:
        return ()
    around = [each.around for each in waiting]
    around += [Range.of(each.temperature) for each in case.method.saltings if each.temperature]
    known = [each for each in around if each is not None]
    warmest = max(known, key=lambda each: (each.typical, each.high)) if len(known) == len(around) else None
    figure = (
        f"at most {format_temperature_range(warmest, 1)}, {case.by_page}"
        if warmest
        else "not known: a step states no temperature"
    )
    return judge(
        case,
        COLD_WORK,
        fitting(case, COLD_WORK),
        lambda limit: (at_most(warmest, limit.value("temperature")), figure),
    )


def thawing(case: SafetyCase) -> tuple[Finding, ...]:
    """Temperature around the food while it thaws; cold water has its own limit."""
    found: list[Finding] = []
    for each in works(case):
        if each.step.stage == "thaw":
            figure = format_temperature_range(each.around, 1) if each.around else "not known: no temperature is stated"
            name = "water" if each.step.air == "water" else "temperature"
            found += judge(
                case,
                THAWING,
                fitting(case, THAWING),
                lambda limit, each=each, name=name, figure=figure: (
                    at_most(each.around, limit.value(name)),
                    figure,
                ),
            )
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
        return (
            without_limit(
                HOLDING,
                "note",
                "this page does not say how it is kept",
                "Eat it at once, or keep it cold and short.",
            ),
        )
    if keeping.time is None and keeping.temperature is None:
        return ()
    kept = Range.of(keeping.temperature) if keeping.temperature else None
    figure = format_temperature_range(kept, 1) if kept else "not known: no temperature is stated"
    if kept is not None and any(_shelf_stable(case, each) == MET for each in fitting(case, UNREFRIGERATED)):
        figure += "; dry or sour enough to keep without a fridge"
        return judge(case, HOLDING, fitting(case, HOLDING), lambda limit: (MET, figure))
    return judge(
        case,
        HOLDING,
        fitting(case, HOLDING),
        lambda limit: (at_most(kept, limit.value("temperature")), figure),
    )


def unrefrigerated_keeping(case: SafetyCase) -> tuple[Finding, ...]:
    """What must hold for food kept above 10 °C: sour or dry enough."""
    keeping = case.method.keeping
    if keeping is None or keeping.temperature is None or is_chilled(case):
        return ()
    return judge(
        case,
        UNREFRIGERATED,
        fitting(case, UNREFRIGERATED),
        lambda limit: (_shelf_stable(case, limit), _barriers(case)),
    )


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """All findings of this topic."""
    return (
        *cold_work(case),
        *thawing(case),
        *growth_range_time(case),
        *cold_holding(case),
        *unrefrigerated_keeping(case),
    )


def _waits(work: StepTime) -> bool:
    return not work.step.hands_on or work.duration is None or work.duration.low > 7200


def _growth(case: SafetyCase, limit: Limit) -> Outcome:
    runs = [run for segment in segments(case) for run in _runs(segment, limit)]
    worst = max(runs, key=lambda run: _seconds(run).high, default=())
    time = _seconds(worst)
    allowed, figure = limit.value("time"), f"{_clock(time)} by the clock"
    if limit.has("hot_room") and any(each.around and each.around.high > limit.value("hot_room") for each in worst):
        allowed = limit.value("hot_time")
        figure += f", above {format_temperature(limit.value('hot_room'))}"
    results = [at_most(time, allowed)]
    if limit.has("warm"):
        warm = [each for each in worst if each.around is None or each.around.high > limit.value("warm")]
        results.append(at_most(_seconds(warm), limit.value("warm_time")))
        figure += f", of which {_clock(_seconds(warm))} above {format_temperature(limit.value('warm'))}"
    if any(each.duration is None for each in worst):
        return Outcome(limit=limit, result=UNKNOWN, figure="not known: a step out of the cold states no time")
    return Outcome(limit=limit, result=next(each for each in (FAILS, MAY_FAIL, MET) if each in results), figure=figure)


def _runs(segment: tuple[StepTime, ...], limit: Limit) -> list[tuple[StepTime, ...]]:
    """Unbroken runs of steps in the growth range; one run of all of them where the document counts the sum."""
    runs: list[list[StepTime]] = [[]]
    for each in segment:
        if _in_range(each, limit):
            runs[-1].append(each)
        elif not limit.has("cumulative"):
            runs.append([])
    return [tuple(run) for run in runs if run]


def _in_range(work: StepTime, limit: Limit) -> bool:
    """Whether the step leaves the food in the growth range. Out of the fridge with no temperature: yes."""
    step = work.step
    if step.stage in ("freeze", "ferment") or step.place == "freezer":
        return False
    if step.stage == "prepare" and step.place in ("stove", "fridge"):
        return False  # brine or glaze is being made; the food is not there
    if work.around is None:
        return True
    return work.around.high > limit.value("from") + 1e-6 and work.around.low < limit.value("to")


def _clock(time: Range) -> str:
    return format_time_range(time) if time.high else "none"


def _seconds(run) -> Range:
    return total_time(each for each in run if each.duration is not None) or Range.exact(0.0)


def _shelf_stable(case: SafetyCase, limit: Limit) -> str:
    """Whether one printed way of keeping food on a shelf is met. A limit without a figure says that there is none."""
    figures = {
        "ph": lambda bound: at_most(stated_ph(case), bound),
        "water_activity": lambda bound: at_most(case.water_activity, bound),
        "water_phase_salt": lambda bound: at_least(case.water_phase_salt, bound),
    }
    results = [judged(limit.value(name)) for name, judged in figures.items() if limit.has(name)]
    for each in (MET, MAY_FAIL, UNKNOWN):
        if each in results:
            return FAILS if each == UNKNOWN and FAILS in results else each
    return FAILS


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
