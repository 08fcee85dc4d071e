"""The pages of batches: those in progress, and a list for each year."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from types import SimpleNamespace

import numpy as np
from msgspec import Struct

from handbook.batches.batch_record import BatchRecord
from handbook.batches.batch_state import predicted_band
from handbook.batches.batch_summary import BatchSummary
from handbook.batches.due_list import DueRow, TargetCourse, due_row
from site_build.base.local_formats import format_percent
from site_build.base.local_forms import local_day, local_moment
from site_build.base.said_words import say
from site_build.charts.line_chart import CurveInput, LineChart, line_chart
from site_build.html.render import render

ROOT_OF_YEAR = "../"
_POINTS = 61


class Pinned(Struct, frozen=True, kw_only=True):
    """The present page of a batch: its address and version mark, "" where there is no such page."""

    url: str
    mark: str


def is_another(version: str, mark: str) -> bool:
    """Whether a batch was begun with other figures than those of the page with this mark. Changed words alone do not count."""
    return bool(version) and version.partition("-")[0] != mark.partition("-")[0]


def in_progress_html(
    records: Sequence[BatchRecord], years: Iterable[tuple[str, int]], pages: dict[str, Pinned], shows_people: bool
) -> str:
    """The page "In progress": each open batch in order of its due time; ``years`` are (address, year)."""
    rows = [row for record in records if (row := due_row(record, _last_moment(record))) is not None]
    # Recalled batches come first, those without a known day last.
    rows.sort(key=lambda each: (not each.state.recalled, each.when or datetime.max, each.record.lot))
    return render(
        "page_in_progress.html",
        root="",
        rows=[_row(each, pages, shows_people) for each in rows],
        years=list(years),
        day=local_day,
        moment=local_moment,
    )


def year_html(year: int, batches: Sequence[BatchSummary], pages: dict[str, Pinned], shows_people: bool) -> str:
    """The list of all batches that began in ``year``."""
    return render(
        "page_batches.html",
        root=ROOT_OF_YEAR,
        year=year,
        batches=batches,
        pages=pages,
        shows_people=shows_people,
        is_another=is_another,
        day=local_day,
        discarded=[each for each in batches if each.state == "discarded"],
        recalled=[each for each in batches if each.recalled],
    )


def _last_moment(record: BatchRecord) -> datetime:
    """The time of the newest line, so that the page is the same whenever it is built. Its script uses the reader's clock."""
    return max((each.at for each in record.entries), default=record.begun)


def _row(each: DueRow, pages: dict[str, Pinned], shows_people: bool) -> SimpleNamespace:
    record, page = each.record, pages.get(each.record.method)
    has_changed = page is not None and is_another(record.version, page.mark)
    return SimpleNamespace(
        due=each,
        record=record,
        url=page.url if page else "",
        has_changed=has_changed,
        mark=page.mark if page else "",
        courses=_courses(each),
        entries=list(reversed(record.valid)),
        corrected=len(record.entries) - len(record.valid),
        shows_people=shows_people,
    )


def _courses(each: DueRow) -> list[SimpleNamespace]:
    """The courses towards the targets; one chart for all targets of loss, one for all of pH."""
    found, drawn = [], set[bool]()
    for course in each.courses:
        is_loss = course.target.loss is not None
        found.append(_course(course, each.record, is_loss not in drawn))
        drawn.add(is_loss)
    return found


def _course(each: TargetCourse, record: BatchRecord, is_drawn: bool) -> SimpleNamespace:
    target, expected = each.target, each.expected
    is_loss = target.loss is not None
    name = (
        say("%(share)s loss", share=format_percent(target.loss.low, 0))
        if target.loss is not None
        else f"pH {target.ph:g}"
    )
    seconds = {end: getattr(expected, end) for end in ("low", "typical", "high", "reached")}
    moments = {end: None if each is None else record.begun + timedelta(seconds=each) for end, each in seconds.items()}
    chart = _chart(each, record, is_loss) if is_drawn and len(each.points) >= 2 else None
    return SimpleNamespace(name=name, why=expected.why, is_loss=is_loss, chart=chart, **moments)


def _chart(each: TargetCourse, record: BatchRecord, is_loss: bool) -> LineChart:
    """Measurements with the band that the page predicts, where it states losses, and the target as a limit."""
    scale = 100.0 if is_loss else 1.0
    points = [(0.0, 0.0), *each.points] if is_loss else list(each.points)
    band = [(at, low * scale, high * scale) for at, low, high in predicted_band(record, is_loss)]
    if is_loss and band and band[0][0] > 0:
        band.insert(0, (0.0, 0.0, 0.0))
    last = max([points[-1][0], *(at for at, *_ in band), each.expected.typical or 0.0])
    time = np.linspace(0.0, last, _POINTS)
    measured = np.interp(time, [at for at, _ in points], [value * scale for _, value in points])
    shown = int(np.searchsorted(time, points[-1][0], side="right"))
    curves = [CurveInput(name=say("measured"), typical=measured[: max(shown, 2)])]
    if len(band) > 1:
        low, high = (np.interp(time, [row[0] for row in band], [row[end] for row in band]) for end in (1, 2))
        curves.append(CurveInput(name=say("predicted"), typical=(low + high) / 2, low=low, high=high))
    limit = each.target.loss.low * scale if each.target.loss is not None else each.target.ph
    return line_chart(time, curves, say("%% of green weight lost") if is_loss else "pH", limit=limit)
