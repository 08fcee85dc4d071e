"""Hazards of smoker and fuel."""

from __future__ import annotations

from handbook.safety.case import SafetyCase
from handbook.safety.food_state import is_smoked
from handbook.safety.judging import Finding, Rule, caution

CARBON_MONOXIDE = Rule(
    id="smoker-carbon-monoxide",
    topic="smoke",
    title="Carbon monoxide",
    advice="It has no smell and kills. Stay out of a smokehouse that has been burning until it has been aired.",
)
FIRE = Rule(
    id="smoker-fire",
    topic="smoke",
    title="Fire",
    advice="Never leave a fire alone; empty the drip tray; ashes go into a metal bin with a lid, for two days.",
)
WOOD = Rule(
    id="smoke-wood",
    topic="smoke",
    title="Wood",
    advice="Thin, moving smoke; thick, standing smoke leaves tar on the food.",
)
RULES = (CARBON_MONOXIDE, FIRE, WOOD)


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """All findings of this topic, for methods that smoke."""
    return tuple(found for rule in RULES for found in caution(case, rule)) if is_smoked(case) else ()
