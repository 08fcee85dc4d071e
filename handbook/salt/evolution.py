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

from functools import lru_cache

import numpy as np
from msgspec import Struct

from handbook.base.arrays import Floats
from handbook.salt.diffusion import Geometry
from handbook.salt.modal_solution import ModalSolution

#: Half widths of log alpha up to which 3, 4, ... nodes give an interpolation error near 1e-4.
_NODE_LIMITS = (0.25, 0.6, 1.0, 1.5, 2.0, 2.5)
_ROUNDED = 0.1  # of log alpha


def sealed(shape: Geometry, start: Floats) -> ModalSolution:
    """Evolution without flux at the surface: the profile equalises and its mean is constant.

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
    >>> from handbook.salt.salt_example import SLAB
    >>> states, _ = sealed(SLAB, SLAB.uniform(np.array([0.02]))).state(np.array([1.0]))
    >>> float(states[0, 0])
    0.02
    """
    rates, modes = sealed_modes(shape)
    return ModalSolution(equilibrium=start[:, 0].copy(), rates=rates, amplitudes=start @ modes, modes=modes)


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
    rates, modes = open_modes(shape)
    return ModalSolution(equilibrium=surface, rates=rates, amplitudes=_away(start, surface) @ modes, modes=modes)


class BathCoupling(Struct, frozen=True, eq=False, kw_only=True):
    """Coupling of piece and stirred bath in n samples, for any amounts of solute.

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
        >>> float(coupling.shares[0].mean())
        1.0
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

        c_eq = (q_0 + b) / (1 + alpha)

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

        >>> from handbook.salt.salt_example import SLAB
        >>> soak = BathCoupling.between(SLAB, np.array([1.0])).evolution(SLAB.uniform(np.zeros(1)), np.ones(1))
        >>> soak.equilibrium.tolist(), soak.bath_equilibrium.tolist()
        ([0.5], [0.5])
        """
        common = (start[:, 0] + bath) / (1 + self.ratio)
        amplitudes = np.column_stack([_away(start, common), bath / self.ratio - common]) @ self.modes
        amplitudes *= self.shares
        return ModalSolution(
            equilibrium=common,
            rates=self.rates,
            amplitudes=amplitudes,
            modes=self.modes,
            bath_equilibrium=self.ratio * common,
        )


def _away(start: Floats, equilibrium: Floats) -> Floats:
    """States ``start`` (n, r) less the uniform ``equilibrium`` (n,)."""
    away = start.copy()
    away[:, 0] -= equilibrium
    return away


def _nodes(ratio: Floats) -> tuple[Floats, Floats]:
    """Chebyshev nodes (k,) of log ratio over the samples, and each sample's Lagrange weights (n, k), which sum to 1."""
    low, high = np.log(ratio.min()), np.log(ratio.max())
    if high - low < 2e-9:
        return np.exp([(low + high) / 2]), np.ones((len(ratio), 1))
    # Rounded outward, so that similar ratios share their modes.
    low, high = np.floor(low / _ROUNDED) * _ROUNDED, np.ceil(high / _ROUNDED) * _ROUNDED
    middle, half = (low + high) / 2, (high - low) / 2
    count = 3 + sum(half > limit for limit in _NODE_LIMITS)
    places = np.cos(np.pi * (np.arange(count) + 0.5) / count)
    wanted = (np.log(ratio) - middle) / half
    shares = np.ones((len(ratio), count))
    for index in range(count):
        for other in range(count):
            if other != index:
                shares[:, index] *= (wanted - places[other]) / (places[index] - places[other])
    return np.exp(middle + half * places), shares


# Cache sizes: a bath takes 0.1 MB, a geometry (diffusion.py) 0.6 MB. A page needs about 8 geometries and 20 baths;
# of the other modes it uses those of its own piece many times.
@lru_cache(maxsize=3)
def sealed_modes(shape: Geometry) -> tuple[Floats, Floats]:
    """Rates (m,) in D / L^2 and modes (r, m) of a piece without flux at its surface; the mean is left out.

    K phi = lambda phi

    Parameters
    ----------
    shape : Geometry

    Returns
    -------
    array (m,) [-], array (r, m) [-]

    Notes
    -----
    Source: [crank-1975] for the problem; the scheme is our own. Valid for any geometry.

    Examples
    --------
    The slowest mode of a sheet is pi^2:

    >>> from handbook.salt.diffusion import geometry
    >>> round(float(sealed_modes(geometry("slab"))[0][0]), 2)
    9.87
    """
    rates, inner = np.linalg.eigh(shape.sealed[1:, 1:])
    return rates, np.vstack([np.zeros((1, len(rates))), inner])


@lru_cache(maxsize=3)
def open_modes(shape: Geometry) -> tuple[Floats, Floats]:
    """Rates (r,) in D / L^2 and modes (r, r) of a piece whose surface is held at 0.

    K phi = lambda phi

    Parameters
    ----------
    shape : Geometry

    Returns
    -------
    array (r,) [-], array (r, r) [-]

    Notes
    -----
    Source: [crank-1975] for the problem; the scheme is our own. Valid for any geometry.

    Examples
    --------
    The slowest mode of a sheet is (pi / 2)^2:

    >>> from handbook.salt.diffusion import geometry
    >>> round(float(open_modes(geometry("slab"))[0][0]), 2)
    2.47
    """
    return np.linalg.eigh(shape.open)


@lru_cache(maxsize=24)
def _bath_modes(shape: Geometry, ratio: float) -> tuple[Floats, Floats]:
    """Decaying modes of piece and bath, with the mode of rate 0 removed exactly; last row: amounts in the bath."""
    root, size = np.sqrt(ratio), shape.size
    whole = np.empty((size + 1, size + 1))
    whole[:size, :size] = shape.open
    whole[:size, size] = whole[size, :size] = -shape.open[:, 0] / root
    whole[size, size] = shape.open[0, 0] / ratio
    # Orthonormal directions without the equilibrium mode (e, root): the mean-free profiles, and one of exchange.
    free = np.zeros((size + 1, size))
    free[1:size, : size - 1] = np.eye(size - 1)
    free[0, -1], free[size, -1] = root / np.sqrt(1 + ratio), -1 / np.sqrt(1 + ratio)
    rates, inner = np.linalg.eigh(free.T @ whole @ free)
    modes = free @ inner
    modes[size] *= root
    return rates, modes
