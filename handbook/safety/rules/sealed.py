"""Food without air: cans, bottles, jars, oil, sealed packs. Bacteria that grow there give no sign and can kill."""

from __future__ import annotations

from handbook.base.formats import format_temperature, format_temperature_range, format_time
from handbook.catalogue.food_families import FISH
from handbook.safety.case import SafetyCase
from handbook.safety.food_state import NO_AIR_PACKS, is_acid_food, is_heated, is_only_frozen, is_pickled
from handbook.safety.judging import KNOWN_TO_FAIL, NOT_KNOWN, Finding, Rule, shown, without_limit
from handbook.safety.limits import figure as limit_figure
from handbook.safety.limits import limits
from handbook.safety.notions import notion
from handbook.safety.ripening import salt_paste_spans, souring_spans
from handbook.safety.rules.shelf import is_shelf_dry
from handbook.safety.timeline import Span, timeline

SEALED = Rule(
    id="sealed-food",
    topic="salt",
    title="Food sealed from the air: botulism",
    advice="Botulism gives no sign. A closed pack outside the cold needs a scheduled process from a process authority, "
    "filed with the authorities and run by someone licensed for it.",
)
OIL = Rule(
    id="oil-pack",
    topic="salt",
    title="Food in oil: botulism",
    advice="Oil keeps the air out and acid cannot get in: keep it cold and for days only, or freeze it.",
)
RULES = (SEALED, OIL)
_OIL_DAYS, _COLD_DAYS = "oil-four-days", "vacuum-days-uk"


def sealed_food(case: SafetyCase) -> tuple[Finding, ...]:
    """Cans and closed jars by their keeping, and sealed packs whose page states no temperature or no keeping."""
    if case.pack not in NO_AIR_PACKS or case.pack == "oil":
        return ()
    keeping = case.method.keeping
    line = keeping.line if keeping else case.method.steps[-1].line
    if case.pack == "can":
        return (_stop(SEALED, "canned food", "Cans need a licensed process.", KNOWN_TO_FAIL, line),)
    if keeping is None:
        figure = f"sealed ({case.pack}); the page does not state how it is kept"
        message = "State how cold and how long it is kept, or that it is eaten at once."
        return (_stop(SEALED, figure, message, NOT_KNOWN, line, "add a keeping block with temperature and time"),)
    is_fish = case.food.food_class in FISH and case.pack == "vacuum"
    if is_only_frozen(case) and is_fish and keeping.temperature is None:
        figure = "fish packed without air, frozen, and no temperature is stated"
        message = "It thaws in its pack: state that it stays frozen until it is opened."
        return (_stop(SEALED, figure, message, NOT_KNOWN, line, "state the temperature that it is frozen at"),)
    if is_only_frozen(case) or is_shelf_dry(case):
        return ()
    closed = case.pack in ("jar", "bottle")
    if keeping.temperature is None:
        what = f"closed {case.pack}, assumed to be kept on a shelf" if closed else f"packed without air ({case.pack})"
        message = "State the temperature that it is kept at."
        return (_stop(SEALED, f"{what}: no temperature is stated", message, NOT_KNOWN, line, "state the temperature"),)
    if keeping.temperature.high <= _cold() + 1e-6:
        return ()
    return _kept_warm(case.pack, keeping.temperature.high, line)


def oil_pack(case: SafetyCase) -> tuple[Finding, ...]:
    """Food under oil or fat: days in the cold, or frozen."""
    if case.pack != "oil" or is_shelf_dry(case):
        return ()
    keeping = case.method.keeping
    line = keeping.line if keeping else case.method.steps[-1].line
    days = limit_figure(_OIL_DAYS, "time")
    if keeping is None:
        figure = "in oil; the page does not state how it is kept"
        mend = f"add a keeping block: cold, {format_time(days)} at most"
        return (_stop(OIL, figure, "State it.", NOT_KNOWN, line, mend),)
    if is_only_frozen(case):
        return ()
    if keeping.temperature is None or keeping.time is None:
        figure = "in oil: no temperature or no time is stated"
        return (_stop(OIL, figure, "State both.", NOT_KNOWN, line, "state both"),)
    figure = f"in oil at {format_temperature(keeping.temperature.high)} for {format_time(keeping.time.high)}"
    if keeping.temperature.high > _cold() + 1e-6:
        return (_stop(OIL, figure, "Never at room temperature.", KNOWN_TO_FAIL, line, f"keep it at {_cold_text()}"),)
    if keeping.time.high > days:
        message = "Longer than the documents of garlic and herbs in oil allow."
        mend = f"keep it for {format_time(days)} at most, or freeze it"
        return (_stop(OIL, figure, message, KNOWN_TO_FAIL, line, mend),)
    message = "Kept cold and for days only, as the document for garlic and herbs in oil requires."
    return (shown(OIL, limits()[_OIL_DAYS], "note", figure, message),)


