"""The working sheet: standing, ingredients of the written batch, steps, keeping."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from handbook.page.house import House
from handbook.page.schedule import ScheduledStep
from handbook.page.until import WEIGHT_LOSS
from handbook.page.until_times import RECORD, STATED
from handbook.report.method_report import Report
from handbook.report.mixtures import BatchColumn, MixtureReport
from handbook.safety.findings import Finding
from site_build.base.local_formats import format_mass
from site_build.base.said_words import later, own, said, say, say_count
from site_build.html.batch_data import heat_words, json_block, tools_data
from site_build.html.local_list import LocalList
from site_build.html.render import render
from site_build.html.standing import is_caution, standing_of, step_limit

HOUSEHOLD_WORDS = {
    "us": later("US cups and spoons"),
    "metric": later("metric cups and spoons"),
    "imperial": later("imperial cups, spoons"),
}
#: Words for the end of a step whose time is computed.
_ENDS = {
    "core": later("Predicted: the core ends it, not the clock"),
    "target salt": later("Predicted: a test slice ends it, not the clock"),
}


class NeededMixture(Struct, frozen=True, kw_only=True):
    """One salting or glaze for the written batch: ``anchor`` is its id, ``number`` its place among the page's data."""

    anchor: str
    number: int
    each: MixtureReport
    column: BatchColumn


class SheetStep(Struct, frozen=True, kw_only=True):
    """One step on the sheet. ``use`` is a mixture used for the first time, ``again`` one used before."""

    scheduled: ScheduledStep
    ends: str
    heat: tuple[str, ...]
    use: NeededMixture | None
    again: str
    limit: Finding | None


def needed(report: Report) -> list[NeededMixture]:
    """The weighed mixtures of a method in the order of the page: the formula, saltings, glazes."""
    found = []
    formula = (report.formula,) if report.formula else ()
    for word, mixtures in (("formula", formula), ("brine", report.saltings), ("glaze", report.glazes)):
        for index, each in enumerate(mixtures):
            written = next((column for column in each.columns if column.is_written), each.columns[0])
            anchor = word if index == 0 else f"{word}-{index + 1}"
            found.append(NeededMixture(anchor=anchor, number=len(found), each=each, column=written))
    return found


def sheet_steps(report: Report, mixtures: Sequence[NeededMixture]) -> list[SheetStep]:
    """The steps with the mixtures of each."""
    names = {each.each.mixture.name: each for each in mixtures}
    steps, seen, shown = [], set(), set()
    lines = [each.step.line for each in report.schedule.steps]
    for each, after in zip(report.schedule.steps, [*lines[1:], lines[-1] + 40], strict=True):
        used = names.get(each.step.use or "")
        is_first = used is not None and used.anchor not in seen
        if used is not None:
            seen.add(used.anchor)
        limit = step_limit(report.findings, each.step.line, after, shown)
        shown |= {limit.printed} if limit else set()
        steps.append(
            SheetStep(
                scheduled=each,
                ends=_ends(each),
                heat=tuple(heat_words(each)),
                use=used if is_first else None,
                again="" if is_first or used is None else used.each.mixture.name,
                limit=limit,
            )
        )
    return steps


def _ends(each: ScheduledStep) -> str:
    """The measured or computed end of a step in words, and the origin of its time."""
    until = each.step.until
    if until is None or not until.is_measured:
        if not each.is_computed or each.step.waits_for not in _ENDS:
            return ""
        return said(_ENDS[each.step.waits_for])
    if each.basis == RECORD:
        end = own(until.text)
        return say_count(
            "Until %(end)s, measured: the time is by the record, %(num)s run",
            "Until %(end)s, measured: the time is by the record, %(num)s runs",
            each.runs,
            end=end,
        )
    if each.basis == STATED:
        return say("Until %(end)s, measured: the time is stated to plan with", end=own(until.text))
    words = say("Until %(end)s, measured: the time is computed", end=own(until.text))
    if until.what != WEIGHT_LOSS or until.value is None:
        return words
    left = format_mass(1.0 - until.value)
    return say("%(words)s. Each kg as it began then weighs %(left)s", words=words, left=left)


def head_html(report: Report, house: House, root: str, local: LocalList, mark: str) -> str:
    """Title, layers, standing, and the bar with batch, piece and the list of all parts."""
    wet = [each for each in report.saltings if each.columns[0].fill]
    return render(
        "make_head.html",
        report=report,
        root=root,
        local=local,
        standing=standing_of(report.findings),
        cautions=any(is_caution(each) for each in report.findings),
        data=json_block(tools_data(report, house, mark)),
        containers=[each.name for each in house.containers] if wet else [],
        household_words=HOUSEHOLD_WORDS[house.measures],
        sizes=[column.food_mass for column in report.mixtures[0].columns]
        if report.mixtures
        else [report.method.batches.written_for.low],
    )


def need_html(report: Report) -> str:
    """The section of the ingredients of the written batch."""
    return render("make_need.html", report=report, mixtures=needed(report))


def steps_html(report: Report, root: str, local: LocalList) -> str:
    """The steps."""
    return render("make_steps.html", report=report, steps=sheet_steps(report, needed(report)), root=root, local=local)


def keep_html(report: Report) -> str:
    """The section on keeping; empty where the page states none."""
    return render("make_keep.html", keeping=report.method.keeping) if report.method.keeping else ""
