"""Time evolution of the solute in a piece: sealed, at a held surface, or in a stirred bath of limited size.

All three are exact sums of decaying modes of a Geometry's operators. For a bath, let alpha = bath water / food water,
y = solute of the bath in the food's units and b = alpha y its amount. The symmetric system in (q, sqrt(alpha) y) is

    K_bath = [[K, -k / sqrt(alpha)], [-k' / sqrt(alpha), k_0 / alpha]],   k = K e (e: the constant profile)

Its mode of rate 0 is the common concentration at equilibrium, (q_0 + b) / (1 + alpha). Samples differ in D t / L^2,
which only scales time, and in alpha. The decaying part is computed at a few Chebyshev nodes of log alpha and
interpolated; the equilibrium is computed for each sample, so solute is conserved to rounding.
Source: [crank-1975] for the problem; the scheme is our own.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from handbook.base.arrays import Floats
from handbook.salt.diffusion import Geometry

#: Half widths of log alpha up to which 3, 4, ... nodes keep the error of interpolation near 1e-4.
_NODE_LIMITS = (0.25, 0.6, 1.0, 1.5, 2.0, 2.5)
#: Points of a whole table over time, and the D t / L^2 up to which they lie evenly rather than in a geometric row.
_TABLE_SIZE, _SHORTEST = 72, 1e-5


class SolutionTable:
    """Values that readers read of a ModalSolution, tabulated at times common to all samples.

    The times are evenly spaced in log(1 + D t / L^2 / 1e-5). Interpolation is cubic, with an error of 1e-4 of the
    difference to equilibrium (2e-4 at the centre). A reader's values are computed on first use, up to the time asked for:
    ask for the longest times first.
    """

    def __init__(self, evolution: ModalSolution, readers: list[Floats], with_bath: bool):
        self._evolution, self._readers = evolution, readers
        self._total = evolution.rest + evolution.bath_rest if with_bath and evolution.bath_rest is not None else None
        self._longest = max(40.0, 30.0 / evolution.rates[0])  # all is at rest by then
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
        rows = np.arange(len(self._evolution.rest))[:, None] * self._size
        return rows + (left - 1), (outer * (2 - x), inner * before, inner * -x, outer * after)

    def _read(self, reader: int) -> Floats:
        if reader not in self._values:
            self._values[reader] = self._evolution.read(self._readers[reader], self._decay).ravel()
        return self._values[reader]


@dataclass(frozen=True, eq=False, kw_only=True)
class ModalSolution:
    """Solute of n samples: equilibrium value plus modes that decay with D t / L^2.

    rest : (n,) uniform value at equilibrium; bath_rest : (n,) amount in the bath at equilibrium, None without a bath
    rates : (m,), those of each node from the slowest; amplitudes : (n, m)
    modes : (r, m) of the state, and with a bath one more row, its amount
    """

    rest: Floats
    rates: Floats
    amplitudes: Floats
    modes: Floats
    bath_rest: Floats | None = None

    def table(self, readers: list[Floats], with_bath: bool = False) -> SolutionTable:
        """Table over time of the values that readers read.

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
        >>> slab = geometry("slab")
        >>> solution = held_surface(slab, slab.uniform(np.zeros(1)), np.ones(1))
        >>> float(solution.decay(np.zeros(1)).min())
        1.0
        """
        exponents = np.multiply.outer(fourier, -self.rates)
        # exp of a very negative number is slow, and nothing is left of such a mode: e^-80 is 1e-35.
        return np.exp(np.maximum(exponents, -80.0, out=exponents), out=exponents)

    def read(self, reader: Floats, decay: Floats) -> Floats:
        """Values that one reader reads after a decay.

        c = c_rest + sum(w_m a_m d_m)

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
        >>> slab = geometry("slab")
        >>> solution = held_surface(slab, slab.uniform(np.zeros(1)), np.ones(1))
        >>> round(float(solution.read(np.eye(slab.size)[0], solution.decay(np.array([0.1])))[0, 0]), 4)
        0.3568
        """
        weight = reader @ self.modes[: reader.shape[-1]]
        if not weight.any():  # the mean of a sealed piece
            return np.repeat(self.rest[:, None], len(decay), axis=1)
        if weight.ndim == 1:
            values = self.amplitudes @ (weight * decay).T
        else:
            weight *= self.amplitudes
            values = weight @ decay.T
        values += (self.rest * reader[..., 0])[:, None]
        return values

    def state(self, fourier: Floats) -> tuple[Floats, Floats | None]:
        """States and amounts in the bath at one time per sample.

        q(t) = q_rest + sum(a_m d_m phi_m)

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
        >>> slab = geometry("slab")
        >>> states, _ = held_surface(slab, slab.uniform(np.zeros(1)), np.ones(1)).state(np.array([0.1]))
        >>> round(float(states[0, 0]), 4)
        0.3568
        """
        decayed = self.decay(fourier)
        decayed *= self.amplitudes
        states = decayed @ self.modes.T
        states[:, 0] += self.rest
        return (states, None) if self.bath_rest is None else (states[:, :-1], states[:, -1] + self.bath_rest)


def sealed(shape: Geometry, start: Floats) -> ModalSolution:
    """Evolution without flux at the surface: the profile evens out and its mean stays.

    dc/dn = 0 at the surface

    Parameters
    ----------
    shape : Geometry
    start : array (n, r), any unit

    Returns
    -------
    ModalSolution

    Notes
    -----
    Source: [crank-1975]; the scheme is our own. Valid for constant D and any start.

    Examples
    --------
    >>> from handbook.salt.diffusion import geometry
    >>> slab = geometry("slab")
    >>> states, _ = sealed(slab, slab.uniform(np.array([0.02]))).state(np.array([1.0]))
    >>> float(states[0, 0])
    0.02
    """
    rates, modes = _sealed_modes(shape)
    return ModalSolution(rest=start[:, 0].copy(), rates=rates, amplitudes=start @ modes, modes=modes)


def held_surface(shape: Geometry, start: Floats, surface: Floats) -> ModalSolution:
    """Evolution with a held surface: an infinite bath, or one with undissolved salt.

    c = c_surface at the surface

    Parameters
    ----------
    shape : Geometry
    start : array (n, r), any unit
    surface : array (n,), same unit
        Value held at the surface.

    Returns
    -------
    ModalSolution

    Notes
    -----
    Source: [crank-1975], eqs 4.18, 5.23, 6.20 for a uniform start (numbers from memory); the scheme is our own.
    Valid for constant D and any start. Error of the mean: 1e-4 of the final uptake.

    Examples
    --------
    >>> from handbook.salt.diffusion import geometry
    >>> ball = geometry("sphere")
    >>> states, _ = held_surface(ball, ball.uniform(np.zeros(1)), np.ones(1)).state(np.array([0.1]))
    >>> round(float(states[0, 0]), 3)
    0.77
    """
    rates, modes = _open_modes(shape)
    return ModalSolution(rest=surface, rates=rates, amplitudes=_away(start, surface) @ modes, modes=modes)


@dataclass(frozen=True, eq=False, kw_only=True)
class BathCoupling:
    """Coupling of piece and stirred bath in n samples, for any contents.

    ratio : bath water / food water, shape (n,); shares : (n, m), weight of each node's modes in each sample; rates, modes :
    as in ModalSolution
    """

    shape: Geometry
    ratio: Floats
    shares: Floats
    rates: Floats
    modes: Floats

    @classmethod
    def between(cls, shape: Geometry, ratio: Floats) -> BathCoupling:
        """Coupling of a piece and a bath.

        alpha = bath water / food water

        Parameters
        ----------
        shape : Geometry
        ratio : array (n,) [-]
            alpha, above 0.

        Returns
        -------
        BathCoupling

        Notes
        -----
        Source: [crank-1975]; the scheme is our own.
        Valid for alpha > 0; interpolation between nodes has an error near 1e-4.

        Examples
        --------
        >>> from handbook.salt.diffusion import geometry
        >>> coupling = BathCoupling.between(geometry("slab"), np.array([1.0]))
        >>> coupling.shares.sum(axis=1)[0] / geometry("slab").size == 1.0
        np.True_
        """
        nodes, shares = _nodes(ratio)
        rates, modes = zip(*(_bath_modes(shape, float(node)) for node in nodes), strict=True)
        return cls(
            shape=shape,
            ratio=ratio,
            shares=np.repeat(shares, shape.size, axis=1),
            rates=np.concatenate(rates),
            modes=np.hstack(modes),
        )

    def evolution(self, start: Floats, bath: Floats) -> ModalSolution:
        """Evolution of a piece in its bath.

        c_rest = (q_0 + b) / (1 + alpha)

        Parameters
        ----------
        start : array (n, r), any unit
        bath : array (n,), same unit
            Amount of solute in the bath.

        Returns
        -------
        ModalSolution

        Notes
        -----
        Source: [crank-1975], eqs 4.37, 5.33, 6.30 for a uniform start (numbers from memory); the scheme is our own.
        Valid for a well stirred bath and constant D.

        Examples
        --------
        A bath with as much water as the food loses half of its salt:

        >>> from handbook.salt.diffusion import geometry
        >>> slab = geometry("slab")
        >>> soak = BathCoupling.between(slab, np.array([1.0])).evolution(slab.uniform(np.zeros(1)), np.ones(1))
        >>> soak.rest.tolist(), soak.bath_rest.tolist()
        ([0.5], [0.5])
        """
        common = (start[:, 0] + bath) / (1 + self.ratio)
        amplitudes = np.column_stack([_away(start, common), bath / self.ratio - common]) @ self.modes
        amplitudes *= self.shares
        return ModalSolution(
            rest=common, rates=self.rates, amplitudes=amplitudes, modes=self.modes, bath_rest=self.ratio * common
        )


def _away(start: Floats, rest: Floats) -> Floats:
    """States ``start`` (n, r) less the uniform ``rest`` (n,)."""
    away = start.copy()
    away[:, 0] -= rest
    return away


def _nodes(ratio: Floats) -> tuple[Floats, Floats]:
    """Chebyshev nodes (k,) of log ratio over the samples, and each sample's Lagrange shares (n, k), which sum to 1."""
    low, high = np.log(ratio.min()), np.log(ratio.max())
    middle, half = (low + high) / 2, (high - low) / 2
    if half < 1e-9:
        return np.exp([middle]), np.ones((len(ratio), 1))
    count = 3 + sum(half > limit for limit in _NODE_LIMITS)
    places = np.cos(np.pi * (np.arange(count) + 0.5) / count)
    wanted = (np.log(ratio) - middle) / half
    shares = np.ones((len(ratio), count))
    for index in range(count):
        for other in range(count):
            if other != index:
                shares[:, index] *= (wanted - places[other]) / (places[index] - places[other])
    return np.exp(middle + half * places), shares


