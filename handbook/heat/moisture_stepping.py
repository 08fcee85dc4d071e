"""Moisture of a piece over one time step: transport from the inside, evaporation, juice, and the water of coatings."""

from __future__ import annotations

import numpy as np

from handbook.base.arrays import Floats
from handbook.heat import evaporation as drying
from handbook.heat.conduction import Modes, propagators
from handbook.heat.heat_state import HeatState, PieceProperties
from handbook.heat.heated_piece import Coating, HeatPiece
from handbook.heat.surroundings import Surroundings

SOAKING_TIME = 300.0  # s for a glaze to warm up and its water to soak in or dry [heat-estimates]
SUGAR_DEPTH = 1e-3  # m of surface that shares the sugar of a glaze [heat-estimates]
INSTANT = 1e-2  # s; a step in which only the surface adapts
_COLDEST_JUICE = 303.15  # K; see evaporation.exuded_with_slope
LAST_WATER = 0.03  # kg / kg solids; the minimum that remains [heat-estimates]
_LEAST = 0.2  # least share of the surface moisture after one step
#: Surface temperature without evaporation, its fall per unit of evaporation, heat flow and its rise per unit of
#: evaporation.
SurfaceLines = tuple[Floats, Floats, Floats, Floats]


class MoistureStepper:
    """The moisture part of TimeStepper. TimeStepper sets the attributes."""

    piece: HeatPiece
    pressure: float
    state: HeatState
    isotherm: drying.Isotherm
    sugar: Floats | float
    heat_modes: Modes
    moisture_modes: Modes
    solids: float
    fat_free: float
    green_half: Floats
    green_density: Floats
    _green_mass: Floats
    green_moisture: float
    diffusivity_factor: Floats
    exudation_factor: Floats
    slowest_time: float
    open_fraction: float
    drip: Floats
    exudation_time: Floats
    _no_juice: Floats

    def coat(self, coating: Coating) -> None:
        """Brush on one coating: add its mass, its water to the surface, and the heat that it takes up.

        Q = (4180 m_water + 1550 m_dry) (T_surface - T_coating), in J per kg green weight

        Parameters
        ----------
        coating : Coating

        Notes
        -----
        Source: heat balance with the specific heats of water and of sugar [choi-okos-1986].
        Valid for thin coatings, which warm to the surface and soak in within SOAKING_TIME [heat-estimates].

        Examples
        --------
        >>> from handbook.heat.heat_example import ALONE, BATH, FILLET
        >>> from handbook.heat.time_stepping import TimeStepper
        >>> stepper = TimeStepper(FILLET, [BATH], ALONE, 101325.0)
        >>> stepper.coat(Coating(times=(0.0,), mass_on_green_weight=0.004, water_mass_fraction=0.35, sugar_mass_fraction=0.6,
        ...                      temperature=298.15))
        >>> round(float(stepper.mass()[0]), 3)
        1.004
        """
        state = self.state
        water = coating.mass_on_green_weight * coating.water_mass_fraction
        dry = coating.mass_on_green_weight - water
        heat_capacity = 4180.0 * water + 1550.0 * dry
        state.chill = state.chill + heat_capacity * (state.surface - coating.temperature)
        if self.open_fraction > 0:
            state.film = state.film + water
            self._sweeten(coating.mass_on_green_weight * coating.sugar_mass_fraction)
        else:
            dry += water
        state.dry_matter = state.dry_matter + dry
        state.coated = state.coated + coating.mass_on_green_weight

    def _moisture_step(
        self, around: Surroundings, chamber: Floats, lines: SurfaceLines, body: PieceProperties, length: float
    ) -> Floats:
        # Returns evaporation [kg/(m2 s)] and advances the moisture modes. A share of the juice from the inside drips
        # off and the rest wets the surface. Juice that would make the surface wetter than the inside drips off too. Dew
        # runs off as water: it is not juice and changes no weight. A dry surface takes it up.
        state, open_fraction = self.state, self.open_fraction
        juice, juice_per_flow = self._juice(body, length)
        warm, cooling, flow, flow_per_rate = lines
        if not (around.is_air and open_fraction > 0):
            state.evaporation = state.spilling = np.zeros_like(warm)
            if open_fraction > 0:
                self._level_moisture(body, length)
            state.dripped = state.dripped + self._drain(juice + juice_per_flow * flow)
            return state.evaporation
        # From here ``juice`` is the part that wets the surface and ``total`` is all juice that leaves the inside.
        kept = 1.0 - self.drip
        total, total_per_flow = juice, juice_per_flow
        juice, juice_per_flow = kept * juice, kept * juice_per_flow
        own = self.moisture_modes
        reach = body.half / open_fraction
        per_area = 1.0 / (self._area(body.half) * open_fraction * length)
        soaked = self._soaked(length) * per_area
        self._flow_before = state.heat_flow
        squeezed = (juice + juice_per_flow * state.heat_flow) * per_area
        dew = np.maximum(-state.evaporation, 0.0)
        spilling = np.minimum(state.spilling, squeezed + dew)
        diffusivity = self._moisture_diffusivity(around, chamber, body)
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
        rate = balance.evaporation(self.isotherm, self._expected_evaporation(length))
        state.drying = (rate - state.evaporation) / length
        surface = moist - per_rate_fed * rate
        squeezed_end = (juice + juice_per_flow * (flow + flow_per_rate * rate)) * per_area
        dew_end = np.maximum(-rate, 0.0)
        spare = np.maximum(squeezed_end, 0.0) + dew_end
        state.spilling = np.minimum(np.maximum(surface - state.mean_moisture, 0.0) / per_rate, spare)
        state.surface_moisture = np.maximum(surface - per_rate * state.spilling, 1e-6)
        outward = rate - squeezed_end - soaked + state.spilling
        state.moisture = free + new * (state.surface_moisture - resistance * outward)[:, None]
        state.mean_moisture = state.moisture @ own.mean
        self._keep_last_water()
        state.dripped = state.dripped + 0.5 * (_without(dew, spilling) + _without(dew_end, state.spilling)) / per_area
        state.evaporation = rate
        if total is not self._no_juice:
            # All juice of the step at its mean heat flow. The kept share of it wets the surface.
            mean_flow = 0.5 * (self._flow_before + flow + flow_per_rate * rate)
            left = self._drain(total + total_per_flow * mean_flow)
            state.dripped = state.dripped + self.drip * left
        return rate

    def _moisture_diffusivity(self, around: Surroundings, chamber: Floats, body: PieceProperties) -> Floats:
        found = drying.moisture_diffusivity(body.temperature) * self.diffusivity_factor
        if around.is_drying or chamber[0] < drying.DRIES_BELOW:
            state = self.state
            found = found * drying.dried_share(state.surface_moisture, state.mean_moisture, self.fat_free)
        return found

    def _expected_evaporation(self, length: float) -> Floats:
        # Extrapolates the last step, by at most 30 %.
        state = self.state
        most = np.abs(state.evaporation) * 0.3
        return state.evaporation + np.minimum(np.maximum(length * state.drying, -most), most)

    def _free_moisture(self, fourier: Floats, resistance: Floats, outward: Floats) -> tuple[Floats, Floats, Floats]:
        # Modes at the end of a step without the part of the flow at its end, the weights of that part, and the surface
        # value of those modes. ``outward`` is the flow at the start.
        state, own = self.state, self.moisture_modes
        decay, old, new = propagators(own.rate, fourier)
        decayed, old_surface = decay * state.moisture, old @ own.surface
        still = (state.moisture @ own.surface) / (1.0 - own.surface_tail)
        drive = still - resistance / (1.0 - own.surface_tail) * outward
        at_surface = decayed @ own.surface
        left = at_surface + old_surface * drive
        if np.minimum.reduce(left) <= 0.0:
            # Limit a flow that would dry the surface completely within the step.
            share = 1.0 - own.surface_tail - new @ own.surface
            least = _LEAST * share * np.minimum(state.surface_moisture, state.mean_moisture)
            left = np.maximum(left, np.minimum(least, at_surface + old_surface * still))
            drive = (left - at_surface) / old_surface
        return decayed + old * drive[:, None], new, left

    def _keep_last_water(self) -> None:
        # A piece that is dry throughout keeps its last bound water.
        state = self.state
        if np.minimum.reduce(state.mean_moisture) < LAST_WATER:
            dry = state.mean_moisture < LAST_WATER
            state.moisture = np.where(dry[:, None], LAST_WATER, state.moisture)
            state.mean_moisture = np.where(dry, LAST_WATER, state.mean_moisture)
            state.surface_moisture = np.where(dry, LAST_WATER, state.surface_moisture)

    def _soaked(self, length: float) -> Floats | float:
        # Water of a coating [kg / kg green weight] that soaks into the surface during the step.
        state = self.state
        if not state.film.any():
            return 0.0
        taken = state.film * min(length / SOAKING_TIME, 1.0)
        state.film = state.film - taken
        return taken

    def _level_moisture(self, body: PieceProperties, length: float) -> None:
        # Without evaporation the moisture profile equalises behind a closed surface (u = surface value, no flow).
        state, own = self.state, self.moisture_modes
        reach = body.half / self.open_fraction
        diffusivity = drying.moisture_diffusivity(body.temperature) * self.diffusivity_factor
        decay, old, new = propagators(own.rate, diffusivity * length / (reach * reach))
        free = decay * state.moisture + old * state.surface_moisture[:, None]
        surface = (free @ own.surface) / (1.0 - own.surface_tail - new @ own.surface)
        state.surface_moisture = surface
        state.moisture = free + new * surface[:, None]
        state.mean_moisture = state.moisture @ own.mean

    def _juice(self, body: PieceProperties, length: float) -> tuple[Floats, Floats]:
        # Juice [kg / kg green weight] that leaves the inside in the coming step, linear in the heat flow at its end. The
        # excess over the water-holding capacity drains with one time constant, and warming lowers the capacity. Solving
        # juice, evaporation and warming together avoids oscillation.
        state, kind = self.state, self.piece.exudes
        if kind == "none" or length <= INSTANT:
            return self._no_juice, self._no_juice
        # Value and slope at the expected middle of the step.
        ahead = 0.5 * length * np.exp(-length / self.slowest_time) * state.warming
        if np.maximum.reduce(state.mean + np.maximum(2.0 * ahead, 0.0)) <= _COLDEST_JUICE:
            return self._no_juice, self._no_juice
        value, slope = drying.exuded_with_slope(kind, state.mean + ahead)
        value = value - slope * ahead
        # The table is for lean meat: fat, which holds no water, releases no juice.
        scale = self.exudation_factor * (self.green_moisture / drying.EXUDED_OF_WATER)
        excess = state.mean_moisture - self.green_moisture + scale * value
        warming = 0.5 * length * self.heat_modes.area_factor * body.diffusivity / (body.half * body.conductivity)
        steps = length / self.exudation_time
        drained = -np.expm1(-steps)
        drained_new = 1.0 - drained / steps
        initial = np.maximum(excess, 0.0)
        per_flow = self.solids * drained_new * scale * slope * warming
        now = self.solids * (initial * drained + (excess - initial) * drained_new) + per_flow * state.heat_flow
        flows = now + per_flow * state.heat_flow > 0
        return now * flows, per_flow * flows

    def _drain(self, juice: Floats) -> Floats:
        # Remove the juice from the inside in proportion to the local moisture. Returns the juice, at least 0.
        state, juice = self.state, np.maximum(juice, 0.0)
        remaining = 1.0 - juice / (self.solids * state.mean_moisture)
        state.moisture = state.moisture * remaining[:, None]
        state.surface_moisture = state.surface_moisture * remaining
        state.mean_moisture = state.mean_moisture * remaining
        return juice

    def _area(self, half: Floats) -> Floats:
        # m2 of heated surface per kg green weight.
        area: Floats = self.heat_modes.area_factor * half * half / self._green_mass
        return area

    def _sweeten(self, sugar: float) -> None:
        # The sugar of a glaze binds water in the outer layer only.
        self.sugar += sugar
        depth = np.minimum(SUGAR_DEPTH, self.green_half)
        layer = self._area(self.green_half) * self.open_fraction * depth * self.solids * self.green_density
        self.isotherm = self.isotherm.with_sugar(self.sugar / layer)


def _without(dew: Floats, spilling: Floats) -> Floats:
    # Juice in the liquid that runs off. The dew on top runs off first.
    juice: Floats = np.maximum(spilling - dew, 0.0)
    return juice
