"""Diffusion in one piece of food as a small symmetric system, exact in time.

    dq/dt = -(D / L^2) K q

q holds the solute as coefficients of a few profiles: q[0] is the mean, and the other profiles have mean 0. K is
``sealed`` (no flux at the surface) or ``open`` (surface held at a concentration); a stirred bath adds one node (see
evolution.py). The profiles result from two steps:

1. Finite volumes on a mesh graded towards the surface, one direction at a time: slab, cylinder or sphere. Blocks and
   finite cylinders are products of directions, so their response to any sealed or open stage from a uniform start
   is a product of one-dimensional responses, and so is every inner product of two such responses.
2. Proper orthogonal decomposition (method of snapshots) of the responses to an uptake stage, to a rest after it and
   to a second uptake stage. The constant profile is one of them, so solute is conserved exactly. By Duhamel's
   principle these profiles also span the response to a bath of any size.

No three-dimensional array is formed. Lengths are in units of L: the half thickness or radius, or the full thickness
where one broad face is closed (a closed face and a plane of symmetry are the same condition).
Source: [crank-1975] for the problem; the numerical scheme is our own.
"""

from __future__ import annotations

from functools import cached_property, lru_cache

import numpy as np
from msgspec import Struct

from handbook.base.arrays import Floats
from handbook.base.errors import RangeError
from handbook.salt.directions import Direction, direction, interpolate

SHAPES = ("slab", "cylinder", "sphere", "block")
MAX_ASPECT = 200.0  # longest / shortest dimension of a block
ENERGY = (1e-12, 1e-8)  # relative energy of the truncated profiles: one direction, several directions
CENTRE_WEIGHT = 1.0  # weight of the deepest point relative to the volume, for an equal error of centre and mean
_DEPTHS = 24  # number of depths at which the readers of the outer layer are computed


class Geometry(Struct, frozen=True, eq=False, kw_only=True, dict=True):
    """Profiles and operators of one shape.

    sealed, open : arrays (r, r), rates in units of D / L^2; row and column 0 of ``sealed`` are zero
    centre : array (r,), reader of the value at the deepest point
    flow : array (r,), what a flow through the open surface, even over its area, adds to the coefficients per unit of mean
    lengths : length of each direction in units of L; ``size`` = r

    A reader is a row of weights. Its product with a state is one value, such as the mean.
    """

    lengths: tuple[float, ...]
    sealed: Floats
    open: Floats
    centre: Floats
    flow: Floats
    _axes: tuple[Direction, ...]
    _snapshots: tuple[Floats, ...]
    _basis: Floats

    @property
    def size(self) -> int:
        """Number of coefficients of a state."""
        return len(self.centre)

    @cached_property
    def surface(self) -> Floats:
        """Reader of the value at the middle of the broad face, shape (r,)."""
        reader: Floats = self.at_depth(np.zeros(1))[0]
        return reader

    def uniform(self, values: Floats) -> Floats:
        """States with one value throughout the piece.

        q = (value, 0, ..., 0)

        Parameters
        ----------
        values : array (n,) [kg / kg green food, or any unit]

        Returns
        -------
        array (n, r), same unit

        Notes
        -----
        Source: definition of the profiles; no empirical constant. Valid for any value.

        Examples
        --------
        >>> slab = geometry("slab")
        >>> slab.uniform(np.array([0.02]))[0, :2].tolist()
        [0.02, 0.0]
        """
        states = np.zeros((len(values), self.size))
        states[:, 0] = values
        return states

    def outer(self, depths: Floats) -> Floats:
        """Readers of the mean of the outer layer under the open faces.

        mean_outer = (mean - v mean_inner) / (1 - v), with v the volume share of the inner part

        Parameters
        ----------
        depths : array (n,) [-]
            Thickness of the layer in units of L. A layer thicker than the piece means the whole piece.

        Returns
        -------
        array (n, r) [-]

        Notes
        -----
        Above 24 depths, 24 readers are interpolated, since they change slowly with depth.
        Source: mass balance; no empirical constant. Valid for depths >= 0.

        Examples
        --------
        The layer of full depth gives the mean:

        >>> slab = geometry("slab")
        >>> round(float(slab.outer(np.array([1.0]))[0] @ slab.uniform(np.array([0.02]))[0]), 6)
        0.02
        """
        if len(depths) <= _DEPTHS:
            return self._outer(depths)
        # The readers change slowly with depth, so a few serve all samples.
        few = np.linspace(depths.min(), depths.max(), _DEPTHS)
        if few[-1] - few[0] < 1e-12:
            return np.repeat(self._outer(few[:1]), len(depths), axis=0)
        return interpolate(few, self._outer(few), depths)

    def _outer(self, depths: Floats) -> Floats:
        inner = np.ones((len(depths), len(self._basis)))
        volume = np.ones(len(depths))
        for axis, snapshot, length in zip(self._axes, self._snapshots, self.lengths, strict=True):
            reach = np.maximum(1 - depths / length, 0.0)
            inner *= axis.partial_means(snapshot, reach)
            volume *= reach ** (axis.power + 1)
        readers = -(inner @ self._basis)
        readers[:, 0] += 1.0
        return readers / np.maximum(1 - volume, 1e-300)[:, None]

    def at_depth(self, depths: Floats) -> Floats:
        """Readers of the value at a depth below the broad face, at the middle of the piece.

        c(x) = sum(q_m phi_m(1 - x))

        Parameters
        ----------
        depths : array (n,) [-]
            In units of L, 0 (surface) to 1 (centre).

        Returns
        -------
        array (n, r) [-]

        Notes
        -----
        Source: definition of the profiles; no empirical constant. Valid for 0 <= depth <= 1.
        Error: 0.2 % of the difference between bath and food.

        Examples
        --------
        >>> slab = geometry("slab")
        >>> round(float(slab.at_depth(np.array([0.5]))[0] @ slab.uniform(np.array([0.02]))[0]), 6)
        0.02
        """
        values = self._axes[0].values_at(self._snapshots[0], 1 - depths)
        for axis, snapshot in zip(self._axes[1:], self._snapshots[1:], strict=True):
            values = values * axis.values_at(snapshot, np.zeros(1))
        return values @ self._basis


