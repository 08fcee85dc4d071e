"""The state of the food, for every rule: raw or cooked through, cured, minced, packed without air, kept cold.

Each concept is defined here once, from the food, its steps and its computed figures. Souring and drying are in
handbook.safety.ripening, the conditions of limits in handbook.safety.held_conditions.
"""

from __future__ import annotations

from handbook.acid.food_acidity import food_acidity
from handbook.brine import nitrite as curing
from handbook.brine.make_up import MakeUp
from handbook.catalogue.food_families import RISKY_RAW, is_farmed_species, is_loose_roe, is_tuna
from handbook.catalogue.foods import Food
from handbook.page.heated import dries
from handbook.page.salting import Glaze, Salting
from handbook.safety.case import SafetyCase
from handbook.safety.limits import figure
from handbook.safety.notions import notion
from handbook.safety.step_times import measurement, stated_ph
from handbook.safety.timeline import heat_spans, stated_core, timeline

#: K: food is cooked through from this core.
COOKED_THROUGH = notion("cooked-through")
#: K: food kept above this is kept without a fridge.
COLD_AT_MOST = notion("fridge")
#: Share of vinegar in a brine from which food counts as pickled.
PICKLED_FROM = notion("pickled")
#: Foods that spoil out of the cold: the rules of cold and cooling apply to them. Pulses are included as boiled.
PERISHABLE = (*RISKY_RAW, "cheese", "tofu", "pulse")
#: Share of the food's weight from which a bath can cover it.
COVERS = notion("covers")
#: Foods without a document for vinegar: only a measured pH shows their acid.
_NO_PICKLE = ("nut", "pulse")
#: Packs without air.
NO_AIR_PACKS = ("vacuum", "brine", "oil", "jar", "bottle", "can")
#: Words in a fish's name that identify the families that form histamine. The list is from memory.
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


def is_heated(case: SafetyCase) -> bool:
    """Whether any step heats the food, cooked through or not."""
    return bool(heat_spans(case))


def is_cooked_through(case: SafetyCase) -> bool | None:
    """Whether a stated or computed core reaches COOKED_THROUGH; None where it is heated and no core is known."""
    cores = [core for _, core, _ in stated_core(case)]
    if case.core is not None:
        cores.append(case.core.highest.low)
    if cores:
        return max(cores) >= COOKED_THROUGH
    return None if is_heated(case) else False


def is_raw(case: SafetyCase) -> bool:
    """Whether animal food starts raw and no step heats it."""
    return case.food.food_class in RISKY_RAW and case.method.pieces.state != "cooked" and not is_heated(case)


def is_smoked(case: SafetyCase) -> bool:
    """Whether any step is in smoke, hot or cold."""
    return any(step.place == "smoker" for step in case.method.steps)


def vinegar_share(case: SafetyCase) -> float:
    """Vinegar in the strongest vinegar brine, as a fraction of its vinegar and added water; 0 without vinegar.

    A splash that food is dressed with is no brine: a bath of vinegar has at least COVERS of the food's weight.
    """
    return max((_share_of_vinegar(case, each) for each in case.method.saltings), default=0.0)


def _share_of_vinegar(case: SafetyCase, salting: Salting) -> float:
    made = case.makes.get(salting.name)
    food = case.method.batches.written_for.low
    if made is None or not salting.is_bath or made.mass < COVERS * food:
        return 0.0
    vinegar = sum(part.mass.typical for part in made.parts if "vinegar" in part.ingredient.name)
    water = sum(part.mass.typical for part in made.parts if part.ingredient.name.startswith("water"))
    return vinegar / (vinegar + water) if vinegar else 0.0


def is_pickled(case: SafetyCase) -> bool:
    """Whether the finished food is in a brine that is mostly vinegar, as covered by a document."""
    if case.food.food_class in _NO_PICKLE:
        return False
    last: Salting | None = None
    for each in timeline(case):
        salting = case.method.salting_of(each.step)
        if salting is not None:
            last = salting
        elif each.is_heat and each.step.medium not in ("brine", "jar"):
            last = None
    return last is not None and _share_of_vinegar(case, last) >= PICKLED_FROM


def is_acid_food(case: SafetyCase) -> bool:
    """Whether the food is a fruit whose own pH is known to be that of acid foods. A figure from memory is not enough."""
    known = food_acidity(case.food) if case.food.food_class == "fruit" else None
    return known is not None and known.trust != "from memory" and known.ph.high <= figure("acid-food", "ph")


