"""Reading and writing of files whose names a user or a clone supplies.

A file is written completely or not at all, and never through a link. Reading refuses links and pipes.
"""

from __future__ import annotations

import errno
import json
import os
import secrets
import shutil
import stat
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO

from site_build.base.places import PlaceError, real_place

_READ = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
_NEW = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)


def write_file(file: Path, data: str | bytes, tree: Path | None = None, *, is_new: bool = False) -> None:
    """Write ``data`` (text as UTF-8) to ``file``. ``tree`` is the handbook's own.

    An existing file is replaced in one step, or refused with ``is_new``; missing folders are created. Raises OSError,
    and PlaceError for a link in ``tree`` or in a git work tree and for anything that is not a regular file.
    """
    place = real_place(file, tree)
    data = data.encode("utf-8", "backslashreplace") if isinstance(data, str) else data
    mode = _mode(place)
    if is_new and mode is not None:
        raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(file))
    if mode is not None and not stat.S_ISREG(mode):
        _write_through(place, file, data, mode, tree)
        return
    if is_new:
        place.parent.mkdir(parents=True, exist_ok=True)
    beside = place.with_name(f".{place.name[:40]}-{secrets.token_hex(8)}")
    try:
        with os.fdopen(os.open(beside, _NEW, 0o666 if mode is None else stat.S_IMODE(mode)), "wb") as opened:
            opened.write(data)
        if is_new:
            _put_new(beside, place)
        else:
            os.replace(beside, place)
    except OSError as error:
        error.filename = str(file)
        raise
    finally:
        with suppress(OSError):
            beside.unlink()


def keep_file(file: Path, data: str) -> None:
    """Write ``data`` into one of the program's own files. Anything else at its place, such as a link or a pipe, is removed first."""
    clear_place(file)
    write_file(file, data)


def clear_place(path: Path) -> None:
    """Remove the entry at ``path``, unless it is a plain file."""
    mode = _mode(path)
    if mode is None or stat.S_ISREG(mode):
        return
    if stat.S_ISDIR(mode):
        shutil.rmtree(path)
    else:
        path.unlink()


@contextmanager
def open_file(path: Path) -> Iterator[BinaryIO]:
    """Open a file for reading without blocking. Raises OSError for a link and for anything that is not a regular file."""
    with open(os.open(path, _READ), "rb") as opened:
        if not stat.S_ISREG(os.fstat(opened.fileno()).st_mode):
            raise OSError(errno.EINVAL, "no file", str(path))
        yield opened


def read_json(path: Path):
    """The content of one of the program's own JSON files; None where it is missing or damaged."""
    try:
        with open_file(path) as opened:
            return json.load(opened)
    except (OSError, ValueError, RecursionError):
        return None


def path_text(path: Path) -> str:
    """A path as JSON text: one character for each byte, whatever the locale's encoding."""
    return os.fsencode(path).decode("latin-1")


def _put_new(beside: Path, place: Path) -> None:
    """Rename the finished file unless the name has been taken meanwhile."""
    try:
        os.link(beside, place)
    except FileExistsError:
        raise
    except OSError:  # a file system without hard links
        with os.fdopen(os.open(place, _NEW, 0o666), "wb") as opened:
            opened.write(beside.read_bytes())


def _write_through(place: Path, file: Path, data: bytes, mode: int, tree: Path | None) -> None:
    """Write to a pipe or a device that the user named, such as /dev/stdout, but not to one in the tree."""
    if stat.S_ISDIR(mode) or (tree and place.is_relative_to(tree)):
        raise PlaceError(f"{file}: read no file; allowed: a file")
    with place.open("wb") as opened:
        opened.write(data)


def _mode(place: Path) -> int | None:
    try:
        return place.lstat().st_mode
    except FileNotFoundError:
        return None
