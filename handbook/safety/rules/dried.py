"""Raw meat that is cured and dried, and raw sausage that sours: judged by salt, nitrite, time, pH and water activity together."""

from __future__ import annotations

from handbook.base.formats import format_number, format_percent, format_time
from handbook.base.units import kelvin
from handbook.brine.nitrite import CURED_FROM
from handbook.safety.case import SafetyCase
from handbook.safety.food_state import drying_spans, is_cured, is_injected, is_minced, warm_sausage_spans
from handbook.safety.judging import KNOWN_TO_FAIL, NOT_KNOWN, Finding, Rule, without_limit
from handbook.safety.step_times import measurement
from handbook.safety.timeline import DAY, HOUR, Span, timeline, with_heat_and_time

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

#: 9 CFR 319.106(c)(4): a country ham has a water activity of at most 0.92 (read in a public copy).
MOST_ACTIVITY = 0.92
#: 9 CFR 319.106(c)(6): a ham without nitrite is cured and dried for 70 days or longer.
_HAM_DAYS = 70 * DAY
_HAM_SALT = 0.04  # of green weight, an author's choice for "salted through" in a ham without nitrite
_CURED_DAYS = 20 * DAY
_WARMEST = kelvin(18)  # K of a drying room; common practice, no source
#: Trade's degree-hours in °F above 60 °F until pH 5.3, by the hottest chamber (second-hand).
_DEGREE_HOURS = ((90.0, 1200.0), (100.0, 1000.0), (1000.0, 900.0))
_SOUR_PH = 5.3


def dried_meat(case: SafetyCase) -> tuple[Finding, ...]:
    """Whole raw meat that is dried and eaten as it is."""
    spans = drying_spans(case)
    if not spans or case.is_for_the_eater_to_cook or any(each.is_heat for each in timeline(case)):
        return ()
    if is_minced(case) and warm_sausage_spans(case):
        return ()
    line = spans[0].line
    faults = [*_process_faults(case, spans), *_activity_faults(case)]
    figure = _dried_figure(case, spans)
    if not faults:
        message = "Cured, dried and measured. The measurement is the page's own; keep its record."
        return (without_limit(DRIED, "note", figure, message),)
    certainty = KNOWN_TO_FAIL if any(known for _, known, _ in faults) else NOT_KNOWN
    said = "; ".join(text for text, _, _ in faults)
    mend = "; ".join(mend for _, _, mend in faults)
    return (without_limit(DRIED, "stop", figure, f"{said}. {DRIED.advice}", certainty=certainty, line=line, mend=mend),)


def sausage_souring(case: SafetyCase) -> tuple[Finding, ...]:
    """Raw sausage that hangs in the warm: nitrite, degree-hours and a measured pH."""
    spans = warm_sausage_spans(case)
    if not spans:
        return ()
    faults = []
    if not is_cured(case):
        faults.append(("without nitrite", True, f"cure it with at least {CURED_FROM:.0f} ppm nitrite"))
    hours, most = _degree_hours(spans)
    if hours is None:
        faults.append(("the temperature of the warm room is not stated", False, "state it"))
    elif hours > most:
        faults.append(
            (f"{hours:.0f} degree-hours where {most:.0f} are the most", True, "sour it cooler or for less long")
        )
    acid = measurement(case, "pH")
    if acid is None:
        faults.append(
            ("no pH measured through the piece with its record; a typed pH is a claim", False, "measure the pH")
        )
    elif acid.value > _SOUR_PH:
        faults.append((f"pH {acid.value:g} where {_SOUR_PH} is asked", True, "let it sour further"))
    figure = f"{hours:.0f} degree-hours °F" if hours is not None else "degree-hours not known"
    figure += f", pH {acid.value:g} measured" if acid else ", pH not measured"
    if not faults:
        message = (
            "Second-hand limits of the trade: at most 1,200 degree-hours below 90 °F, to pH 5.3. Keep the run sheet."
        )
        return (without_limit(SOURED, "note", figure, message),)
    certainty = KNOWN_TO_FAIL if any(known for _, known, _ in faults) else NOT_KNOWN
    said = "; ".join(text for text, _, _ in faults)
    message = f"{said}. {SOURED.advice} The degree-hours are the trade's, second-hand."
    mend = "; ".join(mend for _, _, mend in faults)
    return (without_limit(SOURED, "stop", figure, message, certainty=certainty, line=spans[0].line, mend=mend),)


