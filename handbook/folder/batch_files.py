"""The files of a handbook's batches: ``batches/<year>/<lot>.yml``, a thermometer log ``<lot>.csv`` beside it.

The year's ``stock.yml`` and ``thermometers.yml`` are in the same folder (handbook/batches/kitchen_lists.py).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Container, Iterable, Mapping
from typing import Any, Protocol

from handbook.base.errors import FaultsError, PageError
from handbook.batches.batch_record import BatchRecord, read_batch
from handbook.batches.kitchen_lists import CHECKS_FORM, STOCK_FORM, StockLine, ThermometerCheck, read_list
from handbook.days.lot_numbers import is_lot_number, lot_day, lot_slug
from handbook.folder.file_names import BATCHES
from handbook.folder.kept_days import FilesRead
from handbook.folder.read_text import decode_page
from handbook.folder.run_files import RunText

STOCK, CHECKS = "stock.yml", "thermometers.yml"
#: Number of newest batches of one method that count as runs. Each one runs the models for all steps of the page.
LEARN_FROM = 12
#: A line that ends a batch, as the command writes it, without quotes before the key.
_ENDED = re.compile(rb"^- \{at: [^\"'{}#\n]*\b(?:ended|discarded): ", re.M)
_CORRECTS = re.compile(rb"corrects[\"']?\s*:")
_YEAR = re.compile(r"(?:19[7-9]|20\d)\d")


class BatchFiles(FilesRead, Protocol):
    """The texts of a folder and the faults of unreadable files in it."""

    @property
    def faults(self) -> tuple[PageError, ...]:
        """Links, pipes, files that are too large, names that no system stores."""


def batch_paths(paths: Iterable[str]) -> list[str]:
    """The batch files among ``paths``, in order."""
    return sorted(path for path in paths if path.startswith(BATCHES) and path.endswith(".yml") and _is_batch(path))


def batch_path(lot: str) -> str:
    """The path of the file of a batch."""
    return f"{BATCHES}{lot_day(lot).year}/{lot}.yml"


def lot_of(path: str) -> str:
    """The lot number of the batch at ``path``."""
    return path.rpartition("/")[2].removesuffix(".yml")


def stray_batches(folder: str, paths: Iterable[str]) -> list[PageError]:
    """A fault for each file among the batches that does not belong there."""
    known = set(paths)
    own = sorted(each for each in known if each.casefold().startswith(BATCHES))
    return [PageError(f"{folder}/{path}", 1, "batch", *fault) for path in own if (fault := _stray(path, known))]


def unread_batches(faults: Iterable[PageError], folder: str) -> list[PageError]:
    """The ``faults`` of a folder that concern its batches; ``folder`` ends with a slash."""
    place = f"{folder}{BATCHES}"
    return [each for each in faults if f"{each.file}/".casefold().startswith(place.casefold())]


def read_batch_file(source: FilesRead, path: str, measures: str) -> tuple[BatchRecord | None, list[PageError]]:
    """The batch at ``path``, or None and its faults."""
    text, fault = decode_page(source.contents[path], source.file(path))
    if fault:
        return None, [fault]
    return read_batch(lot_of(path), source.file(path), text, measures)


def read_batch_files(source: BatchFiles, measures: str, *, only_open: bool = False) -> list[BatchRecord]:
    """Every batch of the folder, or ``only_open`` ones: files with a plain line that ends the batch are then not read.

    Raises FaultsError with all their faults.
    """
    # A batch that cannot be read as a file, such as a link, would be silently missing from a recall.
    found, faults = [], unread_batches(source.faults, source.file(""))
    faults += stray_batches(source.file("").rstrip("/"), source.contents)
    for path in batch_paths(source.contents):
        if only_open and _has_ended(source.contents[path]):
            continue
        record, wrong = read_batch_file(source, path, measures)
        faults += wrong
        found += [record] if record is not None else []
    if faults:
        raise FaultsError(faults)
    return found


def batch_file_faults(source: BatchFiles, measures: str) -> list[PageError]:
    """Every fault in the texts of the batches and of the kitchen's lists."""
    faults = kitchen_list_faults(source)
    try:
        read_batch_files(source, measures)
    except FaultsError as error:
        faults += error.faults
    return faults