# A geometry is a quarter of a megabyte, and what is kept of it keeps it: a page needs about ten, and twenty baths.
@lru_cache(maxsize=8)
def _sealed_modes(shape: Geometry) -> tuple[Floats, Floats]:
    rates, inner = np.linalg.eigh(shape.sealed[1:, 1:])
    return rates, np.vstack([np.zeros((1, len(rates))), inner])


@lru_cache(maxsize=8)
def _open_modes(shape: Geometry) -> tuple[Floats, Floats]:
    return np.linalg.eigh(shape.open)


@lru_cache(maxsize=24)
def _bath_modes(shape: Geometry, ratio: float) -> tuple[Floats, Floats]:
    """Decaying modes of piece and bath together, the mode of rate 0 taken out exactly; last row: amounts in the bath."""
    root, size = np.sqrt(ratio), shape.size
    whole = np.empty((size + 1, size + 1))
    whole[:size, :size] = shape.open
    whole[:size, size] = whole[size, :size] = -shape.open[:, 0] / root
    whole[size, size] = shape.open[0, 0] / ratio
    # Orthonormal directions without the mode at rest, (e, root): those of the mean-free profiles, and one exchange.
    free = np.zeros((size + 1, size))
    free[1:size, : size - 1] = np.eye(size - 1)
    free[0, -1], free[size, -1] = root / np.sqrt(1 + ratio), -1 / np.sqrt(1 + ratio)
    rates, inner = np.linalg.eigh(free.T @ whole @ free)
    modes = free @ inner
    modes[size] *= root
    return rates, modes
