"""How the solute of a piece goes on in time: sealed, at a held surface, or in a stirred bath of limited size.

All three are exact sums of decaying modes of a Geometry's operators. For a bath, with alpha = bath water / food
water, y = solute of the bath in the food's units and b = alpha y its amount, the symmetric system in
(q, sqrt(alpha) y) is

    K_bath = [[K, -k / sqrt(alpha)], [-k' / sqrt(alpha), k_0 / alpha]],   k = K e (e: the constant profile)

whose mode of rate 0 is the common strength at rest, (q_0 + b) / (1 + alpha). Samples differ in D t / L^2, which only
scales time, and in alpha: the decaying part is found at a few Chebyshev nodes of log alpha and interpolated, the rest
strength is each sample's own, so that solute stays conserved to rounding.
Source: [crank-1975] for the problem; the scheme is our own.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from handbook.diffusion import Geometry

#: Half widths of log alpha up to which 3, 4, ... nodes keep the error of interpolation near 1e-4.
_NODE_LIMITS = (0.25, 0.6, 1.0, 1.5, 2.0, 2.5)
#: Points of a table over time, and the D t / L^2 up to which they lie evenly rather than in a geometric row.
_TABLE_SIZE, _SHORTEST = 72, 1e-5


@dataclass(frozen=True, eq=False)
class Table:
    """Values (readers, n, points) at points evenly spaced in log(1 + D t / L^2 / 1e-5), for all samples the same.

    Reading between the points is cubic and right to 1e-4 of the difference to rest (2e-4 at the centre).
    """

    longest: float
    spacing: float
    values: np.ndarray

    def at(self, fourier: np.ndarray, first: int | None = None) -> np.ndarray:
        """Values, shape (readers, n, times), at ``fourier`` = D t / L^2, shape (n, times), of the ``first`` readers."""
        place = np.log1p(np.minimum(fourier, self.longest) / _SHORTEST) / self.spacing
        left = np.clip(place.astype(np.int64), 1, _TABLE_SIZE - 3)
        x = place - left
        shares = (
            -x * (x - 1) * (x - 2) / 6,
            (x + 1) * (x - 1) * (x - 2) / 2,
            -(x + 1) * x * (x - 2) / 2,
            (x + 1) * x * (x - 1) / 6,
        )
        start = left + np.arange(len(fourier))[:, None] * _TABLE_SIZE
        found = np.empty((len(self.values[:first]), *place.shape))
        neighbours = [(share, start + at) for share, at in zip(shares, (-1, 0, 1, 2), strict=True)]
        for values, into in zip(self.values, found, strict=False):
            flat = values.ravel()
            np.multiply(neighbours[0][0], flat.take(neighbours[0][1]), out=into)
            for share, at in neighbours[1:]:
                into += share * flat.take(at)
        return found


@dataclass(frozen=True, eq=False)
class Evolution:
    """Solute of n samples: rest value plus modes that decay with D t / L^2.

    rest : (n, r) states at rest; bath_rest : (n,) amount in the bath at rest, None without a bath
    rates : (m,), the slowest first; amplitudes : (n, m)
    modes : (r, m) of the state; bath_modes : (m,) of the bath's amount
    """

    rest: np.ndarray
    rates: np.ndarray
    amplitudes: np.ndarray
    modes: np.ndarray
    bath_rest: np.ndarray | None = None
    bath_modes: np.ndarray | None = None

    def table(self, readers: list[np.ndarray], with_bath: bool = False) -> Table:
        """The values that ``readers`` read, and the amount in the bath, as a table over time.

        A reader has shape (r,), or (n, r) where it differs from sample to sample.
        """
        longest = max(40.0, 30.0 / self.rates[0])
        places = np.linspace(0.0, np.log1p(longest / _SHORTEST), _TABLE_SIZE)
        decay = np.exp(np.maximum(-np.outer(self.rates, np.expm1(places) * _SHORTEST), -80.0))
        weights = [reader @ self.modes for reader in readers] + ([self.bath_modes] if with_bath else [])
        rest = [(self.rest * reader).sum(axis=1) for reader in readers] + ([self.bath_rest] if with_bath else [])
        values = np.zeros((len(weights), len(self.rest), _TABLE_SIZE))
        for value, weight, at_rest in zip(values, weights, rest, strict=True):
            if weight.any():  # the mean of a sealed piece has none
                np.matmul(self.amplitudes * weight, decay, out=value)
            value += at_rest[:, None]
        return Table(longest, places[1], values)

    def state(self, fourier: np.ndarray) -> tuple[np.ndarray, np.ndarray | None]:
        """States (n, r) and amounts in the bath (n,) at ``fourier``, shape (n,)."""
        exponents = fourier[:, None] * -self.rates
        # exp of a very negative number is slow, and nothing is left of such a mode: e^-80 is 1e-35.
        decayed = self.amplitudes * np.exp(np.maximum(exponents, -80.0))
        bath = None if self.bath_rest is None else self.bath_rest + decayed @ self.bath_modes
        return self.rest + decayed @ self.modes.T, bath


def sealed(shape: Geometry, start: np.ndarray) -> Evolution:
    """No solute crosses: the profile of ``start``, shape (n, r), evens out and its mean stays."""
    rates, modes = _sealed_modes(shape)
    rest = np.zeros_like(start)
    rest[:, 0] = start[:, 0]
    return Evolution(rest, rates, start @ modes, modes)


def held_surface(shape: Geometry, start: np.ndarray, surface: np.ndarray) -> Evolution:
    """Surface held at ``surface``, shape (n,), in the food's units: an endless bath, or one with salt undissolved."""
    rates, modes = _open_modes(shape)
    rest = np.zeros_like(start)
    rest[:, 0] = surface
    return Evolution(rest, rates, (start - rest) @ modes, modes)


