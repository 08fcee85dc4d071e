"""The start of a batch's file: amounts, plan and keeping from a method's report, scaled to the batch."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta

import numpy as np
from msgspec import Struct

from handbook.base.units import Quantity
from handbook.base.yaml_lines import quoted, row_line
from handbook.days.labels import counted_step
from handbook.page import until
from handbook.page.schedule import ScheduledStep
from handbook.page.steps import Step
from handbook.report.method_report import Report
from handbook.report.mixtures import MixtureReport, SaltingReport

HEAD = "# One batch. Lines are added at the end and never changed; a later line with `corrects` puts a wrong one right."
_WATER = "water"
#: Times at which a predicted course is written, as shares of it: closer at the start, where it curves.
_PARTS = np.linspace(0.0, 1.0, 8) ** 2


class Start(Struct, frozen=True, kw_only=True):
    """Data of a batch when it begins. ``lots`` gives raw lots by item, ``times`` a day plan's own times by step;
    ``reach`` are further targets as written in the file."""

    lot: str
    version: str
    batch: Quantity
    begun: datetime
    by: str = ""
    thickness: str = ""
    lots: Sequence[tuple[str, str]] = ()
    reach: Sequence[str] = ()
    times: Mapping[int, tuple[datetime, datetime]] | None = None


def start_text(report: Report, start: Start) -> str:
    """The text of a new batch's file."""
    method = report.method
    lines = [
        HEAD,
        f"lot: {start.lot}",
        f"method: {quoted(method.name)}",
        f"title: {quoted(method.front_matter.title)}",
        f"version: {start.version}",
        f"begun: {start.begun:%Y-%m-%d %H:%M}",
        f"batch: {start.batch.text}",
    ]
    lines += [f"cook: {quoted(start.by)}"] if start.by else []
    lines += [f"thickness: {quoted(start.thickness)}"] if start.thickness else []
    lines += ["amounts:", *amount_lines(report, start.batch.low, start.lots)]
    lines += ["plan:", *(_plan_line(each, *_times(each, start)) for each in report.schedule.steps)]
    lines += keep_lines(report)
    reach = [*start.reach, *page_targets(report)]
    lines += ["reach:", *(f"- {{{each}}}" for each in dict.fromkeys(reach))] if reach else []
    predicted = predicted_lines(report)
    lines += ["predicted:", *predicted] if predicted else []
    at = {"at": f"{start.begun:%Y-%m-%d %H:%M}", "by": quoted(start.by) if start.by else None}
    lines += ["entries:", row_line(**at, step=1, **{"is": "begun"})]
    named = list(dict.fromkeys(start.lots))
    first = {item: lot for item, lot in reversed(named)}
    lines += [row_line(**at, item=quoted(item), lot=quoted(lot)) for item, lot in named if first[item] != lot]
    return "\n".join(lines) + "\n"


class AmountRow(Struct, frozen=True, kw_only=True):
    """One item of a batch in kg: the weighed mass, the part that stays in the food, its allergens."""

    item: str
    mass: float
    in_food: float
    allergen: str


def amount_rows(report: Report, batch: float) -> list[AmountRow]:
    """The food and each ingredient of a batch of ``batch`` kg green weight."""
    factor = batch / report.method.batches.written_for.low
    food = report.method.front_matter.food
    rows: dict[str, list[float]] = {food: [batch, batch]}
    allergens = {food: report.food.allergen}
    for mixture in (*report.saltings, *report.glazes):
        share = taken_share(report, mixture)
        for part in mixture.made.scaled(factor).parts:
            name = part.ingredient.name
            stays = _water_share(report) if share < 1 and name.startswith(_WATER) else share
            row = rows.setdefault(name, [0.0, 0.0])
            row[0] += part.mass.typical
            row[1] += part.mass.typical * stays
            allergens[name] = ", ".join(part.ingredient.allergens)
    return [
        AmountRow(item=name, mass=mass, in_food=stays, allergen=allergens[name]) for name, (mass, stays) in rows.items()
    ]


def amount_lines(report: Report, batch: float, lots: Sequence[tuple[str, str]]) -> list[str]:
    """A line for the food and each ingredient with its first raw lot; further lots are entries."""
    first = {item: lot for item, lot in reversed(lots)}
    return [
        row_line(
            item=quoted(each.item),
            amount=_grams(each.mass),
            in_food=_grams(each.in_food) if each.in_food < each.mass * 0.999 else None,
            allergen=quoted(each.allergen) if each.allergen else None,
            lot=quoted(first[each.item]) if each.item in first else None,
        )
        for each in amount_rows(report, batch)
    ]


