"""The figures of a page from the uptake model: one run, and single figures.

The public entry of the uptake model. The run itself is in uptake_run.py, the records are in uptake_records.py.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from msgspec.structs import replace

from handbook.base.errors import RangeError
from handbook.base.ranges import Range
from handbook.salt.evolution import BathCoupling
from handbook.salt.solute_stage import StirredBath, bath_course
from handbook.salt.time_search import search_times, time_reached
from handbook.salt.uptake_curves import time_range
from handbook.salt.uptake_records import (
    NOTHING,
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
from handbook.salt.uptake_run import last_stage, run
from handbook.uncertainty.sampling import ends as ends_of
from handbook.uncertainty.sampling import range_of

__all__ = [
    "NOTHING",
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

FRESHENING_WATER = 3.0  # kg per kg of food, where a page states none (common practice, no source)
FRESHENING_TEMPERATURE = 278.15  # K
FALL, MOST_FALLS = 0.005, 6  # of the mean salt mass fraction, from one row of the freshening times to the next


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
    >>> from handbook.salt.salt_example import CHOP, SOAK
    >>> round(salt_at_end(CHOP, [SOAK], Spread(samples=0)).typical, 5)
    0.01724
    """
    _, figures, _ = last_stage(piece, stages, spread or Spread()).end()
    return range_of(figures["salt_mass_fraction"])


def time_to_target(piece: Piece, stages: Sequence[Stage], target: float) -> TimeRange:
    """Time in the last stage until the mean salt reaches a target: the figure of ``run`` alone.

    x(t) = target

    Parameters
    ----------
    piece : Piece
    stages : sequence of Stage
    target : float [-]
        Mean salt mass fraction.

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
    >>> from handbook.salt.salt_example import CHOP, SOAK
    >>> round(time_to_target(CHOP, [SOAK], 0.01).typical / 3600)
    18
    """
    return last_stage(piece, stages, Spread()).time_to(target)


def hours_to_target(
    piece: Piece, stage: Stage, target: float | None, thicknesses: tuple[float, ...], spread: Spread | None = None
) -> tuple[ThicknessTime, ...]:
    """Time in a stage until raw pieces of several thicknesses reach a target, or 95 % of equilibrium.

    x(t) = target, or x(t) = x_0 + 0.95 (x_e - x_0); in one bath t is proportional to thickness^2

    Parameters
    ----------
    piece : Piece
    stage : Stage
    target : float [-]
        Mean salt mass fraction; None for each piece's own equilibrium.
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

    >>> from handbook.salt.salt_example import CHOP, SOAK
    >>> thin, thick = hours_to_target(CHOP, SOAK, 0.01, (0.02, 0.04), Spread(samples=0))
    >>> round(thick.hours.typical / thin.hours.typical, 3)
    4.0
    """
    found, own = [], None
    for thickness in thicknesses:
        times = thickness / piece.thickness.typical
        # A change of weight belongs to a depth that salt has reached, so it comes later in a thicker piece.
        later = min(times**2, 300 * 86400.0 / stage.duration.high)
        if piece.width is None and piece.length is None and later == times**2:
            # A piece of the same shape: its figures depend on D t / L^2 alone.
            own = own or _time_in(piece, stage, target, spread)
            hours = _scaled(own, times**2 / 3600)
        else:
            sized = replace(piece, thickness=piece.thickness.times(times))
            slow = replace(stage, duration=stage.duration.times(later))
            hours = _scaled(_time_in(sized, slow, target, spread), 1 / 3600)
        found.append(ThicknessTime(thickness=thickness, hours=hours))
    return tuple(found)


def _time_in(piece: Piece, stage: Stage, target: float | None, spread: Spread | None) -> TimeRange:
    return last_stage(piece, [stage], spread or Spread()).time_to(target)


def freshening_minutes(result: UptakeResult, after: int) -> tuple[FresheningStep, ...]:
    """Minutes in plain water until the mean salt has fallen by one, two, ... steps, from the computed profile.

    x(t) = x_0 - i FALL, in FRESHENING_WATER at FRESHENING_TEMPERATURE

    Parameters
    ----------
    result : UptakeResult
    after : int
        Index of the stage after which the piece is freshened.

    Returns
    -------
    tuple of FresheningStep [min]; it ends before the salt would fall below 0; the time of a fall that is never reached
    is None

    Raises
    ------
    RangeError  temperature outside -5 to 80 degC

    Notes
    -----
    Source: [crank-1975]; diffusivities by their own sources. Valid as ``run``.

    Examples
    --------
    >>> from handbook.salt.salt_example import CHOP, SOAK
    >>> first = freshening_minutes(run(CHOP, [SOAK], Spread(samples=0)), 0)[0]
    >>> round(first.salt_mass_fraction, 4), round(first.minutes.typical / 60)
    (0.0122, 11)
    """
    state, piece = result.stages[after].state, result.piece
    value, factor = piece.salt_diffusivity.values(np.full(len(state.water), FRESHENING_TEMPERATURE))
    rate = value * factor**result.diffusivity_positions / result.lengths**2
    water = np.full(len(rate), FRESHENING_WATER)
    nothing = np.zeros(len(rate))
    coupling = BathCoupling.between(result.geometry, water / state.water)
    course = bath_course(coupling, state.salt, state.water, StirredBath(water=water, solute=nothing), saturation=1.0)
    reading = course.reading([np.eye(result.geometry.size)[0]])
    salt = state.salt[:, 0]
    others = result.solids + state.water + state.sugar[:, 0]
    fraction = salt / (salt + others)
    wanted = [fraction - count * FALL for count in range(1, MOST_FALLS + 1) if fraction[0] > count * FALL]
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
    >>> from handbook.salt.salt_example import SOAK
    >>> with_bath_scaled(SOAK, 2.0).bath_salt.typical
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

    w(x) = s(x) / (s(x) + W(x))

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

    >>> from handbook.salt.salt_example import CHOP, SOAK
    >>> depth_profile(run(CHOP, [SOAK], Spread(samples=0)), 0, [0.0, 0.01]).typical.round(4).tolist()
    [0.0229, 0.0229]
    """
    wanted = np.asarray(depths, dtype=float)
    typical = result.lengths[0]
    if wanted.min() < 0 or wanted.max() > typical * (1 + 1e-9):
        raise RangeError("depth", float(wanted.max()), f"0 to {typical:g} m (the centre, or the closed face)")
    state = result.stages[stage_index].state
    readers = result.geometry.at_depth(np.minimum(wanted / typical, 1.0))
    salt, water = state.salt @ readers.T, state.moisture @ readers.T
    return ArrayRange(*ends_of(salt / (salt + water)))


def _scaled(time: TimeRange, factor: float) -> TimeRange:
    return TimeRange(*(None if end is None else end * factor for end in (time.low, time.typical, time.high)))
