"""Keeping without a fridge: food measured to be dry, salty or sour enough."""

from __future__ import annotations

from handbook.base.formats import format_number, format_number_range, format_time
from handbook.base.ranges import Range
from handbook.catalogue.food_families import FISH
from handbook.safety.case import SafetyCase
from handbook.safety.food_state import is_chilled
from handbook.safety.judging import BESIDE, FAILS, MEASURED, MET, STATED, Finding, Outcome, Rule, fitting, judge
from handbook.safety.limits import Limit, figure
from handbook.safety.rules.dried import is_well_dried
from handbook.safety.step_times import measurement, stated_ph
from handbook.safety.timeline import timeline

UNREFRIGERATED = Rule(
    id="unrefrigerated-keeping",
    topic="cold",
    title="Keeping without a fridge",
    advice="Keep it cold. Smoke, salt and sugar at the strength of the kitchen do not make it keep.",
)
RULES = (UNREFRIGERATED,)


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """Food kept without a fridge must be measured to be sour, dry or salty enough."""
    keeping = case.method.keeping
    if keeping is None or keeping.temperature is None or is_chilled(case):
        return ()
    text, kept = shelf_figure(case), keeps_without_fridge(case)

    def outcome(limit: Limit) -> Outcome:
        if kept and not _is_met(case, limit):
            return Outcome(limit, BESIDE, text, "Another way; one is enough.")
        return Outcome(limit, MET if kept else FAILS, text, line=keeping.line, basis=MEASURED if kept else STATED)

    return judge(case, UNREFRIGERATED, outcome)


def keeps_without_fridge(case: SafetyCase) -> bool:
    """Whether the food keeps without a fridge by any document's figure. Only measured values count.

    A whole, uncut leg keeps if it is dry-cured, hung as long as a country ham and measured. Fish keeps with the
    water-phase salt of salt fish. Acid counts only for vegetables.
    """
    return any(_is_met(case, each) for each in fitting(case, UNREFRIGERATED) if each.standing == "current")


def is_shelf_dry(case: SafetyCase) -> bool:
    """Whether the measured water activity is too low for bacteria of concern to grow."""
    found = measurement(case, "water activity")
    return found is not None and found.value <= figure("shelf-stable-animal", "water_activity")


def is_shelf_salt(case: SafetyCase) -> bool:
    """Whether fish has the measured water-phase salt that needs no cold."""
    found = measurement(case, "water-phase salt")
    least = figure("shelf-salt-fish-maine", "water_phase_salt")
    return case.food.food_class in FISH and found is not None and found.value >= least


def shelf_figure(case: SafetyCase) -> str:
    """The barriers of food kept without a fridge, in words: measured values, else computed ones."""
    found = (measurement(case, what) for what in ("water activity", "water-phase salt", "pH"))
    parts = [f"{each.what} {_value(each.what, each.value)} measured" for each in found if each is not None]
    if _is_country_leg(case):
        days = format_time(figure("dried-ham-days", "time"))
        parts.append(f"a whole uncut leg, dry-cured and hung for {days} or longer")
    if parts:
        return ", ".join(parts)
    barriers = barriers_text(case.water_phase_salt, stated_ph(case), case.water_activity)
    return f"neither water activity, salt nor pH measured with its record; {barriers} as computed"


def barriers_text(salt: Range | None, ph: Range | None, activity: Range | None) -> str:
    """The barriers in words: water-phase salt, pH, water activity. Unknown ones are named as unknown."""
    parts = [
        f"water-phase salt {_percent(salt)}" if salt else "water-phase salt not known",
        f"pH {format_number(ph.high, 1)}" if ph else "pH not stated",
        f"water activity {format_number_range(activity, 3)}" if activity else "water activity not known",
    ]
    return ", ".join(parts)


def _is_met(case: SafetyCase, limit: Limit) -> bool:
    """Whether a measured value meets one of the figures that the limit prints."""
    activity, salt, acid = (measurement(case, what) for what in ("water activity", "water-phase salt", "pH"))
    if limit.has("water_activity") and activity is not None and activity.value <= limit.value("water_activity"):
        return limit.id != "shelf-ham-whole" or _is_country_leg(case)
    if limit.has("water_phase_salt") and salt is not None:
        return salt.value >= limit.value("water_phase_salt")
    return limit.has("ph") and acid is not None and acid.value <= limit.value("ph") and acid.how in ("meter", "lab")


def _is_country_leg(case: SafetyCase) -> bool:
    """Whether this is a whole leg dried as the standard for country ham requires."""
    total = sum(each.longest for each in timeline(case) if not each.is_frozen)
    is_whole = case.method.pieces.form == "whole" and case.food.food_class == "pork"
    return is_whole and is_well_dried(case) and figure("dried-ham-days", "time") <= total < float("inf")


def _value(what: str, value: float) -> str:
    return f"{format_number(100 * value, 1)} %" if what == "water-phase salt" else f"{value:g}"


def _percent(value: Range) -> str:
    return f"{format_number_range(value.times(100), 1)} %"
