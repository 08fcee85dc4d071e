"""Records of an uptake run: pieces, stages and results. SI units; fractions 0 to 1.

Amounts are per kg of green food. The meaning of a Range, of an input and of a result, is in uncertainty/sampling.py.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct, field

from handbook.base.arrays import Floats
from handbook.base.errors import RangeError
from handbook.base.ranges import Range, check_within
from handbook.salt.diffusion import SHAPES, Geometry
from handbook.salt.diffusivity import Diffusivity
from handbook.salt.water_course import CURVE_PARTS

KINDS = ("soak", "dry cure", "inject", "rinse", "freshen", "rest", "dry")
NOTHING = Range.exact(0.0)
ALL = Range.exact(1.0)
#: Water that a weighed dry cure draws out as brine, of green weight [drawn-brine].
DRAWN_WATER = Range(0.01, 0.03, 0.06)


class Piece(Struct, frozen=True, kw_only=True):
    """One piece of raw food.

    thickness : full thickness (slab, block) or diameter (cylinder, sphere) [m]
    width, length : other full lengths of a block [m]; None for infinite. ``length`` of a cylinder: between its open ends
    skin_closed : one broad face of a slab or block is closed to salt and water
    native_salt_fraction : the food's own salt, uniform at the start
    kept : share of the green weight that trimming leaves before the first stage; water_lost : water that leaves it before
        the first stage, of green weight, as in a boil; below 0 where it takes up water
    """

    shape: str
    thickness: Range
    water_fraction: Range
    native_salt_fraction: Range
    salt_diffusivity: Diffusivity
    sugar_diffusivity: Diffusivity
    width: float | None = None
    length: float | None = None
    skin_closed: bool = False
    kept: Range = ALL
    water_lost: Range = NOTHING

    def __post_init__(self) -> None:
        if self.shape not in SHAPES:
            raise ValueError(f"shape: read {self.shape}; allowed: {', '.join(SHAPES)}")
        if self.skin_closed and self.shape not in ("slab", "block"):
            raise ValueError(f"skin_closed: read a {self.shape}; allowed: a slab or a block")
        for name, value in (("thickness", self.thickness.low), ("width", self.width), ("length", self.length)):
            if value is not None and not 0 < value <= 2:
                raise RangeError(name, value, "above 0 m and up to 2 m")
        check_within("water_fraction", self.water_fraction, 0.05, 0.99)
        check_within("native_salt_fraction", self.native_salt_fraction, 0.0, 0.3)
        check_within("kept", self.kept, 0.05, 1.0)
        check_within("water_lost", self.water_lost, -5.0, 0.9)


class Stage(Struct, frozen=True, kw_only=True):
    """One stage of a method.

    kind
        soak: in a stirred bath (brine, wet cure). dry cure: salt rubbed on, dissolved in the water that it draws.
        inject: brine spread uniformly through the piece, then rest. rinse: clean running water, or a bath of
        ``bath_water``. freshen: soak in plain water. rest, dry: only water leaves through the surface.
    duration : [s]
    temperature : of bath and food [K]; where it changes, the constant temperature at which salt diffuses as far
    bath_water, bath_salt, bath_sugar : [kg / kg green food]; of a dry cure, the cure's own
    water_changes : number of renewals of a freshening bath, at equal intervals
    weight_gain : of green weight, water and solutes together, may be below 0; None: the food keeps its own water
    drawn_water : of green weight, water that a dry cure draws into its own brine
    cured_loss : of the weight at the start, what the food loses in a dry cure in all; the drawn water then follows from it.
        With ``is_airy``, a draught takes what is drawn beyond ``drawn_water``
    water_loss : of green weight, water that evaporates and leaves its salt behind
    drip : of green weight, water that drips as juice with its salt
    of_start : weight gain, water loss and drip are of the weight at the start of the stage, juice with what is dissolved in it
    ends_at : weight / green weight at the end, which decides the loss; water loss and drip then tell only its parts
    water_left : share of the water at the start that stays at least, where losses are computed for food as it was before
        it was salted; 0 for stated losses, of which more than the water is an error
    diffusing, evaporating, dripping : shares of the stage's diffusion, evaporation and juice that are past at evenly
        spaced times from 0 to the end, rising from 0 to 1; empty for a steady rate
    pump : injected brine, of green weight; its salt and sugar as fractions of the brine
    """

    kind: str
    duration: Range
    temperature: Range
    bath_water: Range = NOTHING
    bath_salt: Range = NOTHING
    bath_sugar: Range = NOTHING
    water_changes: int = 0
    weight_gain: Range | None = None
    drawn_water: Range = DRAWN_WATER
    cured_loss: Range | None = None
    is_airy: bool = False
    water_loss: Range = NOTHING
    drip: Range = NOTHING
    of_start: bool = False
    ends_at: float | None = None
    water_left: float = 0.0
    diffusing: tuple[float, ...] = ()
    evaporating: tuple[float, ...] = ()
    dripping: tuple[float, ...] = ()
    pump: Range = NOTHING
    pump_salt_fraction: Range = NOTHING
    pump_sugar_fraction: Range = NOTHING
    name: str = ""

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise ValueError(f"kind: read {self.kind}; allowed: {', '.join(KINDS)}")
        check_within("duration", self.duration, 0.0, 400 * 86400.0)
        for name in ("bath_water", "bath_salt", "bath_sugar"):
            check_within(name, getattr(self, name), 0.0, 1e6)
        for name in ("drawn_water", "water_loss", "drip", "pump", "pump_salt_fraction", "pump_sugar_fraction"):
            check_within(name, getattr(self, name), 0.0, 0.9)
        if not 0 <= self.water_changes <= 20:
            raise RangeError("water_changes", self.water_changes, "0 to 20")
        if self.kind in ("soak", "freshen") and self.bath_water.low <= 0:
            raise RangeError("bath_water", self.bath_water.low, f"above 0 kg per kg of food for a {self.kind}")
        if self.kind == "dry cure" and self.bath_water.low + self.drawn_water.low <= 0:
            raise RangeError("drawn_water", self.drawn_water.low, "above 0 for a dry cure without water of its own")

    @property
    def has_bath(self) -> bool:
        """Whether the piece lies in a bath of limited size."""
        return self.kind in ("soak", "dry cure", "freshen") or (self.kind == "rinse" and self.bath_water.low > 0)

    def parts(self, course: tuple[float, ...]) -> Floats:
        """Shares of a course that are complete at CURVE_PARTS of the time."""
        if not course:
            return CURVE_PARTS
        return np.interp(CURVE_PARTS, np.linspace(0.0, 1.0, len(course)), course)

    @property
    def draws_as_usual(self) -> bool:
        """Whether it is a dry cure of which nobody says what the food loses in it."""
        return self.kind == "dry cure" and self.cured_loss is None and self.drawn_water.is_wide

    @property
    def is_sealed(self) -> bool:
        """Whether only water crosses the surface."""
        return self.kind in ("inject", "rest", "dry")


class Spread(Struct, frozen=True, kw_only=True):
    """Number of samples beside the typical run."""

    samples: int = 256


class TimeRange(Struct, frozen=True):
    """Range of a time; None: never, or not computed for this stage."""

    low: float | None
    typical: float | None
    high: float | None


class InputShare(Struct, frozen=True):
    """Share of an output's spread that one input causes: see Draws.parts_of_spread."""

    name: str
    stage_index: int | None
    share: float


