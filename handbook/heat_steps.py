"""March one piece through its stages: conduction, convection, radiation, evaporation, inner moisture, exudation."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from handbook import drying
from handbook.conduction import Modes, modes, propagators
from handbook.errors import RangeError
from handbook.heat_model import HEATED, UNSTATED_COLD_HUMIDITY, UNSTATED_DEW_POINT, Coating, HeatPiece, HeatSpread, HeatStage
from handbook.psychrometrics import latent_heat, saturation
from handbook.spread import drawn, quasi_random
from handbook.thermal import check_temperature, mixture

STEFAN_BOLTZMANN = 5.670374e-8
MOISTURE_BIOT = 2.0   # any value serves: see conduction.py
SUGAR_DEPTH = 1e-3    # m of surface that shares the sugar of a glaze; estimate
_COLDEST_JUICE = 303.15  # K; see drying.exuded
INSTANT = 1e-6       # s; a step that only lets the surface jump
INPUTS = ("thickness", "airflow", "humidity", "chamber temperature", "start temperature", "conductivity",
          "heat capacity", "moisture transport", "exudation")


@dataclass
class State:
    """One moment of all samples; arrays (n,) and modes (n, m). Steps make new arrays, so a copy is shallow."""

    heat: np.ndarray
    heat_drive: np.ndarray
    moisture: np.ndarray
    moisture_drive: np.ndarray
    core: np.ndarray
    surface: np.ndarray
    mean: np.ndarray
    surface_moisture: np.ndarray
    mean_moisture: np.ndarray
    evaporation: np.ndarray
    wetted: np.ndarray
    dry_matter: np.ndarray
    dripped: np.ndarray

    def copy(self) -> State:
        """The same arrays in a new record."""
        return State(**vars(self))


@dataclass(frozen=True)
class Body:
    """The piece as it is now, arrays (n,): half thickness, mass / green mass, kg solids / m3, thermal properties."""

    half: np.ndarray
    mass: np.ndarray
    solid_density: np.ndarray
    heat_capacity: np.ndarray
    conductivity: np.ndarray
    diffusivity: np.ndarray


@dataclass(frozen=True)
class Surroundings:
    """One stage as the samples see it: chamber start and end (n,), vapour pressure or relative humidity, film."""

    start: np.ndarray
    end: np.ndarray
    duration: float
    coefficient: np.ndarray
    humidity: np.ndarray | None
    vapour_pressure: np.ndarray | None
    is_air: bool

    def temperature(self, elapsed: float) -> np.ndarray:
        """Chamber temperature in K, shape (n,), ``elapsed`` s into the stage."""
        return self.start + (self.end - self.start) * min(elapsed / self.duration, 1.0)

    def vapour(self, temperature: np.ndarray) -> np.ndarray:
        """Vapour pressure in Pa of the chamber at its ``temperature``."""
        saturated = saturation(temperature)
        if self.humidity is not None:
            return self.humidity * saturated
        return np.minimum(self.vapour_pressure, saturated)


class Walker:
    """All samples of one piece, stepped together through time."""

    def __init__(self, piece: HeatPiece, stages: Sequence[HeatStage], spread: HeatSpread, pressure: float):
        self.piece, self.spread, self.pressure = piece, spread, pressure
        share = quasi_random(spread.samples, len(INPUTS))
        self.share = dict(zip(INPUTS, share.T, strict=True))
        fractions = piece.composition.fractions
        self.solids = 1.0 - fractions[0]
        self.parts = fractions[1:]
        self.green_half = drawn(piece.thickness, self.share["thickness"]) / piece.heated_faces
        self.start = drawn(piece.temperature, self.share["start temperature"])
        self.conductivity_factor = drawn(spread.conductivity, self.share["conductivity"])
        self.capacity_factor = drawn(spread.heat_capacity, self.share["heat capacity"])
        self.diffusivity_factor = drawn(spread.moisture_diffusivity, self.share["moisture transport"], geometric=True)
        self.exudation_factor = drawn(spread.exudation, self.share["exudation"])
        self.green_moisture = fractions[0] / self.solids
        salt = piece.salt_to_water_ratio * fractions[0]
        self.isotherm = drying.Isotherm(self.solids, fractions[2], salt)
        self.sugar = 0.0  # kg / kg green weight, on the surface
        self.film_activity = float(self.isotherm.activity(np.array([self.green_moisture]))[0][0])
        self.green_density = mixture(
            np.broadcast_to(fractions, (spread.samples, 5)), self.start)[0]
        self.heat_modes = self._modes(stages)
        self.moisture_modes = modes(piece.shape, MOISTURE_BIOT, piece.aspects)
        self.state = self._initial()
        #: s; half thickness^2 / thermal diffusivity, and the slowest time of conduction, both typical.
        self.time_scale = float(self.green_half[0] ** 2 / self._body().diffusivity[0])
        self.slowest_time = self.time_scale / float(self.heat_modes.rate[0])

    def _modes(self, stages: Sequence[HeatStage]) -> Modes:
        # The Biot number of the stage that heats longest; evaporation stiffens a wet surface several times.
        piece = self.piece
        longest = max(stages, key=lambda stage: (stage.temperature.typical > HEATED, stage.duration))
        coefficient = longest.coefficient.typical
        if longest.medium == "air":
            coefficient += 4.0 * self.spread.emissivity * STEFAN_BOLTZMANN * longest.temperature.typical**3
        _, _, conductivity = mixture(piece.composition.fractions[None, :], np.array([self.start[0]]))
        biot = coefficient * piece.half_thickness / float(conductivity[0])
        if piece.shape == "block" and longest.medium == "air" and piece.open_fraction > 0:
            biot *= 3.0
        return modes(piece.shape, float(min(max(biot, 1e-3), 1e5)), piece.aspects)

    def _initial(self) -> State:
        count = self.spread.samples
        zero = np.zeros(count)
        moist = np.full(count, self.green_moisture)
        return State(
            np.repeat(self.start[:, None], self.heat_modes.rate.size, 1), self.start,
            np.full((count, self.moisture_modes.rate.size), self.green_moisture), moist,
            self.start, self.start, self.start, moist, moist, zero, zero,
            np.full(count, self.solids), zero,
        )

    def surroundings(self, stage: HeatStage) -> Surroundings:
        """The stage as each sample sees it; RangeError where the humid air would be above the total pressure."""
        at = self.share["chamber temperature"]
        start = drawn(stage.temperature, at)
        end = drawn(stage.end_temperature, at) if stage.end_temperature else start
        humidity = vapour = None
        if stage.medium == "air":
            if stage.relative_humidity is not None:
                humidity = drawn(stage.relative_humidity, self.share["humidity"])
            elif max(start[0], end[0]) < HEATED:
                humidity = drawn(UNSTATED_COLD_HUMIDITY, self.share["humidity"])
            else:
                vapour = saturation(drawn(UNSTATED_DEW_POINT, self.share["humidity"]))
        around = Surroundings(start, end, stage.duration, drawn(stage.coefficient, self.share["airflow"], geometric=True),
                              humidity, vapour, stage.medium == "air")
        if stage.medium == "air":
            highest = float(max(around.vapour(start).max(), around.vapour(end).max()))
            if highest > 0.98 * self.pressure:
                raise RangeError("vapour pressure of the chamber", highest, f"at most {0.98 * self.pressure:.0f} Pa; "
                                 "state a lower relative humidity for air this hot")
        return around

    def mass(self, state: State) -> np.ndarray:
        """Mass now / green mass, coatings in it, shape (n,)."""
        return self.solids * state.mean_moisture + state.dry_matter

    def step(self, around: Surroundings, elapsed: float, length: float) -> None:
        """Advance the state by ``length`` s, ending ``elapsed`` s into the stage."""
        state, body, heat = self.state, self._body(), self.heat_modes
        chamber = around.temperature(elapsed)
        decay, old, new = propagators(heat.rate, body.diffusivity * length / (body.half * body.half))
        free = decay * state.heat + old * state.heat_drive[:, None]
        follow = new @ heat.surface + heat.surface_tail
        resistance = body.half / (heat.biot * body.conductivity)
        film = around.coefficient
        if around.is_air:
            film = film + 4.0 * self.spread.emissivity * STEFAN_BOLTZMANN * (0.5 * (chamber + state.surface)) ** 3
        # The surface as a straight line in the evaporation: warm - cooling x rate.
        weight = follow * resistance
        stiffness = 1.0 - follow + weight * film
        warm = (free @ heat.surface + weight * film * chamber) / stiffness
        lost = self.piece.open_fraction * latent_heat(state.surface)
        cooling = weight * lost / stiffness
        rate = self._moisture_step(around, chamber, warm, cooling, body, length)
        surface = warm - cooling * rate
        drive = surface + resistance * (film * (chamber - surface) - lost * rate)
        state.heat, state.heat_drive, state.surface = free + new * drive[:, None], drive, surface
        state.mean = state.heat @ heat.mean + heat.mean_tail * drive
        state.core = state.heat @ heat.core + heat.core_tail * drive
        if self.piece.exudes != "none" and length > INSTANT and state.mean.max() > _COLDEST_JUICE:
            self._exude(around, chamber, body, length)

    def _body(self) -> Body:
        # Properties at the mean temperature and moisture of now; lengths shrink with the volume.
        water = self.solids * self.state.mean_moisture
        total = water + self.solids
        fractions = np.empty((water.size, 5))
        fractions[:, 0] = water / total
        np.divide(self.parts, total[:, None], out=fractions[:, 1:])
        density, capacity, conductivity = mixture(fractions, self.state.mean)
        conductivity = conductivity * self.conductivity_factor
        capacity = capacity * self.capacity_factor
        half = self.green_half * np.cbrt(total * self.green_density / density)
        return Body(half, total, self.solids * density / total, capacity, conductivity, conductivity / (density * capacity))

    def _moisture_step(self, around, chamber, warm, cooling, body, length) -> np.ndarray:
        # Evaporation in kg/(m2 s); moves the moisture modes of the state.
        state, open_fraction = self.state, self.piece.open_fraction
        if not (around.is_air and open_fraction > 0):
            state.evaporation = np.zeros_like(warm)
            state.moisture_drive = state.surface_moisture
            if open_fraction > 0:
                self._level_moisture(body.half / open_fraction, length)
            return state.evaporation
        own = self.moisture_modes
        reach = body.half / open_fraction
        diffusivity = drying.moisture_diffusivity(state.mean) * self.diffusivity_factor
        decay, old, new = propagators(own.rate, diffusivity * length / (reach * reach))
        free = decay * state.moisture + old * state.moisture_drive[:, None]
        follow = new @ own.surface + own.surface_tail
        resistance = reach / (own.biot * body.solid_density * diffusivity)
        moist = (free @ own.surface) / (1.0 - follow)
        per_rate = follow * resistance / (1.0 - follow)
        vapour = around.vapour(chamber) / self.pressure
        conductance = drying.mass_conductance(around.coefficient, vapour)
        balance = drying.SurfaceBalance(warm, cooling, moist, per_rate, vapour, conductance, state.wetted,
                                        self.film_activity, self.pressure)
        rate = balance.evaporation(self.isotherm, state.evaporation)
        inner = (1.0 - state.wetted) * rate
        state.surface_moisture = np.maximum(moist - per_rate * inner, 1e-6)
        state.moisture_drive = state.surface_moisture - resistance * inner
        state.moisture = free + new * state.moisture_drive[:, None]
        state.mean_moisture = state.moisture @ own.mean + own.mean_tail * self.green_moisture
        state.evaporation = rate
        return rate

    def _level_moisture(self, reach, length) -> None:
        # No evaporation: the profile levels out with a closed surface (u = T_surface, no flow).
        state, own = self.state, self.moisture_modes
        diffusivity = drying.moisture_diffusivity(state.mean) * self.diffusivity_factor
        decay, old, new = propagators(own.rate, diffusivity * length / (reach * reach))
        free = decay * state.moisture + old * state.moisture_drive[:, None]
        surface = (free @ own.surface) / (1.0 - own.surface_tail - new @ own.surface)
        state.surface_moisture = state.moisture_drive = surface
        state.moisture = free + new * surface[:, None]
        state.mean_moisture = state.moisture @ own.mean + own.mean_tail * self.green_moisture

    def _exude(self, around, chamber, body, length) -> None:
        # Juice leaves in proportion everywhere; in air it first feeds the evaporation of the next step.
        state = self.state
        held = self.green_moisture - drying.exuded(self.piece.exudes, state.mean) * self.exudation_factor / self.solids
        excess = np.maximum(state.mean_moisture - held, 0.0)
        share = -np.expm1(-length / drying.EXUDATION_TIME) * excess / state.mean_moisture
        juice = self.solids * share * state.mean_moisture
        state.moisture = state.moisture * (1.0 - share)[:, None]
        state.moisture_drive = state.moisture_drive * (1.0 - share)
        state.surface_moisture = state.surface_moisture * (1.0 - share)
        state.mean_moisture = state.mean_moisture * (1.0 - share)
        evaporated = 0.0
        if around.is_air and self.piece.open_fraction > 0:
            area = self._area(body.half) * self.piece.open_fraction
            vapour = around.vapour(chamber) / self.pressure
            wet = np.minimum(self.film_activity * saturation(state.surface) / self.pressure, 0.98)
            conductance = drying.mass_conductance(around.coefficient, vapour)
            possible = np.maximum(conductance * np.log((1.0 - vapour) / (1.0 - wet)), 1e-9)
            evaporated = np.minimum(state.wetted * state.evaporation * area * length, juice)
            flow = juice / (area * length)
            state.wetted = flow / (flow + possible)
        state.dripped = state.dripped + juice - np.maximum(evaporated, 0.0)

    def coat(self, coating: Coating) -> None:
        """Brush on one coating: its mass, its water into the surface, and the heat it takes up."""
        state = self.state
        water = coating.mass_on_green_weight * coating.water_mass_fraction
        dry = coating.mass_on_green_weight - water
        heat_capacity = 4180.0 * water + 1550.0 * dry
        body = self._body()
        cooled = heat_capacity * (state.surface - coating.temperature) / (body.mass * body.heat_capacity)
        state.heat = state.heat - _pulse(self.heat_modes, cooled)
        if self.piece.open_fraction > 0:
            state.moisture = state.moisture + _pulse(self.moisture_modes, np.full_like(cooled, water / self.solids))
            state.mean_moisture = state.mean_moisture + water / self.solids
            self._sweeten(coating.mass_on_green_weight * coating.sugar_mass_fraction)
        else:
            dry += water
        state.dry_matter = state.dry_matter + dry

    def _sweeten(self, sugar: float) -> None:
        # The sugar of a glaze binds water in the outer layer only.
        self.sugar += sugar
        depth = np.minimum(SUGAR_DEPTH, self.green_half)
        layer = self._area(self.green_half) * self.piece.open_fraction * depth * self.solids * self.green_density
        self.isotherm = self.isotherm.with_sugar(self.sugar / layer)

    def _area(self, half: np.ndarray) -> np.ndarray:
        # m2 of heated surface per kg green weight.
        return self.heat_modes.area_factor * half * half / (self.green_half**3 * self.green_density)

    def check(self) -> None:
        """Raise RangeError when the piece left the range of its property equations."""
        check_temperature(self.state.mean, "mean temperature of the piece")


def _pulse(own: Modes, rise: np.ndarray) -> np.ndarray:
    # Change of the modes when the mean rises at once by ``rise`` through the surface.
    weight = own.rate / (own.biot * own.area_factor * (1.0 - own.surface_tail))
    return rise[:, None] * weight
