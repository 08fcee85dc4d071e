"""Compares a method with published safety limits: every rule, every document.

Limits are data (limits.py); rules are in safety_rules, one topic to a file. No finding declares a method safe: a met
limit says only that this figure meets that document.
"""

from __future__ import annotations

from handbook.safety.case import CoreCurve, SafetyCase
from handbook.safety.judging import Finding, sign
from handbook.safety.rules import (
    chamber,
    cold,
    cooking,
    cooling,
    cure,
    dried,
    ferment,
    growth,
    hot,
    hygiene,
    keeping,
    law,
    packs,
    parasites,
    plant,
    printed,
    sealed,
    shelf,
    smoke,
    vinegar,
    words,
)

LEVELS = ("stop", "act", "met", "note")
_TOPICS = (
    cooking,
    words,
    hot,
    chamber,
    cooling,
    cold,
    growth,
    shelf,
    packs,
    sealed,
    cure,
    dried,
    ferment,
    vinegar,
    parasites,
    plant,
    keeping,
    hygiene,
    smoke,
    printed,
)
#: Rule id -> title, every rule.
RULES: dict[str, str] = {rule.id: rule.title for topic in (*_TOPICS, law) for rule in topic.RULES}
#: Rule id -> advice to the cook.
ADVICE: dict[str, str] = {rule.id: rule.advice for topic in (*_TOPICS, law) for rule in topic.RULES}

__all__ = ["ADVICE", "LEVELS", "RULES", "CoreCurve", "Finding", "SafetyCase", "findings"]


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """Every finding of every rule that fits: stops first, then required actions, met limits and notes.

    A stop is a figure on the wrong side of a current document written for the house's audience, or, where a rule
    has none, for the nearest one. An exception signed in the house file turns it into an action, and stays visible.
    """
    found = [sign(each, case) for topic in _TOPICS for each in topic.findings(case)]
    found.append(law.law(case, found))
    return tuple(sorted(found, key=lambda each: LEVELS.index(each.level)))
