"""Acidity of the food: pickles in vinegar at equilibrium and at their centre, and ferments over time."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

from msgspec import Struct

from handbook.acid.charge_balance import ACIDS, acid_for_ph, mixture_ph
from handbook.acid.food_acidity import FoodAcidity, food_acidity
from handbook.acid.into_piece import time_to_share
from handbook.base.ranges import Range
from handbook.brine.equilibrium import Equilibrium
from handbook.brine.make_up import MakeUp
from handbook.brine.solution import NACL_MOLAR_MASS
from handbook.catalogue.food_families import FLESH
from handbook.catalogue.foods import Food
from handbook.page.house import House
from handbook.page.method import Method
from handbook.page.piece_size import solid_of
from handbook.page.salting import Salting
from handbook.report.ferment_report import (
    ACID,
    MODEL_ERROR,
    FermentReport,
    ferment_report,
    fermenting_steps,
    food_buffer,
)
from handbook.report.heat_stages import surroundings, thickness_range
from handbook.salt.diffusion import geometry

_LEMON = {"lemon juice, raw": ("citric", Range(0.045, 0.050, 0.060))}  # from memory [acid-constants]
_PRINTED = re.compile(r"(\d+(?:\.\d+)?) ?%")
_PICKLES = 0.25  # share of vinegar in a brine from which meat or fish counts as pickled (estimate of the handbook)


class PickleReport(Struct, frozen=True, kw_only=True):
    """Food and brine of one salting at equilibrium. ``missing`` lists unknown inputs. The figures that need them are
    None: without a vinegar's strength all of them, without the food's own pH the last two.

    acid : acid in food and brine together, as acetic acid in kg/kg; brine_acid : in the brine as made
    ph : at equilibrium; centre : s until the centre has the pH of ACID, None where it never does or is unknown
    why_no_centre : why the time to the centre is not known
    """

    name: str
    missing: str
    brine_acid: float | None = None
    acid: float | None = None
    ph: Range | None = None
    centre: Range | None = None
    why_no_centre: str = ""


class AcidReport(Struct, frozen=True, kw_only=True):
    """The pickles and the ferment of a method; ``durations`` in s of steps that wait for a pH, by number."""

    pickles: tuple[PickleReport, ...]
    ferment: FermentReport | None
    durations: Mapping[int, Range]

    @property
    def sources(self) -> tuple[str, ...]:
        """Keys of the sources of these figures."""
        keys = ["acid-constants", "food-buffering", "food-ph-list"]
        keys += ["acid-diffusion"] if self.pickles else []
        return (*keys, self.ferment.source) if self.ferment else tuple(keys)


def acid_report(
    method: Method,
    food: Food,
    house: House,
    makes: Mapping[str, MakeUp],
    balance: Equilibrium | None,
    blends: Mapping[str, MakeUp] | None,
) -> AcidReport | None:
    """The pickles and the ferment of a method; None for a page without an acid brine or a ferment, and for marinated
    meat or fish.

    ``blends`` are the make-ups of the glazes, by name: vinegar that is blended with a vegetable sours it too.
    """
    has_acid = bool(method.saltings) and any(_acids(makes[method.saltings[0].name]))
    numbers = fermenting_steps(method, food, has_acid)
    is_marinated = food.food_class in FLESH and not any(_is_vinegar(made) for made in makes.values())
    if is_marinated and not numbers:
        return None
    ferment, durations = ferment_report(method, food, numbers, makes, balance) if numbers else (None, {})
    brines = [(each.name, each, makes[each.name]) for each in method.saltings if not is_marinated]
    poured = [(name, None, made) for name, made in _staying(method, blends or {}).items()]
    pickles = tuple(
        _pickle(name, salting, _together(made, makes, ferment), method, food, house, ferment)
        for name, salting, made in (*brines, *poured)
        if any(_acids(made))
    )
    return AcidReport(pickles=pickles, ferment=ferment, durations=durations) if pickles or ferment else None


def _is_vinegar(made: MakeUp) -> bool:
    """Whether a brine is mostly vinegar: meat or fish in it is pickled, not marinated."""
    return sum(part.mass.typical for part in made.parts if "vinegar" in part.ingredient.name) >= _PICKLES * made.mass


def _acids(made: MakeUp) -> tuple[dict[str, float], list[str]]:
    """Amounts of acids in mol, and the names of ingredients whose strength is not known."""
    found: dict[str, float] = {}
    unknown = []
    for part in made.parts:
        name = part.ingredient.name
        printed = _PRINTED.search(name)
        if "vinegar" in name and printed is None:
            unknown.append(name)
            continue
        if "vinegar" in name and printed is not None:
            acid, share = "acetic", float(printed[1]) / 100
        elif name in _LEMON:
            acid, share = _LEMON[name][0], _LEMON[name][1].typical
        elif name.startswith("citric acid"):
            acid, share = "citric", 1.0
        else:
            continue
        found[acid] = found.get(acid, 0.0) + part.mass.typical * share / ACIDS[acid][0]
    return found, unknown


def _staying(method: Method, blends: Mapping[str, MakeUp]) -> dict[str, MakeUp]:
    """Mass of each glaze that stays with a batch."""
    found = {}
    for glaze in method.glazes:
        made = blends.get(glaze.name)
        if made is not None and made.mass and glaze.stays_on is not None:
            factor = glaze.stays_on.fraction * method.batches.written_for.low / made.mass
            found[glaze.name] = MakeUp(parts=tuple(part.scaled(factor) for part in made.parts))
    return found


def _together(made: MakeUp, makes: Mapping[str, MakeUp], ferment: FermentReport | None) -> MakeUp:
    """The ferment's own brine, with which a vinegar is blended, or nothing."""
    if ferment is None:
        return made
    others = [each.parts for each in makes.values() if each is not made]
    return MakeUp(parts=tuple(part for parts in (made.parts, *others) for part in parts))


