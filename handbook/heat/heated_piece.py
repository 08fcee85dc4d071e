"""Inputs of a heat run: the piece, its stages, and their uncertainty."""

from __future__ import annotations

from msgspec import Struct, field

from handbook.base.errors import RangeError
from handbook.base.ranges import Range, check_within
from handbook.catalogue.thermal_properties import Composition
from handbook.heat.conduction import SHAPES
from handbook.heat.lethality import Organism
from handbook.uncertainty.sampling import AS_STATED, EVEN, LOG_NORMAL, UncertainInput

MEDIA = ("air", "water", "steam")
EXUDES = ("meat", "fish", "minced", "none")
COVERS = ("none", "lid", "foil", "paper", "bag")


class AirClass(Struct, frozen=True, kw_only=True):
    """Convective coefficient [W/(m2 K)] of a medium by its movement, without radiation. ``source`` : key of a source."""

    medium: str
    coefficient: Range
    source: str = "film-coefficients"


#: Convective coefficients from memory of heat-transfer handbooks: the ranges are about x or / 2.
AIR_CLASSES = {
    "still": AirClass(medium="air", coefficient=Range(3.0, 5.0, 8.0)),
    "draught": AirClass(medium="air", coefficient=Range(4.0, 8.0, 15.0)),
    "forced": AirClass(medium="air", coefficient=Range(9.0, 17.0, 32.0)),
    "still water": AirClass(medium="water", coefficient=Range(70.0, 200.0, 500.0)),
    "stirred water": AirClass(medium="water", coefficient=Range(300.0, 800.0, 2000.0)),
    "steam": AirClass(medium="steam", coefficient=Range(300.0, 1000.0, 5000.0)),
}
_SHORT = {
    ("water", "water"): "still water",
    ("water", "still"): "still water",
    ("water", "forced"): "stirred water",
    ("water", "draught"): "still water",
}
#: Default humidity: relative in a room or fridge; as dew point [K] in a heated chamber, where the water in the air
#: comes from the kitchen, the fuel and the food [heat-estimates]. A brisket over a water pan stalled at 67 degC.
UNSTATED_COLD_HUMIDITY = Range(0.55, 0.75, 0.92)
UNSTATED_DEW_POINT = Range(283.15, 313.15, 330.15)
#: Dew point [K] under a lid, where the food's own vapour fills the pan [heat-estimates].
LID_DEW_POINT = Range(343.15, 363.15, 371.15)


class Cover(Struct, frozen=True, kw_only=True):
    """Effect of a cover: share of the surface that still lets water out, gap to the food, radiation that it absorbs.

    gap : conductance between cover and food [W/(m2 K)], of the air or vapour in the gap; None without a gap
    emissivity : of the outside; None: that of the food
    """

    open_fraction: float = 1.0
    gap: Range | None = None
    emissivity: float | None = None


#: Foil: a gap of 0.3 to 2 mm of warm, moist air. Paper lets about half the vapour through. Bag: a film of liquid and some
#: air under the plastic, which with the water gives about the 95 W/(m2 K) behind [baldwin-guide] (from memory).
COVER_EFFECTS = {
    "none": Cover(),
    "lid": Cover(),
    "foil": Cover(open_fraction=0.0, gap=Range(15.0, 40.0, 100.0), emissivity=0.1),
    "paper": Cover(open_fraction=0.5, gap=Range(30.0, 80.0, 200.0)),
    "bag": Cover(open_fraction=0.0, gap=Range(50.0, 100.0, 250.0)),
}
HEATED = 308.15
ESTIMATES = "heat-estimates"
JUICE = "juice-of-roasts"
#: Temperature [K] at which muscle freezes, about -1 degC [choi-okos-1986].
FREEZING = 272.15
#: Share of the surface that lets water out under each skin, and through each casing: gut and fibre let vapour through,
#: plastic does not. Share of the mass that is bone in a joint or a bird (common practice, no source).
SKIN_OPEN = {"off": 1.0, "on": 0.5, "shell": 0.0}
CASING_OPEN = {"none": 1.0, "natural": 0.6, "collagen": 0.6, "fibrous": 0.5, "plastic": 0.0}
BONE = 0.15
_COLDEST_FROZEN = 233.15  # K; a frozen piece
_COLDEST, _HOTTEST = 272.15, {"air": 573.15, "water": 378.15, "steam": 378.15}  # K
_THINNEST, _THICKEST = 1e-4, 1.0  # m


