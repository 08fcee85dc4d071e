"""The section "Runs of this kitchen" of a method's page: measured and predicted values, calibrated figures, taste."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from handbook.base.ranges import Range
from handbook.base.units import celsius
from handbook.report.method_report import Report
from handbook.runs.house_report import KitchenRuns
from handbook.runs.run_record import TASTE_SCALE
from handbook.runs.run_result import Compared, RunResult, TasteAdvice, accuracies
from site_build.base.local_formats import (
    format_number,
    format_percent,
    format_percent_range,
    format_time,
    format_time_range,
)
from site_build.base.local_forms import local_day
from site_build.base.said_words import later, said, say
from site_build.charts.line_chart import CurveInput, line_chart
from site_build.html.local_list import LocalList
from site_build.html.render import render

MANY = 20.0  # log10 reductions from which a figure only says "more than"
_KINDS = {
    "salt": later("salt of the food"),
    "loss": later("weight lost"),
    "come up": later("time to the core"),
}


class Line(Struct, frozen=True):
    """One figure in words: its name, the published value, the value by the kitchen's runs, and their number."""

    what: str
    before: str
    after: str
    runs: int


def runs_html(report: Report, kitchen_runs: KitchenRuns | None, root: str, local: LocalList, shows_people: bool) -> str:
    """The section; empty for a method without recorded runs. ``report`` is the page's own."""
    if kitchen_runs is None:
        return ""
    newest = tuple(sorted(kitchen_runs.runs, key=lambda each: each.run.name, reverse=True))
    yields = [each.yield_ for each in newest if each.yield_ is not None]
    logged = next((each for each in newest if each.core and each.core.computed), None)
    return render(
        "runs.html",
        report=report,
        kitchen_runs=kitchen_runs,
        root=root,
        local=local,
        runs=newest,
        count=len(newest),
        day=local_day,
        yield_words=_spread(yields),
        lines=[*_figures(kitchen_runs), *_page_figures(report, kitchen_runs)],
        accuracies=[(said(_KINDS[each.key]), each) for each in accuracies(kitchen_runs.runs)],
        outside=lambda each: sum(row.verdict in ("above", "below") for row in each.rows),
        missed=lambda each: [one for one in each.findings if one.level in ("stop", "act")],
        met=lambda each: [one for one in each.findings if one.verdict == "meets"],
        measured=_measured,
        predicted=_predicted,
        reductions=_reductions,
        chart=_chart(logged) if logged else None,
        logged=logged,
        advice=_advice(kitchen_runs.taste, report),
        scale=TASTE_SCALE,
        shows_people=shows_people,
    )


def _figures(kitchen_runs: KitchenRuns) -> Iterator[Line]:
    learned = kitchen_runs.learned.calibration
    for what, figure in (
        (say("How fast salt moves, times the published rate"), learned.salt),
        (say("Loss of weight after salting, times the computed one"), learned.loss),
        (say("Time to the core, times the computed one"), learned.come_up),
    ):
        if figure is not None:
            yield Line(what, _factor(figure.before), _factor(figure.after), figure.runs)
    if learned.gain is not None:
        base = kitchen_runs.published.salted.salted.stage.weight_gain
        own = (
            format_percent_range(Range(*(base.typical + end for end in (each.low, each.typical, each.high))))
            for each in (learned.gain.before, learned.gain.after)
        )
        yield Line(say("Weight taken up in the brine, of green weight"), *own, learned.gain.runs)


