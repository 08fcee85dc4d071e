"""Judge a plan's times by the safety rules: a time within the page's range may still break a limit."""

from __future__ import annotations

import hashlib

from msgspec.structs import replace

from handbook.base.errors import HandbookError
from handbook.base.units import parse_quantity
from handbook.catalogue.tables import Tables
from handbook.days.day_plan import DayPlan, PlanStep
from handbook.page.house import House
from handbook.page.method import Method
from handbook.report.evaluate import evaluate
from handbook.report.method_report import Report


def judge_plan(plan: DayPlan, reports: dict[str, Report], house: House, tables: Tables) -> list[str]:
    """Stops and actions of the safety rules at the planned times that the method's own page does not have.

    One line for each finding. Times that the models compute stay computed.
    """
    faults = []
    for name, report in reports.items():
        for times in _distinct(plan.of(name)):
            faults += _judge(planned_method(report.method, times), report, house, tables)
    return list(dict.fromkeys(faults))


def planned_method(method: Method, minutes: dict[int, int]) -> Method:
    """The method with the planned minutes, by step number, in place of its stated times."""
    steps = tuple(
        replace(step, time=parse_quantity(f"{minutes[number]} min", "time"))
        if (step.time is not None or (step.until is not None and step.until.is_measured)) and number in minutes
        else step
        for number, step in enumerate(method.steps, 1)
    )
    return replace(method, steps=steps)


def judged_mark(plan: DayPlan, reports: dict[str, Report]) -> str:
    """A hash of the input of a judgement: the plan's times, and each method's current times and findings.

    While it is equal, a new judgement gives the same result.
    """
    parts = [f"{each.method} {each.load} {each.number} {each.start} {each.end}" for each in plan.steps]
    for name, report in sorted(reports.items()):
        parts += [
            f"{name} {each.number} {each.duration.low:.0f} {each.duration.typical:.0f} {each.duration.high:.0f}"
            for each in report.schedule.steps
        ]
        parts += [f"{name} {each.rule} {each.level} {each.source} {each.figure}" for each in report.findings]
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()[:16]


def _judge(method: Method, report: Report, house: House, tables: Tables) -> list[str]:
    title = method.front_matter.title
    try:
        found = evaluate(method, house, tables).findings
    except HandbookError as error:
        return [f"{title}: cannot be computed with the planned times ({error})"]
    known = {(each.rule, each.source) for each in report.findings if each.level in ("stop", "act")}
    return [
        f"{title}, with the planned times: {each.title}: {each.figure}; limit: {each.printed}"
        for each in found
        if each.level in ("stop", "act") and (each.rule, each.source) not in known
    ]


def _distinct(steps: tuple[PlanStep, ...]) -> list[dict[int, int]]:
    """The minutes of each step by number; loads with equal times are listed once."""
    loads = sorted({each.load for each in steps if each.load}) or [0]
    found: list[dict[int, int]] = []
    for load in loads:
        times = {
            each.number: round((each.end - each.start).total_seconds() / 60) for each in steps if each.load in (0, load)
        }
        if times not in found:
            found.append(times)
    return found
