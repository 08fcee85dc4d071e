"""The food as it is heated and dried, with the mixtures mixed into it and the effects of a dry cure."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec.structs import replace

from handbook.brine.make_up import MakeUp
from handbook.brine.nitrite import Process, cure_process
from handbook.catalogue.foods import Food
from handbook.page.heated import dries, has_curve
from handbook.page.method import Method
from handbook.salt.solute_stage import SATURATION


def filled_food(food: Food, method: Method, makes: Mapping[str, MakeUp]) -> Food:
    """The food with the water, salt and sugar that are mixed into it: what the heat model heats. The salt model adds them itself.

    Solids of spices count as carbohydrate. A dry cure before the heat leaves its salt and sugar in the food and draws water in
    their place, with what its steps state of the weight: strips that were rubbed with salt hold less water at a weight than
    strips that were not.
    """
    batch = method.batches.written_for.low
    mixed = [makes[each.name] for each in method.saltings if _process(each.kind, method) is Process.MIXED_IN]
    added = {what: sum(each.total(what) for each in mixed) / batch for what in ("", "water", "salt")}
    whole = 1 + added[""]
    found = food
    if mixed:
        found = _with(
            food, whole, water=added["water"], salt=added["salt"], others=added[""] - added["water"] - added["salt"]
        )
    for name, lost in _dry_cures(method).items():
        found = _cured(found, makes[name], batch * whole, lost)
    return found


def dry_cure_taken(salt: float, drawn: float, food: Food) -> float:
    """Salt that a dry cure leaves in the food at equilibrium, of green weight. Undissolved salt stays outside."""
    return _salt_per_water(salt, food) * (food.water - drawn) - food.native_salt_fraction


def _cured(food: Food, made: MakeUp, batch: float, lost: float) -> Food:
    """The food after a dry cure in which it loses ``lost`` of its weight: the water lost also replaces the salt taken
    up.

    s = p (w - d) - n, d = s + g + lost, with p the salt for each water, g the sugar taken up
    """
    per_water = _salt_per_water(made.total("salt") / batch, food)
    sugar = made.total("sugars") / batch
    salt = (per_water * (food.water - lost - sugar) - food.native_salt_fraction) / (1 + per_water)
    if not 0.0 < salt < food.water - lost - sugar:
        return food
    return _with(food, 1 - lost, water=-(salt + sugar + lost), salt=salt, others=sugar)


def _with(food: Food, whole: float, *, water: float, salt: float, others: float) -> Food:
    return replace(
        food,
        water=(food.water + water) / whole,
        fat=food.fat / whole,
        protein=food.protein / whole,
        carbohydrate=(food.carbohydrate + others) / whole,
        ash=(food.ash + salt) / whole,
    )


def _dry_cures(method: Method) -> dict[str, float]:
    """The dry cures before the food is heated or dried, each with the loss that its steps state."""
    found: dict[str, float] = {}
    for step in method.steps:
        used = method.lies_in(step)
        if used is not None and _process(used.kind, method) is Process.DRY_CURED:
            kept = 1 - found.get(used.name, 0.0)
            found[used.name] = 1 - kept * (1 - (step.loss.middle if step.loss else 0.0))
        elif has_curve(step) or dries(step):
            break
    return found


def _process(kind: str, method: Method) -> Process:
    return cure_process(kind, method.pieces.worked_form)


def _salt_per_water(salt: float, food: Food) -> float:
    return min((salt + food.native_salt_fraction) / food.water, SATURATION["salt"])
