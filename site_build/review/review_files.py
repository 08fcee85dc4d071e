"""Faults of files that are not pages, found for an edition as its build finds them."""

from __future__ import annotations

from collections.abc import Iterable

from handbook.base.errors import FaultsError, PageError
from handbook.folder.kept_days import read_kept_file, read_wish_file, wish_paths
from handbook.folder.read_text import decode_page
from handbook.folder.run_files import RUNS, stray_runs
from handbook.page.house import House
from site_build.reading.addresses import address_faults
from site_build.reading.pictures import picture_faults
from site_build.review.edition import Edition, is_method_page
from site_build.review.signed import SIGNED_FILE, read_signed


def file_faults(edition: Edition, changed: Iterable[str], house: House) -> list[PageError]:
    """Faults of ``changed`` files of the folder from which ``edition`` was read, and of files that depend on its pages.

    Runs, signatures and day plans name methods.
    """
    changed = [path for path in changed if path in edition.paths]
    methods = {path for path in edition.pages if is_method_page(edition, path)}
    runs = [path for path in edition.held if path.startswith(RUNS)]
    faults = address_faults(house, edition.folder.name)
    faults += picture_faults(edition.folder, [path for path in changed if path not in edition.held])
    faults += stray_runs(edition.folder.name, runs, methods)
    faults += _signature_faults(edition, methods)
    for path in wish_paths(edition):
        faults += _day_faults(edition, path, methods, house)
    return faults


def _signature_faults(edition: Edition, methods: set[str]) -> list[PageError]:
    if SIGNED_FILE not in edition.held:
        return []
    file = f"{edition.folder.name}/{SIGNED_FILE}"
    text, fault = decode_page(edition.held[SIGNED_FILE], file)
    if fault:
        return [fault]
    try:
        read_signed(text, file, {path.removesuffix(".md") for path in methods})
    except FaultsError as error:
        return error.faults
    return []


def _day_faults(edition: Edition, path: str, methods: set[str], house: House) -> list[PageError]:
    stem = path.removesuffix(".yml")
    if f"{stem}.md" in edition.paths:
        wanted = "another name: the generator makes this day's page"
        return [PageError(edition.file(f"{stem}.md"), 1, "file", f"{stem}.md", wanted)]
    names = tuple(sorted(each.removesuffix(".md") for each in methods))
    try:
        read_kept_file(edition, path, read_wish_file(edition, path, names, house))
    except FaultsError as error:
        return error.faults
    return []
