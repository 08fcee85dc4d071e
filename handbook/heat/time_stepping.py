"""Time stepping of one piece through its stages: conduction, convection, radiation and evaporation."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from handbook.base.arrays import Bools, Floats
from handbook.base.errors import BeyondModelError, RangeError
from handbook.base.units import celsius
from handbook.catalogue.thermal_properties import HIGHEST, check_temperature, mixture
from handbook.heat import evaporation as drying
from handbook.heat.conduction import MAX_BIOT, Modes, modes, propagators
from handbook.heat.heat_state import HeatState, PieceProperties
from handbook.heat.heated_piece import FREEZING, HEATED, HeatPiece, HeatSpread, HeatStage
from handbook.heat.humid_air import latent_heat
from handbook.heat.moisture_stepping import LAST_WATER, SOAKING_TIME
from handbook.heat.surface_stepping import FAT_RESISTANCE, STEFAN_BOLTZMANN, SurfaceStepper, boiling_point
from handbook.heat.surroundings import Surroundings
from handbook.uncertainty.sampling import Draws

#: Bone holds less heat per volume than flesh, 2.9 against 3.7 MJ/(m3 K), and releases no juice [heat-estimates].
BONE_LESS_HEAT = 0.2
MOISTURE_BIOT = 2.0  # any value gives the same result: see conduction.py
_DRY = 0.02  # kg / kg solids below which the surface counts as dry
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
    "juice flow",
    "drip",
    "shape",
    "cover",
)


class TimeStepper(SurfaceStepper):
    """All samples of one piece, stepped together through time. Arrays have shape (n,), row 0 typical."""

    def __init__(self, piece: HeatPiece, stages: Sequence[HeatStage], spread: HeatSpread, pressure: float):
        self.piece, self.spread, self.pressure = piece, spread, pressure
        self.draws = Draws([(name, None) for name in INPUTS], spread.samples)
        of = self.draws.of
        fractions = piece.composition.fractions
        self.solids = 1.0 - fractions[0]
        self.parts = fractions[1:]
        self.fat_free = max(self.solids - fractions[2], 0.02) / self.solids
        self.green_half = of(piece.thickness_input) / piece.heated_faces
        self.start = of(piece.temperature_input)
        factors = [of(each) for each in spread.inputs if each.name != "shape" or piece.shape != "slab"]
        self.conductivity_factor, self.capacity_factor, self.diffusivity_factor, self.exudation_factor = factors[:4]
        self.drip = factors[5]
        if piece.shape != "slab":
            self.green_half = self.green_half * factors[6]
        self._set_bone(piece.bone)
        self.green_moisture = fractions[0] / self.solids
        salt = piece.salt_to_water_ratio * fractions[0]
        self.isotherm = drying.Isotherm(self.solids, fractions[2], salt)
        self.sugar: Floats | float = 0.0  # kg / kg green weight, left on the surface by coatings
        start = np.maximum(self.start, FREEZING)
        self.green_density = mixture(np.broadcast_to(fractions, (start.size, 5)), start)[0]
        self._green_mass = self.green_half**3 * self.green_density
        self._radiation = 4.0 * spread.emissivity * STEFAN_BOLTZMANN
        self._fat = piece.fat_cap * FAT_RESISTANCE
        self._boiling = boiling_point(pressure)
        self._frozen_below: float | None = None
        self.open_fraction = piece.open_fraction
        if piece.is_frozen:
            self._freeze()
        self._no_juice = np.zeros(self.start.size)
        self.heat_modes = self._modes(stages)
        self.moisture_modes = modes(piece.shape, MOISTURE_BIOT, piece.aspects)
        slowest = float(modes(piece.shape, MAX_BIOT, piece.aspects).rate[0])
        self.exudation_time = self.green_half**2 / (slowest * drying.JUICE_DIFFUSIVITY * factors[4])
        self.state = self._initial()
        #: s; half thickness^2 / thermal diffusivity, and the slowest time of conduction, both typical.
        self.time_scale = float(self.green_half[0] ** 2 / self._body().diffusivity[0])
        self.slowest_time = self.time_scale / float(self.heat_modes.rate[0])

    def _set_bone(self, bone: float) -> None:
        self.capacity_factor = self.capacity_factor * (1.0 - BONE_LESS_HEAT * bone)
        self.exudation_factor = self.exudation_factor * (1.0 - bone)

    def _modes(self, stages: Sequence[HeatStage]) -> Modes:
        # Geometric mean of the Biot numbers of the longest heating stage and of the highest one, green conductivity.
        piece = self.piece
        _, _, conductivity = mixture(piece.composition.fractions[None, :], np.maximum(self.start[:1], FREEZING))
        self._biot_per_coefficient = piece.half_thickness / float(conductivity[0])
        longest = max(stages, key=lambda stage: (stage.temperature.typical > HEATED, stage.duration))
        biot = (self.biot(longest) * max(self.biot(stage) for stage in stages)) ** 0.5
        return modes(piece.shape, float(min(max(biot, 1e-3), 1e5)), piece.aspects)

    def biot(self, stage: HeatStage) -> float:
        """Typical Biot number of a stage.

        Bi = (h + 4 e sigma T^3) R / k

        Parameters
        ----------
        stage : HeatStage

        Returns
        -------
        float [-]

        Notes
        -----
        k is that of the green piece at its start temperature.
        Source: [carslaw-jaeger-1959]. Valid for radiation linearised about the chamber temperature T, in air only.

        Examples
        --------
        200 W/(m2 K) x 0.01 m / 0.5 W/(m K) is about 4:

        >>> from handbook.heat.heat_example import ALONE, BATH, FILLET
        >>> stepper = TimeStepper(FILLET, [BATH], ALONE, 101325.0)
        >>> round(stepper.biot(BATH))
        4
        """
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
            coated=zero,
            warming=zero,
            moistening=zero,
            drying=zero,
            film=zero,
            chill=zero,
        )

    def water(self) -> Floats:
        """Water now / green mass, water of coatings included.

        w = (1 - w_green) X + w_coating

        Returns
        -------
        array (n,) [-]

        Notes
        -----
        Source: mass balance; no empirical constant. Valid at any time of the run.

        Examples
        --------
        >>> from handbook.heat.heat_example import ALONE, BATH, FILLET
        >>> stepper = TimeStepper(FILLET, [BATH], ALONE, 101325.0)
        >>> stepper.water().tolist()
        [0.75]
        """
        water: Floats = self.solids * self.state.mean_moisture + self.state.film
        return water

    def mass(self) -> Floats:
        """Mass now / green mass, coatings included.

        m = w + dry matter

        Returns
        -------
        array (n,) [-]

        Notes
        -----
        Source: mass balance; no empirical constant. Valid at any time of the run.

        Examples
        --------
        >>> from handbook.heat.heat_example import ALONE, BATH, FILLET
        >>> stepper = TimeStepper(FILLET, [BATH], ALONE, 101325.0)
        >>> stepper.mass().tolist()
        [1.0]
        """
        return self.water() + self.state.dry_matter

    def step(self, around: Surroundings, elapsed: float, length: float) -> None:
        """Advance the state by one time step.

        q = h (T_chamber - T_surface) + 4 e sigma T_m^3 (T_chamber - T_surface) - m h_fg, T_m = (T_chamber + T_surface) / 2

        Parameters
        ----------
        around : Surroundings
        elapsed : float [s]
            Time of the stage at the end of the step.
        length : float [s]
            Above 0.

        Notes
        -----
        Conduction is exact for u linear over the step (see conduction.py); properties are those expected at its middle.
        Source: [carslaw-jaeger-1959], [choi-okos-1986], [lewis-number].
        Valid as handbook.heat.heat_run.run; ``pace`` gives the factor for the next step.

        Examples
        --------
        After a minute in the bath the surface is warm and the core still cold:

        >>> from handbook.heat.heat_example import ALONE, BATH, FILLET
        >>> from handbook.heat.surroundings import surroundings
        >>> stepper = TimeStepper(FILLET, [BATH], ALONE, 101325.0)
        >>> stepper.step(surroundings(BATH, stepper.draws, 101325.0), 60.0, 60.0)
        >>> [round(float(each[0]) - 273.15) for each in (stepper.state.core, stepper.state.mean, stepper.state.surface)]
        [4, 10, 36]
        """
        state, body, heat = self.state, self._body(0.5 * length), self.heat_modes
        mean, mean_moisture = state.mean, state.mean_moisture
        chamber = around.temperature(elapsed)
        decay, old, new = propagators(heat.rate, body.diffusivity * length / (body.half * body.half))
        resistance = body.half / (heat.biot * body.conductivity)
        chilled = self._chilled(body, length)
        drive = (state.heat @ heat.surface + resistance * (state.heat_flow - chilled)) / (1.0 - heat.surface_tail)
        free = decay * state.heat + old * drive[:, None]
        follow = new @ heat.surface + heat.surface_tail
        film = self._film(around, chamber)
        # Surface temperature and heat flow are linear in the evaporation rate: warm - cooling x rate, flow + rise x rate.
        weight = follow * resistance
        stiffness = 1.0 - follow + weight * film
        warm = (free @ heat.surface + weight * (film * chamber - chilled)) / stiffness
        lost = self.open_fraction * latent_heat(state.surface)
        cooling = weight * lost / stiffness
        lines = (warm, cooling, film * (chamber - warm), film * cooling - lost)
        if self._frozen_below is not None:
            lines = self._thawing(lines, free, weight, follow, film, chamber, chilled, lost)
        rate = self._moisture_step(around, chamber, lines, body, length)
        dry_surface = lines[0] - lines[1] * rate
        surface, boiled = self._boil(around, body, dry_surface, stiffness, weight, length)
        flow = lines[2] + lines[3] * rate + film * (dry_surface - surface) - boiled
        drive = surface + resistance * (flow - chilled)
        state.heat, state.heat_flow, state.surface = free + new * drive[:, None], flow, surface
        state.mean = state.heat @ heat.mean
        state.core = state.heat @ heat.core
        state.warming = (state.mean - mean) / length
        state.moistening = (state.mean_moisture - mean_moisture) / length

    def _chilled(self, body: PieceProperties, length: float) -> Floats | float:
        # Heat flux [W/m2] into a fresh coating that warms to the surface temperature.
        state = self.state
        if not state.chill.any():
            return 0.0
        taken = state.chill * min(length / SOAKING_TIME, 1.0)
        state.chill = state.chill - taken
        return taken / (self._area(body.half) * length)

    def _body(self, ahead: float = 0.0) -> PieceProperties:
        # Properties at the mean temperature and moisture expected in ``ahead`` s. Lengths shrink with volume.
        temperature = self.unfrozen(self.state.mean + ahead * self.state.warming)
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
        return PieceProperties(
            temperature=temperature,
            half=half,
            solid_density=self.solids * density / total,
            conductivity=conductivity,
            diffusivity=diffusivity,
        )

    def pace(self, before: HeatState, still: Bools | None) -> float:
        """Factor for the next step, at which surface temperature and moisture change by about the allowed amount.

        f = 1 / max(dT / 3 K, dX / (0.2 X)), means over the samples that are not ``still``

        Parameters
        ----------
        before : HeatState
            State at the start of the last step.
        still : array of bool (n,)
            Samples that are held. They do not limit the step.

        Returns
        -------
        float [-], at most 1e6

        Notes
        -----
        Source: numerical choice, checked against far finer steps in tests/handbook/test_heat.py. Valid for any step.

        Examples
        --------
        Without any change there is no limit:

        >>> from handbook.heat.heat_example import ALONE, BATH, FILLET
        >>> stepper = TimeStepper(FILLET, [BATH], ALONE, 101325.0)
        >>> round(stepper.pace(stepper.state, None))
        1000000
        """
        now = self.state
        warmed = np.abs(now.surface - before.surface) * (1.0 / _WARMING_PER_STEP)
        moved = np.abs(now.surface_moisture - before.surface_moisture)
        dried = moved / np.maximum(before.surface_moisture, _DRY) * (1.0 / _DRYING_PER_STEP)
        if still is not None:
            warmed, dried = warmed[~still], dried[~still]
        change = max(float(np.add.reduce(warmed)), float(np.add.reduce(dried))) / warmed.size
        return 1.0 / max(change, 1e-6)

    def settle(self) -> None:
        """Reset the rates of change, at an abrupt change of the surroundings."""
        self.state.warming = self.state.moistening = self.state.drying = np.zeros_like(self.state.mean)

    def check(self) -> None:
        """Check the mean temperature against the range of the property equations.

        T_low <= T_mean <= T_high of the typical sample, and water left in it

        Raises
        ------
        BeyondModelError  mean temperature outside the range of the property equations, or the piece dry throughout
        """
        mean = self.unfrozen(self.state.mean)[:1]
        if mean[0] > HIGHEST:
            read, most = celsius(float(mean[0])), celsius(HIGHEST)
            raise BeyondModelError(
                "mean temperature of the piece in °C", read, f"up to {most:.0f}: a shorter or cooler step"
            )
        try:
            check_temperature(mean, "mean temperature of the piece")
        except RangeError as error:
            raise BeyondModelError(error.name, error.value, error.allowed) from None
        if self.state.mean_moisture[0] <= LAST_WATER:
            raise BeyondModelError(
                "moisture of the piece",
                float(self.state.mean_moisture[0]),
                "above 0.03 kg/kg: a shorter or cooler step",
            )
