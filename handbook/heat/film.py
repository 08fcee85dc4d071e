"""Convective coefficient of moving air from its speed."""

from __future__ import annotations

from handbook.base.errors import RangeError
from handbook.base.ranges import Range

_AIR_CONDUCTIVITY, _AIR_VISCOSITY, _PRANDTL = 0.0265, 1.7e-5, 0.71  # W/(m K), m2/s at about 35 degC [film-coefficients]
_STILL = 4.0  # W/(m2 K) of free convection, the minimum
_LEAST, _MOST = 0.75, 1.5  # low and high end / typical: turbulence raises the coefficient, neighbouring pieces lower it


def film_of_speed(speed: float, diameter: float) -> Range:
    """Convective coefficient of air that flows across a piece.

    Nu = 0.3 + 0.62 Re^(1/2) Pr^(1/3) / (1 + (0.4 / Pr)^(2/3))^(1/4) (1 + (Re / 282000)^(5/8))^(4/5), h = Nu k / d

    Parameters
    ----------
    speed : float [m/s]
        0.01 to 50.
    diameter : float [m]
        Of the piece, across the flow.

    Returns
    -------
    Range [W/(m2 K)]

    Raises
    ------
    RangeError  speed outside 0.01 to 50 m/s

    Notes
    -----
    Source: [churchill-bernstein-1977], a cylinder in cross flow; free convection adds as the cube.
    Valid for Re Pr > 0.2, 0 to 200 degC within 15 % (properties of the air at 35 degC); the range covers turbulence and
    pieces that shelter each other from the air [lamb-htc-2004].

    Examples
    --------
    >>> round(film_of_speed(1.2, 0.11).typical, 1)
    11.4
    """
    if not 0.01 <= speed <= 50.0:
        raise RangeError("speed of the air", speed, "0.01 to 50 m/s")
    reynolds = speed * diameter / _AIR_VISCOSITY
    prandtl = (1.0 + (0.4 / _PRANDTL) ** (2 / 3)) ** 0.25
    nusselt = 0.3 + 0.62 * reynolds**0.5 * _PRANDTL ** (1 / 3) / prandtl * (1.0 + (reynolds / 282e3) ** 0.625) ** 0.8
    forced = nusselt * _AIR_CONDUCTIVITY / diameter
    typical = (forced**3 + _STILL**3) ** (1 / 3)
    return Range(_LEAST * typical, typical, _MOST * typical)
