"""Transient conduction in slab, block, cylinder and sphere by modes, under any surface history.

Let u(t) be the temperature of surroundings that would drive the surface at a fixed Biot number Bi (with convection
alone, the chamber temperature). The temperature of a piece is then a sum of modes z_m, each of which relaxes to u at
a rate that the geometry fixes:

    dz_m/dt = lambda_m (alpha / R^2) (u - z_m)
    T_core = sum(c_m z_m),  T_surface = sum(s_m z_m),  T_mean = sum(v_m z_m)

A step is exact for u linear over the step, so steps may be long. Any other surface condition (evaporation, another
coefficient) enters as u = T_surface + q R / (Bi k), where q is the heat flux into the piece. For slab, long
cylinder and sphere the choice of Bi then has no effect. For a block it fixes how a flux is distributed over the
faces, which is exact for convection at Bi. One lumped mode represents all faster modes (a few lumped modes in a
product). At the surface the faster modes follow u at once.
Source: [carslaw-jaeger-1959], product rule for blocks and finite cylinders; the mode form is our own derivation.
"""

from __future__ import annotations

from functools import cached_property, lru_cache

import numpy as np
import numpy.typing as npt
from msgspec import Struct

from handbook.base.arrays import Floats
from handbook.base.errors import RangeError

SHAPES = ("slab", "block", "cylinder", "sphere")
MODES = 14  # modes of the shortest direction
MOST_MODES = 40  # modes of any direction, before those of a product are chosen
PRODUCT_MODES = 24  # modes of a product, per direction
LUMPS = 8  # modes that stand for those left out of a product
LONG = 12.0  # upper limit of half lengths / R
MAX_BIOT = 1e5
_FIRST_FOURIER = 0.02  # above which the core of a product is computed from its own modes
#: Fourier numbers at which the lumped modes are fitted to the core.
_CORE_FITTED = np.concatenate(([0.0], np.geomspace(3e-4, 0.3, 40)))
_CORE_STILL = 0.01  # Fourier number of a direction below which its core has not moved


class Modes(Struct, frozen=True, kw_only=True, dict=True):
    """Modes of one shape at one Biot number; each array has shape (m,).

    rate : lambda_m [-], in units of alpha / R^2
    core, surface, mean : weights c_m, s_m, v_m [-]
    area_factor : surface area x R / volume [-], with R half the smallest dimension

    The last entries represent all modes left out. ``core`` and ``mean`` sum to 1. ``surface`` sums to 1 less the part
    that follows u at once. In every mode mean x rate = Bi x area_factor x surface, so heat is conserved exactly.
    """

    biot: float
    rate: Floats
    core: Floats
    surface: Floats
    mean: Floats
    area_factor: float

    @cached_property
    def surface_tail(self) -> float:
        """Weight of the modes that follow u at once at the surface."""
        return 1.0 - float(self.surface.sum())


@lru_cache(maxsize=24)
def modes(shape: str, biot: float, aspects: tuple[float, ...] = ()) -> Modes:
    """Modes of one shape at one Biot number.

    Bi = h R / k, and theta_block = theta_x theta_y theta_z for a product of directions

    Parameters
    ----------
    shape : slab, block, cylinder or sphere
    biot : float [-]
        0 < Bi <= 1e5.
    aspects : tuple of float [-]
        The other half dimensions / R: finite width and length of a block, half length of a cylinder. Aspects above 12
        count as 12.

    Returns
    -------
    Modes

    Raises
    ------
    ValueError  unknown shape
    RangeError  Biot number outside 0 to 1e5

    Notes
    -----
    Source: [carslaw-jaeger-1959], product rule. Valid for constant properties and one Biot number on all faces.
    Error of the core: below 2e-5 of the initial difference from a Fourier number of 0.02 (slab, cylinder, sphere), below
    3e-3 at any time and below 1e-4 from 0.15 (products).

    Examples
    --------
    First root and coefficient of a plane wall at Bi = 1, as in tests/published/transient_conduction.csv:

    >>> wall = modes("slab", 1.0)
    >>> round(float(wall.rate[0]) ** 0.5, 4), round(float(wall.core[0]), 4)
    (0.8603, 1.1191)
    """
    if shape not in SHAPES:
        raise ValueError(f"shape: read {shape}; allowed: {', '.join(SHAPES)}")
    if not 0.0 < biot <= MAX_BIOT:
        raise RangeError("Biot number", biot, f"above 0 and up to {MAX_BIOT:g}")
    first = "slab" if shape == "block" else shape
    directions = [(first, 1.0), *(("slab", min(aspect, LONG)) for aspect in aspects)]
    # A long direction needs more modes for the same resolution.
    counts = [min(int(MODES * max(ratio, 1.0)), MOST_MODES) for _, ratio in directions]
    alone = [_one_direction(name, biot * ratio, count) for (name, ratio), count in zip(directions, counts, strict=True)]
    return _product(alone, [ratio for _, ratio in directions], biot)


