"""The curves of a method's page: heat and salt as charts, in the units of the page."""

from __future__ import annotations

from handbook.evaluate import Report
from handbook.heating import thickness_range
from handbook.house import House
from handbook.units import celsius
from site_build.line_chart import Curve, line_chart
from site_build.render import render


def heat_html(report: Report, house: House, root: str) -> str:
    """The heat section, or nothing where nothing is heated."""
    course = report.course
    if course is None:
        return ""
    result = course.result
    steps = report.method.steps
    stages = [(course.first + index, stage, steps[course.first + index - 1]) for index, stage in enumerate(result.stages)]
    warm = [stage for number, stage, step in stages if step.stage in ("smoke", "cook")]
    # Days in the fridge would squeeze the hot hours into a line, so the chart begins an hour before the heat.
    start = max(warm[0].start - 3600.0, 0.0)
    stop = min(max(warm[-1].end, *(stage.end for _, stage, step in stages if step.stage == "cool"), 0.0)
               if any(step.stage == "cool" for _, _, step in stages) else warm[-1].end, warm[-1].end + 6 * 3600.0)
    chosen = [index for index, at in enumerate(result.time) if start <= at <= stop]
    time = [float(result.time[index]) - start for index in chosen]
    curves = [_curve(name, values, chosen) for name, values in
              (("core", result.core), ("surface", result.surface), ("chamber", result.chamber))]
    targets = [celsius(each.target) for each in course.core_times]
    bands = [(max(stage.start - start, 0.0), min(stage.end, stop) - start, str(number))
             for number, stage, _ in stages if stage.end > start and stage.start < stop]
    chart = line_chart(time, curves, "°C", bands, (max(targets) - 0.5, max(targets) + 0.5) if targets else None)
    dominating = result.dominating(result.samples.core[:, chosen[len(chosen) // 2]])
    return render("heat.html", report=report, course=course, chart=chart, stages=stages, root=root, first=bands[0][2],
                  thickness=thickness_range(report.method, house), dominating=dominating)


def _curve(name: str, values, chosen) -> Curve:
    low, typical, high = ([celsius(float(end[index])) for index in chosen] for end in (values.low, values.typical, values.high))
    return Curve(name, typical, low, high) if name != "chamber" else Curve(name, typical)