class HeatPiece(Struct, frozen=True, kw_only=True):
    """One piece at the start of the first stage, at a uniform temperature.

    thickness : smallest dimension; diameter of a cylinder or sphere [m]
    width, length : of a block or cylinder [m]; None for a dimension that counts as infinite
    heated_faces : 1 for a slab on a closed face, else 2
    open_fraction : share of the heated surface that lets water out (skin on one of two faces 0.5, shell or bag 0)
    exudes : whether heat releases juice: "meat", "fish", "minced" (bound in a sausage) or "none"
    temperature : below the lowest freezing point the piece is frozen
    fat_cap : thickness of the fat on half the surface, part of ``thickness`` [m]
    bone : share of the mass that is bone; the composition is that of the flesh
    """

    shape: str
    thickness: Range
    composition: Composition
    temperature: Range
    width: float | None = None
    length: float | None = None
    heated_faces: int = 2
    open_fraction: float = 1.0
    exudes: str = "none"
    salt_to_water_ratio: float = 0.0
    fat_cap: float = 0.0
    bone: float = 0.0

    def __post_init__(self) -> None:
        _one_of("shape", self.shape, SHAPES)
        _one_of("exudes", self.exudes, EXUDES)
        check_within("thickness", self.thickness, _THINNEST, _THICKEST, " m")
        check_within("start temperature", self.temperature, _COLDEST_FROZEN, 373.15, " K")
        check_within("fat cap", self.fat_cap, 0.0, 0.5 * self.thickness.typical, " m")
        check_within("bone", self.bone, 0.0, 0.5)
        check_within("open fraction", self.open_fraction, 0.0, 1.0)
        check_within("salt to water ratio", self.salt_to_water_ratio, 0.0, 0.36)
        if self.heated_faces not in (1, 2) or (self.heated_faces == 1 and self.shape != "slab"):
            raise RangeError("heated faces", self.heated_faces, "1 or 2 for a slab, else 2")
        for name in ("width", "length"):
            if getattr(self, name) is not None:
                check_within(name, getattr(self, name), 1e-4, 2.0, " m")

    @property
    def thickness_input(self) -> UncertainInput:
        """The thickness as an uncertain input."""
        return UncertainInput(
            name="thickness",
            range=self.thickness,
            distribution=LOG_NORMAL,
            source=AS_STATED,
            least=_THINNEST,
            most=_THICKEST,
        )

    @property
    def temperature_input(self) -> UncertainInput:
        """The start temperature as an uncertain input.

        Samples of an unfrozen piece that would be frozen are set to the lowest temperature of unfrozen food.
        """
        return UncertainInput(
            name="start temperature",
            range=self.temperature,
            distribution=EVEN,
            source=AS_STATED,
            least=_COLDEST_FROZEN if self.is_frozen else _COLDEST,
            most=FREEZING if self.is_frozen else 373.15,
        )

    @property
    def is_frozen(self) -> bool:
        """Whether the piece is frozen at the start."""
        return self.temperature.typical < _COLDEST

    @property
    def half_thickness(self) -> float:
        """Typical distance in m from the heated surface to the core."""
        return self.thickness.typical / self.heated_faces

    @property
    def aspects(self) -> tuple[float, ...]:
        """The other half-dimensions as multiples of ``half_thickness``."""
        lengths = {"block": (self.width, self.length), "cylinder": (self.length,)}.get(self.shape, ())
        return tuple(0.5 * length / self.half_thickness for length in lengths if length is not None)


class Coating(Struct, frozen=True, kw_only=True):
    """A glaze or baste brushed on at ``times`` [s] after the start of its stage.

    mass_on_green_weight : mass that stays on each time / green weight; the fractions are of the coating's mass
    """

    times: tuple[float, ...]
    mass_on_green_weight: float
    water_mass_fraction: float
    sugar_mass_fraction: float
    temperature: float

    def __post_init__(self) -> None:
        check_within("coating on green weight", self.mass_on_green_weight, 0.0, 0.5)
        check_within("coating temperature", self.temperature, 272.15, 393.15, " K")
        for name in ("water_mass_fraction", "sugar_mass_fraction"):
            check_within(f"coating {name}", getattr(self, name), 0.0, 1.0)
        total = self.water_mass_fraction + self.sugar_mass_fraction
        if total > 1.0 + 1e-9:
            raise RangeError("coating", total, "water + sugar of at most 1")