def _page_figures(report: Report, kitchen_runs: KitchenRuns) -> Iterator[Line]:
    """Their effect on the page's own batch for the next run: before and after."""
    published, learned = kitchen_runs.published, kitchen_runs.learned.calibration
    if learned.salt is not None:
        runs, ends = learned.salt.runs, (format_percent_range(each.salt) for each in (published, report))
        yield Line(say("This page: salt of the finished food"), *ends, runs)
        for number, after in report.salted.durations.items():
            ends = _time_of(published.salted.durations[number]), _time_of(after)
            yield Line(say("This page: time of step %(number)s", number=number), *ends, runs)
    if learned.loss is not None:
        ends = (format_percent_range(each.finished.ratio, 0) for each in (published, report))
        basis = said(published.finished.basis)
        yield Line(say("This page: yield (%(basis)s, measured)", basis=basis), *ends, learned.loss.runs)
    if learned.come_up is not None and report.course is not None:
        for each in report.course.core_times:
            if each.stated is None and each.reached.typical is not None:
                what = say("This page: time of step %(number)s, with its hold", number=each.number)
                ends = _time_of(each.duration), _time_of(report.schedule.steps[each.number - 1].duration)
                yield Line(what, *ends, learned.come_up.runs)


def _chart(result: RunResult):
    core = result.core
    low, typical, high = map(celsius, core.computed)
    curves = [
        CurveInput(name=later("measured"), typical=celsius(core.measured[: len(core.time)])),
        CurveInput(name=later("computed"), typical=typical, low=low, high=high),
    ]
    return line_chart(core.time, curves, "°C")


def _measured(row: Compared) -> str:
    return format_time(row.measured) if row.kind == "time" else format_percent(row.measured)


def _predicted(row: Compared, name: str) -> str:
    found = getattr(row, name)
    if found is None:
        return "–"
    return _time_of(found) if row.kind == "time" else format_percent_range(found)


def _time_of(found: Range) -> str:
    if not found.is_wide:
        return format_time(found.typical)
    return f"{format_time(found.typical)} ({format_time_range(found)})"


def _factor(found: Range) -> str:
    low, typical, high = (format_number(end, 2) for end in (found.low, found.typical, found.high))
    return f"{typical} ({low}–{high})"


def _reductions(result: RunResult) -> list[str]:
    """The reductions at the logged core, by organism, in words."""
    return [
        f"{name}: " + (say("more than %(figure)s", figure=f"{MANY:.0f}") if found.low > MANY else _tenfold(found))
        for name, found in result.core.reductions.items()
    ]


def _tenfold(found: Range) -> str:
    low, typical, high = (format_number(end, 1) for end in (found.low, found.typical, found.high))
    return typical if low == high else f"{typical} ({low}–{high})"


def _spread(values: list[float]) -> str:
    if not values:
        return ""
    mean = sum(values) / len(values)
    return format_percent_range(Range(min(values), mean, max(values)))


def _advice(taste: TasteAdvice | None, report: Report) -> list[str]:
    """The advice of the taste notes as sentences; none without notes."""
    if taste is None:
        return []
    right, scale = format_percent_range(taste.right.salt), taste.scale
    first = say(
        "The salt that tasters find right in the finished food: %(right)s; this page makes %(made)s.",
        right=right,
        made=format_percent(taste.made),
    )
    if taste.has_nitrite:
        return [first, say("The cure carries nitrite: its amount follows from safety and is not advised from taste.")]
    if scale is None:
        return [
            first,
            say("Too few or too scattered notes for advice: a saltier or a milder run with more tasters would tell."),
        ]
    return [
        first,
        *_brining(taste),
        _new_target(report, scale),
        say("Change the page and build: less salt must still meet every limit."),
    ]


def _brining(taste: TasteAdvice) -> list[str]:
    if taste.time is None or taste.time[1] is None:
        return []
    low, typical, high = taste.time
    ends = f" ({format_time(low)} – {format_time(high)})" if low is not None and high is not None else ""
    return [say("With this brine that is %(time)s of brining%(ends)s.", time=format_time(typical), ends=ends)]


def _new_target(report: Report, scale: Range) -> str:
    salting = report.method.salting(report.salted.salted.stage.name)
    if salting.target_salt is None:
        return say("Or the same time with %(factor)s times the salt.", factor=_factor(scale))
    return say(
        "As the page's target: %(target)s in place of %(before)s.",
        target=format_percent_range(scale.times(salting.target_salt.fraction), 2),
        before=format_percent(salting.target_salt.fraction),
    )
