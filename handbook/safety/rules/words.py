"""Forms of the food in its name or in the words of a step that are stricter than the keys of the page."""

from __future__ import annotations

import re

from handbook.catalogue.food_families import RISKY_RAW
from handbook.safety.case import SafetyCase
from handbook.safety.food_state import is_injected
from handbook.safety.judging import NOT_KNOWN, Finding, Rule, without_limit

FORM = Rule(
    id="form-in-words",
    topic="heat",
    title="Form of the food in its name and in the words of steps",
    advice="What was outside is inside once food is minced, stuffed or pierced, and it is then cooked hotter.",
)
RULES = (FORM,)
_MEAT = (
    r"(?:meat|flesh|beef|pork|lamb|veal|venison|game|chicken|turkey|duck|goose|fish|trimmings|it|them|all|everything)"
)
#: Form of the pieces -> words for it. Minced garlic and herbs are not the food.
_WORDS = {
    "minced": re.compile(
        rf"\b(?:mince|grind|chop finely) (?:(?:the|all|half|of|raw|cold|lean) ){{0,3}}{_MEAT}\b|\bmeat grinder\b|\bmincer\b",
        re.IGNORECASE,
    ),
    "stuffed": re.compile(
        r"\b(?:stuffing|forcemeat|sausage ?meat)\b|\bstuff (?:the|each|every|it|them) (?!bag|pot|tub|jar|crock)",
        re.IGNORECASE,
    ),
    "tenderised": re.compile(
        r"\btenderi[sz]ers?\b|\b(?:blade|needle|machine|mechanically)[- ]tenderi[sz]ed?\b|"
        r"\b(?:needle|pierce|prick|stab) (?:(?:the|each|every) )?\w+ (?:all over|through|deeply|right through)\b",
        re.IGNORECASE,
    ),
}
#: A food that is sold minced says so in its name.
_MINCED_NAME = re.compile(r"\b(?:ground|minced?)\b", re.IGNORECASE)
#: A pricked skin lets fat out. Words such as apart or left out do not apply to the food.
_APART = re.compile(r"\b(?:no|not|never|without|apart|separate|separately|skin|casing|casings|mallet)\b", re.IGNORECASE)
#: Forms that are judged at least as strictly as each form.
_AS_STRICT = {
    "minced": ("minced", "mixed", "stuffed"),
    "stuffed": ("stuffed",),
    "tenderised": ("tenderised", "minced", "mixed", "stuffed"),
}


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """Food that comes minced, or that a step minces, stuffs or pierces, while the page's pieces state that it is whole
    inside."""
    if case.food.food_class not in RISKY_RAW or case.is_for_the_eater_to_cook:
        return ()
    if case.method.pieces.state == "cooked":
        return ()
    named = _MINCED_NAME.search(case.food.name)
    if named and not _is_told(case, "minced"):
        return (_against(case, "minced", f"“{named[0]}” in the name of the food", case.method.front_matter.line),)
    for step in case.method.steps:
        for form, words in _WORDS.items():
            said = words.search(step.do)
            if said is not None and not _APART.search(step.do) and not _is_told(case, form):
                return (_against(case, form, f"“{said[0].strip()}” in the words of a step", step.line),)
    return ()


def _against(case: SafetyCase, form: str, where: str, line: int) -> Finding:
    figure = f"{where}, while the pieces are {case.method.pieces.form}"
    mend = f"state `form: {form}` in the pieces block, or say otherwise what is done"
    return without_limit(FORM, "stop", figure, FORM.advice, certainty=NOT_KNOWN, line=line, mend=mend)


def _is_told(case: SafetyCase, form: str) -> bool:
    return case.method.pieces.worked_form in _AS_STRICT[form] or (form == "tenderised" and is_injected(case))