def geometry(shape: str, aspects: tuple[float, ...] = ()) -> Geometry:
    """Profiles and operators of a shape.

    dq/dt = -(D / L^2) K q

    Parameters
    ----------
    shape : slab, cylinder, sphere or block
    aspects : tuple of float [-]
        Half lengths of the further directions in units of L: two of a block (one where the other is infinite), one of a
        cylinder with open ends, none of a slab, long cylinder or sphere. Rounded to four digits.

    Returns
    -------
    Geometry

    Raises
    ------
    ValueError  unknown shape, or a wrong number of aspects
    RangeError  an aspect is not above 0, or the lengths differ by more than a factor of 200

    Notes
    -----
    Source: [crank-1975] for the problem; the numerical scheme is our own.
    Valid for aspects of 1/200 to 200. Error of the mean: 1e-4 of the final uptake.

    Examples
    --------
    >>> geometry("block", (1.0, 2.0)).lengths
    (1.0, 1.0, 2.0)
    """
    allowed = {"slab": (0,), "cylinder": (0, 1), "sphere": (0,), "block": (1, 2)}
    if shape not in allowed:
        raise ValueError(f"shape: read {shape}; allowed: {', '.join(SHAPES)}")
    if len(aspects) not in allowed[shape]:
        raise ValueError(f"aspects of a {shape}: read {len(aspects)}; allowed: {allowed[shape]}")
    for aspect in aspects:
        if not 1 / MAX_ASPECT <= aspect <= MAX_ASPECT:
            raise RangeError("aspect", aspect, f"{1 / MAX_ASPECT:g} to {MAX_ASPECT:g}")
    return _geometry(shape, tuple(sorted(float(f"{aspect:.4g}") for aspect in aspects)))


