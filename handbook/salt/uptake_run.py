"""Salt and sugar in one piece of food through the stages of a method, with the spread of all inputs.

Fick's law in the water phase: with s the salt and W the water per kg of green food, the driving concentration is s / W.
The bath is well stirred and of limited size, and loses what the food gains. Each stage starts from the final profile of
the stage before. Water that is gained, drawn or evaporated passes the surface and forms a rim (see water_course.py).
Juice that drips carries its salt along. Size and shape stay as cut. Fat and solids hold no salt. See diffusion.py for
the solution and uptake_records.py for the records.

Not modelled: unstirred brine, salt binding to protein, D that changes with concentration, reaction of curing agents.
Source: [crank-1975]; diffusivities by their own sources.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from handbook.base.ranges import Range
from handbook.salt.sampled_inputs import SampledInputs, sampled_piece
from handbook.salt.stage_run import StageRun
from handbook.salt.uptake_curves import curve
from handbook.salt.uptake_records import Piece, Spread, Stage, UptakeResult, UptakeStageResult
from handbook.uncertainty.sampling import UncertainInput
from handbook.uncertainty.sampling import ends as ends_of


def run(
    piece: Piece,
    stages: list[Stage] | tuple[Stage, ...],
    spread: Spread | None = None,
    target: float | None = None,
    others: Sequence[UncertainInput] = (),
) -> UptakeResult:
    """Salt and sugar of a piece through all stages.

    ds/dt = D div(grad s), s_surface / W = bath salt / bath water

    Parameters
    ----------
    piece : Piece
    stages : sequence of Stage
        At least one, in order.
    spread : Spread
        Number of samples.
    target : float [-]
        Mean salt mass fraction that the cook aims at, for time_to_target.
    others : sequence of UncertainInput
        Inputs that the run does not use. They are sampled with its own and returned in the result.

    Returns
    -------
    UptakeResult

    Raises
    ------
    ValueError  no stages
    RangeError  temperature outside -5 to 80 degC, more water lost than the piece holds, an aspect over 200

    Notes
    -----
    In the samples a block keeps its proportions: a thinner or thicker piece is represented by a block of the same
    proportions with the same ratio of open surface to volume.
    Source: [crank-1975]; diffusivities by their own sources.
    Valid for -5 to 80 degC and unfrozen food. Error: salt balance 1e-9 of the total in every stage
    (UptakeStageResult.salt_balance), mean salt 0.02 % of the final uptake, centre 0.2 % of the difference between bath and
    food; the ranges contain the uncertainty of D.

    Examples
    --------
    0.04 kg of salt in 0.96 + 0.75 kg of water leave 0.01754 per kg of food, 0.01724 of its new mass:

    >>> from handbook.salt.salt_example import CHOP, SOAK
    >>> round(run(CHOP, [SOAK], Spread(samples=0)).end.salt_mass_fraction.typical, 5)
    0.01724
    """
    if not stages:
        raise ValueError("stages: read none; allowed: at least one")
    inputs = SampledInputs(piece, stages, (spread or Spread()).samples, others)
    sampled, state = sampled_piece(piece, inputs)
    results, start = [], 0.0
    for stage, stage_inputs in inputs.by_stage(sampled):
        under_way = StageRun.begin(stage, sampled, stage_inputs, state)
        result = _result(under_way, inputs, start, target, piece)
        results.append(result)
        state, start = result.state, start + stage.duration.typical
    return UptakeResult(
        piece=piece,
        stages=tuple(results),
        dominating=results[-1].dominating,
        geometry=sampled.shape,
        lengths=sampled.lengths,
        solids=sampled.solids,
        diffusivity_positions=inputs.positions("diffusivity"),
        others={each.name: inputs.draw(each.name) for each in others},
    )


def last_stage(piece: Piece, stages: Sequence[Stage], spread: Spread | None) -> StageRun:
    """The last of the stages in progress, after running those before it.

    s_start = s_end of the stage before

    Parameters
    ----------
    piece : Piece
    stages : sequence of Stage
    spread : Spread
        Number of samples; None for the typical run alone.

    Returns
    -------
    StageRun

    Raises
    ------
    ValueError  no stages
    RangeError  as ``run``

    Notes
    -----
    Source: [crank-1975]; diffusivities by their own sources. Valid as ``run``.

    Examples
    --------
    >>> from handbook.salt.salt_example import CHOP, SOAK
    >>> round(last_stage(CHOP, [SOAK], None).time_to(0.01).typical / 3600)
    18
    """
    inputs = SampledInputs(piece, stages, spread.samples if spread else 0)
    sampled, state = sampled_piece(piece, inputs)
    under_way: StageRun | None = None
    for stage, stage_inputs in inputs.by_stage(sampled):
        if under_way is not None:
            state, _, _ = under_way.end()
        under_way = StageRun.begin(stage, sampled, stage_inputs, state)
    if under_way is None:
        raise ValueError("stages: read none; allowed: at least one")
    return under_way


def _result(
    under_way: StageRun, inputs: SampledInputs, start: float, target: float | None, piece: Piece
) -> UptakeStageResult:
    stage = under_way.stage
    state, figures, balance = under_way.end()
    times = under_way.times(target)  # before the curve: a table is made once, for the longest time
    curves = curve(*under_way.stretched())
    equilibrium = under_way.equilibrium()
    if equilibrium is not None:
        figures["equilibrium"] = equilibrium
    names = list(figures)
    low, typical, high = ends_of(np.stack([figures[name] for name in names], axis=1))
    ends = {name: Range(float(low[at]), float(typical[at]), float(high[at])) for at, name in enumerate(names)}
    return UptakeStageResult(
        stage=stage,
        start=start,
        salt_mass_fraction=ends["salt_mass_fraction"],
        water_phase_salt_mean=ends["water_phase_mean"],
        water_phase_salt_centre=ends["water_phase_centre"],
        water_phase_salt_outer=ends["water_phase_outer"],
        water_phase_salt_surface=ends["water_phase_surface"],
        sugar_mass_fraction=ends["sugar_mass_fraction"],
        bath_water_phase_salt=ends.get("bath_water_phase_salt"),
        food_mass_ratio=ends["food_mass_ratio"],
        salt_on_green_weight=ends["salt_on_green_weight"],
        equilibrium_salt_mass_fraction=ends.get("equilibrium"),
        **times,
        curve=curves,
        salt_balance=balance,
        dominating=inputs.shares(figures["salt_mass_fraction"]),
        extrapolated=piece.salt_diffusivity.is_extrapolated(stage.temperature.typical),
        state=state,
    )