class ArrayRange(Struct, frozen=True, eq=False):
    """Three arrays of one shape: low end, typical run, high end."""

    low: Floats
    typical: Floats
    high: Floats


#: The curves of the food in an UptakeCurve; its bath has one more.
FOOD_CURVES = (
    "salt_mass_fraction",
    "water_phase_mean",
    "water_phase_centre",
    "water_phase_outer",
    "sugar_mass_fraction",
)


class UptakeCurve(Struct, frozen=True, eq=False, kw_only=True):
    """Figures over time, each an ArrayRange of shape (n,) as ``seconds``; water phase: salt / (salt + water)."""

    seconds: Floats
    salt_mass_fraction: ArrayRange
    water_phase_mean: ArrayRange
    water_phase_centre: ArrayRange
    water_phase_outer: ArrayRange
    sugar_mass_fraction: ArrayRange
    bath_water_phase_salt: ArrayRange | None


class SoluteState(Struct, frozen=True, eq=False, kw_only=True):
    """Contents of the piece, sample by sample (row 0: typical): profiles (n, r) of salt, sugar and water per kg of green food."""

    salt: Floats
    sugar: Floats
    moisture: Floats

    @property
    def water(self) -> Floats:
        """Mean water, shape (n,)."""
        return self.moisture[:, 0]


