"""State of all samples of a heat run at one moment."""

from __future__ import annotations

from copy import copy

from msgspec import Struct

from handbook.base.arrays import Floats


class HeatState(Struct, kw_only=True):
    """State of all samples at one moment; arrays (n,) and modes (n, m). Steps make new arrays, so a shallow copy is
    enough.

    Temperatures in K, moisture in kg / kg solids, flows in W/m2 and kg/(m2 s).
    dry_matter, dripped, coated : kg per kg green weight
    film, chill : of a fresh coating, kg of water not yet soaked in and J to warm it, per kg green weight
    warming, moistening, drying : rates of change of mean temperature, mean moisture and evaporation
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
    coated: Floats
    warming: Floats
    moistening: Floats
    drying: Floats
    film: Floats
    chill: Floats

    def copy(self) -> HeatState:
        """The same arrays in a new record."""
        return copy(self)


class PieceProperties(Struct, frozen=True, kw_only=True):
    """Current properties of the piece, arrays (n,): mean temperature, half thickness, kg solids / m3, thermal properties."""

    temperature: Floats
    half: Floats
    solid_density: Floats
    conductivity: Floats
    diffusivity: Floats
