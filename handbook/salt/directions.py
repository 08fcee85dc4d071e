"""One direction of a piece: finite volumes from its middle to its surface, and their response to a stage.

Source: [crank-1975] for the problem; the numerical scheme is our own.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from msgspec import Struct

from handbook.base.arrays import Floats

CELLS = 128  # finite volumes per direction: error of the mean 1e-4 of the final uptake
FIRST_CELL = 1e-3  # thickness of the cell at the surface, in units of the direction's length


class Direction(Struct, frozen=True, eq=False, kw_only=True):
    """One direction from the deepest plane, axis or point (0) to the surface (1): finite volumes and their modes."""

    power: int
    edges: Floats
    centres: Floats
    weights: Floats
    sealed: Floats
    open: Floats
    _modes: tuple[tuple[Floats, Floats], tuple[Floats, Floats]]

    def responses(self, times: tuple[Floats, ...], length: float) -> Floats:
        """Responses of a uniform 1 to stages of the given Fourier numbers, shape (cells, m); the first column is 1."""
        first, first_few, rest, rest_few, second, last = (each / length**2 for each in times)
        one = np.ones((len(self.weights), 1))
        begun = self._evolve(one, first_few, True)
        rested = self._evolve(self._evolve(begun, rest_few, False), second, True)
        return np.hstack(
            [
                one,
                self._evolve(one, first, True),
                self._evolve(begun, rest, False),
                rested,
                self._evolve(rested[:, ::3], last, False),
            ]
        )

    def inner(self, left: Floats, right: Floats) -> Floats:
        """Mean over the direction of left x right, column by column."""
        return (left.T * self.weights) @ right

    def stiffness(self, profiles: Floats, is_open: bool) -> Floats:
        """Energy product of the profiles, for an open or a sealed surface."""
        return profiles.T @ (self.open if is_open else self.sealed) @ profiles

    def partial_means(self, profiles: Floats, reach: Floats) -> Floats:
        """Integral of each profile from 0 to ``reach``, shape (n,), over the volume of the whole: shape (n, m)."""
        volume = self.edges ** (self.power + 1)
        summed = np.vstack([np.zeros((1, profiles.shape[1])), np.cumsum(self.weights[:, None] * profiles, axis=0)])
        return interpolate(volume, summed, reach ** (self.power + 1))

    def values_at(self, profiles: Floats, places: Floats) -> Floats:
        """Profiles at ``places`` (0 deepest, 1 surface), shape (n, m).

        Quadratic at the deepest point, where the slope is 0; linear between cells; extrapolated to the surface.
        """
        near, next_ = self.centres[0] ** 2, self.centres[1] ** 2
        deepest = (next_ * profiles[:1] - near * profiles[1:2]) / (next_ - near)
        slope = (profiles[-1:] - profiles[-2:-1]) / (self.centres[-1] - self.centres[-2])
        surface = profiles[-1:] + slope * (1 - self.centres[-1])
        known = np.concatenate([[0.0], self.centres, [1.0]])
        return interpolate(known, np.vstack([deepest, profiles, surface]), places)

    def _evolve(self, profiles: Floats, times: Floats, is_open: bool) -> Floats:
        rates, modes = self._modes[is_open]
        root = np.sqrt(self.weights)[:, None]
        amplitudes = modes.T @ (root * profiles)
        decayed = amplitudes[:, :, None] * np.exp(-np.outer(rates, times))[:, None, :]
        return modes @ decayed.reshape(len(rates), -1) / root


@lru_cache
def direction(power: int) -> Direction:
    """Finite volumes of one direction of a slab, cylinder or sphere.

    V_i = x_(i+1)^(p+1) - x_i^(p+1)

    Parameters
    ----------
    power : int
        p: 0 slab, 1 cylinder, 2 sphere.

    Returns
    -------
    Direction

    Notes
    -----
    Source: [crank-1975] for the problem; the scheme is our own. Valid for powers 0, 1 and 2.

    Examples
    --------
    >>> round(float(direction(0).weights.sum()), 9)
    1.0
    """
    edges = _graded_edges()
    volumes = np.diff(edges ** (power + 1))
    centres = (power + 1) / (power + 2) * np.diff(edges ** (power + 2)) / volumes
    conductances = (power + 1) * edges[1:-1] ** power / np.diff(centres)
    sealed = np.diag(np.append(conductances, 0.0) + np.append(0.0, conductances))
    sealed -= np.diag(conductances, 1) + np.diag(conductances, -1)
    opened = sealed.copy()
    opened[-1, -1] += (power + 1) / (1 - centres[-1])
    return Direction(
        power=power,
        edges=edges,
        centres=centres,
        weights=volumes,
        sealed=sealed,
        open=opened,
        _modes=(_modes(sealed, volumes), _modes(opened, volumes)),
    )


def interpolate(places: Floats, values: Floats, wanted: Floats) -> Floats:
    """Linear interpolation of the rows of ``values``.

    y = y_i + (x - x_i) / (x_(i+1) - x_i) (y_(i+1) - y_i)

    Parameters
    ----------
    places : array (p,), rising
    values : array (p, m)
    wanted : array (n,), in the unit of ``places``

    Returns
    -------
    array (n, m), in the unit of ``values``

    Notes
    -----
    Source: definition; no empirical constant. Valid within ``places``, extrapolated beyond.

    Examples
    --------
    >>> interpolate(np.array([0.0, 1.0]), np.array([[0.0], [2.0]]), np.array([0.5])).tolist()
    [[1.0]]
    """
    right = np.clip(np.searchsorted(places, wanted), 1, len(places) - 1)
    share = (wanted - places[right - 1]) / (places[right] - places[right - 1])
    between: Floats = values[right - 1] + share[:, None] * (values[right] - values[right - 1])
    return between


def _modes(stiffness: Floats, weights: Floats) -> tuple[Floats, Floats]:
    root = np.sqrt(weights)
    rates, modes = np.linalg.eigh(stiffness / root[:, None] / root)
    return np.maximum(rates, 0.0), modes


def _graded_edges() -> Floats:
    """Cell edges from 0 to 1, cells growing by a constant ratio inward from FIRST_CELL at the surface."""
    low, high = 1.0 + 1e-9, 2.0
    for _ in range(60):
        ratio = (low + high) / 2
        total = FIRST_CELL * (ratio**CELLS - 1) / (ratio - 1)
        low, high = (low, ratio) if total > 1 else (ratio, high)
    steps = FIRST_CELL * ratio ** np.arange(CELLS)
    edges = 1 - np.concatenate([[0.0], np.cumsum(steps)]) / steps.sum()
    edges[-1] = 0.0
    rising: Floats = edges[::-1].copy()
    return rising
