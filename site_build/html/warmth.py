"""The section on temperatures of mixtures and boxes."""

from __future__ import annotations

from handbook.base.units import celsius
from handbook.report.method_report import Report
from handbook.report.stand_report import BoxStand
from site_build.charts.line_chart import CurveInput, line_chart
from site_build.html.render import render


def warmth_html(report: Report, root: str) -> str:
    """The section; empty where the page states no temperatures of mixtures and no box."""
    stands = report.stands
    if stands is None:
        return ""
    return render(
        "warmth.html",
        stands=stands,
        boxes=[(each, _chart(each)) for each in stands.boxes],
        steps=report.method.steps,
        root=root,
    )


def _chart(box: BoxStand):
    course = box.course
    slow, typical, fast = map(celsius, (course.slow, course.typical, course.fast))
    low, high = (fast, slow) if fast[-1] <= slow[-1] else (slow, fast)
    curve = CurveInput(name="inside", typical=typical, low=low, high=high)
    stages = [(0.0, float(course.time[-1]), str(box.number))]
    return line_chart(course.time, [curve], "°C", stages, limit=celsius(box.limit))
