"""The report as one self-contained HTML file: before and after in tables, and both timing charts overlaid."""

from __future__ import annotations

from base64 import b64encode
from hashlib import sha256

from site_build.html.render import render
from site_build.review.changes import Comparison
from site_build.review.overlay_chart import overlay_chart
from site_build.review.report_parts import (
    SERIOUS,
    MethodParts,
    file_rows,
    house_alerts,
    house_tables,
    method_parts,
    other_rows,
    page_faults,
    summary,
)


def html_text(comparison: Comparison) -> str:
    """The whole page. The template escapes everything that comes from a page, a house file or git.

    The page's policy allows one style by its hash (CSP level 3) and no script.
    """
    first, *rest = summary(comparison)
    house, style = comparison.house, render("report_style.css")
    return render(
        "report_page.html",
        style=style,
        style_hash=b64encode(sha256(style.encode()).digest()).decode(),
        headline=first,
        rest=rest,
        methods=[_method(method_parts(each), f"m{number}") for number, each in enumerate(comparison.methods, 1)],
        house_tables=house_tables(house) if house else (),
        house_alerts=house_alerts(house) if house else (),
        house_methods=[_method(method_parts(each), f"h{number}") for number, each in enumerate(house.methods, 1)]
        if house
        else [],
        faults=page_faults(comparison),
        others=[("Other pages", other_rows(comparison)), ("Other files", file_rows(comparison))],
        serious=SERIOUS,
    )


def _method(parts: MethodParts, name: str) -> dict:
    change = parts.change
    timed = any(each.duration or each.kind != "changed" for each in change.steps)
    chart = overlay_chart(change.before, change.after) if timed or change.status in ("added", "removed") else None
    return {"id": name, "parts": parts, "chart": chart}
