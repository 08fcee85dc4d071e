"""The dry rim: the lead of a piece's surface over its centre in drying."""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from handbook.base.ranges import Range
from handbook.drying.activity_course import ActivityCourse
from handbook.uncertainty.sampling import range_of

#: Water activity of the centre less that of the surface from which a rim is likely, and up to which it is unlikely. A
#: carefully controlled room stays about 0.04 below the product [drying-room-air]; rooms of 0.10 to 0.15 below are
#: usual, and hams whose outside falls further are coated with fat (common practice, no source).
LIKELY, NONE = 0.20, 0.12
#: Half thickness in m up to which a rim does no harm: strips of jerky dry through (estimate of the handbook).
THIN = 0.006


class DryRim(Struct, frozen=True, kw_only=True):
    """The widest gap of water activity, centre less surface, in one stage, its time in s from the stage's start, and
    its ``risk``: "low", "some" or "high".

    gentlest : relative humidity of the air that holds the surface within LIKELY of the centre at that time
    """

    gap: Range
    at: float
    risk: str
    gentlest: float


def dry_rim(course: ActivityCourse, start: float, end: float, half_thickness: float) -> DryRim:
    """The risk of a dry rim within a span of a run.

    gap = max over time of (aw_centre - aw_surface)

    Parameters
    ----------
    course : ActivityCourse
    start, end : float [s]
        Of the span, from the start of the run.
    half_thickness : float [m]
        From the surface to the centre.

    Returns
    -------
    DryRim

    Notes
    -----
    Air at aw_centre - LIKELY can never dry the surface further than that, so it is the recommended humidity.
    Source: [drying-room-air], the rule of the trade; the bounds are common practice. Valid for muscle in air.

    Examples
    --------
    >>> surface, centre = np.array([[0.97, 0.70, 0.78]]), np.array([[0.97, 0.96, 0.90]])
    >>> course = ActivityCourse(time=np.array([0.0, 1e5, 2e5]), surface=surface, centre=centre, whole=centre,
    ...                         lost=0 * centre)
    >>> rim = dry_rim(course, 0.0, 2e5, 0.03)
    >>> rim.risk, round(rim.gap.typical, 2), round(rim.gentlest, 2)
    ('high', 0.26, 0.76)
    """
    inside = (course.time >= start - 1e-6) & (course.time <= end + 1e-6)
    gap = (course.centre - course.surface)[:, inside]
    widest = int(np.argmax(gap[0]))
    found = range_of(gap.max(axis=1))
    gap_now = found.typical
    risk = "low" if gap_now <= NONE or half_thickness <= THIN else "some" if gap_now <= LIKELY else "high"
    gentlest = float(np.clip(course.centre[0, inside][widest] - LIKELY, 0.0, 1.0))
    return DryRim(gap=found, at=float(course.time[inside][widest] - start), risk=risk, gentlest=gentlest)
