"""The section on acid: pickles in vinegar, and ferments over their days."""

from __future__ import annotations

from handbook.report.ferment_report import ACID, FermentReport
from handbook.report.method_report import Report
from site_build.charts.line_chart import CurveInput, line_chart
from site_build.html.render import render

_ROWS = (0, 5, 10, 15, 20, 30, 40)  # points of the course in the table


def acid_html(report: Report, root: str) -> str:
    """The section, or nothing for a page without vinegar or a ferment."""
    sour = report.sour
    if sour is None:
        return ""
    ferment = sour.ferment
    is_known = ferment is not None and ferment.time is not None
    return render(
        "acid.html",
        sour=sour,
        ferment=ferment,
        chart=_chart(ferment) if is_known else None,
        rows=_rows(ferment) if is_known else [],
        is_sausage=ferment is not None and ferment.has_culture is not None,
        acid=ACID,
        steps=report.method.steps,
        root=root,
    )


def _chart(ferment: FermentReport):
    return line_chart(ferment.time, [CurveInput.of("pH", ferment)], "pH", limit=ferment.limit, least_high=7.0)


def _rows(ferment: FermentReport) -> list[tuple[float, float, float, float]]:
    return [
        tuple(float(each[row]) for each in (ferment.time, ferment.low, ferment.typical, ferment.high)) for row in _ROWS
    ]
