"""The fillet with which the docstrings of this room work their examples."""

from __future__ import annotations

from msgspec.structs import replace

from handbook.base.ranges import Range
from handbook.catalogue.thermal_properties import Composition
from handbook.heat.heated_piece import HeatPiece, HeatSpread, HeatStage

_exact = Range.exact

#: 20 mm of muscle from the fridge, open on both faces.
FILLET = HeatPiece(
    shape="slab",
    thickness=_exact(0.02),
    composition=Composition(water=0.75, protein=0.2, fat=0.04, ash=0.01),
    temperature=_exact(277.15),
)
FROZEN = replace(FILLET, temperature=_exact(255.15))
#: An hour in water of 70 °C, and in an oven under paper.
BATH = HeatStage(
    name="bath",
    medium="water",
    duration=3600.0,
    temperature=_exact(343.15),
    heat_transfer_coefficient=_exact(200.0),
)
OVEN = HeatStage(name="oven", medium="air", duration=3600.0, temperature=_exact(400.0), cover="paper")
#: The typical piece alone.
ALONE = HeatSpread(samples=0)
