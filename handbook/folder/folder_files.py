"""The files of a methods folder on disk. All reading of the folder goes through this module.

No link is followed: every folder and file is opened from the handle of its parent, so that an entry replaced meanwhile
cannot lead elsewhere. Names, depth, number and sizes are checked before the first file is opened.
"""

from __future__ import annotations

import os
import stat
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from msgspec import Struct, field

from handbook.base.errors import PageError
from handbook.folder.file_names import DATA, LINK, MAX_DEPTH, MAX_FILES, NESTED, NO_FILE, is_hidden
from handbook.folder.house_tables import MAX_BYTES as MAX_TABLE_BYTES
from handbook.folder.read_text import MAX_PAGE_BYTES

#: Identifies the state of a file, to detect changes after it was read.
FileState = tuple[int, ...]
#: An open folder or file: its handle, or its path on systems that open by paths only.
_Place = int | Path
#: Endings of files that are read as text; all other files are published unchanged.
READ_WHOLE = (".md", *DATA)
MAX_FILE_BYTES = 20_000_000
#: Limits of all files together, and of those in memory while a site is made.
MAX_ALL_BYTES, MAX_TEXT_BYTES = 4_000_000_000, 250_000_000
# Systems that open a file from the handle of its folder. On others, each part of the path is checked before and after.
_BY_HANDLE = {os.open, os.stat} <= os.supports_dir_fd and os.scandir in os.supports_fd
_FLAGS = os.O_RDONLY | getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_BINARY", 0) | getattr(os, "O_NOFOLLOW", 0)
_FOLDER, _FILE = getattr(os, "O_DIRECTORY", 0), getattr(os, "O_NONBLOCK", 0)  # do not wait for a pipe
_REPARSE = 0x400  # FILE_ATTRIBUTE_REPARSE_POINT: links and junctions of Windows


class Listing(Struct, kw_only=True):
    """The content of a folder: size of each file that may be read, by path, and the faults of everything else.

    ``refused`` are existing paths that may not be read. Where ``is_whole`` is false, nothing may be read.
    """

    folder: Path
    sizes: dict[str, int] = field(default_factory=dict)
    faults: list[PageError] = field(default_factory=list)
    refused: set[str] = field(default_factory=set)
    is_whole: bool = True

    def refuse(self, path: str, read: str, allowed: str) -> None:
        """Exclude ``path`` with a fault."""
        self.sizes.pop(path, None)
        self.refused.add(path)
        self.faults.append(PageError(f"{self.folder.name}/{path}", 1, "file", read, allowed))

    def stop(self, read: str, allowed: str) -> None:
        """Exclude the whole folder."""
        self.is_whole = False
        self.sizes.clear()
        self.faults = [PageError(self.folder.name, 1, "folder", read, allowed)]


def list_folder(folder: Path) -> Listing:
    """Everything in ``folder`` that is not hidden. No file is opened."""
    found = Listing(folder=folder)
    try:
        if _is_link(os.lstat(folder)):
            found.stop(*LINK)
            return found
        with _opened(folder, "", _FOLDER) as handle:
            _walk(found, handle, "", [0])
    except OSError as error:
        found.stop(f"no folder ({error.strerror})", "a readable folder")
    except _TooMany:
        found.stop(f"more than {MAX_FILES} files and folders", f"at most {MAX_FILES}")
    _judge_sizes(found)
    return found


def read_files(
    found: Listing, wanted: Callable[[str], bool] = lambda path: True
) -> Iterator[tuple[str, bytes, FileState]]:
    """Path, bytes and state of each listed file, in order. An unreadable file becomes a fault of ``found``."""
    for path in sorted(filter(wanted, found.sizes)):
        try:
            data, state = _read(found.folder, path, found.sizes[path])
        except OSError as error:
            found.refuse(path, f"no text ({error.strerror})", "a readable file")
        else:
            yield path, data, state


def read_file(folder: Path, path: str) -> bytes:
    """One file of ``folder``. Raises PageError for a file that may not be read."""
    try:
        return _read(folder, path, MAX_FILE_BYTES)[0]
    except OSError as error:
        raise PageError(f"{folder.name}/{path}", 1, "file", f"no text ({error.strerror})", "a readable file") from None


def state_of(folder: Path, path: str) -> FileState | None:
    """The state of a file, or None where there is no file."""
    try:
        found = os.lstat(folder / path)
    except OSError:
        return None
    return _state(found) if stat.S_ISREG(found.st_mode) else None


