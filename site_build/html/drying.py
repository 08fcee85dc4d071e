"""The drying section of a method's page: weight, water activity and the dry rim over time."""

from __future__ import annotations

import numpy as np

from handbook.report.drying_report import DryingReport
from handbook.report.method_report import Report
from site_build.charts.line_chart import CurveInput, line_chart
from site_build.html.render import render

_ROWS = 7  # number of rows of the table over time
_TO_FAHRENHEIT = 1.8  # degree-hours in °F per degree-hour in K


def drying_html(report: Report, root: str) -> str:
    """The drying section; empty where the model computes no drying."""
    drying = report.drying
    if drying is None:
        return ""
    course = drying.course
    inside = np.flatnonzero((course.time >= drying.start - 1e-6) & (course.time <= drying.end + 1e-6))
    curves = [
        CurveInput.of(name, curve, lambda end: 100 * np.maximum(end[inside], 0.0))
        for name, curve in (("lost", drying.lost), ("surface", course.surface_curve), ("centre", course.centre_curve))
    ]
    bands = [
        (stage.start - drying.start, stage.end - drying.start, str(number))
        for number in range(drying.steps[0].number, drying.last.number + 1)
        if (stage := report.course.stage(number)) is not None
    ]
    hours = drying.degree_hours
    return render(
        "drying.html",
        report=report,
        drying=drying,
        chart=line_chart(course.time[inside] - drying.start, curves, "%", bands),
        rows=_rows(drying),
        root=root,
        degree_hours=hours,
        fahrenheit_hours=None if hours is None else hours.times(_TO_FAHRENHEIT),
        rims=[each for each in drying.steps if each.rim is not None and each.rim.risk != "low"],
        cool=[each for each in drying.steps if each.cool is not None],
    )


def _rows(drying: DryingReport) -> list[tuple]:
    times = np.linspace(drying.start, drying.end, _ROWS)[1:]
    return [(float(each) - drying.start, drying.course.at(float(each)), drying.lost_at(float(each))) for each in times]
