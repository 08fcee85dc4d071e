"""Pages of unknown salt: an ingredient's maker does not state it, or no model covers the food."""

from __future__ import annotations

from collections.abc import Mapping

from handbook.base.errors import PageError
from handbook.brine.make_up import MakeUp
from handbook.catalogue.foods import Food
from handbook.page.amounts import Gauge, ToTarget
from handbook.page.method import Method
from handbook.page.until import TARGET_SALT


def unknown_salt(method: Method, mixtures: Mapping[str, MakeUp], food: Food) -> tuple[str, ...]:
    """The ingredients of the page whose salt is unknown, and nuts in a brine: no model covers what dry food soaks up.

    Raises
    ------
    PageError   an amount or a time of the page depends on a target salt, which cannot be computed with such an
    ingredient
    """
    parts = [part.ingredient for made in mixtures.values() for part in made.parts]
    names = [each.name for each in parts if each.is_salt_unknown]
    soaks = food.food_class == "nut" and any(each.is_bath for each in method.saltings)
    found = tuple(dict.fromkeys([*names, *([food.name] if soaks else [])]))
    if not found:
        return ()
    allowed = f"a weight or a time as written: the salt of {', '.join(found)} is not known"
    for salting in method.saltings:
        for line in salting.ingredients:
            if isinstance(line.amount, ToTarget | Gauge):
                raise PageError(method.file, line.line, "salting.ingredients.amount", line.amount.text, allowed)
    for number, step in enumerate(method.steps, 1):
        if step.waits_for == TARGET_SALT:
            raise PageError(method.file, step.line, f"steps.{number}.until", TARGET_SALT, allowed)
    return found
