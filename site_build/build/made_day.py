"""The page of each day plan, made once for the same wish, kept plan, house and methods."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, dataclass
from datetime import UTC, datetime, time

from handbook.base.errors import FaultsError, PageError
from handbook.report.evaluate import Report
from site_build.base.deadline import PAGE_SECONDS, Overtime, deadline, overtime_fault
from site_build.base.fingerprint import key_of
from site_build.build.cache import Cache
from site_build.html.day_pages import day_html, day_warning
from site_build.outputs.day_calendar import day_calendar
from site_build.reading.kept_days import kept_path, read_day, read_wish_file, wish_paths
from site_build.reading.kitchen import Kitchen
from site_build.reading.source import FolderSource


@dataclass(frozen=True, kw_only=True)
class MadeDay:
    """One day's page: its path in the methods folder's terms, content, calendar file and warning, empty where none."""

    path: str
    title: str
    html: str
    calendar: str
    warning: str


def make_days(
    source: FolderSource, kitchen: Kitchen, keys: dict[str, str], report_of: Callable[[str], Report], cache: Cache
) -> tuple[tuple[MadeDay, ...], list[PageError]]:
    """Every day of the folder and the faults of their files.

    ``keys`` are those of the jobs of the methods' pages, by path; ``report_of`` computes one, by its name.
    """
    found, faults = [], []
    methods = tuple(path.removesuffix(".md") for path in keys)
    for path in wish_paths(source):
        page = path.removesuffix(".yml") + ".md"
        if page in source.digests:
            wanted = "another name: the generator makes this day's page"
            faults.append(PageError(source.file(page), 1, "file", page, wanted))
        try:
            wish = read_wish_file(source, path, methods, kitchen.house)
            marks = [keys[f"{each.method}.md"] for each in wish.wishes]
            kept = source.contents.get(kept_path(path), b"")
            key = key_of("day", source.file(path), source.contents[path], kept, *marks, *map(str, source.house_data))
            made = cache.notes([key]).get(key)
            if made is None:
                seconds = PAGE_SECONDS * (1 + len(wish.wishes))
                with deadline(seconds):
                    reports = {each.method: report_of(each.method) for each in wish.wishes}
                    made = asdict(_make(source, path, page, wish, reports, kitchen))
                cache.note(key, made)
            found.append(MadeDay(**made))
        except FaultsError as error:
            faults += error.faults
        except Overtime:
            faults.append(overtime_fault(source.file(path), seconds))
    return tuple(found), faults


def _make(source: FolderSource, path: str, page: str, wish, reports: dict[str, Report], kitchen: Kitchen) -> MadeDay:
    day = read_day(source, path, wish, reports, kitchen.house, kitchen.tables)
    calendar = ""
    if day.plan is not None:
        # Stamped with the day it begins: the same plan is the same file, whenever it is built.
        calendar = day_calendar(day, datetime.combine(day.plan.steps[0].start.date(), time(), UTC))
    return MadeDay(
        path=page, title=wish.title, html=day_html(day, kitchen.house), calendar=calendar, warning=day_warning(day)
    )
