"""The history of each page from git: date, author, and the figures that moved."""

from __future__ import annotations

import json
from contextlib import suppress
from pathlib import Path

import msgspec
from msgspec import Struct
from msgspec.structs import replace

from handbook.base.errors import HandbookError
from handbook.folder.run_files import method_page
from site_build.base.files import keep_file, read_json
from site_build.base.fingerprint import fingerprint
from site_build.base.progress import Tell, silent
from site_build.review.changes import MethodChange
from site_build.review.comparison import compare_editions
from site_build.review.edition import HOUSE_FILES, Reader, revision_edition
from site_build.review.report_parts import STILL, method_parts, visible
from site_build.review.revisions import Commit, Repository, RevisionError, open_repository

MOST_FIGURES = 4


MOVED = "moved by the house data"
MOST = 30  # commits


class HistoryRow(Struct, frozen=True, kw_only=True):
    """One commit in a page's history. ``what`` is written, changed, renamed, moved by the house data, words only, or
    before (the clone contains nothing older).

    ``moved`` are figures before and after in words, ``more`` counts the rest.
    """

    commit: str
    on: str
    by: str
    subject: str
    what: str = ""
    moved: tuple[str, ...] = ()
    more: int = 0
    mark: str = ""


def histories(folder: Path, kept: Path | None = None, progress: Tell = silent) -> dict[str, tuple[HistoryRow, ...]]:
    """Page path -> its rows, newest first, from the newest MOST commits that touched the folder.

    Each commit is computed with today's engine in its own house data. ``kept`` is a file that keeps the rows between
    runs and may be lost at any time. A folder outside git, or without a commit, has no history.
    """
    try:
        repository = open_repository(folder)
        newest = repository.commit_of("HEAD")
    except RevisionError:
        return {}
    engine = fingerprint()
    known = _read_kept(kept, engine)
    reader, found, used = Reader(), {}, {}
    names = {path: path for path in repository.files(newest) if path.endswith(".md")}
    commits = repository.log(newest, MOST)
    missing = [commit for commit in commits if commit.id not in known]
    for done, commit in enumerate(missing, 1):
        known[commit.id] = _rows_of(repository, folder.resolve(), commit, reader)
        progress("past changes computed", done, len(missing))
    for commit in commits:
        used[commit.id] = known[commit.id]
        for path, row in used[commit.id].items():
            if path in names:
                found.setdefault(names[path], []).append(row)
        for change in commit.changes:
            now = names.pop(change.path, None)
            if now is not None and change.status != "A":
                names[change.old_path] = now
    _write_kept(kept, engine, used)
    return {path: tuple(rows) for path, rows in found.items()}


def _rows_of(repository: Repository, folder: Path, commit: Commit, reader: Reader) -> dict[str, HistoryRow]:
    """Path as of the commit -> its row. Pages that the commit adds are not computed: no figure of theirs can move."""
    bare = HistoryRow(
        commit=commit.id[:10],
        on=commit.on[:10],
        by=visible(commit.author),
        subject=visible(commit.subject),
    )
    added = replace(bare, what="before" if commit.id in repository.oldest_held else "written")
    rows = {each.path: added for each in commit.changes if each.status == "A"}
    changes = [
        each for each in commit.changes if each.status in "MR" or each.path in HOUSE_FILES or method_page(each.path)
    ]
    recorded = {method_page(each.path) for each in changes}
    parent = repository.parent_of(commit.id)
    if not changes or parent is None:
        return rows
    before, after = (revision_edition(repository, folder, each, each[:10]) for each in (parent, commit.id))
    touched = {each.path: each for each in changes}
    for each in compare_editions(before, after, changes, "own", reader).methods:
        if each.is_there:
            cause = "changed" if each.path in touched else "moved by its runs" if each.path in recorded else MOVED
            rows[each.path] = _row(bare, each, cause)
    for path in {path for path in touched if not method_page(path)} - rows.keys():
        rows[path] = replace(bare, what="renamed" if touched[path].status == "R" else "words only")
    return rows


def _row(bare: HistoryRow, change: MethodChange, cause: str) -> HistoryRow:
    parts = method_parts(change)
    texts = [f"{each.word}: {each.title}" for each in parts.alerts if each.word != STILL]
    texts += [f"{row[0]}: {row[1]} → {row[2]}" for table in parts.tables if not table.is_folded for row in table.rows]
    what = change.status if change.status == "renamed" else cause if change.is_computed else "words only"
    mark = change.after.mark if change.after else ""
    return replace(
        bare, what=what, moved=tuple(texts[:MOST_FIGURES]), more=max(len(texts) - MOST_FIGURES, 0), mark=mark
    )


class _Kept(Struct, frozen=True, kw_only=True):
    engine: str
    commits: dict[str, dict[str, HistoryRow]]


def _read_kept(kept: Path | None, engine: str) -> dict[str, dict[str, HistoryRow]]:
    with suppress(ValueError):  # unreadable rows are computed again
        found = msgspec.convert(kept and read_json(kept), _Kept)
        return found.commits if found.engine == engine else {}
    return {}


def _write_kept(kept: Path | None, engine: str, rows: dict[str, dict[str, HistoryRow]]) -> None:
    with suppress(OSError, HandbookError):  # a folder without write access costs only time at the next run
        if kept is not None:
            keep_file(kept, json.dumps(msgspec.to_builtins(_Kept(engine=engine, commits=rows))))
