"""The day plans of a methods folder: ``days/NAME.yml`` contains the wish, ``days/NAME.plan.yml`` the kept plan.

A build needs no solver: ``handbook.days.day_check`` checks the kept plan. A plan that no longer fits is outdated and
not shown.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Protocol

from msgspec import Struct

from handbook.base.errors import FaultsError, PageError
from handbook.catalogue.tables import Tables
from handbook.days.day_check import check_day
from handbook.days.day_plan import DayKitchen, DayPlan, DayWish, needs_of
from handbook.days.planned_times import judge_plan, judged_mark
from handbook.days.read_day import read_kept, read_wish
from handbook.folder.read_text import decode_page
from handbook.page.house import House
from handbook.report.method_report import Report

FOLDER = "days"
KEPT = ".plan.yml"


class Day(Struct, frozen=True, kw_only=True):
    """One day: its wish, the reports of its methods, and its plan, or the reasons why there is no valid one."""

    wish: DayWish
    reports: dict[str, Report]
    plan: DayPlan | None
    troubles: tuple[str, ...]


class FilesRead(Protocol):
    """The texts of a folder by path, from any source."""

    @property
    def contents(self) -> Mapping[str, bytes]:
        """The bytes of each text."""

    def file(self, path: str) -> str:
        """The name of a file in faults."""


def wish_paths(source: FilesRead) -> list[str]:
    """The wish files of a methods folder."""
    return [
        path
        for path in sorted(source.contents)
        if path.startswith(f"{FOLDER}/") and path.count("/") == 1 and path.endswith(".yml") and not path.endswith(KEPT)
    ]


def kept_path(path: str) -> str:
    """The path of the plan for a wish file."""
    return path.removesuffix(".yml") + KEPT


def read_wish_file(source: FilesRead, path: str, methods: tuple[str, ...], house: House) -> DayWish:
    """The content of the wish file at ``path``; ``methods`` are the names it may use. Raises FaultsError."""
    text, fault = decode_page(source.contents[path], source.file(path))
    if fault:
        raise FaultsError([fault])
    return read_wish(text, source.file(path), _name(path), methods, house.planning)


def read_kept_file(source: FilesRead, path: str, wish: DayWish) -> tuple[DayPlan, str] | None:
    """The kept plan of the wish file at ``path`` and its mark; None where there is none. Raises FaultsError."""
    kept = kept_path(path)
    if kept not in source.contents:
        return None
    text, fault = decode_page(source.contents[kept], source.file(kept))
    if fault:
        raise FaultsError([fault])
    return read_kept(text, source.file(kept), wish)


def day_file_faults(source: FilesRead, methods: tuple[str, ...], house: House) -> list[PageError]:
    """Faults of every wish and kept plan by themselves. Whether a plan still fits depends on its methods' reports."""
    faults = []
    for path in wish_paths(source):
        try:
            read_kept_file(source, path, read_wish_file(source, path, methods, house))
        except FaultsError as error:
            faults += error.faults
    return faults


def read_day(
    source: FilesRead, path: str, wish: DayWish, reports: dict[str, Report], house: House, tables: Tables
) -> Day:
    """The day of a wish with its kept plan, from the reports of its methods. Raises FaultsError."""
    kept = read_kept_file(source, path, wish)
    if kept is None:
        return Day(wish=wish, reports=reports, plan=None, troubles=("no plan is kept yet",))
    plan, mark = kept
    troubles = check_day(plan, wish, {name: needs_of(report) for name, report in reports.items()}, kitchen_of(house))
    # The safety rules judge it again only where its times, or the findings of its methods' pages, have changed.
    if not troubles and mark != judged_mark(plan, reports):
        troubles = judge_plan(plan, reports, house, tables)
    kept_plan = None if troubles else plan
    return Day(wish=wish, reports=reports, plan=kept_plan, troubles=tuple(troubles))


def _name(path: str) -> str:
    return path.removeprefix(f"{FOLDER}/").removesuffix(".yml")


def kitchen_of(house: House) -> DayKitchen:
    """The house's resources for a plan. Raises ValueError where it states no planning: no wish is read for such a
    house.
    """
    if house.planning is None:
        raise ValueError("the house states no planning")
    return DayKitchen(planning=house.planning, containers=house.containers)