def roots(shape: str, biot: float, count: int) -> Floats:
    """First roots of the characteristic equation.

    zeta tan zeta = Bi (slab), zeta J1(zeta) / J0(zeta) = Bi (cylinder), 1 - zeta cot zeta = Bi (sphere)

    Parameters
    ----------
    shape : slab, cylinder or sphere
    biot : float [-]
        Above 0.
    count : int
        Number of roots.

    Returns
    -------
    array (count,) [rad], rising

    Notes
    -----
    Source: [carslaw-jaeger-1959]. Valid for Bi > 0; bisection to 1e-15 of the bracket.

    Examples
    --------
    >>> round(float(roots("slab", 1.0, 1)[0]), 4), round(float(roots("cylinder", 1.0, 1)[0]), 4)
    (0.8603, 1.2558)
    """
    number = np.arange(count)
    if shape == "slab":
        low, high = number * np.pi, (number + 0.5) * np.pi
    elif shape == "sphere":
        low, high = number * np.pi, (number + 1.0) * np.pi
    else:
        ends = _bessel_zeros(count)
        low, high = ends[1], ends[0]
    # The sign at the low end alternates between roots. For the sphere, 0 is a double root below the first one.
    rising = (-1.0) ** number
    for _ in range(54):
        middle = 0.5 * (low + high)
        below = _root_condition(shape, biot, middle) * rising < 0
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    return 0.5 * (low + high)


def bessel(order: int, x: npt.ArrayLike) -> Floats:
    """Bessel function of the first kind of integer order.

    J_n(x) = (1 / pi) integral from 0 to pi of cos(n a - x sin a) da

    Parameters
    ----------
    order : int
    x : array, any shape [-]

    Returns
    -------
    array, same shape [-]

    Notes
    -----
    Source: [carslaw-jaeger-1959], Bessel's integral. The mean over equal angles of a periodic function converges faster
    than any power.
    Valid for x up to 100: 160 angles give an error of 1e-14.

    Examples
    --------
    >>> bessel(0, [0.0, 1.0]).round(6).tolist()
    [1.0, 0.765198]
    """
    angle = (np.arange(160) + 0.5) * np.pi / 160
    mean: Floats = np.cos(order * angle - np.multiply.outer(np.asarray(x, dtype=float), np.sin(angle))).mean(-1)
    return mean


def _root_condition(shape: str, biot: float, zeta: Floats) -> Floats:
    # Zero at each root, without the poles of tan and cot.
    if shape == "slab":
        return zeta * np.sin(zeta) - biot * np.cos(zeta)
    if shape == "sphere":
        return (1.0 - biot) * np.sin(zeta) - zeta * np.cos(zeta)
    return zeta * bessel(1, zeta) - biot * bessel(0, zeta)


@lru_cache(maxsize=4)
def _bessel_zeros(count: int) -> tuple[Floats, Floats]:
    # Zeros of J0 and of J1 (starting with 0) by Newton's method from their asymptotic values.
    number: Floats = np.arange(1.0, count + 1.0)
    zero = (number - 0.25) * np.pi
    for _ in range(8):
        zero = zero + bessel(0, zero) / bessel(1, zero)
    one = (number + 0.25) * np.pi
    for _ in range(8):
        one = one - bessel(1, one) / (bessel(0, one) - bessel(1, one) / one)
    return zero, np.concatenate(([0.0], one[:-1]))


#: zeta^2, weights of core, surface and mean, and surface area x R / volume, of one direction.
_Direction = tuple[Floats, Floats, Floats, Floats, float]


@lru_cache(maxsize=64)
def _one_direction(shape: str, biot: float, count: int) -> _Direction:
    # zeta^2, and the weights of core, surface and mean. The weights include the classical C_m.
    zeta = roots(shape, biot, count)
    if shape == "slab":
        core = 4.0 * np.sin(zeta) / (2.0 * zeta + np.sin(2.0 * zeta))
        at_surface, over_volume = np.cos(zeta), np.sin(zeta) / zeta
    elif shape == "sphere":
        core = 4.0 * (np.sin(zeta) - zeta * np.cos(zeta)) / (2.0 * zeta - np.sin(2.0 * zeta))
        at_surface = np.sin(zeta) / zeta
        over_volume = 3.0 * (np.sin(zeta) - zeta * np.cos(zeta)) / zeta**3
    else:
        zero, one = bessel(0, zeta), bessel(1, zeta)
        core = 2.0 * one / (zeta * (zero**2 + one**2))
        at_surface, over_volume = zero, 2.0 * one / zeta
    return zeta**2, core, core * at_surface, core * over_volume, {"slab": 1.0, "cylinder": 2.0, "sphere": 3.0}[shape]


