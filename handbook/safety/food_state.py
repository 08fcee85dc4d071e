"""What the food of a method is, for every rule: raw or cooked through, cured, minced, packed without air, kept cold.

Each notion is defined here once, on the food, its steps and its computed figures. ``conditions`` says which of the
closed list of conditions (handbook.conditions) hold.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from handbook.brine import nitrite as curing
from handbook.brine.make_up import MakeUp
from handbook.catalogue.food_families import FISH, MEAT, RISKY_RAW, is_farmed_species, is_tuna
from handbook.catalogue.foods import Food
from handbook.page.salting import Glaze, Salting
from handbook.page.until import WATER_ACTIVITY, WEIGHT_LOSS
from handbook.safety.case import SafetyCase, once
from handbook.safety.conditions import Condition
from handbook.safety.limits import limits
from handbook.safety.notions import notion
from handbook.safety.step_times import heat_works, measurement, stated_core, total_time
from handbook.safety.timeline import Span, before_heat, timeline

#: K: a core from here on is cooked through.
COOKED_THROUGH = notion("cooked-through")
#: K: food kept warmer than this is kept without a fridge.
COLD_AT_MOST = notion("fridge")
#: Share of vinegar in a brine from which food counts as pickled.
PICKLED_FROM = notion("pickled")
#: K: surroundings above which raw sausage sours, and below which only drying goes on.
SOURS_FROM = notion("sours")
#: Foods that spoil out of the cold when raw or cooked: what the rules of cold and cooling are written for.
PERISHABLE = (*RISKY_RAW, "cheese", "tofu")
#: Packs in which no air reaches the food.
NO_AIR_PACKS = ("vacuum", "brine", "oil", "jar", "bottle", "can")
#: Words in a fish's name that tell of the families that form histamine; which fish belongs where is from memory.
HISTAMINE_NAMES = frozenset(
    [
        "tuna",
        "bonito",
        "mackerel",
        "sardine",
        "pilchard",
        "sprat",
        "herring",
        "anchovy",
        "anchovie",
        "shad",
        "menhaden",
        "alewife",
        "mahi",
        "dolphinfish",
        "bluefish",
        "amberjack",
        "yellowtail",
        "marlin",
        "saury",
        "skipjack",
        "sierra",
        "wahoo",
        "escolar",
    ]
)
_JERKY_AIR = (notion("jerky-air-low"), notion("jerky-air-high"))


def is_heated(case: SafetyCase) -> bool:
    """Whether any step heats the food; that does not make it cooked through."""
    return bool(heat_works(case))


def is_cooked_through(case: SafetyCase) -> bool | None:
    """Whether a stated or computed core reaches COOKED_THROUGH; None where it is heated and no core is known."""
    cores = [core for _, core, _ in stated_core(case)]
    if case.core is not None:
        cores.append(case.core.highest.low)
    if cores:
        return max(cores) >= COOKED_THROUGH
    return None if is_heated(case) else False


def is_raw(case: SafetyCase) -> bool:
    """Whether animal food comes raw and ends on the page with no heat at all."""
    return case.food.food_class in RISKY_RAW and case.method.pieces.state != "cooked" and not is_heated(case)


def is_smoked(case: SafetyCase) -> bool:
    """Whether any step is in smoke, hot or cold."""
    return any(step.place == "smoker" for step in case.method.steps)


def family_kind(case: SafetyCase) -> str:
    """The family that the food belongs to, in the words of the limits, from what is done to it and not from its page."""
    if is_smoked(case):
        return "hot smoke" if is_heated(case) else "cold smoke"
    if is_heated(case):
        return "cook"
    if is_fermented(case):
        return "ferment"
    if not case.method.saltings:
        return "cook"
    return "dry cure" if all(each.is_dry for each in case.method.saltings) else "brine"


def vinegar_share(case: SafetyCase) -> float:
    """Vinegar in the strongest vinegar brine, as a fraction of its vinegar and added water; 0 without vinegar."""
    shares = [0.0]
    for salting in case.method.saltings:
        made = case.makes.get(salting.name)
        parts = made.parts if made else ()
        vinegar = sum(part.mass.typical for part in parts if "vinegar" in part.ingredient.name)
        water = sum(part.mass.typical for part in parts if part.ingredient.name.startswith("water"))
        if vinegar:
            shares.append(vinegar / (vinegar + water))
    return max(shares)


def souring_spans(case: SafetyCase) -> tuple[Span, ...]:
    """The spans in which vegetables sour on their own: salted, not in vinegar, left out of the cold for long.

    What a ferment may do in the warm is never granted to raw fish, meat, poultry or eggs.
    """
    if case.food.food_class != "vegetable" or not case.method.saltings or vinegar_share(case) >= PICKLED_FROM:
        return ()
    return tuple(
        each
        for each in timeline(case)
        if not each.is_heat and not each.is_cold and each.longest >= notion("ferments-for") and each.is_alone
    )


def is_fermented(case: SafetyCase) -> bool:
    """Whether the food is a vegetable that sours on the page."""
    return bool(souring_spans(case))


def is_pickled(case: SafetyCase) -> bool:
    """Whether the food ends in a brine that is mostly vinegar."""
    return vinegar_share(case) >= PICKLED_FROM


def forms_histamine(food: Food) -> bool:
    """Whether the fish forms histamine: as its row says, or as its name does, whatever a house's row says."""
    words = food.name.replace(",", " ").casefold().split()
    return food.is_scombroid or (
        food.food_class == "fish" and any(word.rstrip("s") in HISTAMINE_NAMES for word in words)
    )


