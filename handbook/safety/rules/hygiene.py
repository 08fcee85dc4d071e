"""Cross-contact, allergens, people at risk, and the cautions of every page."""

from __future__ import annotations

import re

from msgspec.structs import replace

from handbook.catalogue.allergen_words import allergens_in
from handbook.catalogue.food_families import RISKY_RAW
from handbook.safety.case import SafetyCase
from handbook.safety.food_state import curing_saltings, is_cooked_through, is_raw, is_smoked, is_vacuum_packed
from handbook.safety.judging import KNOWN_TO_FAIL, Finding, Rule, caution, without_limit
from handbook.safety.notions import notion
from handbook.safety.ripening import is_fermented
from handbook.safety.timeline import Span, after_heat, timeline

CROSS_CONTACT = Rule(
    id="cross-contact",
    topic="hygiene",
    title="Raw and finished apart",
    advice="Boards, knives, racks, brushes and hands that touched raw food are washed before they touch finished food.",
)
USED_BRINE = Rule(
    id="used-brine",
    topic="hygiene",
    title="Used brine, cure and freshening water",
    advice="Throw it away after one batch; it has held raw food.",
)
ALLERGENS = Rule(
    id="allergens", topic="hygiene", title="Allergens", advice="Read the label of every bought ingredient."
)
PEOPLE = Rule(
    id="susceptible-people",
    topic="hygiene",
    title="People at risk",
    advice="This food is not cooked through. Say so to whoever eats it.",
)
PERMIT = Rule(
    id="permit",
    topic="general",
    title="A permit at retail",
    advice="Ask the local authority before selling.",
    binds="own",
)
STANDING = Rule(
    id="standing-caution",
    topic="general",
    title="Models and thermometers",
    advice="The figures of this page are models with a range. A calibrated thermometer in the thickest place decides. "
    "Local codes and licensed practice prevail over this page.",
)
INFANTS = Rule(id="infants", topic="hygiene", title="Honey and infants", advice="No honey before the first birthday.")
RULES = (CROSS_CONTACT, USED_BRINE, ALLERGENS, INFANTS, PEOPLE, PERMIT, STANDING)
_MONTHS = r"(?:1[01]|[1-9]|one|two|three|four|five|six|seven|eight|nine|ten|eleven)"
#: Words that name a child before or about the first birthday.
_INFANTS = re.compile(
    r"\b(?:baby|babies|infants?|toddlers?|wean(?:ing|ed|lings?)|newborns?|breast-?fed|"
    rf"{_MONTHS}[- ]months?[- ]olds?|(?:from|at) {_MONTHS} months|first (?:foods|solids)|"
    r"before (?:they|he|she|it|the child|a child) turns? (?:one|1)|"
    r"(?:under|before|below|younger than) (?:(?:one|a|1)[- ]years?|(?:12|twelve)[- ]months?))\b",
    re.IGNORECASE,
)


def cross_contact(case: SafetyCase) -> tuple[Finding, ...]:
    """One glaze brushed on before the end of the heat and again after it; else the general caution."""
    shared = _shared_glazes(case)
    if not shared:
        return caution(case, CROSS_CONTACT)
    figure = f"{', '.join(shared)}: brushed on before the food is cooked and again after"
    return caution(case, CROSS_CONTACT, figure, "act")


def used_brine(case: SafetyCase) -> tuple[Finding, ...]:
    """Brine, cure and marinade that held raw food: on cooked food they count as raw food."""
    if case.food.food_class not in RISKY_RAW or not case.method.saltings:
        return ()
    again = _used_again(case)
    if again is None:
        return caution(case, USED_BRINE)
    name = _mixture_of(case, again) or "the mixture"
    figure = f"{name}: held raw food, used again in step {again.number} and not boiled"
    message = "Raw brine or marinade is raw food. Boil it hard first, keep a part back, or throw it away."
    (stop,) = caution(case, USED_BRINE, figure, "stop")
    return (replace(stop, message=message, certainty=KNOWN_TO_FAIL, line=again.line, mend="boil it first"),)


def allergens(case: SafetyCase) -> tuple[Finding, ...]:
    """The allergens of food and ingredients, and allergens named only in the words of a step."""
    contained = f"contains {', '.join(case.allergens)}"
    figure = contained if case.allergens else "none known of the food and ingredients named"
    found = list(caution(case, ALLERGENS, figure))
    level = "act" if case.house.audience == "home" else "stop"
    for step in case.method.steps:
        words = f"{step.do} {step.repeat.do if step.repeat else ''}"
        for allergen, word in allergens_in(words, case.house.place).items():
            if _is_listed(allergen, case):
                continue
            figure = f"“{word}” in the words of a step: allergen {allergen} is missing among the ingredients"
            message = "List it as an ingredient of a salting or glaze, so that the label names it."
            found.append(
                without_limit(ALLERGENS, level, figure, message, certainty=KNOWN_TO_FAIL, line=step.line, mend=message)
            )
    return tuple(found)


