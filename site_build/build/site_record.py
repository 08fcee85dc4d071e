"""The record of earlier builds at the place of a site: the folder that they made there, and unfinished work.

A folder is replaced only where this record shows that a build made it. The record is in the store (store.py). A
folder's name, or an index page or a list in it, proves nothing, because a clone can contain each of them.
"""

from __future__ import annotations

import json
import stat
from collections.abc import Iterable
from hashlib import file_digest
from pathlib import Path

from msgspec import Struct, field
from msgspec.structs import astuple

from site_build.base.files import keep_file, open_file, path_text, read_json
from site_build.build.assembly import site_files
from site_build.outputs.offline import BUILD_LIST


class Identity(Struct, frozen=True):
    """Identifies a folder and the list of its files that a build wrote into it: size, time in ns and SHA-256."""

    device: int
    inode: int
    size: int
    time: int
    hash: str


class SiteRecord(Struct, kw_only=True):
    """The record in ``file`` (None: nothing is kept).

    ``made`` are the folders that builds put at the site's place; ``work`` is name, device and inode of a running
    build's folder beside it, or the name alone before that folder was created.
    """

    file: Path | None
    site: Path
    made: tuple[Identity, ...] = ()
    work: tuple = ()
    _text: str = field(default="")

    def write(self, made: Iterable[Identity], work: tuple = ()) -> None:
        """Change the record. Raises OSError where it cannot be written."""
        self.made, self.work = tuple(made), work
        text = json.dumps({"site": path_text(self.site), "made": [astuple(each) for each in self.made], "work": work})
        if self.file is not None and text != self._text:
            keep_file(self.file, text)
        self._text = text

    def is_made(self) -> bool:
        """Whether a build made the folder at the site's place: the same folder, or an identical copy."""
        alike = [each for each in self.made if each.size == _list_size(self.site)]
        now = identity(self.site) if alike else None
        if now is None:
            return False
        return any(each == now for each in alike) or (
            any(each.hash == now.hash for each in alike) and _is_as_listed(self.site)
        )


def read_record(file: Path | None, site: Path) -> SiteRecord:
    """The record in ``file``; an empty one where it is missing or damaged."""
    try:
        kept = (read_json(file) if file else None) or {}
        made = tuple(Identity(*map(_typed, each, (int, int, int, int, str))) for each in kept.get("made", []))
        work = tuple(map(_typed, kept.get("work", []), (str, int, int)))
    except (TypeError, AttributeError):
        return SiteRecord(file=file, site=site)
    is_name = not work or (work[0].startswith(".") and Path(work[0]).name == work[0] and work[0] != "..")
    return SiteRecord(file=file, site=site, made=made, work=work if is_name else ())


def identity(site: Path) -> Identity | None:
    """The identity of a site; None for anything without a build's list."""
    try:
        folder, state = site.lstat(), (site / BUILD_LIST).lstat()
        if not stat.S_ISDIR(folder.st_mode):
            return None
        mark = _file_hash(site / BUILD_LIST)
    except OSError:
        return None
    return Identity(device=folder.st_dev, inode=folder.st_ino, size=state.st_size, time=state.st_mtime_ns, hash=mark)


def _file_hash(path: Path) -> str:
    """The SHA-256 of a file, read in blocks; OSError for a link or anything that is not a regular file."""
    with open_file(path) as opened:
        return file_digest(opened, "sha256").hexdigest()


def _list_size(site: Path) -> int | None:
    try:
        return (site / BUILD_LIST).lstat().st_size
    except OSError:
        return None


def _is_as_listed(site: Path) -> bool:
    """Whether the site contains exactly the files of its list, unchanged."""
    try:
        listed = read_json(site / BUILD_LIST)["files"]
        if {*site_files(site)} != {*listed, BUILD_LIST}:
            return False
        return all(_file_hash(site / path) == mark for path, mark in listed.items())
    except (OSError, TypeError, KeyError, AttributeError):
        return False


def _typed(value, kind: type):
    if type(value) is not kind:
        raise TypeError(value)
    return value