class HeatStage(Struct, frozen=True, kw_only=True):
    """One stage: a medium at a constant or ramped temperature, for a time [s].

    air : key of AIR_CLASSES
    relative_humidity : None for the wide default (see the constants above)
    heat_transfer_coefficient : convection alone [W/(m2 K)]; replaces that of the class
    until_core : the stage ends, sample by sample, when the core has been at this temperature [K] for ``hold`` s, at the
        latest after ``duration``
    until_reduction : it ends when the core has the log10 reductions that each of these organisms' sources asks for
    until_loss : it ends when this share of the weight at the start of the run has left
    until_activity : it ends when the water activity of the whole piece, once it has evened out, is no higher
    cover : key of COVER_EFFECTS
    is_drying : the food is dried here, however warm: see evaporation.dried_share
    line : of the stage in the page, for error messages; 0 where there is none
    """

    name: str
    medium: str
    duration: float
    temperature: Range
    end_temperature: Range | None = None
    air: str = "draught"
    relative_humidity: Range | None = None
    heat_transfer_coefficient: Range | None = None
    coatings: tuple[Coating, ...] = ()
    until_core: float | None = None
    until_reduction: tuple[Organism, ...] = ()
    until_loss: float | None = None
    until_activity: float | None = None
    hold: float = 0.0
    cover: str = "none"
    is_drying: bool = False
    line: int = 0

    def __post_init__(self) -> None:
        _one_of("medium", self.medium, MEDIA)
        _one_of("air", self.air_class, tuple(key for key, each in AIR_CLASSES.items() if each.medium == self.medium))
        _one_of("cover", self.cover, COVERS)
        check_within("duration", self.duration, 1.0, 400 * 86400.0, " s")
        for name, least, most in (("until_loss", 0.001, 0.9), ("until_activity", 0.3, 0.999)):
            if getattr(self, name) is not None:
                check_within(name.replace("_", " "), getattr(self, name), least, most)
        check_within("hold", self.hold, 0.0, 400 * 86400.0, " s")
        for temperature in (self.temperature, self.end_temperature or self.temperature):
            check_within(f"{self.medium} temperature", temperature, _COLDEST, _HOTTEST[self.medium], " K")
        if self.relative_humidity is not None:
            check_within("relative humidity", self.relative_humidity, 0.0, 1.0)
        if self.heat_transfer_coefficient is not None:
            check_within("heat transfer coefficient", self.heat_transfer_coefficient, 0.5, 1e6, " W/(m2 K)")
        for coating in self.coatings:
            for time in coating.times:
                check_within("coating time", time, 0.0, self.duration, " s")

    @property
    def waits(self) -> bool:
        """Whether the stage ends when the food is ready instead of after a time."""
        return self.until_core is not None or bool(self.until_reduction) or self.dries

    @property
    def dries(self) -> bool:
        """Whether the stage ends when the food is dry enough."""
        return self.until_loss is not None or self.until_activity is not None

    @property
    def air_class(self) -> str:
        """The key of AIR_CLASSES, with the short words for water and steam resolved."""
        return "steam" if self.medium == "steam" else _SHORT.get((self.medium, self.air), self.air)

    @property
    def coefficient(self) -> Range:
        """Convective coefficient in W/(m2 K) as stated or by class."""
        return self.heat_transfer_coefficient or AIR_CLASSES[self.air_class].coefficient

    @property
    def airflow_input(self) -> UncertainInput:
        """The coefficient as an uncertain input. All stages share one draw: the same cook sets the vents for all of them."""
        source = AS_STATED if self.heat_transfer_coefficient else AIR_CLASSES[self.air_class].source
        return UncertainInput(name="airflow", range=self.coefficient, distribution=LOG_NORMAL, source=source)

    @property
    def humidity_input(self) -> UncertainInput:
        """Relative humidity of the air, stated or that of a cold room."""
        stated = self.relative_humidity
        return UncertainInput(
            name="humidity",
            range=stated or UNSTATED_COLD_HUMIDITY,
            distribution=EVEN,
            source=AS_STATED if stated else ESTIMATES,
            least=0.0,
            most=1.0,
        )

    @property
    def dew_point_input(self) -> UncertainInput:
        """Dew point in K of a heated chamber whose humidity is not stated."""
        dew_point = LID_DEW_POINT if self.cover == "lid" else UNSTATED_DEW_POINT
        return UncertainInput(name="humidity", range=dew_point, distribution=EVEN, source=ESTIMATES)

    @property
    def gap_input(self) -> UncertainInput | None:
        """Conductance of the gap under the cover as an uncertain input; None without a gap."""
        gap = COVER_EFFECTS[self.cover].gap
        return (
            None if gap is None else UncertainInput(name="cover", range=gap, distribution=LOG_NORMAL, source=ESTIMATES)
        )

    def chamber_input(self, temperature: Range) -> UncertainInput:
        """The chamber temperature at the start or at the end of the stage as an uncertain input."""
        return UncertainInput(
            name="chamber temperature",
            range=temperature,
            distribution=EVEN,
            source=AS_STATED,
            least=_COLDEST,
            most=_HOTTEST[self.medium],
        )


