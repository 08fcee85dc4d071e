"""March one piece through its stages: conduction, convection, radiation, evaporation, inner moisture, exudation."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from handbook.base.arrays import Floats
from handbook.catalogue.thermal_properties import check_temperature, mixture
from handbook.heat import evaporation as drying
from handbook.heat.conduction import Modes, modes, propagators
from handbook.heat.heated_piece import HEATED, Coating, HeatPiece, HeatSpread, HeatStage
from handbook.heat.humid_air import latent_heat
from handbook.heat.surroundings import Surroundings
from handbook.uncertainty.sampling import Draws

STEFAN_BOLTZMANN = 5.670374e-8
MOISTURE_BIOT = 2.0  # any value serves: see conduction.py
SOAKING_TIME = 300.0  # s for a glaze to warm up and its water to soak in or dry [heat-estimates]
SUGAR_DEPTH = 1e-3  # m of surface that shares the sugar of a glaze [heat-estimates]
INSTANT = 1e-2  # s; a step that only lets the surface jump
_COLDEST_JUICE = 303.15  # K; see drying.exuded_with_slope
_LEAST = 0.2  # share of the surface moisture that one step leaves at least
_DRY = 0.02  # kg / kg solids below which the surface is as good as dry
_WARMING_PER_STEP, _DRYING_PER_STEP = 3.0, 0.2  # K and share of the surface moisture, mean of the samples
INPUTS = (
    "thickness",
    "airflow",
    "humidity",
    "chamber temperature",
    "start temperature",
    "conductivity",
    "heat capacity",
    "moisture transport",
    "exudation",
)


@dataclass(kw_only=True)
class HeatState:
    """One moment of all samples; arrays (n,) and modes (n, m). Steps make new arrays, so a copy is shallow.

    Temperatures in K, moisture in kg / kg solids, flows in W/m2 and kg/(m2 s); per kg green weight: ``dry_matter``
    and ``dripped`` in kg, and of a fresh coating ``film`` (kg of water not yet soaked in) and ``chill`` (J it takes
    to warm up). ``warming``, ``moistening`` and ``drying`` are the rates at which means and evaporation change.
    """

    heat: Floats
    heat_flow: Floats
    moisture: Floats
    core: Floats
    surface: Floats
    mean: Floats
    surface_moisture: Floats
    mean_moisture: Floats
    evaporation: Floats
    spilling: Floats
    dry_matter: Floats
    dripped: Floats
    warming: Floats
    moistening: Floats
    drying: Floats
    film: Floats
    chill: Floats

    def copy(self) -> HeatState:
        """The same arrays in a new record."""
        return HeatState(**vars(self))


@dataclass(frozen=True, kw_only=True)
class PieceModes:
    """The piece as it is now, arrays (n,): mean temperature, half thickness, kg solids / m3, thermal properties."""

    temperature: Floats
    half: Floats
    solid_density: Floats
    conductivity: Floats
    diffusivity: Floats


#: Surface temperature without evaporation, its fall per evaporation, heat flow and its rise per evaporation.
_SurfaceLines = tuple[Floats, Floats, Floats, Floats]
#: State, sugar on the surface and isotherm at one moment.
_Checkpoint = tuple[HeatState, float | Floats, drying.Isotherm]


class TimeStepper:
    """All samples of one piece, stepped together through time."""

    def __init__(self, piece: HeatPiece, stages: Sequence[HeatStage], spread: HeatSpread, pressure: float):
        self.piece, self.spread, self.pressure = piece, spread, pressure
        self.draws = Draws([(name, None) for name in INPUTS], spread.samples)
        of = self.draws.of
        fractions = piece.composition.fractions
        self.solids = 1.0 - fractions[0]
        self.parts = fractions[1:]
        self.green_half = of(piece.thickness_input) / piece.heated_faces
        self.start = of(piece.temperature_input)
        factors = [of(each) for each in spread.inputs]
        self.conductivity_factor, self.capacity_factor, self.diffusivity_factor, self.exudation_factor = factors
        self.green_moisture = fractions[0] / self.solids
        salt = piece.salt_to_water_ratio * fractions[0]
        self.isotherm = drying.Isotherm(self.solids, fractions[2], salt)
        self.sugar: Floats | float = 0.0  # kg / kg green weight, left on the surface by coatings
        self.green_density = mixture(np.broadcast_to(fractions, (self.start.size, 5)), self.start)[0]
        self._radiation = 4.0 * spread.emissivity * STEFAN_BOLTZMANN
        self._no_juice = np.zeros(self.start.size)
        self.heat_modes = self._modes(stages)
        self.moisture_modes = modes(piece.shape, MOISTURE_BIOT, piece.aspects)
        self.state = self._initial()
        #: s; half thickness^2 / thermal diffusivity, and the slowest time of conduction, both typical.
        self.time_scale = float(self.green_half[0] ** 2 / self._body().diffusivity[0])
        self.slowest_time = self.time_scale / float(self.heat_modes.rate[0])

    def _modes(self, stages: Sequence[HeatStage]) -> Modes:
        # Between the Biot numbers of the stage that heats longest and of the stiffest one, at the green conductivity.
        piece = self.piece
        _, _, conductivity = mixture(piece.composition.fractions[None, :], np.array([self.start[0]]))
        self._biot_per_coefficient = piece.half_thickness / float(conductivity[0])
        longest = max(stages, key=lambda stage: (stage.temperature.typical > HEATED, stage.duration))
        biot = (self.biot(longest) * max(self.biot(stage) for stage in stages)) ** 0.5
        return modes(piece.shape, float(min(max(biot, 1e-3), 1e5)), piece.aspects)

    def biot(self, stage: HeatStage) -> float:
        """Typical Biot number of the stage: film and radiation, at the green conductivity."""
        coefficient = stage.coefficient.typical
        if stage.medium == "air":
            coefficient += self._radiation * stage.temperature.typical**3
        return self._biot_per_coefficient * coefficient

    def _initial(self) -> HeatState:
        count = self.start.size
        zero = np.zeros(count)
        moist = np.full(count, self.green_moisture)
        return HeatState(
            heat=np.repeat(self.start[:, None], self.heat_modes.rate.size, 1),
            heat_flow=zero,
            moisture=np.full((count, self.moisture_modes.rate.size), self.green_moisture),
            core=self.start,
            surface=self.start,
            mean=self.start,
            surface_moisture=moist,
            mean_moisture=moist,
            evaporation=zero,
            spilling=zero,
            dry_matter=np.full(count, self.solids),
            dripped=zero,
            warming=zero,
            moistening=zero,
            drying=zero,
            film=zero,
            chill=zero,
        )

    def water(self) -> Floats:
        """Water now / green mass, that of coatings in it, shape (n,)."""
        water: Floats = self.solids * self.state.mean_moisture + self.state.film
        return water

    def mass(self) -> Floats:
        """Mass now / green mass, coatings in it, shape (n,)."""
        return self.water() + self.state.dry_matter

    def step(self, around: Surroundings, elapsed: float, length: float) -> None:
        """Advance the state by ``length`` s, ending ``elapsed`` s into the stage."""
        state, body, heat = self.state, self._body(0.5 * length), self.heat_modes
        mean, mean_moisture = state.mean, state.mean_moisture
        chamber = around.temperature(elapsed)
        decay, old, new = propagators(heat.rate, body.diffusivity * length / (body.half * body.half))
        resistance = body.half / (heat.biot * body.conductivity)
        chilled = self._chilled(body, length)
        drive = (state.heat @ heat.surface + resistance * (state.heat_flow - chilled)) / (1.0 - heat.surface_tail)
        free = decay * state.heat + old * drive[:, None]
        follow = new @ heat.surface + heat.surface_tail
        film = around.coefficient
        if around.is_air:
            between = 0.5 * (chamber + state.surface)
            film = film + self._radiation * between * between * between
        # Surface and heat flow as straight lines in the evaporation: warm - cooling x rate, flow + rise x rate.
        weight = follow * resistance
        stiffness = 1.0 - follow + weight * film
        warm = (free @ heat.surface + weight * (film * chamber - chilled)) / stiffness
        lost = self.piece.open_fraction * latent_heat(state.surface)
        cooling = weight * lost / stiffness
        lines = (warm, cooling, film * (chamber - warm), film * cooling - lost)
        rate = self._moisture_step(around, chamber, lines, body, length)
        surface = warm - cooling * rate
        flow = film * (chamber - surface) - lost * rate
        drive = surface + resistance * (flow - chilled)
        state.heat, state.heat_flow, state.surface = free + new * drive[:, None], flow, surface
        state.mean = state.heat @ heat.mean
        state.core = state.heat @ heat.core
        state.warming = (state.mean - mean) / length
        state.moistening = (state.mean_moisture - mean_moisture) / length

    def _chilled(self, body: PieceModes, length: float) -> Floats | float:
        # W/m2 that a fresh coating takes up while it warms to the surface.
        state = self.state
        if not state.chill.any():
            return 0.0
        taken = state.chill * min(length / SOAKING_TIME, 1.0)
        state.chill = state.chill - taken
        return taken / (self._area(body.half) * length)

    def _body(self, ahead: float = 0.0) -> PieceModes:
        # Properties at the mean temperature and moisture expected ``ahead`` s from now; lengths shrink with volume.
        temperature = self.state.mean + ahead * self.state.warming
        water = self.solids * (self.state.mean_moisture + ahead * self.state.moistening)
        total = water + self.solids
        fractions = np.empty((water.size, 5))
        fractions[:, 0] = water / total
        np.divide(self.parts, total[:, None], out=fractions[:, 1:])
        density, capacity, conductivity = mixture(fractions, temperature)
        conductivity = conductivity * self.conductivity_factor
        capacity = capacity * self.capacity_factor
        half = self.green_half * np.cbrt(total * self.green_density / density)
        diffusivity = conductivity / (density * capacity)
        return PieceModes(
            temperature=temperature,
            half=half,
            solid_density=self.solids * density / total,
            conductivity=conductivity,
            diffusivity=diffusivity,
        )

    def _moisture_step(
        self, around: Surroundings, chamber: Floats, lines: _SurfaceLines, body: PieceModes, length: float
    ) -> Floats:
        # Evaporation in kg/(m2 s); moves the moisture modes of the state. Juice that left the inside wets the surface,
        # and what would make that wetter than the inside drips off.
        state, open_fraction = self.state, self.piece.open_fraction
        juice, juice_per_flow = self._juice(body, length)
        warm, cooling, flow, flow_per_rate = lines
        if not (around.is_air and open_fraction > 0):
            state.evaporation = state.spilling = np.zeros_like(warm)
            if open_fraction > 0:
                self._level_moisture(body, length)
            state.dripped = state.dripped + self._drain(juice + juice_per_flow * flow)
            return state.evaporation
        own = self.moisture_modes
        reach = body.half / open_fraction
        per_area = 1.0 / (self._area(body.half) * open_fraction * length)
        soaked = self._soaked(length) * per_area
        squeezed = (juice + juice_per_flow * state.heat_flow) * per_area
        spilling = np.minimum(state.spilling, squeezed)
        diffusivity = drying.moisture_diffusivity(body.temperature) * self.diffusivity_factor
        resistance = reach / (own.biot * body.solid_density * diffusivity)
        fourier = diffusivity * length / (reach * reach)
        free, new, left = self._free_moisture(fourier, resistance, state.evaporation - squeezed - soaked + spilling)
        follow = new @ own.surface + own.surface_tail
        per_rate = follow * resistance / (1.0 - follow)
        moist = left / (1.0 - follow) + per_rate * (soaked + (juice + juice_per_flow * flow) * per_area)
        per_rate_fed = per_rate * (1.0 - juice_per_flow * flow_per_rate * per_area)
        vapour_share, conductance = around.film(chamber, self.pressure)
        balance = drying.SurfaceBalance(
            warm=warm,
            cooling=cooling,
            moist=moist,
            drying=per_rate_fed,
            vapour_share=vapour_share,
            conductance=conductance,
            pressure=self.pressure,
        )
        # As it changed in the last step, but not by more than a third.
        third = np.abs(state.evaporation) * 0.3
        guess = state.evaporation + np.minimum(np.maximum(length * state.drying, -third), third)
        rate = balance.evaporation(self.isotherm, guess)
        state.drying = (rate - state.evaporation) / length
        surface = moist - per_rate_fed * rate
        squeezed_end = (juice + juice_per_flow * (flow + flow_per_rate * rate)) * per_area
        spare = np.maximum(squeezed_end, 0.0)
        state.spilling = np.minimum(np.maximum(surface - state.mean_moisture, 0.0) / per_rate, spare)
        state.surface_moisture = np.maximum(surface - per_rate * state.spilling, 1e-6)
        outward = rate - squeezed_end - soaked + state.spilling
        state.moisture = free + new * (state.surface_moisture - resistance * outward)[:, None]
        state.mean_moisture = state.moisture @ own.mean
        state.dripped = state.dripped + 0.5 * (spilling + state.spilling) / per_area
        state.evaporation = rate
        if juice is not self._no_juice:
            self._drain(0.5 * (squeezed + squeezed_end) / per_area)
        return rate

    def _free_moisture(self, fourier: Floats, resistance: Floats, outward: Floats) -> tuple[Floats, Floats, Floats]:
        # The modes at the end of a step but for what the flow at its end adds, the weights of that, and the surface's
        # share of them; ``outward`` is the flow at the start.
        state, own = self.state, self.moisture_modes
        decay, old, new = propagators(own.rate, fourier)
        kept, begun = decay * state.moisture, old @ own.surface
        still = (state.moisture @ own.surface) / (1.0 - own.surface_tail)
        drive = still - resistance / (1.0 - own.surface_tail) * outward
        at_surface = kept @ own.surface
        left = at_surface + begun * drive
        if np.minimum.reduce(left) <= 0.0:
            # A flow that would empty the surface within the step is cut to what leaves it some water.
            share = 1.0 - own.surface_tail - new @ own.surface
            least = _LEAST * share * np.minimum(state.surface_moisture, state.mean_moisture)
            left = np.maximum(left, np.minimum(least, at_surface + begun * still))
            drive = (left - at_surface) / begun
        return kept + old * drive[:, None], new, left

    def _soaked(self, length: float) -> Floats | float:
        # Water of a coating, kg / kg green weight, that gets to the surface during the step.
        state = self.state
        if not state.film.any():
            return 0.0
        taken = state.film * min(length / SOAKING_TIME, 1.0)
        state.film = state.film - taken
        return taken

    def _level_moisture(self, body: PieceModes, length: float) -> None:
        # No evaporation: the profile levels out with a closed surface (u = T_surface, no flow).
        state, own = self.state, self.moisture_modes
        reach = body.half / self.piece.open_fraction
        diffusivity = drying.moisture_diffusivity(body.temperature) * self.diffusivity_factor
        decay, old, new = propagators(own.rate, diffusivity * length / (reach * reach))
        free = decay * state.moisture + old * state.surface_moisture[:, None]
        surface = (free @ own.surface) / (1.0 - own.surface_tail - new @ own.surface)
        state.surface_moisture = surface
        state.moisture = free + new * surface[:, None]
        state.mean_moisture = state.moisture @ own.mean

    def _juice(self, body: PieceModes, length: float) -> tuple[Floats, Floats]:
        # Juice in kg / kg green weight that leaves the inside in the coming step, as a straight line in the heat flow
        # at its end: the excess over what the muscle holds drains with one time constant, while warming lowers what
        # it holds. The line ties juice, evaporation and warming together; in turns they would swing.
        state, kind = self.state, self.piece.exudes
        if kind == "none" or length <= INSTANT:
            return self._no_juice, self._no_juice
        # Value and slope halfway through the step, as far as it is foreseen.
        ahead = 0.5 * length * np.exp(-length / self.slowest_time) * state.warming
        if np.maximum.reduce(state.mean + np.maximum(2.0 * ahead, 0.0)) <= _COLDEST_JUICE:
            return self._no_juice, self._no_juice
        value, slope = drying.exuded_with_slope(kind, state.mean + ahead)
        value = value - slope * ahead
        scale = self.exudation_factor / self.solids
        excess = state.mean_moisture - self.green_moisture + scale * value
        warming = 0.5 * length * self.heat_modes.area_factor * body.diffusivity / (body.half * body.conductivity)
        steps = length / drying.EXUDATION_TIME
        drained = -np.expm1(-steps)
        drained_anew = 1.0 - drained / steps
        there = np.maximum(excess, 0.0)
        per_flow = self.solids * drained_anew * scale * slope * warming
        now = self.solids * (there * drained + (excess - there) * drained_anew) + per_flow * state.heat_flow
        flows = now + per_flow * state.heat_flow > 0
        return now * flows, per_flow * flows

    def _drain(self, juice: Floats) -> Floats:
        # Take the juice from the inside, in proportion everywhere; returns it, never below 0.
        state, juice = self.state, np.maximum(juice, 0.0)
        kept = 1.0 - juice / (self.solids * state.mean_moisture)
        state.moisture = state.moisture * kept[:, None]
        state.surface_moisture = state.surface_moisture * kept
        state.mean_moisture = state.mean_moisture * kept
        return juice

    def coat(self, coating: Coating) -> None:
        """Brush on one coating: its mass, its water into the surface, and the heat it takes up."""
        state = self.state
        water = coating.mass_on_green_weight * coating.water_mass_fraction
        dry = coating.mass_on_green_weight - water
        heat_capacity = 4180.0 * water + 1550.0 * dry
        state.chill = state.chill + heat_capacity * (state.surface - coating.temperature)
        if self.piece.open_fraction > 0:
            state.film = state.film + water
            self._sweeten(coating.mass_on_green_weight * coating.sugar_mass_fraction)
        else:
            dry += water
        state.dry_matter = state.dry_matter + dry

    def pace(self, before: HeatState) -> float:
        """Factor for the next step so that surface temperature and moisture change by about as much as allowed."""
        now = self.state
        warmed = np.abs(now.surface - before.surface) * (1.0 / _WARMING_PER_STEP)
        moved = np.abs(now.surface_moisture - before.surface_moisture)
        dried = moved / np.maximum(before.surface_moisture, _DRY) * (1.0 / _DRYING_PER_STEP)
        change = max(float(np.add.reduce(warmed)), float(np.add.reduce(dried))) / warmed.size
        return 1.0 / max(change, 1e-6)

    def settle(self) -> None:
        """Forget how fast things changed: what follows is a new beginning."""
        self.state.warming = self.state.moistening = self.state.drying = np.zeros_like(self.state.mean)

    def _sweeten(self, sugar: float) -> None:
        # The sugar of a glaze binds water in the outer layer only.
        self.sugar += sugar
        depth = np.minimum(SUGAR_DEPTH, self.green_half)
        layer = self._area(self.green_half) * self.piece.open_fraction * depth * self.solids * self.green_density
        self.isotherm = self.isotherm.with_sugar(self.sugar / layer)

    def _area(self, half: Floats) -> Floats:
        # m2 of heated surface per kg green weight.
        area: Floats = self.heat_modes.area_factor * half * half / (self.green_half**3 * self.green_density)
        return area

    def checkpoint(self) -> _Checkpoint:
        """Copy of the current state, for ``restore``."""
        return self.state.copy(), self.sugar, self.isotherm

    def restore(self, checkpoint: _Checkpoint) -> None:
        """Return to the state of a ``checkpoint``."""
        state, self.sugar, self.isotherm = checkpoint
        self.state = state.copy()

    def check(self) -> None:
        """Raise RangeError when the piece left the range of its property equations."""
        check_temperature(self.state.mean, "mean temperature of the piece")
