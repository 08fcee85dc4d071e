"""Warnings for the author of a method page. A strict run turns them into faults."""

from __future__ import annotations

from collections.abc import Iterator

from handbook.base.errors import PageError
from handbook.base.formats import format_time, format_time_range, format_volume
from handbook.page.salting import Glaze, Salting
from handbook.report.method_report import Report
from handbook.report.mixtures import MixtureReport
from handbook.safety.judging import KNOWN_TO_FAIL


def page_warnings(report: Report) -> list[PageError]:
    """Each warning of the page with its line and a remedy: times, containers, and limits that need an action of the cook."""
    found = [*_times(report), *_containers(report), *_acts(report), *_unknown(report)]
    return sorted(found, key=lambda each: (each.line, each.key))


def _times(report: Report) -> Iterator[PageError]:
    for each in report.course.core_times if report.course else ():
        if each.verdict == "short" and each.stated is not None:
            step = report.method.steps[each.number - 1]
            computed = format_time_range(each.duration)
            allowed = f"at least the computed {computed} to its core and hold, or `until: core` in place of a time"
            yield _warning(report, step.line, f"steps.{each.number}.time", format_time_range(each.stated), allowed)
        elif each.stated is None and each.reached.typical is None:
            step = report.method.steps[each.number - 1]
            read = f"{step.waits_for}, not there in {format_time(each.tested)}"
            allowed = (
                "what the piece reaches here: hotter or moister surroundings, a cover, a thinner piece, a lower core"
            )
            yield _warning(report, step.line, f"steps.{each.number}.until", read, allowed)


def _containers(report: Report) -> Iterator[PageError]:
    mixtures: tuple[MixtureReport, ...] = report.saltings
    for number, mixture in enumerate(mixtures):
        column = next((each for each in mixture.columns if each.is_written), None)
        if column is None or column.fill is None:
            continue
        line, name = report.method.saltings[number].line, column.fill.container.name
        if column.fill.overflows:
            allowed = "a container of the house that holds the batch that the page is written for"
            yield _warning(report, line, "salting.container", f"{name} runs over", allowed)
        elif not column.fill.covers:
            allowed = (
                f"brine that covers the food: {format_volume(column.fill.brine_to_cover)}, or a narrower container"
            )
            yield _warning(report, line, "salting.ingredients", f"food not covered in the {name}", allowed)


def _acts(report: Report) -> Iterator[PageError]:
    for each in report.findings:
        if each.level == "act" and each.decides and each.certainty == KNOWN_TO_FAIL and not each.signed:
            line = each.line or report.method.front_matter.line
            allowed = each.mend or each.printed or each.message
            yield _warning(report, line, f"safety.{each.rule}", f"{each.title}: {each.figure}", allowed)


def _unknown(report: Report) -> Iterator[PageError]:
    for name in report.unknown_salt:
        mixtures: tuple[Salting | Glaze, ...] = (*report.method.saltings, *report.method.glazes)
        lines = [line for each in mixtures for line in each.ingredients]
        line = next((each.line for each in lines if each.item == name), None)
        if line is None:  # a dry food: the page says that its salt is not computed, and no author can mend it
            continue
        allowed = "its salt as its label or maker states it, in ingredients.csv: the salt of this page is not known"
        yield _warning(report, line, "ingredients.salt", f"{name}: unknown", allowed)


def _warning(report: Report, line: int, key: str, read: str, allowed: str) -> PageError:
    return PageError(report.method.file, line, key, read, allowed)