def drying_spans(case: SafetyCase) -> tuple[Span, ...]:
    """The spans in which salted raw meat hangs to dry for days."""
    if case.food.food_class not in MEAT or not case.method.saltings:
        return ()
    return tuple(
        each
        for each in timeline(case)
        if not each.is_heat
        and not each.is_frozen
        and each.longest >= notion("hangs-for")
        and each.step.use is None
        and each.medium in ("air", "cased", "wrapped")
        and (each.step.loss is not None or each.step.humidity is not None or not each.is_cold)
    )


def is_dried_after_heat(case: SafetyCase) -> bool:
    """Whether meat is heated to a stated core and then loses much of its weight: strips for keeping."""
    if case.food.food_class not in MEAT:
        return False
    cored = [each.number for each in timeline(case) if each.is_heat and each.step.core is not None]
    later = [each.step for each in timeline(case) if cored and each.number > cored[0]]
    if any(step.waits_for == WATER_ACTIVITY for step in later):
        return True
    ends = [step.until.value for step in later if step.until is not None and step.waits_for == WEIGHT_LOSS]
    lost = sum(step.loss.middle for step in later if step.loss is not None)
    return max(lost, *(each for each in ends if each is not None), 0.0) >= notion("dried-by")


def warm_sausage_spans(case: SafetyCase) -> tuple[Span, ...]:
    """The spans in which raw minced meat hangs in the warm to sour, before any heat."""
    if case.food.food_class not in MEAT or not is_minced(case):
        return ()
    return tuple(
        each
        for each in before_heat(case)
        if not each.is_frozen
        and each.is_alone
        and each.longest >= notion("sours-for")
        and (each.around is None or each.around.high > SOURS_FROM)
        and each.step.place not in ("smoker", "fridge")
    )


def is_minced(case: SafetyCase) -> bool:
    """Whether minced food is in it: minced food itself, or the filling of stuffed food."""
    return case.method.pieces.worked_form in ("minced", "mixed", "stuffed")


def is_injected(case: SafetyCase) -> bool:
    """Whether brine is pumped in, so that what was outside is inside."""
    return any(each.pump is not None for each in case.method.saltings)


def is_intact(case: SafetyCase) -> bool:
    """Whether the inside of the food is as it grew: neither minced, stuffed nor injected."""
    return not is_minced(case) and not is_injected(case)


