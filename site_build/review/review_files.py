"""Faults of files that are not pages, found for an edition as its build finds them."""

from __future__ import annotations

from collections.abc import Iterable

from handbook.base.errors import PageError
from handbook.batches.batch_record import read_batch
from handbook.folder.batch_files import batch_paths, kitchen_list_faults, lot_of, stray_batches
from handbook.folder.kept_days import day_file_faults
from handbook.folder.read_text import decode_page
from handbook.folder.titles import earlier_names, stated_title
from handbook.page.house import House
from site_build.reading.folder_faults import Earlier, day_page_faults, folder_faults
from site_build.review.edition import Edition, is_method_page
from site_build.review.signed import read_signatures


def file_faults(edition: Edition, changed: Iterable[str], house: House) -> list[PageError]:
    """Faults of ``changed`` files of the folder from which ``edition`` was read, and of files that depend on its pages.

    Runs, signatures and day plans name methods.
    """
    changed = [path for path in changed if path in edition.paths]
    methods = {path for path in edition.pages if is_method_page(edition, path)}
    pictures = [path for path in changed if path not in edition.held]
    # The pages' titles are compared with their figures.
    faults = folder_faults(edition, house, methods, _earlier(edition), pictures, titles={})
    faults += kitchen_list_faults(edition)
    faults += stray_batches(edition.folder.name, edition.paths)
    for path in batch_paths(changed):
        text, fault = decode_page(edition.content(path), edition.file(path))
        faults += [fault] if fault else read_batch(lot_of(path), edition.file(path), text, house.measures)[1]
    faults += read_signatures(edition, methods)[1]
    faults += day_page_faults(edition)
    names = tuple(sorted(path.removesuffix(".md") for path in methods))
    return faults + day_file_faults(edition, names, house)


def _earlier(edition: Edition) -> list[Earlier]:
    """The earlier names of all pages, changed or not: either page of two may be the changed one."""
    edition.load(edition.pages)
    texts = {path: edition.content(path) for path in edition.pages}
    return [
        Earlier(path=path, line=stated_title(data)[1], names=names)
        for path, data in texts.items()
        if (names := earlier_names(data))
    ]
