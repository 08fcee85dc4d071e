"""Raw and finished apart, allergens, people at risk, and the cautions that stand on every page."""

from __future__ import annotations

from handbook.catalogue.food_families import RISKY_RAW
from handbook.safety.case import SafetyCase
from handbook.safety.food_state import is_raw, is_smoked, is_vacuum_packed
from handbook.safety.judging import Finding, Rule, caution
from handbook.safety.step_times import heat_works, works

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
RULES = (CROSS_CONTACT, USED_BRINE, ALLERGENS, PEOPLE, PERMIT, STANDING)


def cross_contact(case: SafetyCase) -> tuple[Finding, ...]:
    """One glaze brushed on before the heat is over and again after it; else the standing caution."""
    shared = _shared_glazes(case)
    if not shared:
        return caution(CROSS_CONTACT)
    figure = f"{', '.join(shared)}: brushed on before the food is cooked and again after"
    return caution(CROSS_CONTACT, figure, "act")


def used_brine(case: SafetyCase) -> tuple[Finding, ...]:
    """Brine and water that held raw food."""
    raw = case.food.food_class in RISKY_RAW and (case.method.saltings or _has(case, "freshen"))
    return caution(USED_BRINE) if raw else ()


def allergens(case: SafetyCase) -> tuple[Finding, ...]:
    """The allergens of food and ingredients."""
    figure = (
        f"contains {', '.join(case.allergens)}" if case.allergens else "none known of the food and ingredients named"
    )
    return caution(ALLERGENS, figure)


def susceptible_people(case: SafetyCase) -> tuple[Finding, ...]:
    """Animal food that is never heated through."""
    return caution(PEOPLE, "never heated through on this page") if is_raw(case) else ()


def permit(case: SafetyCase) -> tuple[Finding, ...]:
    """Smoking, curing and packing without air in a retail kitchen."""
    special = [
        name
        for name, is_so in (
            ("smoking", is_smoked(case)),
            ("dry curing", case.kind == "dry cure"),
            ("packing without air", is_vacuum_packed(case)),
            ("fermenting", _has(case, "ferment")),
        )
        if is_so
    ]
    if case.house.audience != "retail" or not special:
        return ()
    return caution(PERMIT, ", ".join(special), "act")


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """All findings of this topic."""
    return (
        *cross_contact(case),
        *used_brine(case),
        *allergens(case),
        *susceptible_people(case),
        *permit(case),
        *caution(STANDING),
    )


def _has(case: SafetyCase, stage: str) -> bool:
    return any(step.stage == stage for step in case.method.steps)


def _shared_glazes(case: SafetyCase) -> tuple[str, ...]:
    heated = heat_works(case)
    if not heated:
        return ()
    last = heated[-1].number
    names = [each.name for each in case.method.glazes]
    used = [(each.step.use, each.number) for each in works(case) if each.step.use in names]
    return tuple(
        name
        for name in names
        if any(use == name and number <= last for use, number in used)
        and any(use == name and number > last for use, number in used)
    )
