"""Cache of made pages, keyed by their inputs: one database file, which may be lost or damaged at any time.

The file is in a folder that nobody else can write (store.py). Rows hold compressed JSON with a checksum; nothing in
them is ever executed.
"""

from __future__ import annotations

import shutil
import sqlite3
import zlib
from collections.abc import Iterable
from contextlib import closing, suppress
from functools import lru_cache
from pathlib import Path
from typing import Any

import msgspec

from site_build.base.files import clear_place
from site_build.build.made_page import MadePage, PageFiles

FILE = "pages.sqlite"
#: Builds after which an unused row is deleted.
KEPT_BUILDS = 40
#: A larger build number is taken as damage, and the file is created anew.
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
    """Pages by the key of their job, and small notes by any key. Without a folder the cache is in memory.

    Rows that were read stay in memory while the cache is open, because a preview builds repeatedly. The cache reports
    no fault of its file: pages that cannot be read are computed anew, and pages that cannot be written are not kept.
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
        """The cached pages among ``keys``."""
        return self._kept("SELECT key, page FROM pages WHERE key IN ({})", keys, MadePage)

    def files(self, key: str) -> PageFiles | None:
        """The files of the page cached under ``key``."""
        row = self._one("SELECT files FROM pages WHERE key = ?", (key,))
        return _read(*row, PageFiles) if row else None

    def keep(self, key: str, page: MadePage, files: PageFiles) -> None:
        """Keep a page under the key of its job."""
        self._write("INSERT OR REPLACE INTO pages VALUES (?, ?, ?)", key, page, files)
        self._known[key] = page

    def notes(self, keys: Iterable[str]) -> dict:
        """The cached notes among ``keys``."""
        return self._kept("SELECT key, note FROM notes WHERE key IN ({})", keys, Any)

    def note(self, key: str, value) -> None:
        """Keep ``value`` under ``key``. It must survive JSON unchanged and not be None."""
        self._write("INSERT OR REPLACE INTO notes VALUES (?, ?)", key, value)
        self._known[key] = value

    def end_build(self) -> None:
        """Count a build, and delete rows that no recent build used."""
        with suppress(sqlite3.Error):
            self._base.execute("BEGIN")
            # Rows used recently keep their number: renewing thousands at each build is too slow.
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
        """Close the file."""
        with suppress(sqlite3.Error):
            self._base.close()

    def __del__(self) -> None:
        with suppress(AttributeError):  # opening it failed
            self.close()

    def _kept(self, query: str, keys: Iterable[str], kind) -> dict:
        wanted = list(keys)
        self._asked.update(wanted)
        for key, data in self._rows(query, [key for key in wanted if key not in self._known]):
            if (found := _read(data, kind)) is not None:
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

    def _write(self, query: str, key: str, *values) -> None:
        with suppress(sqlite3.Error, UnicodeEncodeError):  # a name that is not Unicode is not kept
            self._base.execute(query, (key, *map(_packed, values)))
        self._asked.add(key)


def _opened(folder: Path | None) -> sqlite3.Connection:
    """A working database: the existing one, else a new one in its place, else one in memory."""
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
        if _schema(base) != _own_schema():  # a foreign view or trigger might never end
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
    return zlib.compress(msgspec.json.encode(value, enc_hook=str), 1)  # str for texts that are Markup


def _read(data: bytes, kind):
    """The row as a value of the type ``kind``, or None where the row is damaged."""
    try:
        return msgspec.json.decode(zlib.decompress(data), type=kind)
    except (zlib.error, msgspec.MsgspecError, ValueError, TypeError, RecursionError):  # a column may hold anything
        return None