def stirred_bath(shape: Geometry, start: np.ndarray, bath: np.ndarray, ratio: np.ndarray) -> Evolution:
    """Bath of ``ratio`` = bath water / food water, shape (n,), above 0, holding the amount ``bath``, shape (n,)."""
    common = (start[:, 0] + bath) / (1 + ratio)
    rest = np.zeros_like(start)
    rest[:, 0] = common
    away = start - rest
    nodes, shares = _nodes(ratio)
    rates, amplitudes, modes, bath_modes = [], [], [], []
    for node, share in zip(nodes, shares.T, strict=True):
        node_rates, node_modes = _bath_modes(shape, float(node))
        rates.append(node_rates)
        modes.append(node_modes[:-1])
        bath_modes.append(node_modes[-1] * np.sqrt(node))
        strength = (bath / ratio - common) * np.sqrt(node)
        amplitudes.append(share[:, None] * (away @ node_modes[:-1] + strength[:, None] * node_modes[-1]))
    return Evolution(
        rest, np.concatenate(rates), np.hstack(amplitudes), np.hstack(modes), ratio * common, np.concatenate(bath_modes)
    )


def _nodes(ratio: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
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


@lru_cache(maxsize=256)
def _sealed_modes(shape: Geometry) -> tuple[np.ndarray, np.ndarray]:
    rates, inner = np.linalg.eigh(shape.sealed[1:, 1:])
    return rates, np.vstack([np.zeros((1, len(rates))), inner])


@lru_cache(maxsize=256)
def _open_modes(shape: Geometry) -> tuple[np.ndarray, np.ndarray]:
    return np.linalg.eigh(shape.open)


@lru_cache(maxsize=1024)
def _bath_modes(shape: Geometry, ratio: float) -> tuple[np.ndarray, np.ndarray]:
    """Decaying modes of piece and bath together, the mode of rate 0 taken out exactly."""
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
    return rates, free @ inner