def _pickle(
    name: str, salting: Salting | None, made: MakeUp, method: Method, food: Food, house: House,
    ferment: FermentReport | None,
) -> PickleReport:  # fmt: skip
    acids, unknown = _acids(made)
    own_acid = sum(acids.values())
    own = food_acidity(food)
    missing = [f"the strength of {each}" for each in unknown]
    missing += [] if own is not None else [f"the pH of {food.name}"]
    if unknown:
        return PickleReport(name=name, missing=" and ".join(missing))
    batch = method.batches.written_for.low
    brine_acid = own_acid * ACIDS["acetic"][0] / made.mass
    if ferment is not None and ferment.acid is not None:
        soured = ferment.acid.typical * ferment.mass / ACIDS["lactic"][0]
        acids = {**acids, "lactic": acids.get("lactic", 0.0) + soured}
    acid = sum(acids.values()) * ACIDS["acetic"][0] / (made.mass + batch)
    if own is None:
        return PickleReport(name=name, missing=missing[0], brine_acid=brine_acid, acid=acid)
    water = made.total("water") + food.water * batch
    ionic = made.total("salt") / NACL_MOLAR_MASS / water
    ph = _ends(lambda end: mixture_ph(acids, water, [food_buffer(food, own, end, batch)], ionic))
    centre, why = _centre(salting, method, food, house, own, acids, ph.typical, ionic)
    return PickleReport(
        name=name, missing="", brine_acid=brine_acid, acid=acid, ph=ph, centre=centre, why_no_centre=why
    )


def _centre(
    salting: Salting | None, method: Method, food: Food, house: House, own: FoodAcidity, acids: Mapping[str, float],
    at_end: float, ionic: float,
) -> tuple[Range | None, str]:  # fmt: skip
    """When the centre has the pH of ACID, or why that is not known."""
    pieces = method.pieces
    if salting is None or any(each.stage == "ferment" for each in method.steps):
        return None, "blended, it has none"
    if pieces.skin != "off":
        return None, "a skin or shell keeps acid out, how long is not known"
    step = next((each for each in method.steps if each.stage == "salt" and method.salting(each.use) is salting), None)
    if step is None:
        return None, "no step puts the food into it"
    main = max(acids, key=lambda each: acids[each])
    # The food's share of the acid at equilibrium.
    held = [acid_for_ph(main, ph, food.water, [food_buffer(food, own, "typical", 1.0)], ionic) for ph in (ACID, at_end)]
    if at_end >= ACID or held[1] <= 0:
        return None, f"it never gets to pH {ACID}: stronger or more vinegar, or less food"
    solid = solid_of(pieces, thickness_range(method, house))
    shape = geometry(solid.shape if solid.shape != "block" else "slab")
    found = time_to_share(shape, 0.5 * solid.thickness.typical, held[0] / held[1], surroundings(step, house).typical)
    return found, ""


def _ends(compute: Callable[[str], float]) -> Range:
    low, typical, high = (compute(end) for end in ("low", "typical", "high"))
    return Range(min(low, typical) - MODEL_ERROR, typical, max(high, typical) + MODEL_ERROR)
