"""Figures of the finished food from the uptake run other than salt: water activity by place, and nitrite over time."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from msgspec import Struct

from handbook.base.ranges import Range
from handbook.brine.food_activity import food_water_activity
from handbook.brine.make_up import MakeUp
from handbook.brine.nitrite_loss import (
    COOKED,
    HALF_LIFE_FACTOR,
    HEATED_LEFT,
    HEATED_THROUGH,
    half_life,
    nitrite_left,
    usual_ph,
)
from handbook.catalogue.foods import Food
from handbook.salt.uptake import UptakeResult
from handbook.uncertainty.sampling import EVEN, LOG_NORMAL, UncertainInput, range_of

_PPM = 1e6
_HALF_LIFE, _PH, _HEATED = "nitrite's half-life", "pH of the food", "nitrite left by heating"


class NitriteAfter(Struct, frozen=True, kw_only=True):
    """Nitrite in the food after one stage, ppm of sodium nitrite on green weight: ``taken_up`` in total, ``left`` unused."""

    name: str
    taken_up: Range
    left: Range


def nitrite_inputs(food: Food, makes: Mapping[str, MakeUp]) -> tuple[UncertainInput, ...]:
    """The uncertain inputs of nitrite_course(); none for a method without nitrite."""
    if not any(each.total("nitrite") > 0 for each in makes.values()):
        return ()
    return (
        UncertainInput(name=_HALF_LIFE, range=HALF_LIFE_FACTOR, distribution=LOG_NORMAL, source="nordin-1969"),
        UncertainInput(name=_PH, range=usual_ph(food.food_class), distribution=EVEN, source="nordin-1969"),
        UncertainInput(
            name=_HEATED, range=HEATED_LEFT, distribution=LOG_NORMAL, source="nitrite-sausage-table", most=1.0
        ),
    )


def nitrite_course(result: UptakeResult, makes: Mapping[str, MakeUp]) -> tuple[NitriteAfter, ...]:
    """Nitrite after each stage that follows a cure with nitrite; empty without.

    It is taken up and lost in proportion to the salt of its cure. In the food it is used up by the rate law, and much
    of it at once when raw food is heated through. In brine it is stable. The rules use the ingoing figure, not this
    one.
    """
    if _HALF_LIFE not in result.others:
        return ()
    factor, ph = result.others[_HALF_LIFE], result.others[_PH]
    is_raw = True
    before = np.full(len(factor), result.piece.native_salt_fraction.typical)
    taken, left, found = np.zeros(len(factor)), np.zeros(len(factor)), []
    for stage in result.stages:
        # The name of another stage is the author's text of a step, which may equal the name of a salting.
        made = makes.get(stage.stage.name) if stage.stage.kind in ("soak", "dry cure", "inject") else None
        salt = stage.state.salt[:, 0]
        nitrite_to_salt = made.total("nitrite") / made.total("salt") if made and made.total("salt") else 0.0
        gained = np.maximum(salt - before, 0.0) * nitrite_to_salt
        washed = np.minimum(salt / np.maximum(before, 1e-12), 1.0) if nitrite_to_salt == 0 else np.ones(len(salt))
        temperature = np.full(len(salt), stage.stage.temperature.typical)
        time = np.full(len(salt), stage.stage.duration.typical)
        half = half_life(temperature, ph) * factor * (1.0 if is_raw else COOKED)
        left = nitrite_left(left * washed, gained, np.maximum(time, 1.0), half)
        if is_raw and taken.any() and stage.stage.temperature.typical > HEATED_THROUGH:
            left, is_raw = left * result.others[_HEATED], False
        taken, before = taken + gained, salt
        if taken.any():
            found.append(
                NitriteAfter(name=stage.stage.name, taken_up=range_of(_PPM * taken), left=range_of(_PPM * left))
            )
    return tuple(found)


def finished_activity(result: UptakeResult, food: Food) -> dict[str, Range]:
    """Water activity of the finished food at its ``surface`` and ``centre``."""
    state, geometry = result.end.state, result.geometry
    found = {}
    for place, reader in (("surface", geometry.surface), ("centre", geometry.centre)):
        salt, sugar, water = (np.maximum(each @ reader, 0.0) for each in (state.salt, state.sugar, state.moisture))
        found[place] = range_of(food_water_activity(salt, sugar, water, result.solids, food.fat))
    return found
