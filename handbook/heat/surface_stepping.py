"""The surface of a piece in its stage: convection and radiation, covers, a cap of fat, and a frozen start."""

from __future__ import annotations

import numpy as np

from handbook.base.arrays import Floats
from handbook.catalogue.thermal_properties import mixture
from handbook.heat.conduction import Modes
from handbook.heat.heat_state import HeatState, PieceProperties
from handbook.heat.heated_piece import FREEZING, HeatPiece, HeatSpread
from handbook.heat.humid_air import latent_heat, saturation
from handbook.heat.moisture_stepping import MoistureStepper, SurfaceLines
from handbook.heat.surroundings import Surroundings

STEFAN_BOLTZMANN = 5.670374e-8
FAT_RESISTANCE = 1 / 0.19 - 1 / 0.48  # m K/W added by fat in place of lean [choi-okos-1986]
ICE_SHARE = 0.9  # of the water that freezes by about -18 degC [choi-okos-1986]
ICE_CAPACITY, HEAT_OF_FUSION = 2.0e3, 3.336e5  # J/(kg K), J/kg
#: Below this moisture [kg / kg solids] nothing boils: the remaining water is bound. Fresh muscle has about 3.
BOUND_WATER = 0.3


def boiling_point(pressure: float) -> float:
    """Temperature at which water boils.

    p_sat(T) = p

    Parameters
    ----------
    pressure : float [Pa]

    Returns
    -------
    float [K]

    Notes
    -----
    Source: [hyland-wexler-1983]. Valid from 40 to 120 kPa; bisection to 0.001 K.

    Examples
    --------
    >>> round(boiling_point(101325.0) - 273.15, 1)
    100.0
    """
    low, high = 340.0, 390.0
    while high - low > 1e-3:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if float(saturation(np.array([middle]))[0]) < pressure else (low, middle)
    return 0.5 * (low + high)


class SurfaceStepper(MoistureStepper):
    """The surface part of TimeStepper. TimeStepper sets the attributes."""

    piece: HeatPiece
    spread: HeatSpread
    state: HeatState
    heat_modes: Modes
    start: Floats
    open_fraction: float
    _radiation: float
    _fat: float
    _frozen_below: float | None
    solids: float
    _boiling: float
    _no_juice: Floats

    def enter(self, around: Surroundings) -> None:
        """Begin a stage: the cover decides how much of the surface lets water out.

        open = open_piece open_cover

        Parameters
        ----------
        around : Surroundings

        Notes
        -----
        Source: [heat-estimates]. Valid for any stage.

        Examples
        --------
        Paper lets half of the vapour through:

        >>> from handbook.heat.heat_example import ALONE, FILLET, OVEN
        >>> from handbook.heat.surroundings import surroundings
        >>> from handbook.heat.time_stepping import TimeStepper
        >>> stepper = TimeStepper(FILLET, [OVEN], ALONE, 101325.0)
        >>> stepper.enter(surroundings(OVEN, stepper.draws, 101325.0))
        >>> stepper.open_fraction
        0.5
        """
        self.open_fraction = self.piece.open_fraction * around.open_fraction * (0.5 if self._fat else 1.0)

    def unfrozen(self, temperature: Floats) -> Floats:
        """Temperatures as a probe shows them. A piece that is still frozen inside shows its freezing point.

        T = max(T, T_freezing) in a run that starts frozen

        Parameters
        ----------
        temperature : array, any shape [K]

        Returns
        -------
        array, same shape [K]

        Notes
        -----
        Source: numerical choice, see ``_freeze``. Valid for any temperature.

        Examples
        --------
        >>> from handbook.heat.heat_example import ALONE, FROZEN, OVEN
        >>> from handbook.heat.surroundings import surroundings
        >>> from handbook.heat.time_stepping import TimeStepper
        >>> stepper = TimeStepper(FROZEN, [OVEN], ALONE, 101325.0)
        >>> float(stepper.state.core[0]) < 220.0, float(stepper.unfrozen(stepper.state.core)[0])
        (True, 272.15)
        """
        return temperature if self._frozen_below is None else np.maximum(temperature, self._frozen_below)

    def _freeze(self) -> None:
        # A frozen piece starts at the temperature at which unfrozen food would hold as little heat, so that the latent
        # heat of its ice still has to be supplied. The frozen core then lags correctly with one set of properties.
        piece = self.piece
        fractions = piece.composition.fractions[None, :]
        capacity = float(mixture(fractions, np.array([FREEZING]))[1][0])
        ice = ICE_SHARE * fractions[0, 0]
        below = FREEZING - self.start
        frozen_capacity = ice * ICE_CAPACITY + (1.0 - ice) * capacity * (1.0 - fractions[0, 0]) / (1.0 - ice)
        heat = ice * HEAT_OF_FUSION + below * frozen_capacity
        self.start = FREEZING - heat / capacity
        self._frozen_below = FREEZING

    def _thawing(
        self,
        lines: SurfaceLines,
        free: Floats,
        weight: Floats,
        follow: Floats,
        film: Floats,
        chamber: Floats,
        chilled: Floats | float,
        lost: Floats,
    ) -> SurfaceLines:
        # The surface of a frozen piece stays at its freezing point as seen from outside.
        flow = film * (chamber - FREEZING)
        warm = (free @ self.heat_modes.surface + weight / film * (flow - chilled) * film) / (1.0 - follow)
        is_frozen = warm < FREEZING
        frozen = (warm, weight * lost / (1.0 - follow), flow, -lost)
        merged = [np.where(is_frozen, cold, other) for cold, other in zip(frozen, lines, strict=True)]
        return merged[0], merged[1], merged[2], merged[3]

    def _boil(
        self,
        around: Surroundings,
        body: PieceProperties,
        surface: Floats,
        stiffness: Floats,
        weight: Floats,
        length: float,
    ) -> tuple[Floats, Floats]:
        # Returns the surface temperature and the heat flow [W/m2] that boiling takes from it. Wet food gets no hotter
        # than boiling water: excess heat turns water to steam under the crust, and steam escapes through any cover. The
        # crust that browns is one or two millimetres thick. Its temperature is not modelled.
        state, boiling = self.state, self._boiling
        if not around.is_air or np.maximum.reduce(surface) <= boiling:
            return surface, self._no_juice
        latent = latent_heat(np.full_like(surface, boiling))
        per_heat = self._area(body.half) * length / latent
        free_water = 0.5 * self.solids * np.maximum(state.mean_moisture - BOUND_WATER, 0.0)
        flow = np.minimum(np.maximum(surface - boiling, 0.0) * stiffness / weight, free_water / per_heat)
        self._drain(flow * per_heat)
        return surface - flow * weight / stiffness, flow

    def _film(self, around: Surroundings, chamber: Floats) -> Floats:
        # Conductance from the chamber to the surface: convection and radiation, then the gap of a cover and a fat cap.
        film = around.coefficient
        if around.is_air:
            between = 0.5 * (chamber + self.unfrozen(self.state.surface))
            radiation = self._radiation * between * between * between
            if around.emissivity is not None:
                radiation = radiation * (around.emissivity / self.spread.emissivity)
            film = film + radiation
        if around.gap is not None:
            film = film * around.gap / (film + around.gap)
        if self._fat:
            film = 0.5 * film + 0.5 * film / (1.0 + film * self._fat)
        return film
