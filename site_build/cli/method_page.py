"""Finds the handbook and the report of a method's page named on the command line."""

from __future__ import annotations

from pathlib import Path

from handbook.base.errors import FaultsError, PageError
from handbook.folder.handbook import Handbook, handbook_folder, open_handbook
from handbook.folder.kitchen import HOUSE_FILE
from handbook.report.evaluate import Report


def method_page(page: Path) -> tuple[Handbook, Report]:
    """The handbook that contains ``page``, and the report of the page's method.

    Raises FaultsError with every fault of the page or of its house file.
    """
    folder = handbook_folder(page)
    path = page.resolve().relative_to(folder).as_posix() if folder else ""
    if folder is None or not page.is_file() or not path.endswith(".md"):
        wanted = f"a method page in a folder with a {HOUSE_FILE}"
        raise FaultsError([PageError(str(page), 1, "page", "no such page", wanted)])
    handbook = open_handbook(folder)
    return handbook, handbook.report(path.removesuffix(".md"))
