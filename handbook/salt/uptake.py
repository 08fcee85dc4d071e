"""Salt and sugar in one piece of food through the stages of a method, with the spread of all inputs.

Fick's law in the water phase: with s the salt and W the water per kg of green food, the driving concentration is s / W.
The bath is well stirred and of limited size, and loses what the food gains. Each stage starts from the profile of the
one before. Water that is gained, drawn or lost changes W everywhere in the piece at once, and with it the
concentration, but not the amount of salt. Size and shape stay as cut. Fat and solids hold no salt. See diffusion.py for
the solution and uptake_records.py for the records.

Not modelled: unstirred brine, salt binding to protein, D that changes with concentration, reaction of curing agents.
Source: [crank-1975]; diffusivities by their own sources.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from handbook.base.errors import RangeError
from handbook.base.ranges import Range
from handbook.salt.evolution import BathCoupling
from handbook.salt.sampled_inputs import SampledInputs, sampled_piece
from handbook.salt.solute_stage import StirredBath, bath_course
from handbook.salt.stage_run import StageRun, curve, time_range
from handbook.salt.time_search import search_times, time_reached
from handbook.salt.uptake_records import (
    ArrayRange,
    FresheningStep,
    InputShare,
    Piece,
    SoluteState,
    Spread,
    Stage,
    ThicknessTime,
    TimeRange,
    UptakeCurve,
    UptakeResult,
    UptakeStageResult,
)
from handbook.uncertainty.sampling import ends as ends_of
from handbook.uncertainty.sampling import range_of

__all__ = [
    "ArrayRange",
    "FresheningStep",
    "InputShare",
    "Piece",
    "SoluteState",
    "Spread",
    "Stage",
    "ThicknessTime",
    "TimeRange",
    "UptakeCurve",
    "UptakeResult",
    "UptakeStageResult",
    "depth_profile",
    "freshening_minutes",
    "hours_to_target",
    "last_stage",
    "run",
    "salt_at_end",
    "time_to_target",
    "with_bath_scaled",
]


def run(
    piece: Piece,
    stages: list[Stage] | tuple[Stage, ...],
    spread: Spread | None = None,
    target: float | None = None,
    evenness: float = 0.1,
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
    evenness : float [-]
        Centre and mean count as even when they differ by at most this share of the mean (water phase).

    Returns
    -------
    UptakeResult

    Raises
    ------
    ValueError  no stages
    RangeError  temperature outside -5 to 80 degC, more water gained or lost than there is, an aspect over 200

    Notes
    -----
    In the samples a block keeps its proportions: a thinner or thicker piece is represented by a block of the same
    proportions with the same ratio of open surface to volume.
    Source: [crank-1975]; diffusivities by their own sources.
    Valid for -5 to 80 degC and unfrozen food. Error: salt balance 1e-9 of the total in every stage
    (UptakeStageResult.salt_balance), mean salt 0.02 % of the final uptake, centre 0.2 % of the difference between bath and
    food; the ranges hold the uncertainty of D.

    Examples
    --------
    0.04 kg of salt in 0.96 + 0.75 kg of water leave 0.01754 per kg of food, 0.01724 of its new mass:

    >>> from handbook.salt.diffusivity import salt_diffusivity, sugar_diffusivity
    >>> exact = Range.exact
    >>> chop = Piece(shape="slab", thickness=exact(0.02), water_fraction=exact(0.75), native_salt_fraction=exact(0.0),
    ...              salt_diffusivity=salt_diffusivity("pork"), sugar_diffusivity=sugar_diffusivity("pork"))
    >>> soak = Stage(kind="soak", duration=exact(30 * 86400.0), temperature=exact(278.15), bath_water=exact(0.96),
    ...              bath_salt=exact(0.04))
    >>> round(run(chop, [soak], Spread(samples=0)).end.salt_mass_fraction.typical, 5)
    0.01724
    """
    if not stages:
        raise ValueError("stages: read none; allowed: at least one")
    inputs = SampledInputs(piece, stages, (spread or Spread()).samples)
    sampled, state = sampled_piece(piece, inputs)
    results, start = [], 0.0
    for stage, stage_inputs in inputs.by_stage(sampled):
        under_way = StageRun.begin(stage, sampled, stage_inputs, state)
        result = _result(under_way, inputs, start, target, evenness, piece)
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
    )


