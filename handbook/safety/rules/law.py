"""The law that judged a page, in one line."""

from __future__ import annotations

from collections.abc import Iterable

from handbook.page.house import NO_PLACE
from handbook.safety.case import SafetyCase
from handbook.safety.judging import Finding, Rule, without_limit
from handbook.safety.limits import DEFAULT_PLACE, limits

LAW = Rule(id="law", topic="general", title="Whose law judged this page", advice="Local codes prevail.")
RULES = (LAW,)


def law(case: SafetyCase, found: Iterable[Finding]) -> Finding:
    """The note that names the law of the deciding findings, and the topics judged by another place's law."""
    place, titles = case.house.place, {rule: title for rule, title in _deciding(found)}
    if place == NO_PLACE:
        text = f"Judged by {DEFAULT_PLACE} law and guidance: the house file names no `place`. {LAW.advice}"
        return without_limit(LAW, "note", "no place is named", text)
    if place == DEFAULT_PLACE:
        return without_limit(LAW, "note", place, f"Judged by {place} law and guidance. {LAW.advice}")
    others = sorted({title.lower() for rule, title in titles.items() if rule[1] == DEFAULT_PLACE})
    text = f"Judged by {place} law where this handbook holds its documents."
    if others:
        text += f" Judged by {DEFAULT_PLACE} law: no {_ADJECTIVES.get(place, place)} document for {', '.join(others)} is in this handbook."
    return without_limit(LAW, "note", place, f"{text} {LAW.advice}")


_ADJECTIVES = {"European Union": "European"}


def _deciding(found: Iterable[Finding]) -> Iterable[tuple[tuple[str, str], str]]:
    for each in found:
        if each.limit and each.decides:
            yield (each.rule, limits()[each.limit].place), each.title
