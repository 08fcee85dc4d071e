"""Raw meat that is cured and dried, and raw sausage that sours: judged by salt, nitrite, time, pH and water activity together."""

from __future__ import annotations

from handbook.base.formats import format_number, format_percent, format_temperature, format_time
from handbook.base.units import fahrenheit_degrees
from handbook.brine.nitrite import CURED_FROM
from handbook.safety.case import SafetyCase
from handbook.safety.food_state import is_cured, is_injected, is_minced
from handbook.safety.judging import KNOWN_TO_FAIL, MEASURED, NOT_KNOWN, Finding, Rule, shown, without_limit
from handbook.safety.limits import Limit, degree_hours_limit, figure, limits
from handbook.safety.notions import notion
from handbook.safety.ripening import drying_spans, warm_sausage_spans
from handbook.safety.step_times import measurement
from handbook.safety.timeline import HOUR, Span, timeline, with_heat_and_time

DRIED = Rule(
    id="dried-meat",
    topic="cure",
    title="Raw meat, cured and dried",
    advice="Drying alone kills nothing and botulism shows no sign: cure it, dry it long and cool enough, and measure it.",
)
SOURED = Rule(
    id="sausage-souring",
    topic="ferment",
    title="Raw sausage that sours in the warm",
    advice="Curing salt, sugar or a culture, few degree-hours and a measured pH belong together.",
)
RULES = (DRIED, SOURED)
_SOURS = "sausage-degree-hours"
#: A fault of the process: what it is, whether it is known, and what mends it.
_Fault = tuple[str, bool, str]

_HAM_ACTIVITY, _HAM_DAYS, _HAM_SALT = "dried-ham-water-activity", "dried-ham-days", "dried-ham-salt"
_FOR_HAM = "The water activity is that of country ham; no document for other dried meat is held here."


def dried_meat(case: SafetyCase) -> tuple[Finding, ...]:
    """Whole raw meat that is dried and eaten as it is."""
    spans = drying_spans(case)
    if not spans or case.is_for_the_eater_to_cook or any(each.is_heat for each in timeline(case)):
        return ()
    if is_minced(case) and warm_sausage_spans(case):
        return ()
    faults = [*_process_faults(case, spans), *_activity_faults(case)]
    text = _dried_figure(case, spans)
    if not faults:
        message = f"Cured, dried and measured. The measurement is the page's own; keep its record. {_FOR_HAM}"
        return (shown(DRIED, limits()[_HAM_ACTIVITY], "note", text, message, MEASURED),)
    return (_stop(DRIED, faults, text, "", spans[0].line),)


def sausage_souring(case: SafetyCase) -> tuple[Finding, ...]:
    """Raw sausage that hangs in the warm: nitrite, degree-hours and a measured pH."""
    spans = warm_sausage_spans(case)
    if not spans:
        return ()
    faults = []
    if not is_cured(case):
        faults.append(("without nitrite", True, f"cure it with at least {CURED_FROM:.0f} ppm nitrite"))
    hours, row = _degree_hours(spans)
    if hours is None or row is None:
        faults.append(("the temperature of the warm room is not stated", False, "state it"))
    elif hours > row.value("degree_hours"):
        said = f"{hours:.0f} degree-hours where {row.value('degree_hours'):.0f} are the most"
        faults.append((said, True, "sour it cooler or for less long"))
    elif row.trust == "from memory":
        said = f"{hours:.0f} degree-hours in a hot chamber, whose limit is from memory and not confirmed"
        faults.append((said, False, "sour it in a cooler chamber"))
    acid = measurement(case, "pH")
    if acid is None:
        said = "no pH measured through the piece and recorded; a pH without a record does not count"
        faults.append((said, False, "measure the pH"))
    elif acid.value > figure(_SOURS, "ph"):
        faults.append((f"pH {acid.value:g} where {figure(_SOURS, 'ph')} is asked", True, "let it sour further"))
    text = f"{hours:.0f} degree-hours °F" if hours is not None else "degree-hours not known"
    text += f", pH {acid.value:g} measured" if acid else ", pH not measured"
    if not faults:
        message = "Second-hand limits of the trade. Keep the run sheet."
        return (shown(SOURED, limits()[_SOURS], "note", text, message, MEASURED),)
    return (_stop(SOURED, faults, text, " The degree-hours are the trade's, second-hand.", spans[0].line),)


