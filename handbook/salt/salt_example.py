"""The pork chop, and the bare shape, with which the docstrings of this room work their examples."""

from __future__ import annotations

from typing import Any

from handbook.base.ranges import Range
from handbook.salt.diffusion import geometry
from handbook.salt.diffusivity import salt_diffusivity, sugar_diffusivity
from handbook.salt.sampled_inputs import SampledInputs, sampled_piece
from handbook.salt.stage_start import SampledPiece, SampledStage
from handbook.salt.uptake_records import Piece, SoluteState, Stage
from handbook.salt.uptake_run import last_stage

_exact = Range.exact
SLAB = geometry("slab")

#: 20 mm of pork, a quarter of it solids and the rest water.
CHOP = Piece(
    shape="slab",
    thickness=_exact(0.02),
    water_fraction=_exact(0.75),
    native_salt_fraction=_exact(0.0),
    salt_diffusivity=salt_diffusivity("pork"),
    sugar_diffusivity=sugar_diffusivity("pork"),
)
#: Thirty days in its own weight of a brine of 4 %, and that stage in progress.
SOAK = Stage(
    kind="soak",
    duration=_exact(30 * 86400.0),
    temperature=_exact(278.15),
    bath_water=_exact(0.96),
    bath_salt=_exact(0.04),
)
SOAKING = last_stage(CHOP, [SOAK], None)


def _hour(kind: str, **amounts: Any) -> tuple[Stage, SampledPiece, SampledStage, SoluteState]:
    stage = Stage(kind=kind, duration=_exact(3600.0), temperature=_exact(278.15), **amounts)
    inputs = SampledInputs(CHOP, [stage], 0)
    piece, state = sampled_piece(CHOP, inputs)
    [(_, sampled)] = inputs.by_stage(piece)
    return stage, piece, sampled, state


#: Stages of an hour, each with the piece, its inputs and its state at the start.
RESTING, DRYING = _hour("rest"), _hour("dry", water_loss=_exact(0.1))
PUMPED = _hour("inject", pump=_exact(0.1), pump_salt_fraction=_exact(0.2))
