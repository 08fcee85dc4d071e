"""Documents that are shown with the page and not judged individually.

This handbook computes no figure for these rules. Other rules judge a whole process at once, and the documents behind
their verdict are shown with it.
"""

from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from handbook.safety.case import SafetyCase
from handbook.safety.food_state import is_pickled
from handbook.safety.judging import Finding, Rule, fitting, shown
from handbook.safety.limits import Limit
from handbook.safety.ripening import is_fermented
from handbook.safety.rules import dried, hygiene, packs, parasites, sealed

_ADVICE = "Shown as printed; it is not judged here."
RULES = tuple(
    Rule(id=key, topic=topic, title=title, advice=_ADVICE)
    for key, topic, title in (
        ("oven-humidity", "heat", "Humidity while cooking"),
        ("drying-chamber", "heat", "Chamber while drying"),
        ("cooling-from-room", "cooling", "Cooling of food made from ingredients at room temperature"),
        ("cooling-law", "cooling", "Cooling and cold where the law prints no figure"),
        ("date-mark", "keeping", "Date and label of a pack"),
        ("pack-time", "salt", "Days in a pack without air"),
        ("pack-pasteurising", "salt", "Heat against cold-growing botulism in a pack"),
        ("parasite-heat", "parasites", "Heat that frees fish from freezing"),
        ("trichinae-curing", "parasites", "Trichinae in raw sausage, salt and drying"),
        ("histamine-level", "parasites", "Histamine measured in fish"),
    )
)
_BESIDE = "Shown for comparison: the rule judges the whole process together."
#: Rules of packs that do not apply to acid food.
_PACKS = ("pack-time", "pack-pasteurising")
#: Rules that judge a process as a whole.
_WHOLE = (dried.DRIED, dried.SOURED, parasites.GUTTING, hygiene.INFANTS, sealed.OIL)


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """Every printed limit of these rules that fits the food."""
    judged = (replace(shown(rule, limit, "note", "", _BESIDE), decides=False) for rule, limit in _fitting(case, _WHOLE))
    told = {each.limit for each in packs.pack_barrier(case)}
    unjudged = ((rule, limit) for rule, limit in _fitting(case, RULES) if limit.id not in told)
    printed = (replace(shown(rule, limit, "note", "", _ADVICE), is_judged=False) for rule, limit in unjudged)
    is_sour = is_fermented(case) or is_pickled(case)
    return (*(each for each in printed if each.rule not in _PACKS or not is_sour), *judged)


def _fitting(case: SafetyCase, rules: tuple[Rule, ...]) -> Iterator[tuple[Rule, Limit]]:
    return ((rule, limit) for rule in rules for limit in fitting(case, rule))
