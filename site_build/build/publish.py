"""The one moment in which a site changes: alone, in one step, and mended where an earlier build was stopped in it."""

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
    """The build could not be done; the text says why, a line per fault."""


@contextmanager
def alone(site: Path, file: Path | None) -> Iterator[SiteRecord]:
    """Keep every other build of ``site`` out for as long as this one lasts, and give the record of it in ``file``, with
    what a killed build left mended. A killed build lets go of the lock; without a ``file`` there is none.

    Raises BuildError where another build is at work.
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
            finally:  # nobody can hold a file that is gone: the lock looks again once it has it
                Path(lock.lock_file).unlink(missing_ok=True)
    except Timeout:
        raise BuildError(
            f"{one_line(site.name)}: read a site that another build is writing; allowed: one build at a time"
        ) from None


def replaceable(record: SiteRecord) -> tuple[int, int] | None:
    """Device and inode of the folder that stands at the site's place, None where there is none; the record then knows
    of no other.

    Raises BuildError for anything but an empty folder and one that a build made.
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
            f"{one_line(site.name)}: read a folder with files that no build here is known to have made; allowed: an empty folder "
            "or an earlier site. Remove it yourself if nothing in it is missed, or name another folder after --into"
        )
    record.made = tuple(filter(None, [identity(site)]))
    return state.st_dev, state.st_ino


@contextmanager
def beside(record: SiteRecord) -> Iterator[Path]:
    """Where the new site is put together: in a new folder of a random name beside the site, which nobody else can
    enter. It is noted before it is made, so that the next build finds it where this one is killed.
    """
    site = record.site
    site.parent.mkdir(parents=True, exist_ok=True)
    place = site.with_name(f".{site.name[:40]}-{secrets.token_hex(12)}")
    record.write(record.made, (place.name,))
    try:
        place.mkdir(mode=0o700)  # fails where anything stands, a link too
        record.write(record.made, (place.name, *_which(place)))
        yield place / _NEW
    finally:
        _clear(record)


def swap(made: Path, record: SiteRecord, standing: tuple[int, int] | None) -> None:
    """Put the finished ``made`` in the place of the site: where the system can, in one step that nothing can split.

    ``standing`` is what stood there when it was last looked at; anything else is left alone.
    """
    site = record.site
    if not (made / "index.html").is_file():
        raise BuildError(f"{made}: no index page was written")
    new = identity(made)
    record.write([*record.made, *filter(None, [new])], record.work)  # whichever stands there when the build is killed
    if standing is None or not any(site.iterdir()):
        _put(made, site)
    elif _exchange(made, site):
        if _which(made) != standing:
            _exchange(made, site)
            raise _changed(site)
    else:
        _replace(made, site, standing)
    with suppress(OSError):  # the site stands: what is noted already will do
        record.write(filter(None, [new]), record.work)


def remove(folder: Path) -> None:
    """Remove a folder of ours, were it closed to writing; what cannot be removed now is left to the next build."""
    with suppress(RecursionError):  # folders nested deeper than the library can follow
        shutil.rmtree(folder, ignore_errors=True)
        for each, folders, _ in os.walk(folder):
            for inner in [each, *(os.path.join(each, name) for name in folders)]:
                if not os.path.islink(inner):
                    with suppress(OSError):
                        os.chmod(inner, 0o755)
        shutil.rmtree(folder, ignore_errors=True)


def _recover(record: SiteRecord) -> None:
    """Bring the last good site back where a build was stopped between two steps of a swap; clear what it left."""
    if not record.work:
        return
    place = record.site.with_name(record.work[0])
    if _is_own(place, record.work) and not os.path.lexists(record.site) and (place / _OLD).is_dir():
        (place / _OLD).rename(record.site)
    _clear(record)


def _clear(record: SiteRecord) -> None:
    """Remove the folder in which a build was at work: one that was not noted as made yet only where it is empty."""
    place = record.site.with_name(record.work[0])
    if _is_own(place, record.work):
        remove(place)
    with suppress(OSError):
        if record.work == (place.name,):
            place.rmdir()
    with suppress(OSError):
        if not _is_own(place, record.work):  # gone, or nothing of ours
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
    """Put the folder where none stands, or an empty one."""
    with suppress(OSError):
        site.rmdir()  # Windows renames nothing onto a folder; with files or as a link it stays
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
        f"{one_line(site.name)}: read another folder than at the start; allowed: a folder left alone meanwhile"
    )


def _exchange(one: Path, other: Path) -> bool:
    """Exchange two folders in one step; False where the system cannot."""
    rename = getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None) if os.name == "posix" else None
    if rename is None:
        return False
    return rename(_AT_WORKING_FOLDER, os.fsencode(one), _AT_WORKING_FOLDER, os.fsencode(other), _EXCHANGE) == 0
