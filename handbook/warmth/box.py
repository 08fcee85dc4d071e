"""A box or tub in a room: warming and cooling of its contents over hours."""

from __future__ import annotations

from math import exp, inf, log

import numpy as np
from msgspec import Struct

from handbook.base.arrays import Floats
from handbook.base.errors import RangeError
from handbook.base.ranges import Range
from handbook.warmth.mixing import MELTING

#: Conductivity in W/(m K) of each wall with its range, and its usual thickness in m [insulation-values].
WALLS = {
    "foam": (Range(0.033, 0.038, 0.045), Range(0.02, 0.03, 0.05)),
    "insulated plastic": (Range(0.025, 0.035, 0.06), Range(0.02, 0.03, 0.04)),
    "wood": (Range(0.10, 0.13, 0.17), Range(0.015, 0.02, 0.025)),
    "plastic": (Range(0.2, 0.3, 0.4), Range(0.002, 0.003, 0.004)),
    "steel": (Range(15.0, 16.0, 17.0), Range(0.0006, 0.001, 0.0015)),
    "towels": (Range(0.04, 0.06, 0.09), Range(0.01, 0.02, 0.04)),
}
#: Film outside by convection and radiation, W/(m2 K); share that a lid and its seams add to the walls' flow; inner area over
#: that of a cube of the contents, since a box has head space (common practice, no source).
OUTSIDE, LEAK, ROOMINESS = Range(5.0, 8.0, 12.0), Range(1.0, 1.15, 1.5), Range(1.0, 1.3, 1.8)


class BoxCourse(Struct, frozen=True, kw_only=True):
    """Temperature in K of the contents of a box, over ``time`` in s: the slow, typical and fast box, arrays (n,)."""

    time: Floats
    slow: Floats
    typical: Floats
    fast: Floats

    @property
    def end(self) -> Range:
        """Temperature at the end."""
        low, high = sorted((float(self.slow[-1]), float(self.fast[-1])))
        return Range(low, float(self.typical[-1]), high)

    @property
    def start(self) -> float:
        """Temperature at the start."""
        return float(self.typical[0])


def conductance(wall: str, thickness: float | None, contents: float) -> Range:
    """Thermal conductance of a box, with its range.

    G = 6 roominess V^(2/3) leak / (1 / h_out + d / k)

    Parameters
    ----------
    wall : key of WALLS
    thickness : float [m]
        Of the wall; None for a usual one.
    contents : float [m3]
        Volume of the contents.

    Returns
    -------
    Range [W/K]

    Raises
    ------
    RangeError  a wall of no known kind, or contents outside 0.1 L to 10 m3

    Notes
    -----
    Inside, the contents touch the wall or keep the air at their own temperature, so no film is counted.
    Source: [insulation-values]; the shares for lid and head space are common practice. Valid for closed boxes.

    Examples
    --------
    >>> round(conductance("foam", 0.03, 0.03).typical, 1)
    0.9
    """
    if wall not in WALLS:
        raise RangeError("wall", len(wall), ", ".join(WALLS))
    if not 1e-4 <= contents <= 10.0:
        raise RangeError("volume of what stands in a box", contents, "0.0001 to 10 m3")
    conductivity, usual = WALLS[wall]
    depth = Range.exact(thickness) if thickness is not None else usual
    area = 6.0 * float(contents ** (2.0 / 3.0))

    def flow(room: float, leak: float, film: float, k: float, d: float) -> float:
        return area * room * leak / (1.0 / film + d / k)

    return Range(
        flow(ROOMINESS.low, LEAK.low, OUTSIDE.low, conductivity.low, depth.high),
        flow(ROOMINESS.typical, LEAK.typical, OUTSIDE.typical, conductivity.typical, depth.typical),
        flow(ROOMINESS.high, LEAK.high, OUTSIDE.high, conductivity.high, depth.low),
    )


def box_course(start: float, room: Range, capacity: float, flow: Range, duration: float, ice: float) -> BoxCourse:
    """Temperature of the contents of a box over time.

    m c dT/dt = G (T_room - T), held at 0 °C or the start while ice of mass m_ice melts

    Parameters
    ----------
    start : float [K]
    room : Range [K]
    capacity : float [J/K]
        Mass times specific heat of all contents.
    flow : Range [W/K]
        See ``conductance``.
    duration : float [s]
    ice : float [kg]
        Ice in the box, at its melting point.

    Returns
    -------
    BoxCourse

    Raises
    ------
    RangeError  a capacity or a duration of 0 or less

    Notes
    -----
    The contents are at one temperature: valid for brine, and for meat packed closely in a box, whose walls insulate far
    more than the meat itself.
    Source: Newton's law of cooling. Valid while the box stays closed.

    Examples
    --------
    20 kg of meat at 88 °C, in a foam box in a room of 20 °C for 4 h:

    >>> course = box_course(361.15, Range.exact(293.15), 20 * 3400.0, conductance("foam", 0.03, 0.02), 4 * 3600.0, 0.0)
    >>> round(course.end.typical - 273.15)
    78
    """
    if capacity <= 0 or duration <= 0:
        raise RangeError("heat capacity or time", min(capacity, duration), "above 0")
    time = np.linspace(0.0, duration, 49)
    warms = room.typical > start
    rooms = room.ends if warms else room.ends[::-1]
    curves = [
        _one(time, start, outside, capacity, conducts, ice) for outside, conducts in zip(rooms, flow.ends, strict=True)
    ]
    return BoxCourse(time=time, slow=curves[0], typical=curves[1], fast=curves[2])


def time_to(start: float, room: float, capacity: float, flow: float, target: float, ice: float = 0.0) -> float:
    """Time until the contents of a box reach a temperature.

    t = m_ice L / (G (T_room - T_start)) + m c / G ln((T_start - T_room) / (T_target - T_room))

    Parameters
    ----------
    start, room, target : float [K]
    capacity : float [J/K]
    flow : float [W/K]
    ice : float [kg]

    Returns
    -------
    float [s]; infinite where never

    Notes
    -----
    Source: Newton's law of cooling. Valid while the box stays closed.

    Examples
    --------
    >>> round(time_to(361.15, 293.15, 20 * 3400.0, 0.9, 333.15) / 3600, 1)
    11.1
    """
    if (target - start) * (room - start) <= 0:
        return 0.0 if target == start else inf
    if abs(target - start) >= abs(room - start):
        return inf
    held = ice * MELTING / (flow * (room - start)) if ice > 0 and room > start else 0.0
    return held + capacity / flow * log((start - room) / (target - room))


def _one(time: Floats, start: float, room: float, capacity: float, flow: float, ice: float) -> Floats:
    held = ice * MELTING / max(flow * (room - start), 1e-9) if ice > 0 and room > start else 0.0
    past = np.maximum(time - held, 0.0)
    found: Floats = room + (start - room) * np.array([exp(-flow * each / capacity) for each in past])
    return found
