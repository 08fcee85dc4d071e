"""Every batch of a handbook for its pages. A batch file is read once; the cache keeps its summary."""

from __future__ import annotations

import msgspec
from msgspec import Struct

from handbook.base.errors import PageError
from handbook.batches.batch_record import BatchRecord
from handbook.batches.batch_summary import BatchSummary, batch_summary
from handbook.batches.kitchen_lists import ThermometerCheck
from handbook.folder.batch_files import (
    batch_paths,
    read_batch_file,
    stock_lines,
    stray_batches,
    thermometer_checks,
)
from handbook.folder.source import FolderSource
from site_build.base.fingerprint import key_of
from site_build.build.cache import Cache


class MadeBatches(Struct, frozen=True, kw_only=True):
    """The batches of a handbook, newest first, and the whole records of the open ones."""

    summaries: tuple[BatchSummary, ...] = ()
    open_records: tuple[BatchRecord, ...] = ()
    checks: tuple[ThermometerCheck, ...] = ()

    @property
    def years(self) -> list[int]:
        """The years in which batches began, newest first."""
        return sorted({each.year for each in self.summaries}, reverse=True)


def gather_batches(source: FolderSource, cache: Cache, measures: str) -> tuple[MadeBatches, list[PageError]]:
    """The batches of ``source`` and every fault of their files. Only files that no earlier build has read are read."""
    faults = stray_batches(source.folder.name, source.contents)
    paths = batch_paths(source.contents)
    keys = {path: key_of("batch", path, source.digests[path], measures) for path in paths}
    kept = cache.notes(keys.values())
    found, records = list[BatchSummary](), list[BatchRecord]()
    for path in paths:
        summary, record = _known(kept.get(keys[path])), None
        if summary is None or summary.is_open:
            record, wrong = read_batch_file(source, path, measures)
            faults += wrong
        if summary is None and record is not None:
            summary = batch_summary(path, record)
            cache.note(keys[path], msgspec.to_builtins(summary))
        if summary is not None:
            found.append(summary)
            records += [record] if record is not None and summary.is_open else []
    _, stock_faults = stock_lines(source)
    checks, check_faults = thermometer_checks(source)
    faults += [*stock_faults, *check_faults]
    newest = tuple(sorted(found, key=lambda each: (each.begun, each.lot), reverse=True))
    return MadeBatches(summaries=newest, open_records=tuple(records), checks=tuple(checks)), faults


def _known(note: object) -> BatchSummary | None:
    """The cached summary of a batch; None for a row with anything else."""
    try:
        return None if note is None else msgspec.convert(note, BatchSummary)
    except msgspec.ValidationError:
        return None