class UptakeStageResult(Struct, frozen=True, eq=False, kw_only=True):
    """One stage: its end and its course.

    start : on the typical clock [s]
    salt_mass_fraction, sugar_mass_fraction : of the food at the end; food_mass_ratio : its mass / green weight
    salt_on_green_weight : salt in the food, its own included, / green weight
    water_phase_salt_* : salt / (salt + water): mean, deepest point, outer 3 mm under the open faces, and the surface
        at the middle of the broad face
    bath_water_phase_salt : strength of the remaining bath; None without a bath
    equilibrium_salt_mass_fraction : of the food in equilibrium with this bath; None without a bath
    time_to_target, time_to_90, time_to_95, time_to_even : seconds from stage start, assuming the stage continues
        indefinitely: to the target mean, to 90 and 95 % of the way to equilibrium, until centre and mean differ by at
        most a tenth (EVEN of stage_run.py)
    curve : over the stage, including the spread of its time (a sample's time is stretched to the typical one)
    salt_balance : largest relative error of the balance of salt over the stage (0 in running water, where the loss is
        not computed)
    """

    stage: Stage
    start: float
    salt_mass_fraction: Range
    water_phase_salt_mean: Range
    water_phase_salt_centre: Range
    water_phase_salt_outer: Range
    water_phase_salt_surface: Range
    sugar_mass_fraction: Range
    bath_water_phase_salt: Range | None
    food_mass_ratio: Range
    salt_on_green_weight: Range
    equilibrium_salt_mass_fraction: Range | None
    time_to_target: TimeRange
    time_to_90: TimeRange
    time_to_95: TimeRange
    time_to_even: TimeRange
    curve: UptakeCurve
    salt_balance: float
    dominating: tuple[InputShare, ...]
    extrapolated: bool
    state: SoluteState


class UptakeResult(Struct, frozen=True, eq=False, kw_only=True):
    """A whole run.

    dominating : inputs that cause the spread of the mean salt at the end, largest first
    others : samples of inputs that the run samples without using them, by name
    """

    piece: Piece
    stages: tuple[UptakeStageResult, ...]
    dominating: tuple[InputShare, ...]
    geometry: Geometry
    lengths: Floats
    solids: Floats
    diffusivity_positions: Floats
    others: dict[str, Floats] = field(default_factory=dict)

    @property
    def end(self) -> UptakeStageResult:
        """The last stage."""
        return self.stages[-1]

    @property
    def extrapolated(self) -> bool:
        """Whether a stage lies outside the temperatures at which the diffusivity was measured."""
        return any(each.extrapolated for each in self.stages)

    @property
    def sources(self) -> tuple[str, ...]:
        """Keys of the sources of the run, without duplicates."""
        keys = ["crank-1975", *self.piece.salt_diffusivity.sources]
        if any(each.stage.bath_sugar.high or each.stage.pump_sugar_fraction.high for each in self.stages):
            keys += self.piece.sugar_diffusivity.sources
        if any(each.stage.draws_as_usual for each in self.stages):
            keys.append("drawn-brine")
        return tuple(dict.fromkeys(keys))

    @property
    def timeline(self) -> UptakeCurve:
        """All stages on one clock of typical times, in s from the start of the first. The baths are in the stages."""
        curves = [each.curve for each in self.stages]
        seconds = np.concatenate([each.start + each.curve.seconds for each in self.stages])

        def joined(name: str) -> ArrayRange:
            bands = [getattr(curve, name) for curve in curves]
            return ArrayRange(
                *(np.concatenate([getattr(band, end) for band in bands]) for end in ("low", "typical", "high"))
            )

        return UptakeCurve(seconds=seconds, bath_water_phase_salt=None, **{name: joined(name) for name in FOOD_CURVES})


class ThicknessTime(Struct, frozen=True, kw_only=True):
    """Time to the target for a piece of one thickness (m); ``hours`` in hours."""

    thickness: float
    hours: TimeRange


class FresheningStep(Struct, frozen=True, kw_only=True):
    """Minutes in plain water until the mean salt has fallen to ``salt_mass_fraction``."""

    salt_mass_fraction: float
    minutes: TimeRange
