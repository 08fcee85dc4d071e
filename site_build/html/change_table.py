"""A page's section "If you change something": the further changes for the same salt and sweetness."""

from __future__ import annotations

from handbook.advice.substitution import changes
from handbook.catalogue.tables import Tables
from handbook.page.house import House
from handbook.report.method_report import Report
from site_build.html.brine_help import mass_range
from site_build.html.local_list import LocalList
from site_build.html.render import render


def change_html(report: Report, house: House, tables: Tables, root: str, local: LocalList) -> str:
    """The section; every method page has one."""
    found = changes(report, house, tables)
    return render(
        "change_table.html",
        report=report,
        found=found,
        root=root,
        local=local,
        mass_range=mass_range,
        has_cure=any(each.made.total("nitrite") or each.made.total("nitrate") for each in report.saltings),
        is_timed=bool(report.salted and report.salted.by_thickness),
        is_heated=report.course is not None and bool(report.course.core_times),
    )
