"""Start of a stage: its sampled inputs, the water that moves at once, and the courses of salt and sugar."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property

import numpy as np
from msgspec import Struct

from handbook.base.arrays import Floats
from handbook.base.errors import RangeError
from handbook.salt.diffusion import Geometry
from handbook.salt.evolution import BathCoupling
from handbook.salt.solute_stage import SATURATION, SoluteCourse, StirredBath, bath_course, rinse_course, sealed_course
from handbook.salt.uptake_records import SoluteState, Stage
from handbook.salt.water_course import WaterCourse, WaterEntry, WaterExchange

OUTER_LAYER = 0.003  # m, depth of the outer layer


class SampledPiece(Struct, frozen=True, eq=False, kw_only=True, dict=True):
    """The piece in all stages, sample by sample, shape (n,), row 0 typical.

    lengths : L [m]; solids : all but water and salt, of green mass [-]
    """

    shape: Geometry
    lengths: Floats
    solids: Floats

    @cached_property
    def readers(self) -> list[Floats]:
        """Readers of the mean, the centre and the outer layer."""
        return [self.mean, self.shape.centre, self.shape.outer(OUTER_LAYER / self.lengths)]

    @property
    def mean(self) -> Floats:
        """Reader of the mean."""
        reader: Floats = np.eye(1, self.shape.size)[0]
        return reader

    def first(self) -> SampledPiece:
        """The piece of the typical run alone."""
        return SampledPiece(shape=self.shape, lengths=self.lengths[:1], solids=self.solids[:1])


class SampledStage(Struct, frozen=True, eq=False, kw_only=True):
    """Inputs of one stage, sample by sample, shape (n,): names as in Stage, rates D / L^2 [1/s]."""

    duration: Floats
    salt_rate: Floats
    sugar_rate: Floats
    amounts: dict[str, Floats]

    @property
    def fouriers(self) -> tuple[Floats, Floats]:
        """D t / L^2 of salt and of sugar at the end of the stage, shape (n,)."""
        return self.duration * self.salt_rate, self.duration * self.sugar_rate

    def first(self) -> SampledStage:
        """The inputs of the typical run alone."""
        return SampledStage(
            duration=self.duration[:1],
            salt_rate=self.salt_rate[:1],
            sugar_rate=self.sugar_rate[:1],
            amounts={name: each[:1] for name, each in self.amounts.items()},
        )


#: Courses of salt and sugar, bath of salt, and all salt in food and bath.
_Courses = tuple[tuple[SoluteCourse, SoluteCourse | None], StirredBath | None, Floats]
GAIN_TOLERANCE = 2e-4  # of green weight: error allowed for a stated change of weight in every sample
_GAIN_ROUNDS = 8
#: Minimum water that food keeps, of green weight, and maximum share of a bath's water that food can take up.
LEAST_WATER, MOST_OF_BATH = 0.02, 0.9
LEAST_DRAWN = 0.01  # of green weight: water in which a dry cure dissolves at least [drawn-brine]
#: Share of its water that a food can lose to a bath (estimate of the handbook).
MOST_OF_FOOD = 0.8


def stage_courses(
    stage: Stage, piece: SampledPiece, inputs: SampledStage, state: SoluteState, entry: WaterEntry
) -> _Courses:
    """Courses of salt and sugar through a stage.

    c_surface = y surface, alpha = (bath_water - gained) / surface; of an airy cure what stays wet of the water drawn

    Parameters
    ----------
    stage : Stage
    piece : SampledPiece
    inputs : SampledStage
    state : SoluteState
        At the start, including the pumped brine.
    entry : WaterEntry

    Returns
    -------
    SoluteCourse of salt and SoluteCourse of sugar, None without sugar
    StirredBath of salt, None without a bath
    array (n,) [kg / kg green food], salt of food and (last) bath

    Notes
    -----
    Source: [crank-1975]; diffusivities by their own sources. Valid as handbook.salt.uptake.run.

    Examples
    --------
    >>> from handbook.salt.salt_example import RESTING
    >>> (salt, sugar), bath, total = stage_courses(*RESTING, water_entry(*RESTING))
    >>> sugar, bath, total.tolist()
    (None, None, [0.0])
    """
    amounts = inputs.amounts
    drawn = -entry.gained
    if stage.is_airy:
        drawn = np.minimum(drawn, amounts["drawn_water"])
    bath_water = amounts["bath_water"] + drawn
    courses: dict[str, SoluteCourse] = {}
    baths: dict[str, StirredBath] = {}
    coupling = BathCoupling.between(piece.shape, bath_water / entry.surface) if stage.has_bath else None
    starts = {"salt": state.salt, "sugar": state.sugar}
    for (solute, start), end in zip(starts.items(), inputs.fouriers, strict=True):
        baths[solute] = StirredBath(water=bath_water, solute=amounts[f"bath_{solute}"])
        if solute == "sugar" and not start.any() and not baths[solute].solute.any():
            continue
        if coupling is not None:
            changes = stage.water_changes
            courses[solute] = bath_course(
                coupling, start, entry.surface, baths[solute], SATURATION[solute], end / (changes + 1), changes
            )
        elif stage.kind == "rinse":
            courses[solute] = rinse_course(piece.shape, start)
        else:
            courses[solute] = sealed_course(piece.shape, start)
    bath = baths["salt"] if stage.has_bath else None
    total = state.salt[:, 0] + (bath.solute if bath is not None else 0.0)
    if stage.water_changes:
        # Salt in earlier baths is discarded: the balance is that of the last bath.
        last = courses["salt"].segments[-1].evolution
        total = last.equilibrium if last.bath_equilibrium is None else last.equilibrium + last.bath_equilibrium
    return (courses["salt"], courses.get("sugar")), bath, total


def pumped_state(stage: Stage, piece: SampledPiece, inputs: SampledStage, state: SoluteState) -> SoluteState:
    """The state with pumped brine spread evenly through the piece.

    s = s_start + pump salt, W = W_start + pump (1 - salt - sugar)

    Parameters
    ----------
    stage : Stage
    piece : SampledPiece
    inputs : SampledStage
    state : SoluteState

    Returns
    -------
    SoluteState; unchanged for a stage that pumps nothing

    Notes
    -----
    Source: mass balance. Valid for brine that is spread evenly.

    Examples
    --------
    >>> from handbook.salt.salt_example import PUMPED
    >>> pumped_state(*PUMPED).water.round(3).tolist()
    [0.83]
    """
    if stage.kind != "inject":
        return state
    pumped, salt, sugar = (inputs.amounts[name] for name in ("pump", "pump_salt_fraction", "pump_sugar_fraction"))
    return SoluteState(
        salt=state.salt + piece.shape.uniform(pumped * salt),
        sugar=state.sugar + piece.shape.uniform(pumped * sugar),
        moisture=state.moisture + piece.shape.uniform(pumped * (1 - salt - sugar)),
    )


def water_course(
    stage: Stage, piece: SampledPiece, inputs: SampledStage, state: SoluteState, entry: WaterEntry
) -> WaterCourse:
    """Course of the water through a stage.

    mean_end = mean_start + gained - evaporated - dripped; with an end weight m_end, evaporated + dripped = m_start - m_end

    Parameters
    ----------
    stage : Stage
    piece : SampledPiece
    inputs : SampledStage
    state : SoluteState
    entry : WaterEntry

    Returns
    -------
    WaterCourse

    Raises
    ------
    RangeError  more water lost than the food has

    Notes
    -----
    Source: mass balance. Valid as handbook.salt.uptake.run.

    Examples
    --------
    >>> from handbook.salt.salt_example import DRYING
    >>> course = water_course(*DRYING, water_entry(*DRYING))
    >>> round(float(course.end()[0, 0]), 3)
    0.65
    """
    evaporated, dripped = _leaving(stage, piece, inputs, state)
    lost, spare = evaporated + dripped, np.maximum(state.water - LEAST_WATER, 0.0)
    if stage.water_left > 0.0:
        spare = np.minimum(spare, (1.0 - stage.water_left) * state.water)
    elif lost[0] > spare[0]:
        raise RangeError("water_loss", float(lost[0]), "less than the food's own water")
    if (lost > spare).any():
        # A sample that would dry out keeps its last water.
        share = np.minimum(1.0, spare / np.maximum(lost, 1e-12))
        evaporated, dripped = evaporated * share, dripped * share
    start = state.moisture
    if entry.even.any():
        start = start + piece.shape.uniform(entry.even)
    return WaterCourse(
        shape=piece.shape,
        start=start,
        fourier=inputs.fouriers[0],
        progress=stage.parts(stage.diffusing),
        surface=entry.surface if entry.is_held else None,
        evaporated=evaporated,
        dripped=dripped,
        evaporating=stage.parts(stage.evaporating),
        dripping=stage.parts(stage.dripping),
    )


def water_entry(stage: Stage, piece: SampledPiece, inputs: SampledStage, state: SoluteState) -> WaterEntry:
    """Water that the food takes up from the bath in a stage; below 0 where it loses water.

    gained = -drawn water (dry cure), or weight gain - solutes taken up, of a dry cure -loss - solutes taken up

    Parameters
    ----------
    stage : Stage
    piece : SampledPiece
    inputs : SampledStage
    state : SoluteState

    Returns
    -------
    WaterEntry

    Notes
    -----
    The solutes taken up depend on the water, so the gain is found by the secant method, in each sample to 0.0002 of
    green weight.
    Source: mass balance; drawn water [drawn-brine]. Valid as handbook.salt.uptake.run.

    Examples
    --------
    A rest has no bath, so nothing moves:

    >>> from handbook.salt.salt_example import RESTING
    >>> water_entry(*RESTING).gained.tolist()
    [0.0]
    """
    nothing = np.zeros(len(state.water))
    is_cure = stage.kind == "dry cure"
    if not is_cure and (stage.weight_gain is None or not stage.has_bath):
        return WaterEntry(gained=nothing, surface=state.water, even=nothing, is_held=False)
    exchange = WaterExchange.of(piece.shape, state.moisture, inputs.fouriers[0])
    if is_cure and stage.cured_loss is None:
        return exchange.entry(-inputs.amounts["drawn_water"])
    gain = -inputs.amounts["cured_loss"] if is_cure else inputs.amounts["weight_gain"]
    if is_cure or stage.of_start:
        gain = gain * _weight(piece, state)
    # A small bath may be soaked up, but for a rest that stays wet; a cure dissolves in some water that it draws.
    most = MOST_OF_BATH * inputs.amounts["bath_water"] - (LEAST_DRAWN if is_cure else 0.0)
    least = -MOST_OF_FOOD * state.water  # a gain that asks for more to leave is not met

    def missed(water: Floats) -> Floats:
        water = np.clip(water, least, most)
        (salt, sugar), _, _ = stage_courses(stage, piece, inputs, state, exchange.entry(water))
        taken = _taken(salt, inputs.fouriers[0], state.salt)
        return water + taken + (_taken(sugar, inputs.fouriers[1], state.sugar) if sugar else 0.0) - gain

    return exchange.entry(np.clip(_secant(missed, gain), least, most))


def _weight(piece: SampledPiece, state: SoluteState) -> Floats:
    """Weight of the food / green weight."""
    weight: Floats = piece.solids + state.water + state.salt[:, 0] + state.sugar[:, 0]
    return weight


def _leaving(stage: Stage, piece: SampledPiece, inputs: SampledStage, state: SoluteState) -> tuple[Floats, Floats]:
    """Water that evaporates and water that drips with its juice, of green weight."""
    evaporated, dripped = inputs.amounts["water_loss"], inputs.amounts["drip"]
    if not stage.of_start and stage.ends_at is None:
        return evaporated, dripped
    weight = _weight(piece, state)
    if stage.ends_at is not None:
        told = evaporated + dripped
        lost = np.maximum(weight - stage.ends_at, 0.0)
        share = np.where(told > 0.0, dripped / np.where(told > 0.0, told, 1.0), 0.0)
        evaporated, dripped = lost * (1.0 - share), lost * share
    else:
        evaporated, dripped = evaporated * weight, dripped * weight
    return evaporated, dripped * state.water / (weight - piece.solids)


def _taken(course: SoluteCourse, fourier: Floats, start: Floats) -> Floats:
    taken: Floats = course.state(fourier)[0][:, 0] - start[:, 0]
    return taken


def _secant(missed: Callable[[Floats], Floats], guess: Floats) -> Floats:
    """The value at which ``missed`` is within the tolerance of 0 in every sample. Its slope is near 1."""
    before, error_before = guess, missed(guess)
    water = guess - error_before
    for _ in range(_GAIN_ROUNDS):
        error = missed(water)
        if np.abs(error).max() < GAIN_TOLERANCE:
            break
        step = water - before
        slope = np.where(np.abs(step) > 1e-12, (error - error_before) / np.where(np.abs(step) > 1e-12, step, 1.0), 1.0)
        before, error_before = water, error
        water = water - error / np.clip(slope, 0.3, 5.0)
    return water
