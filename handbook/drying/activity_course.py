"""Water activity and weight of a drying piece over time, read from a heat run."""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from handbook.base.arrays import Floats
from handbook.base.ranges import Range
from handbook.heat.evaporation import Isotherm
from handbook.heat.heat_results import HeatCurve, HeatResult
from handbook.uncertainty.sampling import ends, range_of


class ActivityCourse(Struct, frozen=True, kw_only=True):
    """Water activity of every sample over the times of the run, arrays (s, n): at the surface, at the centre, and of
    the whole piece at equilibrium.

    lost : weight that has left since the start of the run / green weight
    """

    time: Floats
    surface: Floats
    centre: Floats
    whole: Floats
    lost: Floats

    @property
    def surface_curve(self) -> HeatCurve:
        """The surface with its range."""
        return HeatCurve(*ends(self.surface))

    @property
    def centre_curve(self) -> HeatCurve:
        """The centre with its range."""
        return HeatCurve(*ends(self.centre))

    def at(self, time: float) -> dict[str, Range]:
        """Water activity by place, and the loss of weight, at one time of the run.

        x(t) by straight lines between the steps of the run

        Parameters
        ----------
        time : float [s]
            From the start of the run.

        Returns
        -------
        dict: "surface", "centre", "whole" [-] and "lost" [kg / kg green weight], each a Range

        Notes
        -----
        Source: geometry of a polyline; no empirical constant. Valid within the run.

        Examples
        --------
        >>> flat = np.array([[0.96, 0.90]])
        >>> course = ActivityCourse(time=np.array([0.0, 10.0]), surface=flat, centre=flat, whole=flat,
        ...                         lost=1 - flat)
        >>> round(course.at(5.0)["surface"].typical, 2)
        0.93
        """
        index = int(np.clip(np.searchsorted(self.time, time), 1, len(self.time) - 1))
        before, after = self.time[index - 1], self.time[index]
        share = float(np.clip((time - before) / max(after - before, 1e-9), 0.0, 1.0))

        def now(values: Floats) -> Range:
            return range_of(values[:, index - 1] + share * (values[:, index] - values[:, index - 1]))

        places = {"surface": self.surface, "centre": self.centre, "whole": self.whole}
        return {**{name: _with_error(now(values)) for name, values in places.items()}, "lost": now(self.lost)}


def activity_course(result: HeatResult) -> ActivityCourse:
    """Water activity and loss of weight of a piece over a heat run.

    aw = aw_solids(X) aw_salt aw_sugar, with X at the surface, at the centre and of the whole

    Parameters
    ----------
    result : HeatResult

    Returns
    -------
    ActivityCourse

    Raises
    ------
    ValueError  the result keeps no moisture

    Notes
    -----
    The salt is taken as even in the piece and rises as the water leaves. A glaze counts with its sugar at the end.
    Source: [muscle-isotherm], see ``Isotherm``.
    Valid at room temperature for muscle; error about 0.01 above 0.9 and 0.03 below.

    Examples
    --------
    Thin strips in air of 75 %, two weeks later nearly in balance with it:

    >>> from handbook.catalogue.thermal_properties import Composition
    >>> from handbook.heat.heat_run import HeatPiece, HeatSpread, HeatStage, run
    >>> lean = Composition(water=0.73, protein=0.21, fat=0.05, ash=0.01)
    >>> strip = HeatPiece(shape="slab", thickness=Range.exact(0.004), composition=lean, temperature=Range.exact(277.15))
    >>> air = HeatStage(name="dry", medium="air", duration=14 * 86400.0, temperature=Range.exact(293.15), air="forced",
    ...                 relative_humidity=Range.exact(0.75))
    >>> dried = activity_course(run(strip, [air], HeatSpread(samples=0)))
    >>> [round(each.typical, 1) for each in (dried.at(14 * 86400.0)["surface"], dried.at(14 * 86400.0)["centre"])]
    [0.8, 0.8]
    """
    samples = result.samples
    if samples.moisture is None or samples.isotherm is None:
        raise ValueError("moisture: read none; allowed: a run that keeps it")
    surface, centre, whole = (_activity(each, samples.isotherm) for each in samples.moisture)
    return ActivityCourse(time=result.time, surface=surface, centre=centre, whole=whole, lost=1.0 - samples.mass)


def _activity(moisture: Floats, isotherm: Isotherm) -> Floats:
    # Samples are the last axis, to match a glaze's sugar, which has one value per sample.
    logarithm = isotherm.log_activity(np.maximum(moisture, 1e-6).T)[0]
    activity: Floats = np.exp(logarithm).T
    return activity


def _with_error(activity: Range) -> Range:
    """A computed water activity with the stated error of the isotherm [muscle-isotherm] in its range.

    e = 0.01 at 0.95 and above, 0.03 at 0.85 and below, by a straight line between; ends in quadrature
    """
    error = float(np.interp(activity.typical, (0.85, 0.95), (0.03, 0.01)))
    low, high = (float(np.hypot(end - activity.typical, error)) for end in (activity.low, activity.high))
    return Range(max(activity.typical - low, 0.0), activity.typical, min(activity.typical + high, 1.0))
