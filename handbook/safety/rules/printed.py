"""Rules whose documents are shown with the page and not judged: this handbook computes no figure to hold against them."""

from __future__ import annotations

from handbook.safety.case import SafetyCase
from handbook.safety.judging import Finding, Rule, fitting, shown

_ADVICE = "Shown as printed; it is not judged here."
RULES = tuple(
    Rule(id=key, topic=topic, title=title, advice=_ADVICE)
    for key, topic, title in (
        ("oven-humidity", "heat", "Humidity while cooking"),
        ("drying-chamber", "heat", "Chamber while drying"),
        ("cooling-from-room", "cooling", "Cooling of food made from ingredients at room temperature"),
        ("pack-time", "salt", "Days in a pack without air"),
        ("pack-pasteurising", "salt", "Heat against cold-growing botulism in a pack"),
        ("vinegar-strength", "ferment", "Strength of vinegar"),
        ("parasite-heat", "parasites", "Heat that frees fish from freezing"),
        ("histamine-level", "parasites", "Histamine measured in fish"),
    )
)


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """Every printed limit of these rules that fits the food."""
    return tuple(shown(rule, limit, "note", "", _ADVICE) for rule in RULES for limit in fitting(case, rule))