def stood_sealed(case: SafetyCase) -> tuple[Finding, ...]:
    """Food that stands for long in steps in which no air reaches it: kept, whatever the page calls it. Steps that follow
    one another count together, and so does the keeping after the last."""
    if is_shelf_dry(case) or is_pickled(case):
        return ()
    exempt = {each.number for each in (*souring_spans(case), *salt_paste_spans(case))}
    is_acid = is_acid_food(case)
    runs = _closed_runs(case)
    for run, medium in runs:
        if is_acid and medium != "oil":
            continue
        stood = [each for each in run if not each.is_frozen and each.number not in exempt]
        for part in ([each for each in stood if _is_warm(each)], stood):
            if not part:
                continue
            days = _days(part[-1], medium, case)
            most = notion("sealed-for") if part is not stood else days
            time = sum(each.longest for each in part)
            is_left = run is runs[-1][0] and part is stood and time >= notion("waits")
            kept = _kept(case, medium) if is_left else 0.0
            if time + kept <= most:
                continue
            return (_too_long(part, medium, time + kept, days),)
    return ()


def _kept_warm(pack: str, temperature: float, line: int) -> tuple[Finding, ...]:
    """The stop of a closed or sealed pack that is kept above the cold."""
    if pack not in ("jar", "bottle", "vacuum"):
        return ()
    what = f"closed {pack}"
    message = (
        "A pH that is only stated on the page, or only measured in the brine, does not make a jar safe on a shelf."
    )
    if pack == "vacuum":
        what, message = "vacuum pack", "Packed without air, warm, and with no measured barrier."
    kept = f"{what} kept at {format_temperature(temperature)}"
    return (_stop(SEALED, kept, message, KNOWN_TO_FAIL, line, f"keep it at {_cold_text()}"),)


def _too_long(part: list[Span], medium: str, time: float, days: float) -> Finding:
    longest = max(part, key=lambda each: each.longest)
    at = format_temperature_range(longest.around) if longest.around is not None else "no stated temperature"
    numbers = f"step {longest.number}" if len(part) == 1 else f"steps {part[0].number} to {part[-1].number}"
    figure = f"{numbers}: {format_time(time)} at {at} where no air reaches it ({medium})"
    unknown = any(each.around is None or each.duration is None for each in part)
    mend = f"keep it at {_cold_text()}, for {format_time(days)} at most"
    rule = OIL if medium == "oil" else SEALED
    certainty = NOT_KNOWN if unknown else KNOWN_TO_FAIL
    return _stop(rule, figure, "Standing in a step is keeping.", certainty, longest.line, mend)


def _is_warm(span: Span) -> bool:
    return span.around is None or span.around.high > _cold() + 1e-6


def _kept(case: SafetyCase, medium: str) -> float:
    """Time in s for which the page then keeps the food in ``medium``, where its last run has left it; 0 in another pack."""
    keeping = case.method.keeping
    return keeping.time.high if case.pack == medium and keeping is not None and keeping.time is not None else 0.0


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """All findings of this topic."""
    found = (*sealed_food(case), *oil_pack(case))
    return found if any(each.level == "stop" for each in found) else (*found, *stood_sealed(case))


def _closed_runs(case: SafetyCase) -> list[tuple[list[Span], str]]:
    """The runs of spans, not of heat, in oil, a jar or a vacuum. Food stays where a step has put it until another says
    otherwise, or heats it, salts it or moves the air around it.
    """
    found: list[tuple[list[Span], str]] = []
    medium, last = "", ""
    for each in timeline(case):
        if each.step.medium is not None or each.is_heat or each.step.use is not None or each.step.air is not None:
            medium = each.step.medium or ""
        is_closed = medium in ("oil", "jar", "vacuum") and not each.is_heat
        if is_closed and medium == last:
            found[-1][0].append(each)
        elif is_closed:
            found.append(([each], medium))
        last = medium if is_closed else ""
    return found


def _days(span: Span, medium: str, case: SafetyCase) -> float:
    """The longest time in s for which cold alone protects food without air. Raw food to be cooked later has rules of its own."""
    if any(each.is_heat and each.number > span.number for each in timeline(case)) or not is_heated(case):
        return float("inf")
    return limit_figure(_OIL_DAYS if medium == "oil" else _COLD_DAYS, "time")


def _cold() -> float:
    """Cold storage in K for food without air, as the model code prints it."""
    return limit_figure("cold-holding-retail", "temperature")


def _cold_text() -> str:
    return f"{format_temperature(_cold())} or colder"


def _stop(rule: Rule, figure: str, message: str, certainty: str, line: int, mend: str = "") -> Finding:
    return without_limit(rule, "stop", figure, f"{message} {rule.advice}", certainty=certainty, line=line, mend=mend)
