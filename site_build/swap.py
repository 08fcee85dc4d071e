"""The one moment in which a site changes: alone, in one step, and mended where an earlier build was stopped in it."""

from __future__ import annotations

import ctypes
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from filelock import FileLock, Timeout

from handbook.errors import HandbookError

_AT_WORKING_FOLDER = -100  # AT_FDCWD
_EXCHANGE = 2  # RENAME_EXCHANGE, Linux 3.15 and later


class BuildError(HandbookError):
    """The build could not be done; the text says why, a line per fault."""


@contextmanager
def alone(site: Path) -> Iterator[None]:
    """Keep every other build of ``site`` out for as long as this one lasts; a killed build lets go of it.

    Raises BuildError where another is at work.
    """
    site.parent.mkdir(parents=True, exist_ok=True)
    lock = FileLock(site.parent / f".{site.name}-lock")
    try:
        with lock.acquire(blocking=False):
            try:
                yield
            finally:  # nobody can hold a file that is gone: the lock looks again once it has it
                Path(lock.lock_file).unlink(missing_ok=True)
    except Timeout:
        raise BuildError(
            f"{site.name}: read a site that another build is writing; allowed: one build at a time"
        ) from None


def recover(site: Path) -> None:
    """Bring the last good site back where a build was stopped between two steps of a swap; clear what it left."""
    old = _old(site)
    if old.is_dir() and not site.exists():
        old.rename(site)
    for left in (old, beside_of(site)):
        remove(left)


def beside_of(site: Path) -> Path:
    """Where the new site is put together."""
    return site.parent / f".{site.name}-building"


def remove(folder: Path) -> None:
    """Remove a folder of ours, were it closed to writing; what cannot be removed now is left to the next build."""
    shutil.rmtree(folder, ignore_errors=True)
    for each in [folder, *folder.rglob("*")] if folder.is_dir() else []:
        if each.is_dir() and not each.is_symlink():
            with suppress(OSError):
                each.chmod(0o755)
    shutil.rmtree(folder, ignore_errors=True)


def swap(beside: Path, site: Path) -> None:
    """Put the finished ``beside`` in the place of ``site``: where the system can, in one step that nothing can split."""
    if not (beside / "index.html").is_file():
        raise BuildError(f"{beside}: no index page was written")
    if not site.exists():
        beside.rename(site)
        return
    if _exchange(beside, site):
        remove(beside)
        return
    old = _old(site)
    remove(old)
    site.rename(old)
    try:
        beside.rename(site)
    except OSError:
        old.rename(site)
        raise
    remove(old)


def _exchange(one: Path, other: Path) -> bool:
    """Exchange two folders in one step; False where the system cannot."""
    rename = getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None) if os.name == "posix" else None
    if rename is None:
        return False
    return rename(_AT_WORKING_FOLDER, os.fsencode(one), _AT_WORKING_FOLDER, os.fsencode(other), _EXCHANGE) == 0


def _old(site: Path) -> Path:
    return site.parent / f".{site.name}-old"
