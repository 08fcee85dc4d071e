"""Fruit, nuts and pulses: documents for them as a kind, and processes without a document."""

from __future__ import annotations

from msgspec.structs import replace

from handbook.acid.food_acidity import food_acidity
from handbook.base.formats import format_number, format_percent, format_temperature_range, format_time_range
from handbook.catalogue.food_families import is_kidney_bean, raw_poison
from handbook.safety.case import SafetyCase
from handbook.safety.food_state import is_acid_food
from handbook.safety.judging import NOT_KNOWN, Finding, Rule, caution, fitting, shown, without_limit
from handbook.safety.notions import notion
from handbook.safety.ripening import is_fermented, salt_paste_spans
from handbook.safety.step_times import total_time
from handbook.safety.timeline import Span, timeline

ACID = Rule(
    id="acid-food",
    topic="salt",
    title="Fruit with acid of its own",
    advice="Its acid keeps botulism away as long as nothing less sour is packed with it.",
)
COOKED = Rule(
    id="cooked-plant-food",
    topic="cold",
    title="Cooked plant food needs the cold",
    advice="Boiled pulses are cooked food: cool them fast, keep them cold or hot.",
)
POISON = Rule(
    id="bean-poison",
    topic="heat",
    title="Poison of raw kidney beans",
    advice="Soak them, throw the water away and boil them hard before anything else. A slow cooker does not boil.",
)
NOT_JUDGED = Rule(
    id="plant-food-not-judged",
    topic="general",
    title="Plant food that no document here judges",
    advice="Have it validated by a process authority, or measure its pH or water activity.",
)
RULES = (ACID, COOKED, POISON, NOT_JUDGED)


def acid_food(case: SafetyCase) -> tuple[Finding, ...]:
    """The natural pH of a fruit compared with the definition of acid foods."""
    if case.food.food_class != "fruit":
        return ()
    known = food_acidity(case.food)
    figure = "natural pH not known"
    if known:
        figure = f"natural pH {format_number(known.ph.low, 1)} to {format_number(known.ph.high, 1)}"
    message = ACID.advice
    if not is_acid_food(case):
        message = "Not known to be an acid food, so it is judged as a vegetable: only a measured pH shows its acid."
    return tuple(shown(ACID, each, "note", figure, message) for each in fitting(case, ACID))


def cooked_pulses(case: SafetyCase) -> tuple[Finding, ...]:
    """The document by which boiled pulses are judged as cooked food, and the poison of kidney beans."""
    if case.food.food_class != "pulse":
        return ()
    told = tuple(shown(COOKED, each, "note", "boiled pulses", COOKED.advice) for each in fitting(case, COOKED))
    return (*told, *caution(case, POISON)) if is_kidney_bean(case.food) else told


def not_judged(case: SafetyCase) -> tuple[Finding, ...]:
    """Long warm processes of fruit, nuts and pulses without a document."""
    if case.food.food_class == "pulse":
        return _told(case, salt_paste_spans(case), "bean paste that ripens under salt")
    if case.food.food_class == "nut":
        wet = [each for each in _warm(case) if each.medium in ("brine", "water")]
        found = _told(case, wet, "nuts that lie wet in the warm")
        figure = f"nuts with {format_percent(case.food.water, 0)} water"
        message = "No rule here judges the roasting, the smoke or the mould of nuts. Keep them dry."
        return found or (replace(without_limit(NOT_JUDGED, "note", figure, message), is_judged=False),)
    if case.food.food_class == "fruit" and not is_acid_food(case) and not is_fermented(case):
        return _told(case, _warm(case), "fruit, not known to be an acid food, that stands in the warm")
    return ()


def own_poison(case: SafetyCase) -> tuple[Finding, ...]:
    """Plants that are poisonous raw or are confused with such plants, and sprouts: by name, and not judged."""
    word = raw_poison(case.food)
    if not word:
        return ()
    what = (
        "germs that grow with the seed"
        if word in ("bean sprout", "alfalfa", "seed sprout", "sprouted")
        else "a poison of the raw plant, or of one that looks like it"
    )
    message = f"No rule here judges {what}, nor whether this method removes it. Ask someone who knows the plant."
    return (without_limit(NOT_JUDGED, "act", f"{case.food.name}: {what}", message, certainty=NOT_KNOWN),)


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """All findings of this topic."""
    return (*acid_food(case), *cooked_pulses(case), *own_poison(case), *not_judged(case))


def _warm(case: SafetyCase) -> list[Span]:
    """Spans in which the food is unattended out of the cold, salted or wet, for so long that it changes."""
    return [
        each
        for each in timeline(case)
        if not each.is_heat and not each.is_cold and each.is_alone and each.longest > notion("sealed-for")
    ]


def _told(case: SafetyCase, spans: list[Span] | tuple[Span, ...], what: str) -> tuple[Finding, ...]:
    if not spans:
        return ()
    time = total_time(spans)
    known = [each.around for each in spans if each.around is not None]
    text = f"{what}: {format_time_range(time) if time else 'a time not stated'}"
    text += f" at {format_temperature_range(max(known, key=lambda each: each.high))}" if known else ""
    message = f"No rule found: it is not judged here. {NOT_JUDGED.advice}"
    return (without_limit(NOT_JUDGED, "act", text, message, certainty=NOT_KNOWN, line=spans[0].line),)
