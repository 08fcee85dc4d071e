"""Mixtures stirred into a food after its salting: vinegar in a sauce, brine that tops up a crock, water in a mash."""

from __future__ import annotations

from collections.abc import Mapping

from handbook.base.ranges import Range
from handbook.brine.make_up import MakeUp
from handbook.catalogue.food_families import PLANTS
from handbook.catalogue.foods import Food
from handbook.page.heated import heats
from handbook.page.method import Method
from handbook.page.salting import Glaze
from handbook.page.steps import Step
from handbook.salt.uptake import NOTHING, Stage

#: The model's bounds of the stirred-in mass, of green weight, and of its salt and sugar.
_MOST = 0.9


def is_stirred_in(step: Step, method: Method, food: Food) -> bool:
    """Whether a step's glaze or water is mixed with all of the food instead of brushed on its pieces.

    Minced and mixed food takes it up, and so do vegetables, fruit and pulses with the brine or juice that they lie in. A step in oven or smoker brushes
    it on. Without a glaze, a weight that is gained is water.
    """
    is_loose = method.pieces.form in ("minced", "mixed")
    is_covered = food.food_class in PLANTS and any(each.covers_food for each in method.saltings)
    brings = glaze_of(step, method) is not None or (step.gain is not None and step.use is None)
    is_brushed = heats(step) and step.place in ("oven", "smoker")
    return brings and (is_loose or is_covered) and not is_brushed and not step.is_beside_food


def glaze_of(step: Step, method: Method) -> Glaze | None:
    """The glaze that a step uses."""
    return next((each for each in method.glazes if each.name == step.use), None)


def stirred_mass(glaze: Glaze, made: MakeUp | None, method: Method) -> float:
    """Mass of a glaze that enters the food in one step / green weight: all of it where the page states no share."""
    uses = sum(each.use == glaze.name for each in method.steps)
    if glaze.stays_on is not None:
        return glaze.stays_on.fraction / uses
    return made.mass / method.batches.written_for.low / uses if made is not None else 0.0


def stirred_stage(
    step: Step, method: Method, mixtures: Mapping[str, MakeUp], weight: float, temperature: Range
) -> Stage:
    """The stage of the uptake model in which the mixture is spread through the food.

    Where a page states a gain of weight below the added mass, as for a sieved sauce, the rest leaves as juice with its
    salt. ``weight`` is that before the step / green weight.
    """
    glaze = glaze_of(step, method)
    made = mixtures.get(glaze.name) if glaze else None
    gained = Range.of(step.gain).times(weight) if step.gain else None
    pump = (gained or NOTHING) if glaze is None else Range.exact(stirred_mass(glaze, made, method))
    drip = NOTHING
    if gained is not None and glaze is not None:
        drip = Range(*(max(pump.typical - each, 0.0) for each in (gained.high, gained.typical, gained.low)))
        pump = pump if pump.typical > gained.typical else gained
    has_mass = made is not None and made.mass > 0
    return Stage(
        kind="inject",
        duration=Range.of(step.time) if step.time else NOTHING,
        temperature=temperature,
        pump=Range(*(min(each, _MOST) for each in pump.ends)),
        pump_salt_fraction=Range.exact(min(made.salt_mass_fraction, _MOST) if made and has_mass else 0.0),
        pump_sugar_fraction=Range.exact(min(made.sugar_mass_fraction, _MOST) if made and has_mass else 0.0),
        drip=drip,
        name=glaze.name if glaze else step.do,
    )


def stirred_glazes(method: Method, food: Food) -> frozenset[str]:
    """Names of the glazes that are only used stirred in after a salting. The run of the salt includes them."""
    found: dict[str, bool] = {}
    has_salt = False
    for step in method.steps:
        has_salt = has_salt or method.lies_in(step) is not None
        glaze = glaze_of(step, method)
        if glaze is not None:
            found[glaze.name] = found.get(glaze.name, True) and has_salt and is_stirred_in(step, method, food)
    return frozenset(name for name, is_in in found.items() if is_in)


def stirred_without_gain(method: Method, food: Food, mixtures: Mapping[str, MakeUp]) -> dict[int, float]:
    """Glaze added by steps that state no gain / green weight, by number."""
    found = {}
    for number, step in enumerate(method.steps, 1):
        glaze = glaze_of(step, method)
        if glaze is not None and step.gain is None and is_stirred_in(step, method, food):
            found[number] = stirred_mass(glaze, mixtures.get(glaze.name), method)
    return found