def curing_saltings(case: SafetyCase) -> tuple[tuple[Salting | Glaze, MakeUp], ...]:
    """The saltings and glazes that bring nitrite or nitrate, with what they are made up of."""
    mixtures: tuple[Salting | Glaze, ...] = (*case.method.saltings, *case.method.glazes)
    made = ((each, case.makes.get(each.name)) for each in mixtures)
    return tuple((each, make_up) for each, make_up in made if make_up is not None and make_up.has_cure)


def has_nitrate(case: SafetyCase) -> bool:
    """Whether a salting brings nitrate."""
    return any(made.total("nitrate") > 0 for _, made in curing_saltings(case))


def is_cured(case: SafetyCase) -> bool:
    """Whether there is enough ingoing nitrite for the food to cool and keep as cured food."""
    nitrite = case.ingoing_nitrite_ppm
    return nitrite is not None and nitrite.typical >= curing.CURED_FROM


def has_no_air(case: SafetyCase) -> bool:
    """Whether the finished food is kept where no air reaches it."""
    return case.pack in NO_AIR_PACKS


def is_vacuum_packed(case: SafetyCase) -> bool:
    """Whether the finished food is sealed in a pack without air: the trade's reduced oxygen packaging."""
    return case.pack in ("vacuum", "jar", "bottle", "can")


def is_only_frozen(case: SafetyCase) -> bool:
    """Whether the page keeps the food frozen and gives it no cold life."""
    keeping = case.method.keeping
    return keeping is not None and keeping.time is None and keeping.frozen is not None


def is_chilled(case: SafetyCase) -> bool:
    """Whether the page keeps the food cold: at a stated temperature of at most COLD_AT_MOST."""
    keeping = case.method.keeping
    return keeping is not None and keeping.temperature is not None and keeping.temperature.high <= COLD_AT_MOST


def freezing_exemption(case: SafetyCase) -> str:
    """Why fish is exempt from the freezing against parasites, in words; empty where it is not."""
    if case.food.food_class != "fish":
        return ""
    if is_tuna(case.food):
        return f"{case.food.name}: among the listed tuna species"
    return "farmed, as the page states" if says_farmed(case) and is_farmed_species(case.food) else ""


def says_farmed(case: SafetyCase) -> bool:
    """Whether the page says that the fish was farmed."""
    return case.method.pieces.origin == "farmed"


@once
def conditions(case: SafetyCase) -> frozenset[Condition]:
    """The conditions that hold for this method, as the limits ask for them."""
    parts = (_of_form, _of_food, _of_steps, _of_curing, _of_pack, _of_families)
    return frozenset(each for part in parts for each in part(case))


def _of_form(case: SafetyCase) -> Iterator[Condition]:
    if is_minced(case):
        yield Condition.MINCED
    else:
        yield Condition.WHOLE_CUT
    if case.method.pieces.form == "stuffed":
        yield Condition.STUFFED
    if is_injected(case):
        yield Condition.INJECTED
    if is_intact(case):
        yield Condition.INTACT


def _of_food(case: SafetyCase) -> Iterator[Condition]:
    bacon = curing.is_bacon(case.food, case.method.pieces.worked_form)
    yield Condition.BACON if bacon else Condition.OTHER_THAN_BACON
    if is_tuna(case.food):
        yield Condition.TUNA
    if forms_histamine(case.food):
        yield Condition.SCOMBROID
    if freezing_exemption(case):
        yield Condition.EXEMPT


def _of_steps(case: SafetyCase) -> Iterator[Condition]:
    yield Condition.SMOKED if is_smoked(case) else Condition.UNSMOKED
    yield Condition.COOKED_THROUGH if is_cooked_through(case) is True else Condition.UNCOOKED
    if case.is_for_the_eater_to_cook:
        yield Condition.COOKED_BY_EATER
    soaked = total_time(each for each in before_heat(case) if each.medium == "brine" and each.is_alone)
    if soaked is None or soaked.high > notion("long-brining"):
        yield Condition.BRINED_LONG


