"""Start of a stage: its sampled inputs, the water that moves at once, and the courses of salt and sugar."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from handbook.base.arrays import Floats
from handbook.base.errors import RangeError
from handbook.salt.diffusion import Geometry
from handbook.salt.evolution import BathCoupling
from handbook.salt.solute_stage import SATURATION, SoluteCourse, StirredBath, bath_course, rinse_course, sealed_course
from handbook.salt.uptake_records import SoluteState, Stage

OUTER_LAYER = 0.003  # m, depth of the outer layer


@dataclass(frozen=True, eq=False, kw_only=True)
class SampledPiece:
    """The piece in all stages, sample by sample, shape (n,), row 0 typical.

    lengths : L [m]; solids : neither water nor salt, of green mass [-]
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


@dataclass(frozen=True, eq=False, kw_only=True)
class SampledStage:
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


#: Water of the food, courses of salt and sugar, bath of salt, and all salt in food and bath.
_Courses = tuple[Floats, tuple[SoluteCourse, SoluteCourse | None], StirredBath | None, Floats]


def stage_courses(
    stage: Stage, piece: SampledPiece, inputs: SampledStage, state: SoluteState, gained: Floats
) -> _Courses:
    """Courses of salt and sugar through a stage.

    water = water_start + gained + pump (1 - salt - sugar), alpha = (bath_water - gained) / water

    Parameters
    ----------
    stage : Stage
    piece : SampledPiece
    inputs : SampledStage
    state : SoluteState
    gained : array (n,) [kg / kg green food]
        Water that moves from the bath into the food at once.

    Returns
    -------
    array (n,) [kg / kg green food], water of the food
    SoluteCourse of salt and SoluteCourse of sugar, None without sugar
    StirredBath of salt, None without a bath
    array (n,) [kg / kg green food], salt of food and (last) bath

    Raises
    ------
    RangeError  more water lost than the food has, or gained than the bath holds

    Notes
    -----
    Source: [crank-1975]; diffusivities by their own sources. Valid as handbook.salt.uptake.run.

    Examples
    --------
    >>> from handbook.base.ranges import Range
    >>> from handbook.salt.diffusion import geometry
    >>> slab, one, zero = geometry("slab"), np.ones(1), np.zeros(1)
    >>> rest = Stage(kind="rest", duration=Range.exact(3600.0), temperature=Range.exact(278.15))
    >>> amounts = dict.fromkeys(("bath_water", "bath_salt", "bath_sugar", "water_loss"), zero)
    >>> inputs = SampledStage(duration=3600 * one, salt_rate=2e-6 * one, sugar_rate=1e-6 * one, amounts=amounts)
    >>> state = SoluteState(salt=slab.uniform(0.02 * one), sugar=slab.uniform(zero), water=0.75 * one)
    >>> piece = SampledPiece(shape=slab, lengths=0.01 * one, solids=0.23 * one)
    >>> water, (salt, sugar), bath, total = stage_courses(rest, piece, inputs, state, zero)
    >>> water.tolist(), sugar, bath, total.tolist()
    ([0.75], None, None, [0.02])
    """
    amounts = inputs.amounts
    water = state.water + gained
    salt_start, sugar_start = state.salt, state.sugar
    if stage.kind == "inject":
        pumped, salt, sugar = (amounts[name] for name in ("pump", "pump_salt_fraction", "pump_sugar_fraction"))
        salt_start = salt_start + piece.shape.uniform(pumped * salt)
        sugar_start = sugar_start + piece.shape.uniform(pumped * sugar)
        water = water + pumped * (1 - salt - sugar)
    left = water - amounts["water_loss"]
    if left.min() <= 0.01:
        raise RangeError("water_loss", float((water - left).max()), "less than the food's own water")
    bath_water = amounts["bath_water"] - gained
    if stage.has_bath and bath_water.min() <= 0:
        raise RangeError("weight_gain", float(gained.max()), "less water than the bath holds")
    courses: dict[str, SoluteCourse] = {}
    baths: dict[str, StirredBath] = {}
    coupling = BathCoupling.between(piece.shape, bath_water / water) if stage.has_bath else None
    starts = {"salt": salt_start, "sugar": sugar_start}
    for (solute, start), end in zip(starts.items(), inputs.fouriers, strict=True):
        baths[solute] = StirredBath(water=bath_water, solute=amounts[f"bath_{solute}"])
        if solute == "sugar" and not start.any() and not baths[solute].solute.any():
            continue
        if coupling is not None:
            changes = stage.water_changes
            courses[solute] = bath_course(
                coupling, start, water, baths[solute], SATURATION[solute], end / (changes + 1), changes
            )
        elif stage.kind == "rinse":
            courses[solute] = rinse_course(piece.shape, start)
        else:
            courses[solute] = sealed_course(piece.shape, start)
    bath = baths["salt"] if stage.has_bath else None
    total = salt_start[:, 0] + (bath.solute if bath is not None else 0.0)
    if stage.water_changes:
        # Salt in earlier baths is discarded: the balance is that of the last bath.
        last = courses["salt"].segments[-1].evolution
        total = last.equilibrium if last.bath_equilibrium is None else last.equilibrium + last.bath_equilibrium
    return water, (courses["salt"], courses.get("sugar")), bath, total


def water_gain(stage: Stage, piece: SampledPiece, inputs: SampledStage, state: SoluteState) -> Floats:
    """Water that moves from the bath into the food at the start of a stage; below 0 outward.

    gain = -drawn water (dry cure), or weight gain - solutes taken up in the typical run

    Parameters
    ----------
    stage : Stage
    piece : SampledPiece
    inputs : SampledStage
    state : SoluteState

    Returns
    -------
    array (n,) [kg / kg green food]

    Raises
    ------
    RangeError  as ``stage_courses``

    Notes
    -----
    The solutes taken up depend on the gain and are found in three iterations.
    Source: mass balance; drawn water [drawn-brine]. Valid as handbook.salt.uptake.run.

    Examples
    --------
    A rest has no bath, so nothing moves:

    >>> from handbook.base.ranges import Range
    >>> from handbook.salt.diffusion import geometry
    >>> slab, one = geometry("slab"), np.ones(1)
    >>> rest = Stage(kind="rest", duration=Range.exact(3600.0), temperature=Range.exact(278.15))
    >>> inputs = SampledStage(duration=3600 * one, salt_rate=2e-6 * one, sugar_rate=1e-6 * one, amounts={})
    >>> state = SoluteState(salt=slab.uniform(0.02 * one), sugar=slab.uniform(0 * one), water=0.75 * one)
    >>> piece = SampledPiece(shape=slab, lengths=0.01 * one, solids=0.23 * one)
    >>> water_gain(rest, piece, inputs, state).tolist()
    [0.0]
    """
    if stage.kind == "dry cure":
        return -inputs.amounts["drawn_water"]
    if stage.weight_gain is None or not stage.has_bath:
        return np.zeros(len(state.water))
    # The stated weight gain is water and solutes together. The typical run gives the solutes.
    first = SoluteState(salt=state.salt[:1], sugar=state.sugar[:1], water=state.water[:1])
    typical, typical_inputs = piece.first(), inputs.first()
    gain, solutes = inputs.amounts["weight_gain"], 0.0
    for _ in range(3):
        _, courses, _, _ = stage_courses(stage, typical, typical_inputs, first, gain[:1] - solutes)
        ends = zip(courses, typical_inputs.fouriers, strict=True)
        held = (course.state(end)[0][0, 0] for course, end in ends if course)
        solutes = float(sum(held) - first.salt[0, 0] - first.sugar[0, 0])
    return gain - solutes