def _product(directions: list[_Direction], ratios: list[float], biot: float) -> Modes:
    # Solve each direction alone, then take outer products. The surface is the area-weighted mean of all faces.
    factors = [each[4] / ratio for each, ratio in zip(directions, ratios, strict=True)]
    rate = _outer([each[0] / ratio**2 for each, ratio in zip(directions, ratios, strict=True)], np.add)
    core = _outer([each[1] for each in directions], np.multiply)
    mean = _outer([each[3] for each in directions], np.multiply)
    surface = np.zeros_like(rate)
    for number, factor in enumerate(factors):
        face = [each[2] if number == other else each[3] for other, each in enumerate(directions)]
        surface += factor / sum(factors) * _outer(face, np.multiply)
    area_factor = sum(factors)
    if len(directions) == 1:
        chosen = np.arange(rate.size)
        lumps, left_out = np.array([(np.sqrt(rate[-1]) + np.pi) ** 2]), np.array([1.0 - mean.sum()])
    else:
        # Keep the modes with the largest weights of surface, mean and, after a first step, core. Lump the others.
        weight = surface + mean + np.abs(core) * np.exp(-_FIRST_FOURIER * rate)
        order = np.argsort(-weight, kind="stable")
        chosen, out = np.sort(order[: PRODUCT_MODES * len(directions)]), order[PRODUCT_MODES * len(directions) :]
        lumps, left_out = _lumped(rate[out], mean[out])
        left_out[-1] += 1.0 - mean[chosen].sum() - left_out.sum()
    # The weight of the lumps at the surface must stay below what is left of 1.
    follows = float((left_out * lumps).sum()) / (biot * area_factor)
    lumps = lumps * min(1.0, 0.9 * (1.0 - float(surface[chosen].sum())) / follows)
    if len(directions) == 1:
        at_core = np.array([1.0 - core.sum()])
    else:
        at_core = _core_of_lumps(directions, ratios, rate[chosen], core[chosen], lumps)
    return Modes(
        biot=biot,
        rate=np.append(rate[chosen], lumps),
        core=np.append(core[chosen], at_core),
        surface=np.append(surface[chosen], left_out * lumps / (biot * area_factor)),
        mean=np.append(mean[chosen], left_out),
        area_factor=area_factor,
    )


def _lumped(rate: Floats, mean: Floats) -> tuple[Floats, Floats]:
    # Lump modes of similar rates at the rate that conserves their heat. Returns rates and weights of the mean.
    logarithm = np.log(rate)
    edges = np.linspace(logarithm.min(), logarithm.max(), LUMPS + 1)[1:-1]
    lump = np.searchsorted(edges, logarithm)
    heat = np.bincount(lump, mean, LUMPS).astype(float)
    slowness = np.bincount(lump, mean / rate, LUMPS).astype(float)
    filled = heat > 0.0
    return heat[filled] / slowness[filled], heat[filled]


def _core_of_lumps(
    directions: list[_Direction], ratios: list[float], rate: Floats, core: Floats, lumps: Floats
) -> Floats:
    # Weights with which the core follows a step of u as the product of its directions does. The omitted modes have
    # weights of both signs: their sum alone would move the core long before heat gets there.
    fourier = _CORE_FITTED
    wanted = np.ones_like(fourier)
    for (own_rate, own_core, *_), ratio in zip(directions, ratios, strict=True):
        own = fourier / ratio**2
        alone = np.exp(-np.multiply.outer(own, own_rate)) @ own_core
        wanted = wanted * np.where(own < _CORE_STILL, 1.0, alone)
    left = wanted - np.exp(-np.multiply.outer(fourier, rate)) @ core
    importance = np.where(fourier == 0.0, 100.0, 1.0)
    basis = np.vstack((np.exp(-np.multiply.outer(fourier, lumps)) * importance[:, None], 1e-3 * np.eye(lumps.size)))
    found: Floats = np.linalg.lstsq(basis, np.append(left * importance, np.zeros(lumps.size)), rcond=None)[0]
    missing: float = 1.0 - core.sum() - found.sum()
    return found + missing / found.size


def _outer(arrays: list[Floats], combine: np.ufunc) -> Floats:
    result = arrays[0]
    for array in arrays[1:]:
        result = combine.outer(result, array).ravel()
    return result


def propagators(rate: Floats, fourier: Floats) -> tuple[Floats, Floats, Floats]:
    """Weights of a step: of the state, of u at its start and of u at its end.

    z_end = exp(-x) z + (s - exp(-x)) u_start + (1 - s) u_end, with x = rate Fo and s = (1 - exp(-x)) / x

    Parameters
    ----------
    rate : array (m,) [-]
    fourier : array (n,) [-]
        Fourier number of the step, alpha t / R^2.

    Returns
    -------
    three arrays (n, m) [-], which sum to 1

    Notes
    -----
    Source: integral of the mode equation (see the head of this module). Valid for rate x Fourier number above about 1e-10,
    below which 1 - exp(-x) loses its digits. Exact for u linear over the step.

    Examples
    --------
    >>> decay, old, new = propagators(np.array([1.0]), np.array([1.0]))
    >>> round(float(decay[0, 0]), 4), round(float(old[0, 0]), 4), round(float(new[0, 0]), 4)
    (0.3679, 0.2642, 0.3679)
    """
    product = fourier[:, None] * rate
    decay = np.exp(-product)
    share = 1.0 - decay
    share /= product
    return decay, np.subtract(share, decay, out=product), 1.0 - share
