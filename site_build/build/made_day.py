"""The page of each day plan. The cache keeps it until the wish, the kept plan, the house or a method changes."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import UTC, datetime, time

from handbook.base.deadline import PAGE_SECONDS, Overtime, deadline, overtime_fault
from handbook.base.errors import FaultsError, PageError
from handbook.folder.handbook import Handbook
from handbook.folder.kept_days import Day, kept_path, read_wish_file
from handbook.page.house import House
from site_build.base.fingerprint import key_of
from site_build.build.cache import Cache
from site_build.html.day_pages import day_html, day_warning
from site_build.outputs.day_calendar import day_calendar


@dataclass(frozen=True, kw_only=True)
class MadeDay:
    """One day's page: its path within the methods folder, content, calendar file and warning, each empty if absent."""

    path: str
    title: str
    html: str
    calendar: str
    warning: str


def make_days(handbook: Handbook, keys: dict[str, str], cache: Cache) -> tuple[tuple[MadeDay, ...], list[PageError]]:
    """Every day of the handbook and the faults of their files; ``keys`` are those of the methods' page jobs, by path."""
    source, found, faults = handbook.source, [], []
    methods = tuple(path.removesuffix(".md") for path in keys)
    for path in handbook.days:
        page = path.removesuffix(".yml") + ".md"
        try:
            wish = read_wish_file(source, path, methods, handbook.house)
            marks = [keys[f"{each.method}.md"] for each in wish.wishes]
            kept = source.contents.get(kept_path(path), b"")
            key = key_of("day", source.file(path), source.contents[path], kept, *marks, *map(str, source.house_data))
            made = cache.notes([key]).get(key)
            if made is None:
                # Each method's page has a deadline of its own: one that is slow is reported under its own name.
                handbook.reports(tuple(each.method for each in wish.wishes))
                seconds = PAGE_SECONDS * (1 + len(wish.wishes))
                with deadline(seconds):
                    made = asdict(_make(handbook.day(path), page, handbook.house))
                cache.note(key, made)
            found.append(MadeDay(**made))
        except FaultsError as error:
            faults += error.faults
        except Overtime:
            faults.append(overtime_fault(source.file(path), seconds, "day", "methods or loads"))
    return tuple(found), faults


def _make(day: Day, page: str, house: House) -> MadeDay:
    calendar = ""
    if day.plan is not None:
        # The stamp is the plan's first day, so that equal plans give equal files at every build.
        calendar = day_calendar(day, datetime.combine(day.plan.steps[0].start.date(), time(), UTC))
    return MadeDay(
        path=page, title=day.wish.title, html=day_html(day, house), calendar=calendar, warning=day_warning(day)
    )
