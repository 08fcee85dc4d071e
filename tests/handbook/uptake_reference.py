"""Other ways to the same figures: a method-of-lines run by scipy, and Duhamel's integral for a block in a limited bath.

The run shares nothing with the engine but the problem: nodes stand on the surface (the engine's cells do not), the
bath is the surface node, the bath's loss is integrated in time, and a general-purpose stiff solver takes the steps.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from scipy.integrate import solve_ivp
from scipy.sparse import csr_matrix, diags, kron


def graded_nodes(count: int) -> np.ndarray:
    """Nodes from 0 (deepest) to 1 (surface), crowding at the surface."""
    return np.sin(np.linspace(0, np.pi / 2, count)) ** 1.5


def _direction(count: int, power: int, length: float) -> tuple[np.ndarray, csr_matrix]:
    """Shares of the volume and conductances of a chain of nodes, lengths in units of L."""
    nodes = graded_nodes(count)
    middles = (nodes[1:] + nodes[:-1]) / 2
    walls = np.concatenate([[0.0], middles, [1.0]])
    volumes = np.diff(walls ** (power + 1))
    conductance = (power + 1) * middles**power / np.diff(nodes) / length**2
    matrix = diags([np.append(conductance, 0) + np.append(0, conductance), -conductance, -conductance], [0, 1, -1])
    return volumes, csr_matrix(matrix)


class Lines(Struct, kw_only=True):
    """Amounts of solute per kg of green food at nodes; ``rest`` conductances K, volumes v (summing to 1)."""

    volumes: np.ndarray
    conductances: csr_matrix
    on_surface: np.ndarray
    values: np.ndarray

    @classmethod
    def of(cls, power: int, start: float, lengths: tuple[float, ...] = (1.0,), count: int = 161) -> Lines:
        """A slab (0), cylinder (1) or sphere (2), or a slab-shaped product of ``lengths``, evenly filled."""
        volumes, whole = np.ones(1), csr_matrix((1, 1))
        surface = np.zeros(1, dtype=bool)
        for index, length in enumerate(lengths):
            own, chain = _direction(count, power if index == 0 else 0, length)
            whole = kron(whole, diags(own)) + kron(diags(volumes), chain)
            volumes = np.kron(volumes, own)
            at_end = np.arange(count) == count - 1
            surface = (surface[:, None] | at_end[None, :]).ravel()
        return cls(
            volumes=volumes, conductances=csr_matrix(whole), on_surface=surface, values=np.full(len(volumes), start)
        )

    @property
    def mean(self) -> float:
        """Mean amount."""
        return float(self.volumes @ self.values)

    @property
    def centre(self) -> float:
        """Amount at the deepest node."""
        return float(self.values[0])

    def bath(self, fourier: float, ratio: float, bath: float) -> float:
        """In a stirred bath of ``ratio`` for D t / L^2 = ``fourier``; returns the amount left in the bath."""
        inside = ~self.on_surface
        k_inner = self.conductances[inside][:, inside]
        k_edge = np.asarray(self.conductances[inside][:, self.on_surface].sum(axis=1)).ravel()
        # Surface cells sit at the bath's strength, so their volume counts with the bath's.
        edge_volume = self.volumes[self.on_surface].sum()
        strength = (bath + self.volumes[self.on_surface] @ self.values[self.on_surface]) / (ratio + edge_volume)
        start = np.append(self.values[inside], strength)
        volume = np.append(self.volumes[inside], ratio + edge_volume)
        full = np.block([[k_inner.toarray(), k_edge[:, None]], [k_edge[None, :], -k_edge.sum()]])
        jacobian = csr_matrix(-full / volume[:, None])
        values = _solve(jacobian, start, fourier)
        self.values[inside], self.values[self.on_surface] = values[:-1], values[-1]
        return float(ratio * values[-1])

    def hold(self, fourier: float, surface: float, stop_at: float = np.inf) -> float:
        """Surface held at ``surface``; stops early once the mean reaches ``stop_at``. Returns the time taken."""
        inside = ~self.on_surface
        self.values[self.on_surface] = surface
        volume = self.volumes[inside]
        jacobian = csr_matrix(diags(-1 / volume) @ self.conductances[inside][:, inside])
        drive = np.asarray(-self.conductances[inside][:, self.on_surface].sum(axis=1)).ravel() * surface / volume

        def full(_, y):
            return volume @ y + self.volumes[self.on_surface].sum() * surface - stop_at

        full.terminal = True
        solved = solve_ivp(
            lambda _, y: jacobian @ y + drive,
            (0, fourier),
            self.values[inside],
            method="BDF",
            jac=jacobian,
            rtol=1e-8,
            atol=1e-11,
            events=full if np.isfinite(stop_at) else None,
        )
        self.values[inside] = solved.y[:, -1]
        return float(solved.t[-1])

    def dry(self, fourier: float, amount: float) -> None:
        """``amount`` leaves through the surface at a steady rate (one direction only)."""
        jacobian = csr_matrix(diags(-1 / self.volumes) @ self.conductances)
        out = np.where(self.on_surface, amount / fourier / self.volumes, 0.0)
        self.values = solve_ivp(
            lambda _, y: jacobian @ y - out,
            (0, fourier),
            self.values,
            method="BDF",
            jac=jacobian,
            rtol=1e-8,
            atol=1e-11,
        ).y[:, -1]

    def seal(self, fourier: float) -> None:
        """Nothing crosses."""
        self.values = _solve(csr_matrix(diags(-1 / self.volumes) @ self.conductances), self.values, fourier)


def _solve(jacobian: csr_matrix, start: np.ndarray, fourier: float) -> np.ndarray:
    return solve_ivp(
        lambda _, y: jacobian @ y, (0, fourier), start, method="BDF", jac=jacobian, rtol=1e-8, atol=1e-11
    ).y[:, -1]


def block_in_bath(times: np.ndarray, lengths: tuple[float, ...], ratio: float) -> np.ndarray:
    """Mean amount at ``times`` (rising, from 0) in a block free of solute, bath of strength 1 and ``ratio``.

    Duhamel: with K(t) = 1 - E_x E_y E_z the mean uptake at a held surface (product solution, endless bath),
    m(t) = y(0) K(t) + integral K(t - s) dy(s) and ratio (1 - y) = m. Solved step by step on ``times``, y straight
    between them; K is averaged over each step by Gauss-Legendre points.
    """
    points, shares = np.polynomial.legendre.leggauss(6)
    y, mean = np.ones(len(times)), np.zeros(len(times))
    for step in range(1, len(times)):
        width = np.diff(times[: step + 1])
        at = times[:step, None] + width[:, None] * (points + 1) / 2
        response = (block_uptake(times[step] - at, lengths) * shares / 2).sum(axis=1)
        known = block_uptake(times[step : step + 1], lengths)[0] + response[:-1] @ np.diff(y[:step])
        # ratio (1 - y) = known + response_last (y - y_before)
        y[step] = (ratio - known + response[-1] * y[step - 1]) / (ratio + response[-1])
        mean[step] = ratio * (1 - y[step])
    return mean


def block_uptake(times: np.ndarray, lengths: tuple[float, ...]) -> np.ndarray:
    """Mean uptake of a block at a held surface: 1 - product of the plane-sheet series, half lengths ``lengths``."""
    left = np.ones(np.shape(times))
    for length in lengths:
        left = left * (1 - sheet_uptake(times / length**2))
    return 1 - left


def sheet_uptake(times: np.ndarray) -> np.ndarray:
    """Plane-sheet uptake: error-function form for short times, sum of modes for long ones."""
    times = np.asarray(times, dtype=float)
    modes = (np.arange(12) + 0.5) * np.pi
    late = 1 - (2 / modes**2 * np.exp(-np.multiply.outer(times, modes**2))).sum(axis=-1)
    early = 2 * np.sqrt(np.maximum(times, 0) / np.pi)
    return np.where(times < 0.02, early, late)  # the next term of the early form is below 1e-12 there
