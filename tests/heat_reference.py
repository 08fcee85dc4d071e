"""The heat model of one slab written again as a plain system of differential equations for scipy's solver.

Same physics as handbook.heat (conduction, convection, radiation, evaporation, inner moisture, shrinkage; no juice), other
numbers: cells instead of modes, an implicit solver with its own steps, the surface solved by bracketing. It checks the
marching, not the constants, and is what the benchmark compares with.
"""

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from handbook.catalogue import thermal_properties as thermal
from handbook.heat import evaporation as drying
from handbook.heat.humid_air import latent_heat, saturation
from handbook.heat.surface_stepping import STEFAN_BOLTZMANN


def properties(food, temperature):
    """Density, specific heat and conductivity of ``food`` at ``temperature`` in K, scalar or (n,)."""
    thermal.check_temperature(temperature)
    at = np.atleast_1d(np.asarray(temperature, dtype=float))
    found = thermal.mixture(np.broadcast_to(food.fractions, (at.size, 5)), at)
    return tuple(each.reshape(np.shape(temperature)) for each in found)


def water_activity(moisture, solids, fat=0.0, salt=0.0):
    """Water activity of muscle at ``moisture`` kg water / kg solids, from mass fractions of the green food."""
    return np.exp(drying.Isotherm(solids, fat, salt).log_activity(np.asarray(moisture, dtype=float))[0])


def slab_run(piece, stage, emissivity=0.9, pressure=101325.0, cells=40, dries=True, local=False):
    """Time (n,), core (n,), surface-cell (n,) temperature in K and mass / green mass (n,) of one stage in air.

    ``local``: properties at each cell's temperature instead of the mean.
    """
    grid = _Slab(piece, stage, emissivity, pressure, cells, dries, local)
    times = np.linspace(0.0, stage.duration, 200)
    start = np.concatenate((np.full(cells, piece.temperature.typical), np.full(cells, grid.green_moisture)))
    # In a step of hours a longer one would miss the moment at which dew turns to evaporation.
    limits = {"rtol": 1e-5, "atol": 1e-6, "first_step": 1e-2, "max_step": max(20.0, stage.duration / 1000)}
    solved = solve_ivp(grid.rates, (0.0, stage.duration), start, method="BDF", t_eval=times, **limits)
    assert solved.success
    moisture = solved.y[cells:].mean(0)
    return times, solved.y[0], solved.y[cells - 1], grid.solids * (1.0 + moisture)


class _Slab:
    def __init__(self, piece, stage, emissivity, pressure, cells, dries, local):
        self.stage, self.emissivity, self.pressure, self.dries, self.local = stage, emissivity, pressure, dries, local
        self.cells, self.half = cells, piece.half_thickness
        fractions = piece.composition.fractions
        self.solids, self.parts, self.fat = 1.0 - fractions[0], fractions[1:], fractions[2]
        self.salt = piece.salt_to_water_ratio * fractions[0]
        self.green_moisture = fractions[0] / self.solids
        self.green_density = self._properties(piece.temperature.typical, self.green_moisture)[0]
        self.radiation = 4.0 * emissivity * STEFAN_BOLTZMANN

    def _properties(self, temperature, moisture):
        water = self.solids * moisture
        parts = np.concatenate(([water], self.parts)) / (water + self.solids)
        food = thermal.Composition(*parts)
        return properties(food, temperature)

    def rates(self, time, state):
        temperature, moisture = state[: self.cells], state[self.cells :]
        at = temperature if self.local else temperature.mean()
        density, capacity, conductivity = self._properties(at, moisture.mean())
        mean_density = np.mean(density)
        total = self.solids * (1.0 + moisture.mean())
        half = self.half * np.cbrt(total * self.green_density / mean_density)
        solid_density = self.solids * mean_density / total
        chamber = self.stage.temperature.typical
        if self.stage.end_temperature:
            chamber += (self.stage.end_temperature.typical - chamber) * time / self.stage.duration
        raw = drying.moisture_diffusivity(temperature.mean())
        share = np.ones(self.cells)
        if chamber < drying.DRIES_BELOW:
            share = drying.dried_share(moisture, moisture, (self.solids - self.fat) / self.solids)
        # Between cells the mean of the two; from the outermost half cell, its own.
        diffusivity = raw * 0.5 * (share[1:] + share[:-1])
        width = half / self.cells
        outer_k = conductivity[-1] if self.local else conductivity
        flow, rate = self._surface(
            temperature[-1], moisture[-1], chamber, width / (2 * outer_k), width / (2 * solid_density * raw * share[-1])
        )
        between = 0.5 * (conductivity[1:] + conductivity[:-1]) if self.local else conductivity
        # Dew runs off a wet surface and soaks into one that is drier than the inside; a hard switch would stall the solver.
        lost = rate if rate > 0.0 else rate * np.clip(1.0 + (moisture.mean() - moisture[-1]) / 0.01, 0.0, 1.0)
        heat = np.concatenate(([0.0], between * np.diff(temperature) / width, [flow]))
        water = np.concatenate(([0.0], diffusivity * np.diff(moisture) / width, [-lost / solid_density]))
        return np.concatenate((np.diff(heat) / (width * density * capacity), np.diff(water) / width))

    def _surface(self, inner, moisture, chamber, resistance, moisture_resistance):
        # Heat into the slab in W/m2 and evaporation in kg/(m2 s), from the outermost half cell.
        stage = self.stage
        film = stage.coefficient.typical
        if stage.medium == "air":
            film += self.radiation * (0.5 * (chamber + inner)) ** 3
        latent = latent_heat(inner)

        def surface(rate):
            return (inner + resistance * (film * chamber - latent * rate)) / (1.0 + resistance * film)

        rate = 0.0
        if self.dries:
            vapour = stage.relative_humidity.typical * saturation(chamber) / self.pressure
            conductance = drying.mass_conductance(stage.coefficient.typical, vapour)

            def excess(rate):
                activity = water_activity(moisture - moisture_resistance * rate, self.solids, self.fat, self.salt)
                share = float(activity * saturation(surface(rate)) / self.pressure)
                return share - 1.0 + (1.0 - vapour) * np.exp(-rate / conductance)

            highest = min(
                (moisture - 1e-7) / moisture_resistance,
                (surface(0.0) - 251.0) * (1 + resistance * film) / (resistance * latent),
            )
            rate = brentq(excess, conductance * np.log(1.0 - vapour), highest, xtol=1e-12)
        at = surface(rate)
        return film * (chamber - at) - latent * rate, rate
