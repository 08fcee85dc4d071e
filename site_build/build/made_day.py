"""The page of each day plan. The cache keeps it until the wish, the kept plan, the house or a method changes."""

from __future__ import annotations

from datetime import UTC, datetime, time
from functools import partial

from msgspec import Struct
from msgspec.structs import asdict

from handbook.base.deadline import PAGE_SECONDS, Overtime, deadline, overtime_fault
from handbook.base.errors import FaultsError, PageError
from handbook.days.shopping import Needed, needed_items
from handbook.folder.handbook import Handbook
from handbook.folder.kept_days import kept_path, read_day, read_wish_file
from handbook.folder.kitchen import Kitchen
from handbook.page.house import House
from site_build.base.fingerprint import key_of
from site_build.build.kept_reads import KeptReads
from site_build.build.people_of_day import without_names
from site_build.html.day_pages import SHOPPING, day_html, day_warning, shopping_html
from site_build.outputs.day_calendar import day_calendar


class MadeDay(Struct, frozen=True, kw_only=True):
    """One day's page: its path within the methods folder, content, calendar file and warning, each empty if absent."""

    path: str
    title: str
    html: str
    calendar: str
    warning: str


def make_days(
    handbook: Handbook, keys: dict[str, str], reads: KeptReads
) -> tuple[tuple[MadeDay, ...], list[PageError]]:
    """Every day of the handbook and the faults of their files; ``keys`` are those of the methods' pages, by path."""
    source, found, faults = handbook.source, [], []
    methods = tuple(path.removesuffix(".md") for path in keys)
    for path in handbook.days:
        try:
            wish = read_wish_file(source, path, methods, handbook.house)
            marks = [keys[f"{each.method}.md"] for each in wish.wishes]
            kept = source.contents.get(kept_path(path), b"")
            base = key_of("day", source.file(path), source.contents[path], kept, *marks)
            # Each method's page has a deadline of its own: one that is slow is reported under its own name.
            handbook.reports(tuple(each.method for each in wish.wishes))
            seconds = PAGE_SECONDS * (1 + len(wish.wishes))
            with deadline(seconds):
                make = partial(_make, handbook, path, methods)
                found.append(_day(reads.made(base, make), handbook.house))
        except FaultsError as error:
            faults += error.faults
        except Overtime:
            faults.append(overtime_fault(source.file(path), seconds, "day", "methods or loads"))
    return tuple(found), faults


def _day(made: dict, house: House) -> MadeDay:
    """The day with its shopping list. Prices are not in the cached part."""
    items = [Needed(**{**each, "methods": tuple(each["methods"])}) for each in made["needed"]]
    html = made["html"].replace(SHOPPING, shopping_html(items, house))
    return MadeDay(**{key: each for key, each in made.items() if key != "needed"} | {"html": html})


def _make(handbook: Handbook, path: str, methods: tuple[str, ...], kitchen: Kitchen) -> dict:
    """Make a day from the reports of its methods, on which its cache key depends."""
    source, page = handbook.source, path.removesuffix(".yml") + ".md"
    wish = read_wish_file(source, path, methods, kitchen.house)
    reports = handbook.reports(tuple(each.method for each in wish.wishes))
    day = read_day(source, path, wish, reports, kitchen.house, kitchen.tables)
    day = without_names(day, kitchen.house)
    calendar = ""
    if day.plan is not None:
        # The stamp is the plan's first day, so that equal plans give equal files at every build.
        calendar = day_calendar(day, datetime.combine(day.plan.steps[0].start.date(), time(), UTC))
    return {
        "path": page,
        "title": day.wish.title,
        "html": day_html(day, kitchen.house),
        "calendar": calendar,
        "warning": day_warning(day),
        "needed": [asdict(each) for each in needed_items(wish.wishes, reports)],
    }