def is_well_dried(case: SafetyCase) -> bool:
    """Whether raw dried meat, or raw dried and soured sausage, meets its own rules: cold and cooking then have none."""
    found = (*dried_meat(case), *sausage_souring(case))
    return bool(found) and all(each.level != "stop" for each in found)


def is_dry_enough(case: SafetyCase, most: float = MOST_ACTIVITY) -> bool:
    """Whether a water activity of at most ``most`` is measured and on record."""
    found = measurement(case, "water activity")
    return found is not None and found.value <= most


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """All findings of this topic."""
    return (*dried_meat(case), *sausage_souring(case))


def _process_faults(case: SafetyCase, spans: tuple[Span, ...]) -> list[tuple[str, bool, str]]:
    faults = []
    days = sum(each.longest for each in timeline(case) if not each.is_frozen and each.longest < float("inf"))
    dried = sum(each.longest for each in spans)
    salt = case.equilibrium_salt.typical if case.equilibrium_salt else 0.0
    if is_minced(case) and not is_cured(case):
        faults.append(("minced and dried raw without nitrite", True, "cure it with nitrite"))
    elif not is_cured(case) and (days < _HAM_DAYS or salt < _HAM_SALT):
        text = f"without nitrite: {format_percent(salt)} salt and {format_time(days)} in all, where a ham takes 70 days"
        faults.append((text, True, "cure it with nitrite, or salt and dry it as a ham"))
    elif dried < _CURED_DAYS:
        faults.append(
            (f"dried for {format_time(dried)} only", True, f"dry it {format_time(_CURED_DAYS - dried)} longer")
        )
    if is_injected(case):
        faults.append(("a brine is injected, which meat dried for keeping may not have", True, "salt it dry"))
    warm = [each for each in spans if each.around is None or each.around.high > _WARMEST]
    unknown = [each for each in warm if each.around is None]
    if unknown:
        faults.append(("the drying room's temperature is not stated", False, "state the temperature"))
    elif warm and not is_dry_enough(case):
        faults.append(("dried in a warm room", True, "dry it at 18 °C or colder"))
    return faults


def _activity_faults(case: SafetyCase) -> list[tuple[str, bool, str]]:
    found = measurement(case, "water activity")
    if found is None:
        return [("no water activity measured, with its record; a figure without one is a claim", False, "measure it")]
    if found.value > MOST_ACTIVITY:
        return [(f"water activity {found.value:g} where {MOST_ACTIVITY:g} is the most", True, "dry it further")]
    return []


def _dried_figure(case: SafetyCase, spans: tuple[Span, ...]) -> str:
    activity, lost = measurement(case, "water activity"), measurement(case, "weight loss")
    parts = [f"dried for {format_time(sum(each.longest for each in spans))}"]
    parts.append(f"water activity {activity.value:g} measured" if activity else "water activity not measured")
    if lost:
        parts.append(f"weight loss {format_number(100 * lost.value, 0)} % measured")
    return ", ".join(parts)


def _degree_hours(spans: tuple[Span, ...]) -> tuple[float | None, float]:
    """Degree-hours in °F above 60 °F, None where a temperature is not stated; and the most that the trade allows."""
    known = with_heat_and_time(spans)
    if len(known) < len(spans):
        return None, 0.0
    degrees = [(around.high - 273.15) * 9 / 5 + 32 for _, around, _ in known]
    most = next(allowed for below, allowed in _DEGREE_HOURS if max(degrees) < below)
    hours = sum((degree - 60) * time.high / HOUR for degree, (_, _, time) in zip(degrees, known, strict=True))
    return hours, most
