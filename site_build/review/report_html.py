"""The report as one self-contained HTML file: before and after in tables, and both timing charts overlaid."""

from __future__ import annotations

from site_build.html.render import render
from site_build.review.changes import Comparison
from site_build.review.overlay_chart import overlay_chart
from site_build.review.report_parts import SERIOUS, MethodParts, report_parts


def html_text(comparison: Comparison) -> str:
    """The whole page. The template escapes everything that comes from a page, a house file or git.

    The page's policy allows one style by its hash (CSP level 3) and no script.
    """
    parts = report_parts(comparison)
    first, *rest = parts.summary
    house = parts.house
    return render(
        "report_page.html",
        style=render("report_style.css"),
        headline=first,
        rest=rest,
        methods=[_method(each, f"m{number}") for number, each in enumerate(parts.methods, 1)],
        house=house,
        house_methods=[_method(each, f"h{number}") for number, each in enumerate(house.methods if house else (), 1)],
        faults=parts.faults,
        others=parts.others,
        serious=SERIOUS,
    )


def _method(parts: MethodParts, name: str) -> dict:
    change = parts.change
    timed = any(each.duration or each.kind != "changed" for each in change.steps)
    chart = overlay_chart(change.before, change.after) if timed or change.status in ("added", "removed") else None
    return {"id": name, "parts": parts, "chart": chart}