def is_well_dried(case: SafetyCase) -> bool:
    """Whether raw dried meat or soured sausage meets its own rules. Those of cold and cooking then do not apply."""
    found = (*dried_meat(case), *sausage_souring(case))
    return bool(found) and all(each.level != "stop" for each in found)


def is_dry_enough(case: SafetyCase) -> bool:
    """Whether the water activity of a country ham is measured and on record."""
    found = measurement(case, "water activity")
    return found is not None and found.value <= figure(_HAM_ACTIVITY, "water_activity")


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """All findings of this topic."""
    return (*dried_meat(case), *sausage_souring(case))


def _stop(rule: Rule, faults: list[_Fault], figure: str, more: str, line: int) -> Finding:
    certainty = KNOWN_TO_FAIL if any(known for _, known, _ in faults) else NOT_KNOWN
    message = f"{'; '.join(text for text, _, _ in faults)}. {rule.advice}{more}"
    mend = "; ".join(mend for _, _, mend in faults)
    return without_limit(rule, "stop", figure, message, certainty=certainty, line=line, mend=mend)


def _process_faults(case: SafetyCase, spans: tuple[Span, ...]) -> list[_Fault]:
    faults = []
    days = sum(each.longest for each in timeline(case) if not each.is_frozen and each.longest < float("inf"))
    dried = sum(each.longest for each in spans)
    salt = case.equilibrium_salt.typical if case.equilibrium_salt else 0.0
    if is_minced(case) and not is_cured(case):
        faults.append(("minced and dried raw without nitrite", True, "cure it with nitrite"))
    elif not is_cured(case) and (days < figure(_HAM_DAYS, "time") or salt < figure(_HAM_SALT, "salt")):
        text = f"without nitrite: {format_percent(salt)} salt and {format_time(days)} in all, where a ham takes "
        text += f"{format_percent(figure(_HAM_SALT, 'salt'))} and {format_time(figure(_HAM_DAYS, 'time'))}"
        faults.append((text, True, "cure it with nitrite, or salt and dry it as a ham"))
    elif dried < figure("trichinae-sausage", "time") and not is_dry_enough(case):
        longer = format_time(figure("trichinae-sausage", "time") - dried)
        faults.append((f"dried for {format_time(dried)} only", True, f"dry it {longer} longer"))
    if is_injected(case):
        faults.append(("a brine is injected, which meat dried for keeping may not have", True, "salt it dry"))
    warm = [each for each in spans if each.around is None or each.around.high > notion("drying-room")]
    unknown = [each for each in warm if each.around is None]
    if unknown:
        faults.append(("the drying room's temperature is not stated", False, "state the temperature"))
    elif warm and not is_dry_enough(case):
        most = format_temperature(notion("drying-room"))
        faults.append(("dried in a warm room (common practice, no source)", True, f"dry it at {most} or colder"))
    return faults


def _activity_faults(case: SafetyCase) -> list[_Fault]:
    found = measurement(case, "water activity")
    if found is None:
        said = "no water activity measured and recorded; a figure without a record does not count"
        return [(said, False, "measure it")]
    most = figure(_HAM_ACTIVITY, "water_activity")
    if found.value > most:
        return [(f"water activity {found.value:g} where {most:g} is the most", True, "dry it further")]
    return []


def _dried_figure(case: SafetyCase, spans: tuple[Span, ...]) -> str:
    activity, lost = measurement(case, "water activity"), measurement(case, "weight loss")
    parts = [f"dried for {format_time(sum(each.longest for each in spans))}"]
    parts.append(f"water activity {activity.value:g} measured" if activity else "water activity not measured")
    if lost:
        parts.append(f"weight loss {format_number(100 * lost.value, 0)} % measured")
    return ", ".join(parts)


def _degree_hours(spans: tuple[Span, ...]) -> tuple[float | None, Limit | None]:
    """Degree-hours in °F above the temperature at which souring begins (None where a temperature is not stated), and
    the limit for the hottest chamber."""
    known = with_heat_and_time(spans)
    if len(known) < len(spans):
        return None, None
    hottest = max(around.high for _, around, _ in known)
    hours = sum(fahrenheit_degrees(around.high - notion("sours")) * time.high / HOUR for _, around, time in known)
    return hours, degree_hours_limit(hottest)
