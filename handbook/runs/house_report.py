"""A page's report with the kitchen's own figures. Safety uses the stricter of these and the published ones.

A calibration may make a safety verdict stricter but never milder, because it comes from a few runs with kitchen
instruments. Each rule is judged three times and the strictest verdict is shown: by the published figures, by the
kitchen's, and by the published rates at the kitchen's times, so that a brining time shortened by runs must also suffice
at the published rate.
"""

from __future__ import annotations

from msgspec import Struct
from msgspec.structs import replace

from handbook.base.errors import HandbookError
from handbook.catalogue.tables import Tables
from handbook.page.house import House
from handbook.page.method import Method
from handbook.page.until_times import UntilTime
from handbook.report.evaluate import evaluate
from handbook.report.method_report import Report
from handbook.runs.calibrate import CalibrationResult, calibrate
from handbook.runs.recorded_times import recorded_times
from handbook.runs.run_models import RunModel, quantity
from handbook.runs.run_record import Run
from handbook.runs.run_result import RunResult, TasteAdvice, run_result, taste_advice
from handbook.safety.findings import LEVELS, Finding

BY_RUNS = "This follows from the kitchen's own runs or times; the published figures alone do not give it."
BY_RATES = "Judged by the published rates, which this kitchen's own runs cannot relax."


class KitchenRuns(Struct, frozen=True, eq=False, kw_only=True):
    """Results of the runs of one method: each run beside the models, the calibrated figures, the taste.

    ``published`` is the report without any run.
    """

    published: Report
    runs: tuple[RunResult, ...]
    learned: CalibrationResult
    taste: TasteAdvice | None


def house_report(
    method: Method, house: House, tables: Tables, runs: tuple[Run, ...]
) -> tuple[Report, KitchenRuns | None]:
    """The report for the page, and the results of its runs; without runs the published report alone.

    Raises PageError as evaluate() does.
    """
    recorded = recorded_times(method, runs)
    published = evaluate(method, house, tables, recorded=recorded)
    if not runs:
        return published, None
    models = [RunModel(each, published, house) for each in sorted(runs, key=lambda each: each.name)]
    learned = calibrate(models)
    report = published
    if not learned.calibration.is_empty:
        report = evaluate(method, house, tables, learned.calibration, recorded)
        report = replace(report, findings=_strictest(published, report, house, tables, recorded))
    results = tuple(
        run_result(model, house, learned.calibration, others)
        for model, others in zip(models, learned.without, strict=True)
    )
    return report, KitchenRuns(published=published, runs=results, learned=learned, taste=taste_advice(results, report))


def stricter(first: tuple[Finding, ...], second: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """``first``, with findings that ``second`` judges worse replaced, and stops and actions of ``second`` alone added."""
    worse = {(each.rule, each.limit, each.title): each for each in second}
    merged = []
    for each in first:
        other = worse.pop((each.rule, each.limit, each.title), each)
        is_worse = LEVELS.index(other.level) < LEVELS.index(each.level)
        is_by_rates = each.level in ("stop", "act") and other.figure != each.figure and BY_RATES not in each.message
        merged.append(_marked(other) if is_worse else _marked(each, BY_RATES) if is_by_rates else each)
    merged += [_marked(each) for each in worse.values() if each.level in ("stop", "act")]
    return tuple(sorted(merged, key=lambda each: LEVELS.index(each.level)))


def _marked(finding: Finding, why: str = BY_RUNS) -> Finding:
    return replace(finding, message=f"{finding.message} {why}")


def _strictest(
    published: Report, own: Report, house: House, tables: Tables, recorded: dict[int, UntilTime]
) -> tuple[Finding, ...]:
    found = stricter(published.findings, own.findings)
    durations = own.salted.durations if own.salted else {}
    if not durations:
        return found
    steps = tuple(
        replace(step, time=quantity(durations[at].typical, "time", 0.0), until=None) if at in durations else step
        for at, step in enumerate(own.method.steps, 1)
    )
    try:
        at_own_times = evaluate(replace(own.method, steps=steps), house, tables, recorded=recorded)
    except HandbookError:
        return found
    return stricter(found, at_own_times.findings)