def kitchen_list_faults(source: FilesRead) -> list[PageError]:
    """Every fault in the texts of the kitchen's lists."""
    return [*stock_lines(source)[1], *thermometer_checks(source)[1]]


def stock_lines(source: FilesRead) -> tuple[list[StockLine], list[PageError]]:
    """Every line of the stock, of all years, and the faults of their files."""
    return _lists(source, STOCK, STOCK_FORM)


def thermometer_checks(source: FilesRead) -> tuple[list[ThermometerCheck], list[PageError]]:
    """Every check of a thermometer, of all years, and the faults of their files."""
    return _lists(source, CHECKS, CHECKS_FORM)


def batches_by_slug(paths: Iterable[str]) -> dict[str, list[str]]:
    """The batch files among ``paths`` by the part of their lots that names the method, from old to new."""
    found: dict[str, list[str]] = {}
    for path in batch_paths(paths):
        found.setdefault(lot_of(path).rpartition("-")[0], []).append(path)
    return {slug: sorted(own, key=lambda path: (lot_day(lot_of(path)), path)) for slug, own in found.items()}


def teaching_batches(
    page: str, batches: Mapping[str, list[str]], folder: str, paths: Container[str], content: Callable[[str], bytes]
) -> tuple[RunText, ...]:
    """The batches that count as runs of the method page at ``page``: the newest ended ones, from old to new.

    ``batches`` are as ``batches_by_slug`` gives them. Pages with the same slug get each other's too; the batch itself
    names its page. The text of an ended batch contains the key, so other files are not parsed.
    """
    found = list[RunText]()
    for path in reversed(batches.get(lot_slug(page.removesuffix(".md")), [])):
        if len(found) == LEARN_FROM:
            break
        data, log = content(path), _log(path)
        if b"ended" in data:
            logged = content(log) if log in paths else None
            found.append(RunText(name=lot_of(path), file=f"{folder}/{path}", data=data, log=logged))
    return tuple(reversed(found))


def _stray(path: str, known: set[str]) -> tuple[str, str] | None:
    """The fault of a file that does not belong among the batches: (read, allowed)."""
    if not path.startswith(BATCHES):
        return path, f"{BATCHES} in small letters: no list reads another folder"
    rest = path.removeprefix(BATCHES)
    year, _, name = rest.partition("/")
    stem, _, ending = name.rpartition(".")
    if (name in (STOCK, CHECKS) and _YEAR.fullmatch(year)) or path.endswith(".md"):
        return None  # the generator refuses a page here
    if not is_lot_number(stem) or ending not in ("yml", "csv"):
        allowed = f"a year's folder with {STOCK}, {CHECKS} and batches named by method and day, such as 2026/cellar-cabbage-261102.yml"
        return rest, allowed
    if year != str(lot_day(stem).year):
        return f"the folder {year}", f"the year of the lot, {lot_day(stem).year}"
    if ending == "csv" and path.removesuffix(".csv") + ".yml" not in known:
        return name, f"a batch {stem}.yml beside its log"
    return None


def _lists(source: FilesRead, name: str, form: Any) -> tuple[list[Any], list[PageError]]:
    rows, faults = list[Any](), list[PageError]()
    for path in sorted(source.contents):
        if path.startswith(BATCHES) and path.endswith(f"/{name}") and path.count("/") == 2:
            text, fault = decode_page(source.contents[path], source.file(path))
            found, wrong = ((), [fault]) if fault else read_list(form, text, source.file(path), name)
            rows += found
            faults += wrong
    return rows, faults


def _has_ended(data: bytes) -> bool:
    """Whether a line of the usual form ends the batch and no line corrects one. Other forms need parsing."""
    return _CORRECTS.search(data) is None and _ENDED.search(data) is not None


def _log(path: str) -> str:
    return path.removesuffix(".yml") + ".csv"


def _is_batch(path: str) -> bool:
    return path.count("/") == 2 and is_lot_number(lot_of(path))
