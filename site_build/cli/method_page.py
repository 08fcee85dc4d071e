"""Finds the handbook and the report of a method's page named on the command line."""

from __future__ import annotations

import os
from pathlib import Path

from handbook.base.errors import FaultsError, PageError
from handbook.folder.handbook import Handbook, handbook_folder, open_handbook
from handbook.folder.kitchen import HOUSE_FILE
from handbook.report.method_report import Report
from site_build.base.places import source_place


def method_page(page: Path) -> tuple[Handbook, Report]:
    """The handbook that contains ``page``, and the report of the page's method.

    Raises FaultsError with every fault of the page or of its house file, PlaceError for a page behind a link.
    """
    place = source_place(page)
    folder = handbook_folder(place)
    path = place.relative_to(folder).as_posix() if folder else ""
    if folder is None or not os.path.isfile(place) or not path.endswith(".md"):
        wanted = f"a method page in a folder with a {HOUSE_FILE}"
        raise FaultsError([PageError(str(page), 1, "page", "no such page", wanted)])
    handbook = open_handbook(folder)
    return handbook, handbook.report(path.removesuffix(".md"))
