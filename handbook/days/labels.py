"""Labels for the products of a day: title, day made, use-by day, allergens and batch.

Values that a page does not state stay blank.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta

from msgspec import Struct

from handbook.base.ranges import Range
from handbook.base.units import Quantity
from handbook.days.day_plan import DayPlan
from handbook.days.lot_numbers import lot_number
from handbook.page.heated import heating_numbers
from handbook.page.method import Method
from handbook.report.method_report import Report


class Label(Struct, frozen=True, kw_only=True):
    """The label of one load. ``green`` and ``finished`` in kg; use-by days are None where the page states no time."""

    title: str
    method: str
    load: int
    loads: int
    green: float
    finished: Range
    made_on: date
    use_by: date | None
    use_by_frozen: date | None
    pack: str
    keep_at: str
    allergens: tuple[str, ...]
    batch: str
    is_left_over: bool


def labels(plan: DayPlan, reports: dict[str, Report]) -> tuple[Label, ...]:
    """A label for each load of each method, in the order of finishing.

    The use-by day counts the page's keeping time from the end of the last heated step, or from the end of the method
    where no step is heated.
    """
    found = []
    for name, report in reports.items():
        last = report.schedule.ready.number
        for step in plan.of(name):
            if step.number == last:
                found.append((step.end, _label(plan, report, step.load)))
    return tuple(label for _, label in sorted(found, key=lambda each: (each[0], each[1].title, each[1].load)))


def days_after(moment: datetime | None, time: Quantity | None) -> date | None:
    """The last day of a keeping time from ``moment``; None where either is unknown."""
    return None if moment is None or time is None else (moment + timedelta(seconds=time.low)).date()


def counted_step(method: Method) -> int:
    """The step from whose end the keeping time counts: the last that heats, else the last of all."""
    heating = heating_numbers(method)
    return heating[-1] if heating else len(method.steps)


def _label(plan: DayPlan, report: Report, load: int) -> Label:
    method, keeping = report.method, report.method.keeping
    chain = sorted((each for each in plan.of(method.name) if each.load in (0, load)), key=lambda each: each.number)
    last = counted_step(method)
    counted = next((each for each in reversed(chain) if each.number <= last), chain[-1]).end
    made = chain[-1]
    return Label(
        title=method.front_matter.title,
        method=method.name,
        load=load,
        loads=plan.loads(method.name),
        green=made.mass,
        finished=report.finished.ratio.times(made.mass),
        made_on=made.end.date(),
        use_by=days_after(counted, keeping.time if keeping else None),
        use_by_frozen=days_after(counted, keeping.frozen if keeping else None),
        pack=keeping.pack if keeping else "",
        keep_at=keeping.temperature.text if keeping and keeping.temperature else "",
        allergens=report.allergens,
        batch=lot_number(method.name, plan.begun(method.name).date()) + (f"-{load}" if load else ""),
        is_left_over=report.schedule.ready.step.stage == "serve",
    )
