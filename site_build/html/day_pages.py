"""The page of each day plan: charts, steps by the clock, shopping list, labels, batch sheets."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby
from types import SimpleNamespace

from handbook.days.day_plan import needs_of
from handbook.days.labels import labels
from handbook.days.lot_numbers import lot_number
from handbook.days.shopping import Needed, shopping_of
from handbook.folder.kept_days import Day, kitchen_of
from handbook.page.house import House
from handbook.page.measures import household, weighed
from handbook.report.mixtures import BatchRow
from site_build.base.local_forms import local_long_day, local_time
from site_build.base.said_words import own, said, say
from site_build.charts.day_chart import NARROW, WIDE, day_charts
from site_build.charts.day_rows import day_rows, letters, mark
from site_build.html.render import render

ROOT = "../"
#: Placeholder of the shopping list in a day's page. It is a comment, which an author's text cannot contain.
SHOPPING = "<!--shopping-->"


def day_warning(day: Day) -> str:
    """The warning of a day whose plan is missing or out of date."""
    if day.plan is not None:
        return ""
    file = day.wish.file
    return f"{file}: out of date: {day.troubles[0]}; make it again: handbook day {file} --keep"


def day_html(day: Day, house: House) -> str:
    """The content of one day's page, with SHOPPING where its shopping list goes."""
    planned = None if day.plan is None else _planned(day, house)
    return render("page_day.html", day=day, root=ROOT, methods=_methods(day), moment=local_time, planned=planned)


def shopping_html(items: Iterable[Needed], house: House) -> str:
    """The shopping list of a day's page, at the house's prices."""
    return render("day_shopping.html", root=ROOT, bought=shopping_of(items, house), currency=house.currency)


def _planned(day: Day, house: House) -> SimpleNamespace:
    needs = {name: needs_of(report) for name, report in day.reports.items()}
    shown = day_rows(day, needs, kitchen_of(house))
    entries = _entries(day)
    return SimpleNamespace(
        charts=tuple(
            (size, chart)
            for size, layout in (("wide", WIDE), ("narrow", NARROW))
            for chart in day_charts(shown, layout)
        ),
        clock=[(key, list(rows)) for key, rows in groupby(entries, key=lambda each: each.start.date())],
        labels=labels(day.plan, day.reports),
        sheets=[_sheet(day, each, house) for each in day.wish.wishes],
        day_words=local_long_day,
        begins=day.plan.steps[0].start,
    )


def _methods(day: Day) -> list[SimpleNamespace]:
    marks = letters(day)
    return [
        SimpleNamespace(
            letter=marks[each.method],
            title=day.reports[each.method].method.front_matter.title,
            url=f"{ROOT}{each.method}.html",
            batch=each.batch,
            loads=day.plan.loads(each.method) if day.plan else 0,
            ready=each.ready,
            is_cut=bool(day.plan and day.plan.loads(each.method) > 1),
        )
        for each in day.wish.wishes
    ]


def _entries(day: Day) -> list[SimpleNamespace]:
    """Every start and every repeated action, in order of time."""
    found, marks = [], letters(day)
    for step in day.plan.steps:
        method = day.reports[step.method].method
        page = method.steps[step.number - 1]
        common = {
            "mark": mark(step, marks[step.method]),
            "title": method.front_matter.title,
            "load": step.load,
            "where": ", ".join(map(own, step.units)) or said(page.place),
            "url": f"{ROOT}{step.method}.html#steps",
        }
        who = next((each.who for each in step.hands if each.start == step.start), "")
        now = {"start": step.start, "end": step.end, "do": page.do, "who": who}
        found.append(SimpleNamespace(**common, **now, page=page, hands_on=page.hands_on))
        for each in () if page.hands_on else step.hands:
            if each.start != step.start:
                now = {"start": each.start, "end": each.end, "do": each.do, "who": each.who}
                found.append(SimpleNamespace(**common, **now, page=None, hands_on=True))
    for each in day.wish.wishes:
        title = day.reports[each.method].method.front_matter.title
        common = {"mark": marks[each.method], "title": title, "load": 0, "where": "", "url": ""}
        do = say("%(title)s is wanted now", title=own(title))
        now = {"start": each.ready, "end": each.ready, "do": do, "who": ""}
        found.append(SimpleNamespace(**common, **now, page=None, hands_on=False))
    return sorted(found, key=lambda each: each.start)


def _sheet(day: Day, wish, house) -> SimpleNamespace:
    """One method's batch sheet at the planned batch: mixtures as weighed, steps with their planned times."""
    report = day.reports[wish.method]
    factor = wish.batch / report.method.batches.written_for.low
    mixtures = []
    for each in report.mixtures:
        masses = [(part, part.mass.typical) for part in each.made.scaled(factor).parts]
        rows = [
            BatchRow(part=part, weighed=weighed(mass, house), household=household(mass, part.ingredient, house))
            for part, mass in masses
        ]
        mixtures.append(SimpleNamespace(name=each.mixture.name, rows=rows, strength=each.strength))
    steps = [
        SimpleNamespace(
            plan=each,
            page=report.method.steps[each.number - 1],
            mark=mark(each, letters(day)[wish.method]),
            duration=report.schedule.steps[each.number - 1].duration,
        )
        for each in sorted(day.plan.of(wish.method), key=lambda each: (each.load, each.number))
    ]
    return SimpleNamespace(
        title=report.method.front_matter.title,
        batch=wish.batch,
        loads=day.plan.loads(wish.method),
        mixtures=mixtures,
        steps=steps,
        number=lot_number(wish.method, day.plan.begun(wish.method).date()),
    )
