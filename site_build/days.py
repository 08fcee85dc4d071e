"""The day plans of a methods folder: ``days/NAME.yml`` says what is wished, ``days/NAME.plan.yml`` is the plan kept.

A build needs no solver: it takes the kept plan and has it checked by ``handbook.day_check``. A plan that no longer fits
is out of date and is not shown.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from handbook.day_check import check_day
from handbook.day_judge import judge_plan, judged_mark
from handbook.day_plan import DayPlan, DayWish, Kitchen, needs_of
from handbook.errors import FaultsError, PageError
from handbook.evaluate import Report
from handbook.house import House
from handbook.read_day import read_kept, read_wish
from handbook.tables import Tables
from site_build.read_page import decode_page

FOLDER = "days"
KEPT = ".plan.yml"


@dataclass(frozen=True)
class Day:
    """One day: its wish, the reports of its methods, the plan where a fitting one is kept, else why there is none."""

    name: str
    wish: DayWish
    reports: dict[str, Report]
    plan: DayPlan | None
    troubles: tuple[str, ...]

    @property
    def url(self) -> str:
        """Address from the site's root."""
        return f"{FOLDER}/{self.name}.html"


def read_days(folder: Path, pages: dict, house: House, tables: Tables) -> tuple[Day, ...]:
    """Every day of the folder, by name; ``pages`` are the folder's pages by path.

    Raises FaultsError with every fault of every wish and kept plan. A plan that is missing or out of date is no fault.
    """
    reports = {path.removesuffix(".md"): page.report for path, page in pages.items() if page.report}
    found, faults = [], []
    for path in wish_files(folder):
        if f"{FOLDER}/{path.stem}.md" in pages:
            taken = f"{folder.name}/{FOLDER}/{path.stem}.md"
            faults.append(PageError(taken, 1, "file", path.stem, "another name: the generator makes this day's page"))
        try:
            found.append(read_day(path, folder, reports, house, tables))
        except FaultsError as error:
            faults += error.faults
    if faults:
        raise FaultsError(faults)
    return tuple(found)


def wish_files(folder: Path) -> list[Path]:
    """The wish files of a methods folder."""
    return sorted(path for path in (folder / FOLDER).glob("*.yml") if not path.name.endswith(KEPT))


def kept_file(path: Path) -> Path:
    """Where the plan of a wish file is kept."""
    return path.with_name(path.stem + KEPT)


def read_day(path: Path, folder: Path, reports: dict[str, Report], house: House, tables: Tables) -> Day:
    """One day as it stands on disk. Raises FaultsError."""
    wish = wish_of(path, folder, tuple(reports), house)
    used = {each.method: reports[each.method] for each in wish.wishes}
    kept = kept_file(path)
    if not kept.is_file():
        return Day(path.stem, wish, used, None, ("no plan is kept yet",))
    text, fault = decode_page(kept.read_bytes(), f"{folder.name}/{FOLDER}/{kept.name}")
    if fault:
        raise FaultsError([fault])
    plan, mark, faults = read_kept(text, f"{folder.name}/{FOLDER}/{kept.name}", wish)
    if faults:
        raise FaultsError(faults)
    troubles = tuple(plan_troubles(plan, mark, wish, used, house, tables))
    return Day(path.stem, wish, used, None if troubles else plan, troubles)


def wish_of(path: Path, folder: Path, methods: tuple[str, ...], house: House) -> DayWish:
    """What a wish file says. Raises FaultsError."""
    file = f"{folder.name}/{FOLDER}/{path.name}"
    try:
        text, fault = decode_page(path.read_bytes(), file)
    except OSError as error:
        text, fault = (
            "",
            PageError(file, 1, "file", f"no text ({error.strerror})", "a wish file, such as days/friday.yml"),
        )
    if fault:
        raise FaultsError([fault])
    wish, faults = read_wish(text, file, path.stem, methods, house.planning)
    if faults:
        raise FaultsError(faults)
    return wish


def plan_troubles(plan: DayPlan, mark: str, wish: DayWish, reports: dict[str, Report], house: House, tables: Tables):
    """Why a kept plan may no longer be followed; empty where it keeps every rule.

    Judged again only where its times, or what its methods' pages find, have changed since it was judged.
    """
    needs = {name: needs_of(report) for name, report in reports.items()}
    faults = check_day(plan, wish, needs, kitchen_of(house))
    if not faults and mark != judged_mark(plan, reports):
        faults = judge_plan(plan, reports, house, tables)
    return faults


def kitchen_of(house: House) -> Kitchen:
    """The house as a plan sees it."""
    return Kitchen(house.planning, house.containers)