def taken_share(report: Report, mixture: MixtureReport) -> float:
    """The share of a mixture that stays in the food: all of it, or for a brine that is poured away the share of its
    salt.

    Salt taken up / salt of the brine; other contents of the brine are assumed to move like salt (an estimate).
    """
    if not isinstance(mixture, SaltingReport) or not mixture.mixture.is_bath or _stays_in_brine(report):
        return 1.0
    method, food = report.method, report.food
    batch = method.batches.written_for.low
    in_brine = sum(each.made.total("salt") for each in report.saltings)
    if in_brine <= 0 or report.salted is None:
        return 1.0
    taken = report.salted.result.end.salt_on_green_weight.typical - food.native_salt_fraction
    return min(max(taken * batch / in_brine, 0.0), 1.0)


def _water_share(report: Report) -> float:
    """The share of a brine's water that the finished food contains beyond its green weight; usually none."""
    batch = report.method.batches.written_for.low
    water = sum(each.made.total("water") for each in report.saltings)
    return min(max(report.finished.ratio.typical - 1, 0.0) * batch / water, 1.0) if water else 0.0


def keep_lines(report: Report) -> list[str]:
    """The keeping lines of the page; none where it states none."""
    keeping = report.method.keeping
    if keeping is None:
        return []
    row = row_line(
        pack=keeping.pack,
        from_step=counted_step(report.method),
        at=keeping.temperature.text if keeping.temperature else None,
        cold=keeping.time.text if keeping.time else None,
        frozen=keeping.frozen.text if keeping.frozen else None,
        cook_first="yes" if report.method.front_matter.eaten == "cooked by the eater" else None,
    )
    return [f"keep: {row.removeprefix('- ')}"]


def page_targets(report: Report) -> list[str]:
    """The page's targets of the food: pH of its ferment, loss of its drying."""
    steps, found = report.method.steps, []
    found += [f"ph: {each.final_ph:g}" for each in steps if each.final_ph is not None]
    ends = [each.until for each in steps if each.until is not None and each.until.value is not None]
    found += [f"ph: {each.value:g}" for each in ends if each.what == until.PH]
    found += [f"loss: {100 * each.value:g} %" for each in ends if each.what == until.WEIGHT_LOSS and each.value]
    found += [f"loss: {each.value * 100:g} %" for each in report.method.measured if each.what == "weight loss"]
    return list(dict.fromkeys(found))


def predicted_lines(report: Report) -> list[str]:
    """The predicted courses of drying and of souring in the report, at eight times each."""
    lines = []
    if report.drying is not None:
        number, start = report.drying.steps[0].number, report.drying.start
        for time in start + (report.drying.end - start) * _PARTS:
            lost = report.drying.lost_at(float(time))
            before = report.drying.lost_at(start).typical
            ends = [max((end - before) / (1 - before), 0.0) for end in (lost.low, lost.high)]
            loss = f"{ends[0] * 100:.1f}-{ends[1] * 100:.1f} %"
            lines.append(row_line(step=number, after=f"{(time - start) / 3600:.1f} h", loss=loss))
    ferment = report.sour.ferment if report.sour is not None else None
    if ferment is not None and ferment.time is not None and ferment.low is not None and ferment.high is not None:
        for at in ((len(ferment.time) - 1) * _PARTS).round().astype(int):
            low, high = (min(max(float(each[at]), 2.0), 9.0) for each in (ferment.low, ferment.high))
            after = f"{float(ferment.time[at]) / 3600:.1f} h"
            lines.append(row_line(step=ferment.numbers[0], after=after, ph_low=f"{low:.2f}", ph_high=f"{high:.2f}"))
    return lines


def _grams(kg: float) -> str:
    """A weight for a file, with tenths below 20 g."""
    grams = kg * 1000
    return f"{grams:.1f} g" if grams < 20 else f"{grams:.0f} g"


def _stays_in_brine(report: Report) -> bool:
    keeping = report.method.keeping
    return keeping is not None and keeping.pack in ("brine", "jar")


def _times(each: ScheduledStep, start: Start) -> tuple[datetime, datetime]:
    if start.times and each.number in start.times:
        return start.times[each.number]
    begin, end = (start.begun + timedelta(minutes=round(moment.typical / 60)) for moment in (each.start, each.end))
    return begin, end


def _plan_line(each: ScheduledStep, begin: datetime, end: datetime) -> str:
    low, high = (max(round(value / 60), 1) for value in (each.duration.low, each.duration.high))
    return row_line(
        step=each.number,
        **{"from": f"{begin:%Y-%m-%d %H:%M}", "to": f"{end:%Y-%m-%d %H:%M}"},
        takes=f"{low}-{high} min" if low != high else f"{low} min",
        **asked_values(each.step),
        do=quoted(each.step.do),
    )


def asked_values(step: Step) -> dict[str, str | None]:
    """Further values of a step in a line of the plan. The phone's file of a batch has the same."""
    around = step.chamber or step.temperature
    return {
        "hands_on": "yes" if step.hands_on else None,
        "around": quoted(around.text) if around else None,
        "core": quoted(step.core.text) if step.core else None,
        "ph": f"{step.final_ph:g}" if step.final_ph is not None else None,
        "loss": step.loss.text if step.loss else None,
        "gain": step.gain.text if step.gain else None,
    }
