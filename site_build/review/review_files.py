"""Faults of files that are not pages, found for an edition as its build finds them."""

from __future__ import annotations

from collections.abc import Iterable

from handbook.base.errors import PageError
from handbook.batches.batch_record import read_batch
from handbook.folder.batch_files import batch_paths, lot_of, stray_batches
from handbook.folder.kept_days import day_file_faults
from handbook.folder.read_text import decode_page
from handbook.folder.run_files import RUNS, stray_runs
from handbook.page.house import House
from site_build.reading.addresses import address_faults
from site_build.reading.book import day_page_faults
from site_build.reading.pictures import picture_faults
from site_build.review.edition import Edition, is_method_page
from site_build.review.signed import read_signatures


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
    faults += stray_batches(edition.folder.name, edition.paths)
    for path in batch_paths(changed):
        text, fault = decode_page(edition.content(path), edition.file(path))
        faults += [fault] if fault else read_batch(lot_of(path), edition.file(path), text, house.measures)[1]
    faults += read_signatures(edition, methods)[1]
    faults += day_page_faults(edition)
    names = tuple(sorted(path.removesuffix(".md") for path in methods))
    return faults + day_file_faults(edition, names, house)
