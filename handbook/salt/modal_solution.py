"""Solute over time as an equilibrium value plus decaying modes, and its table over time."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from msgspec import Struct

from handbook.base.arrays import Floats

#: Points of a whole table, and the D t / L^2 below which they are evenly spaced rather than geometrically.
_TABLE_SIZE, _SHORTEST = 72, 1e-5


class SolutionTable:
    """Values of a ModalSolution at its readers, tabulated at times common to all samples.

    The times are evenly spaced in log(1 + D t / L^2 / 1e-5). Interpolation is cubic, with an error of 1e-4 of the
    difference to equilibrium (2e-4 at the centre). A reader's values are computed on first use, up to the requested
    time: request the longest times first.
    """

    def __init__(self, evolution: ModalSolution, readers: list[Floats], with_bath: bool):
        self._evolution, self._readers = evolution, readers
        self._total = (
            evolution.equilibrium + evolution.bath_equilibrium
            if with_bath and evolution.bath_equilibrium is not None
            else None
        )
        self._longest = max(40.0, 30.0 / evolution.rates[0])  # all is in equilibrium by then
        self._spacing = np.log1p(self._longest / _SHORTEST) / (_TABLE_SIZE - 1)
        self._size, self._values = 0, dict[int, Floats]()
        self._decay: Floats = np.empty((0, len(evolution.rates)))

    def at(self, fourier: Floats, first: int | None = None) -> Floats:
        """Values of the readers at given times.

        c(t) = cubic through the four nearest points of the table

        Parameters
        ----------
        fourier : array (n, times), or (1, times) for all samples [-]
            D t / L^2.
        first : int
            Number of readers to read; None for all, followed by the amount in the bath where the table includes it.

        Returns
        -------
        array (readers, n, times), in the unit of the start

        Notes
        -----
        Source: Lagrange interpolation; no empirical constant.
        Valid for any time >= 0; beyond the last point of the table the piece is in equilibrium.

        Examples
        --------
        Crank's sheet at D t / l^2 = 0.1 holds 0.3568 of its final uptake (tests/published/crank_sheet.csv):

        >>> from handbook.salt.diffusion import geometry
        >>> from handbook.salt.evolution import held_surface, sealed
        >>> slab = geometry("slab")
        >>> mean = np.eye(slab.size)[0]
        >>> table = held_surface(slab, slab.uniform(np.zeros(1)), np.ones(1)).table([mean])
        >>> round(float(table.at(np.array([[0.1]]))[0, 0, 0]), 4)
        0.3568
        """
        left, shares = self._between(fourier)
        total = self._total if first is None else None
        count = len(self._readers[:first])
        found = np.zeros((count + (total is not None), *left.shape))
        for share in shares:
            for reader in range(count):
                part = self._read(reader).take(left)
                part *= share
                found[reader] += part
            left += 1
        if total is not None:
            np.subtract(total[:, None], found[0], out=found[-1])
        return found

    def _between(self, fourier: Floats) -> tuple[npt.NDArray[np.int64], tuple[Floats, ...]]:
        """Index (n, times) of the first of four neighbours, and the shares of each in the cubic through them."""
        place = np.log1p(np.minimum(fourier, self._longest) / _SHORTEST)
        place /= self._spacing
        needed = min(max(int(place.max(initial=0.0)) + 3, 4), _TABLE_SIZE)
        if needed > self._size:
            self._size, self._values = needed, {}
            self._decay = self._evolution.decay(np.expm1(np.arange(needed) * self._spacing) * _SHORTEST)
        left = np.minimum(np.maximum(place.astype(np.int64), 1), self._size - 3)
        x = place - left
        before, after = x - 1, x + 1
        outer, inner = x * before / 6, after * (x - 2) / 2
        rows = np.arange(len(self._evolution.equilibrium))[:, None] * self._size
        return rows + (left - 1), (outer * (2 - x), inner * before, inner * -x, outer * after)

    def _read(self, reader: int) -> Floats:
        if reader not in self._values:
            self._values[reader] = self._evolution.read(self._readers[reader], self._decay).ravel()
        return self._values[reader]


class ModalSolution(Struct, frozen=True, eq=False, kw_only=True):
    """Solute of n samples: equilibrium value plus modes that decay with D t / L^2.

    equilibrium : (n,) uniform value at equilibrium; bath_equilibrium : (n,) amount in the bath at equilibrium, None without a bath
    rates : (m,), those of each node from the slowest; amplitudes : (n, m)
    modes : (r, m) of the state, and with a bath one more row, its amount
    """

    equilibrium: Floats
    rates: Floats
    amplitudes: Floats
    modes: Floats
    bath_equilibrium: Floats | None = None

    def table(self, readers: list[Floats], with_bath: bool = False) -> SolutionTable:
        """Table over time of the values at the readers.

        c(t) = reader . q(t)

        Parameters
        ----------
        readers : list of arrays (r,), or (n, r) where a reader differs between samples
        with_bath : bool
            Also tabulate the amount in the bath, as the total less the food's. The first reader is then the mean.

        Returns
        -------
        SolutionTable

        Notes
        -----
        Source: [crank-1975]; the scheme is our own. Valid as SolutionTable.

        Examples
        --------
        >>> from handbook.salt.diffusion import geometry
        >>> from handbook.salt.evolution import held_surface, sealed
        >>> slab = geometry("slab")
        >>> table = sealed(slab, slab.uniform(np.array([0.02]))).table([np.eye(slab.size)[0]])
        >>> round(float(table.at(np.array([[1.0]]))[0, 0, 0]), 6)
        0.02
        """
        return SolutionTable(self, readers, with_bath)

    def decay(self, fourier: Floats) -> Floats:
        """Remaining share of each mode.

        d_m = exp(-lambda_m D t / L^2)

        Parameters
        ----------
        fourier : array (times,) [-]
            D t / L^2.

        Returns
        -------
        array (times, m) [-]

        Notes
        -----
        Exponents are limited to -80, since exp of a large negative number is slow.
        Source: [crank-1975]. Valid for times >= 0; error at most 1e-35.

        Examples
        --------
        >>> from handbook.salt.diffusion import geometry
        >>> from handbook.salt.evolution import held_surface, sealed
        >>> slab = geometry("slab")
        >>> solution = held_surface(slab, slab.uniform(np.zeros(1)), np.ones(1))
        >>> float(solution.decay(np.zeros(1)).min())
        1.0
        """
        exponents = np.multiply.outer(fourier, -self.rates)
        # exp of a large negative number is slow; e^-80 = 1e-35 is negligible.
        return np.exp(np.maximum(exponents, -80.0, out=exponents), out=exponents)

    def read(self, reader: Floats, decay: Floats) -> Floats:
        """Values at one reader after a decay.

        c = c_eq + sum(w_m a_m d_m)

        Parameters
        ----------
        reader : array (r,) or (n, r) [-]
        decay : array (times, m) [-]

        Returns
        -------
        array (n, times), in the unit of the start

        Notes
        -----
        Source: [crank-1975]; the scheme is our own. Valid for any reader of the same geometry.

        Examples
        --------
        >>> from handbook.salt.diffusion import geometry
        >>> from handbook.salt.evolution import held_surface, sealed
        >>> slab = geometry("slab")
        >>> solution = held_surface(slab, slab.uniform(np.zeros(1)), np.ones(1))
        >>> round(float(solution.read(np.eye(slab.size)[0], solution.decay(np.array([0.1])))[0, 0]), 4)
        0.3568
        """
        weight = reader @ self.modes[: reader.shape[-1]]
        if not weight.any():  # the mean of a sealed piece
            return np.repeat(self.equilibrium[:, None], len(decay), axis=1)
        if weight.ndim == 1:
            values = self.amplitudes @ (weight * decay).T
        else:
            weight *= self.amplitudes
            values = weight @ decay.T
        values += (self.equilibrium * reader[..., 0])[:, None]
        return values

    def state(self, fourier: Floats) -> tuple[Floats, Floats | None]:
        """States and amounts in the bath at one time per sample.

        q(t) = q_eq + sum(a_m d_m phi_m)

        Parameters
        ----------
        fourier : array (n,) [-]
            D t / L^2.

        Returns
        -------
        array (n, r), in the unit of the start
        array (n,), amount in the bath; None without a bath

        Notes
        -----
        Source: [crank-1975]; the scheme is our own. Valid for times >= 0.

        Examples
        --------
        >>> from handbook.salt.diffusion import geometry
        >>> from handbook.salt.evolution import held_surface, sealed
        >>> slab = geometry("slab")
        >>> states, _ = held_surface(slab, slab.uniform(np.zeros(1)), np.ones(1)).state(np.array([0.1]))
        >>> round(float(states[0, 0]), 4)
        0.3568
        """
        decayed = self.decay(fourier)
        decayed *= self.amplitudes
        states = decayed @ self.modes.T
        states[:, 0] += self.equilibrium
        return (
            (states, None) if self.bath_equilibrium is None else (states[:, :-1], states[:, -1] + self.bath_equilibrium)
        )
