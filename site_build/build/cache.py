"""What earlier builds made, kept by what it was made from: one database file that may be lost or spoilt at any time.

It lies where nobody else can write (store.py). Nothing in it is ever run: rows hold JSON, compressed with a checksum.
"""

from __future__ import annotations

import json
import shutil
import sqlite3
import zlib
from collections.abc import Iterable
from contextlib import closing, suppress
from dataclasses import asdict
from functools import lru_cache
from pathlib import Path

from site_build.base.files import clear_place
from site_build.build.made_page import MadePage, PageFiles, page_files_from, page_from

FILE = "pages.sqlite"
#: Builds for which a row that nothing asks for is kept.
KEPT_BUILDS = 40
#: More builds than this nobody has counted: the file is begun anew.
MOST_BUILDS = 1 << 40
_VERSION = 3
_TABLES = f"""
CREATE TABLE pages (key TEXT PRIMARY KEY, page BLOB, files BLOB);
CREATE TABLE notes (key TEXT PRIMARY KEY, note BLOB);
CREATE TABLE used (key TEXT PRIMARY KEY, number INTEGER) WITHOUT ROWID;
CREATE TABLE builds (number INTEGER);
INSERT INTO builds VALUES (0);
PRAGMA user_version = {_VERSION};
"""


class Cache:
    """Pages by the key of their job, and small notes by any key. Without a folder it lives in memory.

    What was read once is known for as long as the cache is open: a preview builds again and again. No fault of the file
    ever reaches the caller: what cannot be read is computed anew, what cannot be kept is not.
    """

    def __init__(self, folder: Path | None = None):
        self._base = _opened(folder)
        self._number = self._one("SELECT number FROM builds", default=(0,))[0] + 1
        self._asked: set[str] = set()
        self._known: dict[str, object] = {}

    def __enter__(self) -> Cache:
        return self

    def __exit__(self, *_) -> None:
        self.close()

    def pages(self, keys: Iterable[str]) -> dict[str, MadePage]:
        """The pages that are kept under ``keys``."""
        return self._kept("SELECT key, page FROM pages WHERE key IN ({})", keys, page_from)

    def files(self, key: str) -> PageFiles | None:
        """What stands in the page kept under ``key`` and beside it."""
        row = self._one("SELECT files FROM pages WHERE key = ?", (key,))
        return _read(*row, page_files_from) if row else None

    def keep(self, key: str, page: MadePage, files: PageFiles) -> None:
        """Keep a page under the key of its job."""
        kept = [_packed(asdict(each)) for each in (page, files)]
        self._write("INSERT OR REPLACE INTO pages VALUES (?, ?, ?)", (key, *kept))
        self._known[key] = page

    def notes(self, keys: Iterable[str]) -> dict:
        """The notes that are kept under ``keys``."""
        return self._kept("SELECT key, note FROM notes WHERE key IN ({})", keys, lambda note: note)

    def note(self, key: str, value) -> None:
        """Keep ``value``, which must go through JSON unchanged and not be None, under ``key``."""
        self._write("INSERT OR REPLACE INTO notes VALUES (?, ?)", (key, _packed(value)))
        self._known[key] = value

    def end_build(self) -> None:
        """Count a build as done: what none has asked for in a long time goes."""
        with suppress(sqlite3.Error):
            self._base.execute("BEGIN")
            # Rows asked for lately need no new number: writing thousands at each build would cost more than it tells.
            rows = [(key, self._number) for key in self._asked]
            self._base.executemany(
                f"INSERT INTO used VALUES (?, ?) ON CONFLICT (key) DO UPDATE SET number = excluded.number "
                f"WHERE number < excluded.number - {KEPT_BUILDS // 4}",
                rows,
            )
            if self._number % (KEPT_BUILDS // 4) == 0:
                self._base.execute("DELETE FROM used WHERE number < ?", (self._number - KEPT_BUILDS,))
                for table in ("pages", "notes"):
                    self._base.execute(f"DELETE FROM {table} WHERE key NOT IN (SELECT key FROM used)")
            self._base.execute("UPDATE builds SET number = ?", (self._number,))
            self._base.execute("COMMIT")
        self._known = {key: known for key, known in self._known.items() if key in self._asked}
        self._number, self._asked = self._number + 1, set()

    def close(self) -> None:
        """Let go of the file."""
        with suppress(sqlite3.Error):
            self._base.close()

    def __del__(self) -> None:
        with suppress(AttributeError):  # it was never opened
            self.close()

    def _kept(self, query: str, keys: Iterable[str], make) -> dict:
        wanted = list(keys)
        self._asked.update(wanted)
        for key, data in self._rows(query, [key for key in wanted if key not in self._known]):
            if (found := _read(data, make)) is not None:
                self._known[key] = found
        return {key: self._known[key] for key in wanted if key in self._known}

    def _rows(self, query: str, wanted: list[str]) -> list[tuple]:
        found = []
        with suppress(sqlite3.Error):
            for start in range(0, len(wanted), 500):
                some = wanted[start : start + 500]
                found += self._base.execute(query.format(",".join("?" * len(some))), some).fetchall()
        return [row for row in found if all(each is not None for each in row)]

    def _one(self, query: str, values: tuple = (), default: tuple | None = None) -> tuple | None:
        try:
            return self._base.execute(query, values).fetchone() or default
        except sqlite3.Error:
            return default

    def _write(self, query: str, values: tuple) -> None:
        with suppress(sqlite3.Error):
            self._base.execute(query, values)
        self._asked.add(values[0])


def _opened(folder: Path | None) -> sqlite3.Connection:
    """A database that works: the kept one, else a fresh one in its place, else one in memory."""
    for fresh in (False, True):
        if folder is None:
            break
        with suppress(OSError, sqlite3.Error, ValueError):
            if fresh or folder.is_symlink() or (folder.exists() and not folder.is_dir()):
                _remove(folder if not folder.is_dir() or folder.is_symlink() else folder / FILE)
            folder.mkdir(exist_ok=True)
            return _connected(folder / FILE)
    base = sqlite3.connect(":memory:", isolation_level=None)
    base.executescript(_TABLES)
    return base


def _connected(file: Path) -> sqlite3.Connection:
    for each in _of_database(file):
        clear_place(each)
    base = sqlite3.connect(file, timeout=10, isolation_level=None)
    try:
        base.execute("PRAGMA journal_mode = WAL")
        base.execute("PRAGMA synchronous = NORMAL")
        version = base.execute("PRAGMA user_version").fetchone()[0]
        if version != _VERSION:
            if version or base.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]:
                raise sqlite3.DatabaseError("another version")
            base.executescript(f"BEGIN; {_TABLES} COMMIT;")
        if _schema(base) != _own_schema():  # a view or a trigger of somebody else's could do anything but end
            raise sqlite3.DatabaseError("other tables")
        for table in ("pages", "notes", "used"):
            base.execute(f"SELECT * FROM {table} LIMIT 1").fetchall()
        ((number,),) = base.execute("SELECT number FROM builds LIMIT 2").fetchall()
        if not isinstance(number, int) or not 0 <= number < MOST_BUILDS:
            raise ValueError(number)
    except BaseException:
        base.close()
        raise
    return base


def _schema(base: sqlite3.Connection) -> set[tuple]:
    return set(base.execute("SELECT type, name, sql FROM sqlite_master").fetchall())


@lru_cache
def _own_schema() -> set[tuple]:
    with closing(sqlite3.connect(":memory:")) as base:
        base.executescript(_TABLES)
        return _schema(base)


def _of_database(file: Path) -> tuple[Path, ...]:
    """The file of a database and those that SQLite puts beside it."""
    return (file, file.with_name(f"{file.name}-wal"), file.with_name(f"{file.name}-shm"))


def _remove(path: Path) -> None:
    for each in _of_database(path):
        if each.is_dir() and not each.is_symlink():
            shutil.rmtree(each)
        else:
            each.unlink(missing_ok=True)


def _packed(value) -> bytes:
    return zlib.compress(
        json.dumps(value, ensure_ascii=False, separators=(",", ":")).encode("utf-8", "surrogatepass"), 1
    )


def _read(data: bytes, make):
    """What ``make`` makes of the row, or None where the row is spoilt."""
    try:
        return make(json.loads(zlib.decompress(data).decode("utf-8", "surrogatepass")))
    except (zlib.error, ValueError, TypeError, KeyError, AttributeError):  # a column may hold anything
        return None