def is_cooked_plant(case: SafetyCase) -> bool:
    """Whether a vegetable or fruit comes cooked or is heated on the page, and neither vinegar, acid of its own, a measured
    pH nor a measured dryness keeps it: what a kitchen may not leave out of the cold. Pulses have a class of their own."""
    if case.food.food_class not in ("vegetable", "fruit") or is_pickled(case) or is_acid_food(case):
        return False
    acid, activity = stated_ph(case), measurement(case, "water activity")
    if acid is not None and acid.high <= figure("shelf-stable", "ph"):
        return False
    if activity is not None and activity.value <= figure("shelf-stable", "water_activity"):
        return False
    return (is_heated(case) or case.method.pieces.state == "cooked") and not _is_dried_plant(case)


def _is_dried_plant(case: SafetyCase) -> bool:
    """Whether a vegetable or fruit loses so much weight in drying that it is dried for keeping: the rules of keeping
    without a fridge then judge it. What boils away in a pan dries nothing."""
    lost = sum(step.loss.low for step in case.method.steps if step.loss is not None and dries(step))
    return lost >= notion("plant-dried-by")


def is_perishable(case: SafetyCase) -> bool:
    """Whether the rules of cold, cooling and hot holding ask for the food."""
    return case.food.food_class in PERISHABLE or is_cooked_plant(case)


def forms_histamine(food: Food) -> bool:
    """Whether the fish forms histamine, by its row or by its name. A house's row cannot deny it."""
    words = food.name.replace(",", " ").casefold().split()
    return food.is_scombroid or (
        food.food_class == "fish" and any(word.rstrip("s") in HISTAMINE_NAMES for word in words)
    )


def is_minced(case: SafetyCase) -> bool:
    """Whether the food is minced, or stuffed with a filling."""
    return case.method.pieces.worked_form in ("minced", "mixed", "stuffed")


def is_injected(case: SafetyCase) -> bool:
    """Whether brine is pumped in, which carries bacteria from the surface to the inside."""
    return any(each.pump is not None for each in case.method.saltings)


def is_tenderised(case: SafetyCase) -> bool:
    """Whether blades or needles pierce whole muscle, which carries bacteria from the surface to the inside."""
    return case.method.pieces.form == "tenderised"


def is_intact(case: SafetyCase) -> bool:
    """Whether the food is intact: neither minced, stuffed, injected nor tenderised."""
    return not is_minced(case) and not is_injected(case) and not is_tenderised(case)


def curing_saltings(case: SafetyCase) -> tuple[tuple[Salting | Glaze, MakeUp], ...]:
    """The saltings and glazes that contain nitrite or nitrate, with their make-up."""
    mixtures: tuple[Salting | Glaze, ...] = (*case.method.saltings, *case.method.glazes)
    made = ((each, case.makes.get(each.name)) for each in mixtures)
    return tuple((each, make_up) for each, make_up in made if make_up is not None and make_up.has_cure)


def has_nitrate(case: SafetyCase) -> bool:
    """Whether a salting contains nitrate."""
    return any(made.total("nitrate") > 0 for _, made in curing_saltings(case))


def is_cured(case: SafetyCase) -> bool:
    """Whether there is enough ingoing nitrite to cool and keep the food as cured food."""
    nitrite = case.ingoing_nitrite_ppm
    return nitrite is not None and nitrite.typical >= curing.CURED_FROM


def has_no_air(case: SafetyCase) -> bool:
    """Whether the finished food is kept without air."""
    return case.pack in NO_AIR_PACKS


def is_vacuum_packed(case: SafetyCase) -> bool:
    """Whether the finished food is sealed in a pack without air: the trade's reduced oxygen packaging."""
    return case.pack in ("vacuum", "jar", "bottle", "can")


def is_only_frozen(case: SafetyCase) -> bool:
    """Whether the page keeps the food frozen and states no time in the fridge."""
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
    if case.house.place != "European Union":  # its law holds no list of tunas and says nothing of roe
        if is_tuna(case.food):
            return f"{case.food.name}: among the listed tuna species"
        if is_loose_roe(case.food):
            return f"{case.food.name}: eggs that are out of the skein and rinsed"
    return "farmed, as the page states" if says_farmed(case) and is_farmed_species(case.food) else ""


def says_farmed(case: SafetyCase) -> bool:
    """Whether the page says that the fish was farmed."""
    return case.method.pieces.origin == "farmed"