def infants(case: SafetyCase) -> tuple[Finding, ...]:
    """Honey: never for infants before the first birthday, cooked or not."""
    if not _has_honey(case):
        return ()
    sheet = case.method.front_matter
    texts = [(sheet.title, sheet.line), (sheet.summary, sheet.line), (" ".join(sheet.tags), sheet.line)]
    texts += [(step.do, step.line) for step in case.method.steps]
    said = next((line for text, line in texts if _INFANTS.search(text)), None)
    if said is None:
        return (without_limit(INFANTS, "note", "contains honey", "Never for a child before the first birthday."),)
    figure = "honey in food that the page names for infants"
    message = (
        "Honey may hold spores of botulism; before the first birthday it is never given, cooked or not. "
        "(Institut national de santé publique du Québec)"
    )
    mend = "leave the honey out"
    return (without_limit(INFANTS, "stop", figure, message, certainty=KNOWN_TO_FAIL, line=said, mend=mend),)


def susceptible_people(case: SafetyCase) -> tuple[Finding, ...]:
    """Animal food that is never heated through."""
    return caution(case, PEOPLE, "never heated through on this page") if is_raw(case) else ()


def permit(case: SafetyCase) -> tuple[Finding, ...]:
    """Smoking and curing for keeping, fermenting and packing without air in a retail kitchen.

    Plain salt and smoke on food that is cooked and served at once count as seasoning, as does salt mixed into mince.
    """
    is_served = case.method.keeping is None and is_cooked_through(case)
    is_dry_cured = any(each.kind == "dry cure" for each in case.method.saltings) and not is_served
    special = [
        name
        for name, is_so in (
            ("smoking", is_smoked(case) and not is_served),
            ("curing", is_dry_cured or bool(curing_saltings(case))),
            ("packing without air", is_vacuum_packed(case)),
            ("fermenting", is_fermented(case)),
        )
        if is_so
    ]
    if case.house.audience != "retail" or not special:
        return ()
    return caution(case, PERMIT, ", ".join(special), "act")


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """All findings of this topic."""
    return (
        *cross_contact(case),
        *used_brine(case),
        *allergens(case),
        *infants(case),
        *susceptible_people(case),
        *permit(case),
        *caution(case, STANDING),
    )


def _used_again(case: SafetyCase) -> Span | None:
    """The first span, in or after the heat, that uses a salting which held the raw food and was not boiled."""
    held_raw: set[str] = set()
    is_cooked = False
    for each in timeline(case):
        name = _mixture_of(case, each)
        if name is None:
            is_cooked = is_cooked or each.is_heat
            continue
        if _is_boiled(each):
            held_raw.discard(name)
            is_cooked = is_cooked or each.step.core is not None
            continue
        if (is_cooked or each.is_heat) and name in held_raw:
            return each
        if not is_cooked:
            held_raw.add(name)
        is_cooked = is_cooked or each.is_heat
    return None


def _mixture_of(case: SafetyCase, span: Span) -> str | None:
    """Name of the salting that a span uses, also in a pan beside the food; None for a glaze and without one."""
    named = next((each for each in case.method.saltings if each.name == span.step.use), None)
    salting = named or case.method.salting_of(span.step)
    return salting.name if salting is not None else None


def _is_boiled(span: Span) -> bool:
    """Whether a span boils its mixture."""
    hot = span.around is not None and span.around.low >= notion("boils") and span.medium in ("water", "brine")
    cored = span.step.core is None or span.step.core.low >= notion("boiled-core")
    return span.step.use is not None and hot and cored and span.step.repeat is None


def _has_honey(case: SafetyCase) -> bool:
    names = [part.ingredient.name for made in case.makes.values() for part in made.parts]
    return any("honey" in name for name in names) or any(
        re.search(r"\bhoney\b", step.do, re.IGNORECASE) for step in case.method.steps
    )


def _is_listed(allergen: str, case: SafetyCase) -> bool:
    listed = {*case.allergens, case.food.allergen}
    return any(allergen in each or each in allergen for each in listed if each)


def _shared_glazes(case: SafetyCase) -> tuple[str, ...]:
    after = {each.step.use for each in after_heat(case)}
    before = {each.step.use for each in timeline(case)[: -len(after_heat(case)) or None]}
    return tuple(each.name for each in case.method.glazes if each.name in before and each.name in after)
