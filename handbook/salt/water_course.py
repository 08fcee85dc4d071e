"""Water of a piece through one stage: gained or lost at the surface, evaporated, or dripped as juice.

Water moves through the piece as fast as salt: published diffusivities of moisture in muscle lie within the band of those
of salt. The salt carried by flowing water and the salt that diffuses back then add up to

    ds/dt = D div(grad s),  dW/dt = D div(grad W)

with s = y W_surface in a bath, so both are linear and use the profiles of diffusion.py. A bath in which the food swells
or shrinks sets W at the surface. Evaporation is a flow through the surface. Juice leaves in proportion to the local
water. Where the surface would dry out, the rest of the loss comes evenly from the whole piece.
Source: [crank-1975]; moisture in muscle [pork-drying-sintef]; the scheme is our own.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np
from msgspec import Struct

from handbook.base.arrays import Floats
from handbook.salt.diffusion import Geometry
from handbook.salt.evolution import open_modes, sealed_modes
from handbook.salt.modal_solution import ModalSolution, SolutionTable

#: Points of a curve as parts of the stage, denser at its start, where uptake is fast.
CURVE_PARTS = np.linspace(0.0, 1.0, 21) ** 2
#: Minimum water of the surface as a share of the mean, and minimum and maximum water that a bath sets at the surface,
#: as shares of the food's own (estimates of the handbook).
LEAST_AT_SURFACE, LEAST_HELD, MOST_HELD = 0.1, 0.6, 1.4


class WaterEntry(Struct, frozen=True, eq=False, kw_only=True):
    """Water gained from a bath in n samples: ``gained`` in total, ``surface`` held at the surface, ``even`` spread
    evenly at once.

    ``is_held`` is false where no water is exchanged: the profile then equalises, and ``surface`` is the mean.
    """

    gained: Floats
    surface: Floats
    even: Floats
    is_held: bool


class WaterExchange(Struct, frozen=True, eq=False, kw_only=True):
    """Mean water at the end of a stage, linear in the surface water: mean = free + share surface.

    free, share : arrays (n,)
    """

    own: Floats
    free: Floats
    share: Floats

    @classmethod
    def of(cls, shape: Geometry, start: Floats, fourier: Floats) -> WaterExchange:
        """Exchange of a piece that starts with a profile of water.

        mean = sum(w_m a_m exp(-lambda_m F)) + share surface

        Parameters
        ----------
        shape : Geometry
        start : array (n, r) [kg / kg green food]
        fourier : array (n,) [-]
            D t / L^2 at the end of the stage.

        Returns
        -------
        WaterExchange

        Notes
        -----
        Source: [crank-1975]; the scheme is our own. Valid for constant D.

        Examples
        --------
        At D t / L^2 = 0.1 a sheet has reached 0.3568 of equilibrium (tests/published/crank_sheet.csv):

        >>> from handbook.salt.salt_example import SLAB
        >>> round(float(WaterExchange.of(SLAB, SLAB.uniform(np.array([0.75])), np.array([0.1])).share[0]), 4)
        0.3568
        """
        rates, modes = open_modes(shape)
        left = np.exp(-np.multiply.outer(fourier, rates)) * modes[0]
        share = 1.0 - left @ modes[0]
        return cls(own=start[:, 0], free=((start @ modes) * left).sum(axis=1), share=share)

    def entry(self, gained: Floats) -> WaterEntry:
        """Surface water needed for a gain of water.

        surface = (own + gained - free) / share, within 0.6 to 1.4 of the food's own; the rest is spread evenly

        Parameters
        ----------
        gained : array (n,) [kg / kg green food]

        Returns
        -------
        WaterEntry

        Notes
        -----
        Source: mass balance; limits are estimates of the handbook. Valid for any gain.

        Examples
        --------
        >>> from handbook.salt.salt_example import SLAB
        >>> exchange = WaterExchange.of(SLAB, SLAB.uniform(np.array([0.75])), np.array([0.5]))
        >>> round(float(exchange.entry(np.array([0.05])).surface[0]), 3)
        0.815
        """
        wanted = self.own + gained
        low, high = np.minimum(LEAST_HELD * self.own, wanted), np.maximum(MOST_HELD * self.own, wanted)
        surface = np.clip((wanted - self.free) / np.maximum(self.share, 1e-9), low, high)
        even = (wanted - self.free - self.share * surface) / np.maximum(1.0 - self.share, 1e-9)
        return WaterEntry(gained=gained, surface=surface, even=np.where(self.share > 1 - 1e-9, 0.0, even), is_held=True)


class WaterCourse(Struct, frozen=True, eq=False, kw_only=True, dict=True):
    """Water over one stage. Amounts in kg / kg green food, arrays (n,) unless stated.

    start : (n, r); fourier : D t / L^2 at the end; surface : held in a bath, or None
    evaporated, dripped : by the end; the dry rim deepens as diffusion proceeds
    progress, evaporating, dripping : (parts,), shares of diffusion, evaporation and juice that are complete at
    CURVE_PARTS
    """

    shape: Geometry
    start: Floats
    fourier: Floats
    surface: Floats | None
    evaporated: Floats
    dripped: Floats
    progress: Floats
    evaporating: Floats
    dripping: Floats

    @cached_property
    def kept(self) -> Floats:
        """Share of water and solutes that juice has left in the food, shape (n, parts)."""
        return 1.0 - np.multiply.outer(self.dripped / self.start[:, 0], self.dripping)

    @property
    def is_level(self) -> bool:
        """Whether the water is uniform throughout the stage."""
        return self.surface is None and not self.evaporated.any() and not self.start[:, 1:].any()

    def at(self, readers: Sequence[Floats]) -> Floats:
        """Water at the readers, at each part of the stage.

        W(t) = reader . q(t)

        Parameters
        ----------
        readers : sequence of arrays (r,) or (n, r)

        Returns
        -------
        array (readers, n, parts) [kg / kg green food]

        Notes
        -----
        Source: [crank-1975]; the scheme is our own. Valid for readers that give 1 for a uniform 1.

        Examples
        --------
        A tenth of the weight evaporates from a sheet; the centre hardly changes:

        >>> from handbook.salt.diffusion import geometry
        >>> slab, one = geometry("slab"), np.ones(1)
        >>> drying = WaterCourse(shape=slab, start=slab.uniform(0.75 * one), fourier=0.05 * one, progress=CURVE_PARTS,
        ...                      surface=None, evaporated=0.1 * one, dripped=0 * one, evaporating=CURVE_PARTS,
        ...                      dripping=CURVE_PARTS)
        >>> drying.at([np.eye(slab.size)[0], slab.centre])[:, 0, -1].round(3).tolist()
        [0.65, 0.749]
        """
        if self.is_level:
            return np.broadcast_to(self._level, (len(readers), *self.kept.shape))
        found = self._decaying.table(list(readers)).at(np.multiply.outer(self.fourier, self.progress))
        if self._dried is not None:
            for values, reader in zip(found, readers, strict=True):
                values += (self._dried * (reader @ self._decaying.modes)).sum(axis=1)[:, None]
        if self.dripped.any():
            found *= self.kept
        found += self._level
        return found

    def end(self) -> Floats:
        """Profile of the water at the end of the stage.

        q_end = q(t_end)

        Returns
        -------
        array (n, r) [kg / kg green food]

        Notes
        -----
        Source: [crank-1975]; the scheme is our own. Valid as ``at``.

        Examples
        --------
        >>> from handbook.salt.diffusion import geometry
        >>> slab, one = geometry("slab"), np.ones(1)
        >>> dripping = WaterCourse(shape=slab, start=slab.uniform(0.75 * one), fourier=0.05 * one, progress=CURVE_PARTS,
        ...                        surface=None, evaporated=0 * one, dripped=0.15 * one, evaporating=CURVE_PARTS,
        ...                        dripping=CURVE_PARTS)
        >>> round(float(dripping.end()[0, 0]), 3)
        0.6
        """
        if self.is_level:
            return self.start * self.kept[:, -1:]
        states, _ = self._decaying.state(self.fourier)
        if self._dried is not None:
            states += self._dried @ self._decaying.modes.T
        states *= self.kept[:, -1:]
        states[:, 0] += self._level[:, -1]
        return states

    def mean_at(self, fourier: Floats) -> Floats | None:
        """Mean water in a bath at any time.

        W(t) = surface + (W_start - surface) sum(w_m d_m(t))

        Parameters
        ----------
        fourier : array (n, times), or (1, times) for all samples [-]
            D t / L^2.

        Returns
        -------
        array (n, times) [kg / kg green food]; None without a bath that exchanges water

        Notes
        -----
        Source: [crank-1975]; the scheme is our own. Valid for any time.

        Examples
        --------
        >>> from handbook.salt.diffusion import geometry
        >>> slab, one = geometry("slab"), np.ones(1)
        >>> swelling = WaterCourse(shape=slab, start=slab.uniform(0.75 * one), fourier=one, progress=CURVE_PARTS,
        ...                        surface=0.85 * one, evaporated=0 * one, dripped=0 * one, evaporating=CURVE_PARTS,
        ...                        dripping=CURVE_PARTS)
        >>> round(float(swelling.mean_at(np.array([[0.1]]))[0, 0]), 4)
        0.7857
        """
        return None if self.surface is None else self._mean_table.at(fourier)[0] + self.surface[:, None]

    @cached_property
    def _mean_table(self) -> SolutionTable:
        return self._decaying.table([np.eye(1, self.shape.size)[0]])

    @cached_property
    def _level(self) -> Floats:
        """Reference value of the modes, shape (n, parts): the surface's water in a bath, else the mean."""
        if self.surface is not None:
            return np.broadcast_to(self.surface[:, None], self.kept.shape)
        return self.start[:, :1] * self.kept - np.multiply.outer(self.evaporated, self.evaporating)

    @cached_property
    def _decaying(self) -> ModalSolution:
        rates, modes = (sealed_modes if self.surface is None else open_modes)(self.shape)
        begun = self._begun if self._dried is None else self._begun - self._dried
        return ModalSolution(equilibrium=np.zeros(len(begun)), rates=rates, amplitudes=begun, modes=modes)

    @cached_property
    def _begun(self) -> Floats:
        """Amplitudes (n, m) of the profile at the start."""
        start = self.start.copy()
        start[:, 0] -= self.start[:, 0] if self.surface is None else self.surface
        begun: Floats = start @ (sealed_modes if self.surface is None else open_modes)(self.shape)[1]
        return begun

    @cached_property
    def _dried(self) -> Floats | None:
        """Amplitudes (n, m) that steady evaporation approaches; None without evaporation."""
        if self.surface is not None or not self.evaporated.any():
            return None
        rates, modes = sealed_modes(self.shape)
        passed = np.multiply.outer(np.maximum(self.fourier, 1e-9), rates)
        dried = -self.evaporated[:, None] * (self.shape.flow @ modes) / passed
        # The surface keeps a share of the mean: where it would be drier, the loss is taken evenly.
        left, reader = np.exp(-passed), self.shape.surface @ modes
        at_surface = (dried * (1.0 - left)) @ reader
        spare = (1.0 - LEAST_AT_SURFACE) * self._level[:, -1] + (self._begun * left) @ reader
        dried *= np.clip(spare / np.maximum(-at_surface, 1e-12), 0.0, 1.0)[:, None]
        return dried