@lru_cache(maxsize=4)
def _geometry(shape: str, aspects: tuple[float, ...]) -> Geometry:
    axes = (direction({"cylinder": 1, "sphere": 2}.get(shape, 0)), *(direction(0) for _ in aspects))
    lengths = (1.0, *aspects)
    times = _snapshot_times(min(lengths), max(lengths))
    snapshots = tuple(axis.responses(times, length) for axis, length in zip(axes, lengths, strict=True))
    masses = [axis.inner(one, one) for axis, one in zip(axes, snapshots, strict=True)]
    deepest = np.prod([axis.values_at(one, np.zeros(1))[0] for axis, one in zip(axes, snapshots, strict=True)], axis=0)
    gram = np.prod(masses, axis=0)
    basis = _basis(gram, gram + CENTRE_WEIGHT * np.outer(deepest, deepest), ENERGY[len(axes) > 1])
    sealed, opened = (
        _project(
            basis,
            [
                axis.stiffness(one, is_open) / length**2
                for axis, one, length in zip(axes, snapshots, lengths, strict=True)
            ],
            masses,
        )
        for is_open in (False, True)
    )
    sealed[0] = sealed[:, 0] = 0.0
    return Geometry(
        lengths=lengths,
        sealed=sealed,
        open=opened,
        centre=deepest @ basis,
        flow=_flow(axes, snapshots, lengths) @ basis,
        _axes=axes,
        _snapshots=snapshots,
        _basis=basis,
    )


def _flow(axes: tuple[Direction, ...], snapshots: tuple[Floats, ...], lengths: tuple[float, ...]) -> Floats:
    """Mean of each snapshot (m,) over the open surface. Each direction's face is weighted by its area."""
    areas = np.array([(axis.power + 1) / length for axis, length in zip(axes, lengths, strict=True)])
    means = [axis.weights @ one for axis, one in zip(axes, snapshots, strict=True)]
    total = np.zeros_like(means[0])
    for index, one in enumerate(snapshots):
        others = [mean for other, mean in enumerate(means) if other != index]
        # The flow enters the outermost cell.
        total += areas[index] / areas.sum() * np.prod([one[-1], *others], axis=0)
    return total


def _basis(gram: Floats, weighted: Floats, energy: float) -> Floats:
    """Coefficients (m, r) of orthonormal profiles; the first is the constant (snapshot 0)."""
    means = gram[0]
    no_mean = np.eye(len(gram))[:, 1:] - np.outer(np.eye(len(gram))[0], means[1:])
    energies, directions = np.linalg.eigh(no_mean.T @ weighted @ no_mean)
    retained = energies > energy * energies[-1]
    profiles = no_mean @ (directions[:, retained] / np.sqrt(energies[retained]))
    # Orthonormal in the unweighted inner product, which conserves solute.
    factor = np.linalg.cholesky(profiles.T @ gram @ profiles)
    profiles = np.linalg.solve(factor, profiles.T).T
    return np.hstack([np.eye(len(gram))[:, :1], profiles])


def _project(basis: Floats, stiffnesses: list[Floats], masses: list[Floats]) -> Floats:
    """Operator in the basis. In a product, each direction's stiffness is multiplied by the other directions' masses."""
    total = np.zeros_like(masses[0])
    for index, stiffness in enumerate(stiffnesses):
        others = [mass for other, mass in enumerate(masses) if other != index]
        total += np.prod([stiffness, *others], axis=0)
    projected = basis.T @ total @ basis
    return (projected + projected.T) / 2


def _snapshot_times(shortest: float, longest: float) -> tuple[Floats, ...]:
    """Fourier numbers of the snapshot stages: uptake, rest, uptake again, rest again.

    Open stages end when the shortest direction is in equilibrium, rests when the longest one is.
    """
    fast, slow = shortest**2, longest**2
    more = int(np.log2(slow / fast) / 2)
    return (
        np.geomspace(1e-5, 1.2, 14) * fast,
        np.geomspace(1e-3, 0.4, 4) * fast,
        np.geomspace(1e-3 * fast, 0.5 * slow, 5 + more),
        np.geomspace(3e-3 * fast, 0.3 * slow, 3 + more),
        np.geomspace(3e-4, 0.6, 4) * fast,
        np.geomspace(5e-3 * fast, 0.3 * slow, 2 + more // 2),
    )
