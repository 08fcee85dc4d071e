"""Atomically replaces the published site, and recovers from interrupted replacements."""

from __future__ import annotations

import ctypes
import os
import secrets
import shutil
import stat
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from filelock import FileLock, Timeout

from handbook.base.errors import HandbookError
from site_build.base.places import one_line
from site_build.build.site_record import SiteRecord, identity, read_record

_AT_WORKING_FOLDER = -100  # AT_FDCWD
_EXCHANGE = 2  # RENAME_EXCHANGE, Linux 3.15 and later
_NEW, _OLD = "site", "old"


class BuildError(HandbookError):
    """The build failed; the text gives the reasons, one line per fault."""


@contextmanager
def alone(site: Path, file: Path | None) -> Iterator[SiteRecord]:
    """Lock ``site`` against other builds and give its record in ``file``, after recovery from a killed build.

    A killed build releases the lock; without a ``file`` there is no lock. Raises BuildError where another build is
    running.
    """
    if file is None:
        yield SiteRecord(file=None, site=site)
        return
    lock = FileLock(file.with_suffix(".lock"))
    try:
        with lock.acquire(blocking=False):
            try:
                record = read_record(file, site)
                _recover(record)
                yield record
            finally:  # a lock on a deleted file is useless: the lock checks again once it has it
                Path(lock.lock_file).unlink(missing_ok=True)
    except Timeout:
        raise BuildError(
            f"{one_line(site.name)}: read a site that another build is writing; allowed: one build at a time"
        ) from None


def replaceable(record: SiteRecord) -> tuple[int, int] | None:
    """Device and inode of the folder at the site's place, None where there is none; the record then forgets others.

    Raises BuildError for anything but an empty folder or one that a build made.
    """
    site = record.site
    try:
        state = site.lstat()
    except FileNotFoundError:
        record.made = ()
        return None
    if not stat.S_ISDIR(state.st_mode):
        what = "a link" if stat.S_ISLNK(state.st_mode) else "a file"
        raise BuildError(f"{one_line(site.name)}: read {what}; allowed: a new folder or an earlier site")
    if any(site.iterdir()) and not record.is_made():
        raise BuildError(
            f"{one_line(site.name)}: read a folder with files that no known build made; allowed: an empty folder "
            "or an earlier site. Remove it yourself if you need nothing in it, or name another folder after --into"
        )
    record.made = tuple(filter(None, [identity(site)]))
    return state.st_dev, state.st_ino


@contextmanager
def beside(record: SiteRecord) -> Iterator[Path]:
    """A new folder of a random name beside the site, private to this build, in which the site is assembled.

    It is noted before it is created, so that the next build finds it if this one is killed.
    """
    site = record.site
    site.parent.mkdir(parents=True, exist_ok=True)
    place = site.with_name(f".{site.name[:40]}-{secrets.token_hex(12)}")
    record.write(record.made, (place.name,))
    try:
        place.mkdir(mode=0o700)  # fails where anything exists, also a link
        record.write(record.made, (place.name, *_which(place)))
        yield place / _NEW
    finally:
        _clear(record)


def swap(made: Path, record: SiteRecord, standing: tuple[int, int] | None) -> None:
    """Put the finished ``made`` in the place of the site, atomically where the system can.

    ``standing`` is the folder that was found there before. Any other folder is not replaced.
    """
    site = record.site
    if not (made / "index.html").is_file():
        raise BuildError(f"{made}: no index page was written")
    new = identity(made)
    record.write([*record.made, *filter(None, [new])], record.work)  # either may be there when the build is killed
    if standing is None or not any(site.iterdir()):
        _put(made, site)
    elif _exchange(made, site):
        if _which(made) != standing:
            _exchange(made, site)
            raise _changed(site)
    else:
        _replace(made, site, standing)
    with suppress(OSError):  # the site is published; the earlier note suffices
        record.write(filter(None, [new]), record.work)


def remove(folder: Path) -> None:
    """Remove one of the program's own folders, even a write-protected one. The next build removes the rest."""
    with suppress(RecursionError):  # folders nested too deep for the library
        shutil.rmtree(folder, ignore_errors=True)
        for each, folders, _ in os.walk(folder):
            for inner in [each, *(os.path.join(each, name) for name in folders)]:
                if not os.path.islink(inner):
                    with suppress(OSError):
                        os.chmod(inner, 0o755)
        shutil.rmtree(folder, ignore_errors=True)


def _recover(record: SiteRecord) -> None:
    """Restore the last good site where a build was stopped between two steps of a swap, and remove leftovers."""
    if not record.work:
        return
    place = record.site.with_name(record.work[0])
    if _is_own(place, record.work) and not os.path.lexists(record.site) and (place / _OLD).is_dir():
        (place / _OLD).rename(record.site)
    _clear(record)


def _clear(record: SiteRecord) -> None:
    """Remove the work folder of a build; one that was not yet noted as created only where it is empty."""
    place = record.site.with_name(record.work[0])
    if _is_own(place, record.work):
        remove(place)
    with suppress(OSError):
        if record.work == (place.name,):
            place.rmdir()
    with suppress(OSError):
        if not _is_own(place, record.work):  # missing, or not the program's own
            record.write(record.made)


def _is_own(place: Path, work: tuple) -> bool:
    return len(work) == 3 and place.name == work[0] and _which(place) == work[1:]


def _which(folder: Path) -> tuple[int, int] | None:
    """Device and inode of a real folder."""
    try:
        state = folder.lstat()
    except OSError:
        return None
    return (state.st_dev, state.st_ino) if stat.S_ISDIR(state.st_mode) else None


def _put(made: Path, site: Path) -> None:
    """Put the folder in a free place or in that of an empty folder."""
    with suppress(OSError):
        site.rmdir()  # Windows does not rename onto a folder; a folder with files or a link remains
    made.rename(site)


def _replace(made: Path, site: Path, standing: tuple[int, int]) -> None:
    old = made.with_name(_OLD)
    site.rename(old)
    if _which(old) != standing:
        old.rename(site)
        raise _changed(site)
    try:
        made.rename(site)
    except OSError:
        old.rename(site)
        raise


def _changed(site: Path) -> BuildError:
    return BuildError(
        f"{one_line(site.name)}: read a folder that changed during the build; allowed: an unchanged folder"
    )


def _exchange(one: Path, other: Path) -> bool:
    """Exchange two folders atomically; False where the system cannot."""
    rename = getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None) if os.name == "posix" else None
    if rename is None:
        return False
    return rename(_AT_WORKING_FOLDER, os.fsencode(one), _AT_WORKING_FOLDER, os.fsencode(other), _EXCHANGE) == 0