def most_bytes(path: str) -> int:
    """The size limit of the file at ``path``."""
    if path.endswith(".csv"):
        return MAX_TABLE_BYTES
    return MAX_PAGE_BYTES if path.endswith(READ_WHOLE) else MAX_FILE_BYTES


class _TooMany(Exception):
    pass


def _walk(found: Listing, handle: _Place, before: str, count: list[int]) -> None:
    with os.scandir(handle) as entries:
        for entry in entries:
            if is_hidden(entry.name):
                continue
            count[0] += 1
            if count[0] > MAX_FILES:
                raise _TooMany
            path = f"{before}{entry.name}"
            try:
                state = entry.stat(follow_symlinks=False)
                fault = _entry_fault(state)
                if fault:
                    found.refuse(path, *fault)
                elif stat.S_ISDIR(state.st_mode):
                    _walk_folder(found, handle, path, count)
                else:
                    found.sizes[path] = state.st_size
            except OSError as error:
                found.refuse(path, f"no file ({error.strerror})", "a readable file or folder")


def _walk_folder(found: Listing, handle: _Place, path: str, count: list[int]) -> None:
    if path.count("/") >= MAX_DEPTH:
        found.refuse(path, f"{MAX_DEPTH + 1} folders within each other", f"at most {MAX_DEPTH}")
        return
    with _opened(handle, path.rpartition("/")[2], _FOLDER) as inside:
        if _holds_repository(inside):
            found.refuse(path, *NESTED)
        else:
            _walk(found, inside, f"{path}/", count)


def _judge_sizes(found: Listing) -> None:
    for path, size in list(found.sizes.items()):
        most = most_bytes(path)
        if size > most:
            found.refuse(path, f"{size} bytes", f"at most {most} bytes")
    for sizes, most, words in (
        (found.sizes.values(), MAX_ALL_BYTES, "files"),
        ([size for path, size in found.sizes.items() if path.endswith(READ_WHOLE)], MAX_TEXT_BYTES, "pages and data"),
    ):
        if sum(sizes) > most:
            found.stop(f"{sum(sizes)} bytes of {words}", f"at most {most} bytes")


def _entry_fault(state: os.stat_result) -> tuple[str, str] | None:
    if _is_link(state):
        return LINK
    return None if stat.S_ISREG(state.st_mode) or stat.S_ISDIR(state.st_mode) else NO_FILE


def _is_link(state: os.stat_result) -> bool:
    return stat.S_ISLNK(state.st_mode) or bool(getattr(state, "st_file_attributes", 0) & _REPARSE)


def _holds_repository(handle: _Place) -> bool:
    try:
        if isinstance(handle, int):
            os.stat(".git", dir_fd=handle, follow_symlinks=False)
        else:
            os.lstat(handle / ".git")
    except OSError:
        return False
    return True


def _read(folder: Path, path: str, most: int) -> tuple[bytes, FileState]:
    """Bytes and state of a file, at most ``most`` bytes: it may have grown since it was listed."""
    *folders, name = path.split("/")
    with _chain(folder, folders) as place, _opened(place, name, _FILE) as handle:
        descriptor = os.open(handle, _FLAGS) if isinstance(handle, Path) else os.dup(handle)
        with os.fdopen(descriptor, "rb") as file:
            state = os.fstat(descriptor)
            if not stat.S_ISREG(state.st_mode):
                raise OSError(0, NO_FILE[0])
            data = file.read(most + 1)
    if len(data) > most:
        raise OSError(0, "it grows while it is read")
    return data, _state(state)


@contextmanager
def _chain(folder: Path, names: list[str]) -> Iterator[_Place]:
    """The handle of a folder below ``folder``, reached without a link."""
    if not names:
        with _opened(folder, "", _FOLDER) as handle:
            yield handle
        return
    with _chain(folder, names[:-1]) as above, _opened(above, names[-1], _FOLDER) as handle:
        yield handle


@contextmanager
def _opened(place: _Place, name: str, kind: int) -> Iterator[_Place]:
    """Open ``name`` in ``place``: a handle or, on systems that open by paths only, a path that is not a link."""
    if isinstance(place, Path) and not _BY_HANDLE:
        path = place / name
        if _is_link(os.lstat(path)):
            raise OSError(0, LINK[0])
        yield path
        return
    if isinstance(place, int):
        handle = os.open(name, _FLAGS | kind, dir_fd=place)
    else:
        handle = os.open(place / name, _FLAGS | kind)
    try:
        yield handle
    finally:
        with suppress(OSError):
            os.close(handle)


def _state(found: os.stat_result) -> FileState:
    return found.st_size, found.st_mtime_ns, found.st_ino