class HeatSpread(Struct, frozen=True, kw_only=True):
    """Uncertainty of the model's constants, as factors, and the number of samples.

    ``samples`` run beside the typical piece; 0 runs the typical piece alone. Conductivity lies below that of the parallel
    model, an upper bound: 0.464 W/(m K) was measured in turkey, against 0.53 [chang-model-1998]. ``drip`` is the share of the juice that runs off before it evaporates;
    ``juice_flow`` is a factor on the speed with which juice leaves the inside. ``shape`` is a factor on the size of the
    solid that represents a piece, except for a slab.
    """

    samples: int = 64
    conductivity: Range = field(default_factory=lambda: Range(0.8, 0.92, 1.06))
    heat_capacity: Range = field(default_factory=lambda: Range(0.97, 1.0, 1.03))
    moisture_diffusivity: Range = field(default_factory=lambda: Range(0.3, 1.0, 3.3))
    exudation: Range = field(default_factory=lambda: Range(0.6, 1.0, 1.3))
    juice_flow: Range = field(default_factory=lambda: Range(0.5, 1.0, 2.0))
    shape: Range = field(default_factory=lambda: Range(0.9, 1.0, 1.1))
    drip: Range = field(default_factory=lambda: Range(0.1, 0.4, 0.8))
    emissivity: float = 0.9

    def __post_init__(self) -> None:
        check_within("samples", self.samples, 0, 100_000)
        check_within("emissivity", self.emissivity, 0.0, 1.0)
        check_within("drip", self.drip, 0.0, 1.0)
        for name in ("conductivity", "heat_capacity", "moisture_diffusivity", "exudation", "juice_flow", "shape"):
            check_within(f"{name} factor", getattr(self, name), 0.0 if name == "exudation" else 1e-4, 100.0)

    @property
    def inputs(self) -> tuple[UncertainInput, ...]:
        """As uncertain inputs: conductivity, heat capacity, moisture transport, exudation, juice flow, drip, shape."""
        return (
            _factor("conductivity", self.conductivity, LOG_NORMAL),
            _factor("heat capacity", self.heat_capacity, LOG_NORMAL),
            _factor("moisture transport", self.moisture_diffusivity, LOG_NORMAL),
            _factor("exudation", self.exudation, EVEN),
            _factor("juice flow", self.juice_flow, LOG_NORMAL),
            UncertainInput(name="drip", range=self.drip, distribution=EVEN, source=JUICE, least=0.0, most=1.0),
            _factor("shape", self.shape, LOG_NORMAL),
        )


def _factor(name: str, values: Range, distribution: str) -> UncertainInput:
    return UncertainInput(name=name, range=values, distribution=distribution, source=ESTIMATES, least=0.0)


def _one_of(name: str, value: str, allowed: tuple[str, ...]) -> None:
    if value not in allowed:
        raise ValueError(f"{name}: read {value}; allowed: {', '.join(allowed)}")