def last_stage(piece: Piece, stages: Sequence[Stage], spread: Spread | None = None) -> StageRun:
    """The last of the stages in progress, after those before it.

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
    Source: [crank-1975]; diffusivities by their own sources. Valid as ``run``, with E = D t / L^2 as its time.

    Examples
    --------
    >>> from handbook.salt.diffusivity import salt_diffusivity, sugar_diffusivity
    >>> exact = Range.exact
    >>> chop = Piece(shape="slab", thickness=exact(0.02), water_fraction=exact(0.75), native_salt_fraction=exact(0.0),
    ...              salt_diffusivity=salt_diffusivity("pork"), sugar_diffusivity=sugar_diffusivity("pork"))
    >>> soak = Stage(kind="soak", duration=exact(30 * 86400.0), temperature=exact(278.15), bath_water=exact(0.96),
    ...              bath_salt=exact(0.04))
    >>> round(last_stage(chop, [soak]).time_to(0.01).typical / 3600)
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


def salt_at_end(piece: Piece, stages: Sequence[Stage], spread: Spread | None = None) -> Range:
    """Mean salt mass fraction after the last stage: the figure of ``run`` alone.

    x = s / (solids + W + s + sugar)

    Parameters
    ----------
    piece : Piece
    stages : sequence of Stage
    spread : Spread

    Returns
    -------
    Range [-]

    Raises
    ------
    RangeError  as ``run``

    Notes
    -----
    Source: [crank-1975]; diffusivities by their own sources. Valid as ``run``.

    Examples
    --------
    >>> from handbook.salt.diffusivity import salt_diffusivity, sugar_diffusivity
    >>> exact = Range.exact
    >>> chop = Piece(shape="slab", thickness=exact(0.02), water_fraction=exact(0.75), native_salt_fraction=exact(0.0),
    ...              salt_diffusivity=salt_diffusivity("pork"), sugar_diffusivity=sugar_diffusivity("pork"))
    >>> soak = Stage(kind="soak", duration=exact(30 * 86400.0), temperature=exact(278.15), bath_water=exact(0.96),
    ...              bath_salt=exact(0.04))
    >>> round(salt_at_end(chop, [soak], Spread(samples=0)).typical, 5)
    0.01724
    """
    _, figures, _ = last_stage(piece, stages, spread or Spread()).end()
    return range_of(figures["salt_mass_fraction"])


def time_to_target(piece: Piece, stages: Sequence[Stage], target: float, spread: Spread | None = None) -> TimeRange:
    """Time in the last stage until the mean salt reaches a target: the figure of ``run`` alone.

    x(t) = target

    Parameters
    ----------
    piece : Piece
    stages : sequence of Stage
    target : float [-]
        Mean salt mass fraction.
    spread : Spread

    Returns
    -------
    TimeRange [s]; never without a bath

    Raises
    ------
    RangeError  as ``run``

    Notes
    -----
    Source: [crank-1975]; diffusivities by their own sources. Valid as ``run``.

    Examples
    --------
    >>> from handbook.salt.diffusivity import salt_diffusivity, sugar_diffusivity
    >>> exact = Range.exact
    >>> chop = Piece(shape="slab", thickness=exact(0.02), water_fraction=exact(0.75), native_salt_fraction=exact(0.0),
    ...              salt_diffusivity=salt_diffusivity("pork"), sugar_diffusivity=sugar_diffusivity("pork"))
    >>> soak = Stage(kind="soak", duration=exact(30 * 86400.0), temperature=exact(278.15), bath_water=exact(0.96),
    ...              bath_salt=exact(0.04))
    >>> round(time_to_target(chop, [soak], 0.01, Spread(samples=0)).typical / 3600)
    18
    """
    return last_stage(piece, stages, spread or Spread()).time_to(target)


def hours_to_target(
    piece: Piece, stage: Stage, target: float, thicknesses: tuple[float, ...], spread: Spread | None = None
) -> tuple[ThicknessTime, ...]:
    """Time in a stage until raw pieces of several thicknesses reach a target.

    x(t) = target; in one bath t is proportional to thickness^2

    Parameters
    ----------
    piece : Piece
    stage : Stage
    target : float [-]
        Mean salt mass fraction.
    thicknesses : tuple of float [m]
    spread : Spread

    Returns
    -------
    tuple of ThicknessTime [h]

    Raises
    ------
    RangeError  as ``run``

    Notes
    -----
    Each piece keeps the relative spread of thickness; a block keeps its width and length.
    Source: [crank-1975]; diffusivities by their own sources. Valid as ``run``.

    Examples
    --------
    Twice the thickness takes four times as long:

    >>> from handbook.salt.diffusivity import salt_diffusivity, sugar_diffusivity
    >>> exact = Range.exact
    >>> chop = Piece(shape="slab", thickness=exact(0.02), water_fraction=exact(0.75), native_salt_fraction=exact(0.0),
    ...              salt_diffusivity=salt_diffusivity("pork"), sugar_diffusivity=sugar_diffusivity("pork"))
    >>> soak = Stage(kind="soak", duration=exact(30 * 86400.0), temperature=exact(278.15), bath_water=exact(0.96),
    ...              bath_salt=exact(0.04))
    >>> thin, thick = hours_to_target(chop, soak, 0.01, (0.02, 0.04), Spread(samples=0))
    >>> round(thick.hours.typical / thin.hours.typical, 3)
    4.0
    """
    found = []
    for thickness in thicknesses:
        sized = replace(piece, thickness=piece.thickness.times(thickness / piece.thickness.typical))
        found.append(
            ThicknessTime(thickness=thickness, hours=_scaled(time_to_target(sized, [stage], target, spread), 1 / 3600))
        )
    return tuple(found)


def freshening_minutes(
    result: UptakeResult,
    steps: int = 6,
    step: float = 0.005,
    bath_water: float = 3.0,
    temperature: float = 278.15,
    after: int | None = None,
) -> tuple[FresheningStep, ...]:
    """Minutes in plain water until the mean salt has fallen by one, two, ... steps, from the computed profile.

    x(t) = x_0 - i step

    Parameters
    ----------
    result : UptakeResult
    steps : int
    step : float [-]
        Fall of the mean salt mass fraction.
    bath_water : float [kg / kg green food]
    temperature : float [K]
        Of the bath.
    after : int
        Index of the stage after which the piece goes into the water; None for the last one that adds salt.

    Returns
    -------
    tuple of FresheningStep [min]; it ends before the salt would fall below 0, and a fall out of reach has None as its time

    Raises
    ------
    RangeError  temperature outside -5 to 80 degC

    Notes
    -----
    Source: [crank-1975]; diffusivities by their own sources. Valid as ``run``.

    Examples
    --------
    >>> from handbook.salt.diffusivity import salt_diffusivity, sugar_diffusivity
    >>> exact = Range.exact
    >>> chop = Piece(shape="slab", thickness=exact(0.02), water_fraction=exact(0.75), native_salt_fraction=exact(0.0),
    ...              salt_diffusivity=salt_diffusivity("pork"), sugar_diffusivity=sugar_diffusivity("pork"))
    >>> soak = Stage(kind="soak", duration=exact(30 * 86400.0), temperature=exact(278.15), bath_water=exact(0.96),
    ...              bath_salt=exact(0.04))
    >>> first = freshening_minutes(run(chop, [soak], Spread(samples=0)), steps=1)[0]
    >>> round(first.salt_mass_fraction, 4), round(first.minutes.typical / 60)
    (0.0122, 11)
    """
    if after is None:
        kinds = [each.stage.kind for each in result.stages]
        bringing = [index for index, kind in enumerate(kinds) if kind in ("soak", "dry cure", "inject")]
        after = bringing[-1] if bringing else len(result.stages) - 1
    state, piece = result.stages[after].state, result.piece
    value, factor = piece.salt_diffusivity.values(np.full(len(state.water), temperature))
    rate = value * factor**result.diffusivity_positions / result.lengths**2
    water = np.full(len(rate), bath_water)
    nothing = np.zeros(len(rate))
    coupling = BathCoupling.between(result.geometry, water / state.water)
    course = bath_course(coupling, state.salt, state.water, StirredBath(water=water, solute=nothing), saturation=1.0)
    reading = course.reading([np.eye(result.geometry.size)[0]])
    salt = state.salt[:, 0]
    others = result.solids + state.water + state.sugar[:, 0]
    fraction = salt / (salt + others)
    wanted = [fraction - count * step for count in range(1, steps + 1) if fraction[0] > count * step]
    if not wanted:
        return ()
    aims = np.stack([each / (1 - each) * others for each in wanted])[:, :, None]
    reached = time_reached(lambda fourier: aims - reading.at(fourier, 1)[0], search_times()) / rate
    return tuple(
        FresheningStep(salt_mass_fraction=float(each[0]), minutes=_scaled(time_range(row), 1 / 60))
        for each, row in zip(wanted, reached, strict=True)
    )


def with_bath_scaled(stage: Stage, factor: float) -> Stage:
    """The stage with ``factor`` times as much bath of the same strength.

    bath = factor bath_0, for water, salt and sugar

    Parameters
    ----------
    stage : Stage
    factor : float [-]
        Above 0.

    Returns
    -------
    Stage

    Notes
    -----
    Source: proportion; no empirical constant. Valid for stages with a bath.

    Examples
    --------
    >>> from handbook.salt.diffusivity import salt_diffusivity, sugar_diffusivity
    >>> exact = Range.exact
    >>> chop = Piece(shape="slab", thickness=exact(0.02), water_fraction=exact(0.75), native_salt_fraction=exact(0.0),
    ...              salt_diffusivity=salt_diffusivity("pork"), sugar_diffusivity=sugar_diffusivity("pork"))
    >>> soak = Stage(kind="soak", duration=exact(30 * 86400.0), temperature=exact(278.15), bath_water=exact(0.96),
    ...              bath_salt=exact(0.04))
    >>> with_bath_scaled(soak, 2.0).bath_salt.typical
    0.08
    """
    return replace(
        stage,
        bath_water=stage.bath_water.times(factor),
        bath_salt=stage.bath_salt.times(factor),
        bath_sugar=stage.bath_sugar.times(factor),
    )


def depth_profile(result: UptakeResult, stage_index: int, depths: npt.ArrayLike) -> ArrayRange:
    """Water-phase salt at the end of a stage over depth, at the middle of the piece.

    w(x) = s(x) / (s(x) + W)

    Parameters
    ----------
    result : UptakeResult
    stage_index : int
    depths : array (n,) [m]
        Below the broad face, from 0 to the centre.

    Returns
    -------
    ArrayRange of arrays (n,) [-]

    Raises
    ------
    RangeError  a depth below 0 or beyond the centre (or the closed face)

    Notes
    -----
    Source: [crank-1975]; diffusivities by their own sources. Valid as ``run``. Error: 0.2 % of the difference between bath and food.

    Examples
    --------
    In equilibrium surface and centre are equal:

    >>> from handbook.salt.diffusivity import salt_diffusivity, sugar_diffusivity
    >>> exact = Range.exact
    >>> chop = Piece(shape="slab", thickness=exact(0.02), water_fraction=exact(0.75), native_salt_fraction=exact(0.0),
    ...              salt_diffusivity=salt_diffusivity("pork"), sugar_diffusivity=sugar_diffusivity("pork"))
    >>> soak = Stage(kind="soak", duration=exact(30 * 86400.0), temperature=exact(278.15), bath_water=exact(0.96),
    ...              bath_salt=exact(0.04))
    >>> depth_profile(run(chop, [soak], Spread(samples=0)), 0, [0.0, 0.01]).typical.round(4).tolist()
    [0.0229, 0.0229]
    """
    wanted = np.asarray(depths, dtype=float)
    typical = result.lengths[0]
    if wanted.min() < 0 or wanted.max() > typical * (1 + 1e-9):
        raise RangeError("depth", float(wanted.max()), f"0 to {typical:g} m (the centre, or the closed face)")
    state = result.stages[stage_index].state
    readers = result.geometry.at_depth(np.minimum(wanted / typical, 1.0))
    salt = state.salt @ readers.T
    return ArrayRange(*ends_of(salt / (salt + state.water[:, None])))


def _result(
    under_way: StageRun, inputs: SampledInputs, start: float, target: float | None, evenness: float, piece: Piece
) -> UptakeStageResult:
    stage = under_way.stage
    state, figures, balance = under_way.end()
    times = under_way.times(target, evenness)  # before the curve: a table is made once for the longest time asked
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


def _scaled(time: TimeRange, factor: float) -> TimeRange:
    return TimeRange(*(None if end is None else end * factor for end in (time.low, time.typical, time.high)))
