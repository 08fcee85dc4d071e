"""The conditions of the closed list that hold for a method, and the family of its food."""

from __future__ import annotations

import re
from collections.abc import Iterator

from handbook.brine import nitrite as curing
from handbook.catalogue.food_families import FISH, is_belly, is_olive, is_organ, is_tuna, is_viscera
from handbook.page.salting import Glaze, Salting
from handbook.safety.case import SafetyCase, once
from handbook.safety.conditions import Condition
from handbook.safety.food_state import (
    curing_saltings,
    forms_histamine,
    freezing_exemption,
    has_no_air,
    is_cooked_plant,
    is_cooked_through,
    is_cured,
    is_heated,
    is_injected,
    is_intact,
    is_minced,
    is_pickled,
    is_smoked,
    is_tenderised,
)
from handbook.safety.limits import limits
from handbook.safety.notions import notion
from handbook.safety.ripening import dries_thin, drying_spans, is_dried_after_heat, is_fermented, warm_sausage_spans
from handbook.safety.step_times import measurement, total_time
from handbook.safety.timeline import before_heat


def family_kind(case: SafetyCase) -> str:
    """The family of the food in the words of the limits, from its processing. The page's own kind does not decide."""
    if is_smoked(case):
        return "hot smoke" if is_heated(case) else "cold smoke"
    if is_heated(case):
        return "cook"
    if is_fermented(case):
        return "ferment"
    if not case.method.saltings:
        return "cook"
    return "dry cure" if all(each.is_dry for each in case.method.saltings) else "brine"


@once
def conditions(case: SafetyCase) -> frozenset[Condition]:
    """The conditions of limits that hold for this method."""
    parts = (_of_form, _of_food, _of_steps, _of_curing, _of_pack, _of_families)
    return frozenset(each for part in parts for each in part(case))


def _of_form(case: SafetyCase) -> Iterator[Condition]:
    if is_minced(case):
        yield Condition.MINCED
    elif not is_organ(case.food):
        yield Condition.WHOLE_CUT
    if case.method.pieces.form == "stuffed":
        yield Condition.STUFFED
    if is_injected(case):
        yield Condition.INJECTED
    if is_tenderised(case):
        yield Condition.TENDERISED
    if is_intact(case) and not is_viscera(case.food):
        yield Condition.INTACT


def _of_food(case: SafetyCase) -> Iterator[Condition]:
    # Pork belly that is not minced has limits of its own [bacon-regulation].
    is_bacon = is_belly(case.food) and case.method.pieces.form != "minced"
    yield Condition.BACON if is_bacon else Condition.OTHER_THAN_BACON
    if is_organ(case.food):
        yield Condition.ORGAN
    if is_viscera(case.food):
        yield Condition.VISCERA
    if is_olive(case.food):
        yield Condition.OLIVE
    if is_tuna(case.food):
        yield Condition.TUNA
    if forms_histamine(case.food):
        yield Condition.SCOMBROID
    if freezing_exemption(case):
        yield Condition.EXEMPT


def _of_steps(case: SafetyCase) -> Iterator[Condition]:
    yield Condition.SMOKED if is_smoked(case) else Condition.UNSMOKED
    is_cooked = is_cooked_through(case) is True or (not is_heated(case) and case.method.pieces.state == "cooked")
    yield Condition.COOKED_THROUGH if is_cooked else Condition.UNCOOKED
    if case.is_for_the_eater_to_cook:
        yield Condition.COOKED_BY_EATER
    if is_cooked_plant(case) and not is_fermented(case):
        yield Condition.COOKED_PLANT
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
    """The conditions for the documents of a family of foods."""
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
    if is_dried_after_heat(case) or dries_thin(case):
        yield Condition.JERKY
    if warm_sausage_spans(case):
        yield Condition.SOURING
    yield Condition.PICKLED if is_pickled(case) else Condition.UNPICKLED
    if food.food_class in FISH and _is_barred(case):
        yield Condition.BARRED
    if _holds(case, "honey"):
        yield Condition.HONEY


def _is_barred(case: SafetyCase) -> bool:
    """Whether fish has the measured water-phase salt or acid that allows a slightly warmer store."""
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
