"""Water of a piece through one stage: taken up or given off at the surface, evaporated, or dripped as juice.

Water moves through the piece as fast as salt: published diffusivities of moisture in muscle lie within the band of those
of salt. Salt that flowing water takes along and salt that diffuses back then add up to

    ds/dt = D div(grad s),  dW/dt = D div(grad W)

with s = y W_surface in a bath, so both are linear and keep the profiles of diffusion.py. A bath that the food swells or
shrinks in holds W at the surface; evaporation is a flow through the surface; juice leaves everywhere in proportion.
Where the surface would dry out, the rest of the loss comes evenly from the whole piece.
Source: [crank-1975]; moisture in muscle [pork-drying-sintef]; the scheme is our own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from handbook.base.arrays import Floats
from handbook.salt.diffusion import Geometry
from handbook.salt.evolution import open_modes, sealed_modes

#: Points of a curve as parts of the stage, denser at its start, where uptake is fast.
CURVE_PARTS = np.linspace(0.0, 1.0, 21) ** 2
#: Least water of the surface as a share of the mean, and least and most water that a bath leaves at the surface, as
#: shares of the food's own (estimates of the handbook).
LEAST_AT_SURFACE, LEAST_HELD, MOST_HELD = 0.1, 0.6, 1.4


@dataclass(frozen=True, eq=False, kw_only=True)
class WaterEntry:
    """Water that crosses from a bath in n samples: ``gained`` in all, ``surface`` held there, ``even`` at once everywhere.

    ``is_held`` is false where none crosses: the profile then evens out, and ``surface`` is the mean.
    """

    gained: Floats
    surface: Floats
    even: Floats
    is_held: bool


@dataclass(frozen=True, eq=False, kw_only=True)
class WaterExchange:
    """How much water the surface passes by the end of a stage: mean = free + share surface.

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
        At D t / L^2 = 0.1 a sheet has gone 0.3568 of the way (tests/published/crank_sheet.csv):

        >>> from handbook.salt.diffusion import geometry
        >>> slab = geometry("slab")
        >>> round(float(WaterExchange.of(slab, slab.uniform(np.array([0.75])), np.array([0.1])).share[0]), 4)
        0.3568
        """
        rates, modes = open_modes(shape)
        left = np.exp(-np.multiply.outer(fourier, rates)) * modes[0]
        share = 1.0 - left @ modes[0]
        return cls(own=start[:, 0], free=((start @ modes) * left).sum(axis=1), share=share)

    def entry(self, gained: Floats) -> WaterEntry:
        """What the surface must hold for a gain of water.

        surface = (own + gained - free) / share, within 0.6 to 1.4 of the food's own; the rest is even

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
        >>> from handbook.salt.diffusion import geometry
        >>> slab = geometry("slab")
        >>> exchange = WaterExchange.of(slab, slab.uniform(np.array([0.75])), np.array([0.5]))
        >>> round(float(exchange.entry(np.array([0.05])).surface[0]), 3)
        0.815
        """
        wanted = self.own + gained
        low, high = np.minimum(LEAST_HELD * self.own, wanted), np.maximum(MOST_HELD * self.own, wanted)
        surface = np.clip((wanted - self.free) / np.maximum(self.share, 1e-9), low, high)
        even = (wanted - self.free - self.share * surface) / np.maximum(1.0 - self.share, 1e-9)
        return WaterEntry(gained=gained, surface=surface, even=np.where(self.share > 1 - 1e-9, 0.0, even), is_held=True)


@dataclass(frozen=True, eq=False, kw_only=True)
class WaterCourse:
    """Water over one stage at ``CURVE_PARTS`` of its time. Amounts in kg / kg green food, arrays (n,) unless said.

    start : (n, r); fourier : D t / L^2 at the end
    progress, evaporating, dripping : (parts,), shares of the diffusion, evaporation and juice that are past
    surface : held in a bath, or None; evaporated, dripped : by the end
    """

    shape: Geometry
    start: Floats
    fourier: Floats
    progress: Floats
    surface: Floats | None
    evaporated: Floats
    dripped: Floats
    evaporating: Floats
    dripping: Floats

    @cached_property
    def kept(self) -> Floats:
        """Share of water and solutes that juice has left in the food, shape (n, parts)."""
        return 1.0 - np.multiply.outer(self.dripped / self.start[:, 0], self.dripping)

    @property
    def is_level(self) -> bool:
        """Whether the water is the same everywhere, always."""
        return self.surface is None and not self.evaporated.any() and not self.start[:, 1:].any()

    def at(self, readers: Sequence[Floats]) -> Floats:
        """What readers read of the water at each part of the stage.

        W(t) = reader . q(t)

        Parameters
        ----------
        readers : sequence of arrays (r,) or (n, r)

        Returns
        -------
        array (readers, n, parts) [kg / kg green food]

        Notes
        -----
        Source: [crank-1975]; the scheme is our own. Valid for readers that read 1 of a uniform 1.

        Examples
        --------
        A tenth of the weight evaporates from a sheet; the centre hardly knows:

        >>> from handbook.salt.diffusion import geometry
        >>> slab, one = geometry("slab"), np.ones(1)
        >>> drying = WaterCourse(shape=slab, start=slab.uniform(0.75 * one), fourier=0.05 * one, progress=CURVE_PARTS,
        ...                      surface=None, evaporated=0.1 * one, dripped=0 * one, evaporating=CURVE_PARTS,
        ...                      dripping=CURVE_PARTS)
        >>> drying.at([np.eye(slab.size)[0], slab.centre])[:, 0, -1].round(3).tolist()
        [0.65, 0.749]
        """
        count, parts = len(self.start), len(CURVE_PARTS)
        if self.is_level:
            return np.broadcast_to(self.start[:, :1] * self.kept, (len(readers), count, parts))
        mean = self._mean
        weights = [reader @ self._modes[: reader.shape[-1]] for reader in readers]
        found = np.empty((len(readers), count, parts))
        for at, weight in enumerate(weights):
            found[at] = mean
            if weight.any():
                found[at] += np.einsum("nmp,nm->np", self._away, np.broadcast_to(weight, self._away.shape[:2]))
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
        states: Floats = self._away[:, :, -1] @ self._modes.T
        states[:, 0] += self._mean[:, -1]
        return states

    @cached_property
    def _modes(self) -> Floats:
        return (sealed_modes if self.surface is None else open_modes)(self.shape)[1]

    @cached_property
    def _mean(self) -> Floats:
        """The level that ``_away`` is measured from, shape (n, parts)."""
        if self.surface is not None:
            return np.repeat(self.surface[:, None], len(CURVE_PARTS), axis=1)
        return self.start[:, :1] * self.kept - np.multiply.outer(self.evaporated, self.evaporating)

    @cached_property
    def _away(self) -> Floats:
        """Amplitudes of the modes, shape (n, m, parts)."""
        rates, modes = (sealed_modes if self.surface is None else open_modes)(self.shape)
        start = self.start.copy()
        start[:, 0] -= self.start[:, 0] if self.surface is None else self.surface
        begun = start @ modes
        exponents = np.multiply.outer(np.multiply.outer(self.fourier, -rates), self.progress)
        decay = np.exp(np.maximum(exponents, -80.0, out=exponents), out=exponents)
        away = begun[:, :, None] * decay
        if self.surface is not None:
            return away
        away *= self.kept[:, None, :]
        if self.evaporated.any():
            away += self._dried(rates, modes)
        return away

    def _dried(self, rates: Floats, modes: Floats) -> Floats:
        """What evaporation adds to the amplitudes: exact for a loss that is even over each part of the diffusion."""
        steps, losses = np.diff(self.progress), np.diff(self.evaporating)
        share = np.zeros((len(self.fourier), len(rates), len(CURVE_PARTS)))
        for part, (step, loss) in enumerate(zip(steps, losses, strict=True)):
            passed = np.minimum(np.multiply.outer(self.fourier, rates) * step, 80.0)
            left = np.exp(-passed)
            share[:, :, part + 1] = share[:, :, part] * left + loss * np.where(
                passed > 1e-9, -np.expm1(-passed) / np.maximum(passed, 1e-9), 1.0
            )
        share *= (-self.evaporated[:, None] * (self.shape.flow @ modes))[:, :, None]
        # A surface cannot dry below a share of the mean.
        surface = (share[:, :, -1] * (self.shape.surface @ modes)).sum(axis=1)
        spare = (1.0 - LEAST_AT_SURFACE) * self._mean[:, -1]
        share *= np.minimum(1.0, spare / np.maximum(-surface, 1e-12))[:, None, None]
        return share
