"""The inspector's folder of one method as a page: computed parts of its report, and the records of its batches."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from handbook.base.formats import format_temperature, format_temperature_range, format_time_range
from handbook.base.ranges import Range
from handbook.batches.batch_summary import BatchSummary
from handbook.batches.inspection_plan import InspectedStep, inspection_plan
from handbook.batches.kitchen_lists import ThermometerCheck
from handbook.folder.file_names import INSPECTION
from handbook.folder.kitchen import Kitchen
from handbook.report.method_report import Report
from site_build.base.local_forms import local, local_day, local_moment
from site_build.base.said_words import said, say
from site_build.charts.flow_chart import NARROW, FlowInput, flow_chart
from site_build.html.render import render

#: Placeholder of the records. It is a comment, which an author's text cannot contain.
_RECORDS = "<!--records-->"
#: Records in the folder: those of this many months before the newest one, and at most one page of them.
_MONTHS, _MOST = 6, 60
_WARMTH_ERROR = 1.0  # K: a thermometer with a larger error is marked (common practice, no source)


def inspection_html(report: Report, kitchen: Kitchen) -> str:
    """The folder of ``report``'s method, with a place for its records."""
    plan = inspection_plan(report, kitchen.house)
    method = plan.report.method
    path = f"{INSPECTION}{method.name}"
    boxes = [
        FlowInput(
            number=each.scheduled.number,
            words=each.scheduled.step.do,
            facts=_facts(each),
            is_control_point=each.is_control_point,
        )
        for each in plan.steps
    ]
    return render(
        "page_inspection.html",
        root="../" * path.count("/"),
        plan=plan,
        report=plan.report,
        method=method,
        house=kitchen.house,
        flows=(("wide", flow_chart(boxes)), ("narrow", flow_chart(boxes, NARROW))),
        facts=_facts,
        day=local_day,
    )


def records_html(
    method: str, batches: Iterable[BatchSummary], checks: Iterable[ThermometerCheck], shows_people: bool
) -> str:
    """The records kept: batches of the last months, newest first, and checks of thermometers."""
    own = [each for each in batches if each.method == method]
    first = max((each.begun for each in own), default=datetime.min)
    since = first - timedelta(days=30 * _MONTHS) if own else first
    recent = [each for each in own if each.begun >= since]
    known = sorted(checks, key=lambda each: each.at, reverse=True)
    return render(
        "inspection_records.html",
        batches=recent[:_MOST],
        left_out=len(own) - len(recent[:_MOST]),
        checks=known[:_MOST],
        is_off=_is_off,
        shows_people=shows_people,
        day=local_day,
        moment=local_moment,
    )


def with_records(html: str, records: str) -> str:
    """The folder with its records."""
    return html.replace(_RECORDS, records)


def _facts(each: InspectedStep) -> str:
    step = each.scheduled.step
    words = [local(format_time_range(each.scheduled.duration)), said(step.place)]
    around = step.chamber or step.temperature
    if step.core:
        words[1] = say("core %(temperature)s", temperature=local(format_temperature(step.core.low).partition(" (")[0]))
    elif around:
        words.append(local(format_temperature_range(Range.of(around)).partition(" (")[0]))
    return ", ".join(words)


def _is_off(each: ThermometerCheck) -> bool:
    """Whether a thermometer's error is more than a degree."""
    wanted = each.wanted.low if each.wanted else 273.15 if each.inside == "ice water" else None
    return wanted is not None and abs(each.read.low - wanted) > _WARMTH_ERROR