def _of_curing(case: SafetyCase) -> Iterator[Condition]:
    yield Condition.CURED if is_cured(case) else Condition.UNCURED
    if case.ingoing_nitrite_ppm is not None and case.ingoing_nitrite_ppm.high > 0:
        yield Condition.NITRITE
    if case.ingoing_nitrate_ppm is not None and case.ingoing_nitrate_ppm.high > 0:
        yield Condition.NITRATE
    for salting, _ in curing_saltings(case):
        kind = salting.kind if isinstance(salting, Salting) else "dry cure"
        process = curing.cure_process(kind, case.method.pieces.worked_form)
        if process is curing.Process.DRY_CURED:
            yield Condition.DRY_CURED
        elif process is not curing.Process.MIXED_IN:
            yield Condition.PUMPED_OR_IMMERSED
    nitrite, nitrate = (curing.may_take(case.food, salt) for salt in ("nitrite", "nitrate"))
    if nitrite.limit == "nitrite-fish":
        yield Condition.NITRITE_FISH
    if nitrate.limit == "nitrate-fish":
        yield Condition.NITRATE_FISH
    if not nitrite.allowed:
        yield Condition.NITRITE_NOT_PERMITTED
    if not nitrate.allowed:
        yield Condition.NITRATE_NOT_PERMITTED


def _of_pack(case: SafetyCase) -> Iterator[Condition]:
    if case.pack in ("air", "wrapped", "casing"):
        yield Condition.IN_AIR
    if has_no_air(case):
        yield Condition.NO_AIR


def _of_families(case: SafetyCase) -> Iterator[Condition]:
    """Which family's documents the food falls under."""
    food, name = case.food, case.food.name.casefold()
    if food.food_class == "poultry":
        bird = next((each for each in (Condition.CHICKEN, Condition.TURKEY) if name.startswith(each)), None)
        yield bird or Condition.OTHER_POULTRY
    if food.food_class == "vegetable":
        kind = next((each for each in (Condition.CABBAGE, Condition.CUCUMBER) if name.startswith(each)), None)
        is_napa = kind is Condition.CABBAGE and "napa" in name
        yield Condition.NAPA if is_napa else kind or Condition.OTHER_VEGETABLE
    if food.food_class == "pork" and Condition.HAM in re.split(r"\W+", name):
        yield Condition.HAM
    if name.startswith((Condition.HERRING, "sprat")):
        yield Condition.HERRING
    if drying_spans(case):
        yield Condition.DRIED_IN_AIR
    if is_dried_after_heat(case) or _dries_thin(case):
        yield Condition.JERKY
    if warm_sausage_spans(case):
        yield Condition.SOURING
    yield Condition.PICKLED if is_pickled(case) else Condition.UNPICKLED
    if food.food_class in FISH and _is_barred(case):
        yield Condition.BARRED
    if _holds(case, "honey"):
        yield Condition.HONEY


def _is_barred(case: SafetyCase) -> bool:
    """Whether fish holds, as measured, the salt in its water or the acid that lets it lie a little warmer."""
    limit, salt, acid = (
        limits()["cold-holding-salted-fish"],
        measurement(case, "water-phase salt"),
        measurement(case, "pH"),
    )
    return (salt is not None and salt.value >= limit.value("water_phase_salt")) or (
        acid is not None and acid.value <= limit.value("ph")
    )


def _holds(case: SafetyCase, item: str) -> bool:
    """Whether a salting or a glaze names an ingredient that begins with ``item``."""
    mixtures: tuple[Salting | Glaze, ...] = (*case.method.saltings, *case.method.glazes)
    return any(line.item.casefold().startswith(item) for each in mixtures for line in each.ingredients)


def _dries_thin(case: SafetyCase) -> bool:
    """Whether thin meat stays for hours in warm air: jerky by any name."""
    if case.food.food_class not in MEAT or case.method.pieces.thickness.low > notion("jerky-thickness"):
        return False
    return any(
        each.around is not None
        and _JERKY_AIR[0] <= each.around.typical <= _JERKY_AIR[1]
        and each.longest >= notion("jerky-time")
        for each in timeline(case)
    )
