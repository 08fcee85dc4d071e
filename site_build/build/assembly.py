"""Assembles a site beside the published one: unchanged files are linked, the rest is written."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterable
from hashlib import sha256
from pathlib import Path
from stat import S_ISREG

from site_build.build.cache import Cache


class Assembly:
    """The files of a site in the making, with their hashes.

    Files come in groups, each made from one key. The cache notes the files of a key with hash, size and time, so that
    unchanged files of the published site are linked instead of being made again. A file with another size or time is
    hashed, and a file with another hash is not linked.
    """

    def __init__(self, site: Path, standing: Path | None, cache: Cache):
        self.site, self._standing, self._cache = site, standing, cache
        self.hashes: dict[str, str] = {}
        self._folders: set[str] = set()
        self._through_links: dict[str, bool] = {}
        self._notes: dict = {}
        self._new_notes: dict[str, dict | str] = {}

    def look_up(self, keys: Iterable[str]) -> None:
        """Load the notes of many groups at once."""
        self._notes |= self._cache.notes(keys)

    def noted(self, key: str) -> str | None:
        """The key that was noted under ``key`` by ``note_other``."""
        other = self._notes.get(key)
        return other if isinstance(other, str) else None

    def group(self, key: str) -> list[str]:
        """The paths of the group of ``key``."""
        return list(self._notes[key])

    def take_over(self, key: str, changed: str = "", change: Callable[[str], str] | None = None) -> bool:
        """Take the group of ``key`` from the published site, with the file ``changed`` converted by ``change``; False
        where the group must be made.
        """
        group = self._notes.get(key)
        if not isinstance(group, dict) or self._standing is None:
            return False
        if not all(self._is_right(path, *said) for path, said in group.items()):
            return False
        for path, (mark, *_) in group.items():
            if change is not None and path == changed:
                text = Path(f"{self._standing}/{path}").read_text("utf-8")
                self.write(path, change(text).encode())
            else:
                _link(f"{self._standing}/{path}", self._room(path))
                self.hashes[path] = mark
        return True

    def write(self, path: str, data: bytes) -> None:
        """Write one file."""
        Path(self._room(path)).write_bytes(data)
        self.hashes[path] = sha256(data).hexdigest()

    def note(self, key: str, paths: Iterable[str]) -> None:
        """Note that ``key`` makes these files, which are now in the site; ``keep_notes`` saves the note."""
        group = {}
        for path in paths:
            state = (self.site / path).stat()
            group[path] = [self.hash_of(path), state.st_size, state.st_mtime_ns]
        self._new_notes[key] = group

    def note_other(self, key: str, other: str) -> None:
        """Remember the key ``other`` under ``key`` in the same way."""
        self._new_notes[key] = other

    def keep_notes(self) -> None:
        """Save the notes, once the inputs are known not to have changed during the build."""
        for key, noted in self._new_notes.items():
            self._cache.note(key, noted)

    def hash_of(self, path: str) -> str:
        """The SHA-256 of a file of the site."""
        if path not in self.hashes:
            self.hashes[path] = file_hash(self.site / path)
        return self.hashes[path]

    def all_hashes(self) -> dict[str, str]:
        """Path and SHA-256 of every file of the site, in order of paths."""
        return {path: self.hash_of(path) for path in sorted(site_files(self.site))}

    def _leads_elsewhere(self, folder: str) -> bool:
        """Whether a folder of the published site is a link."""
        if folder not in self._through_links:
            above = folder and self._leads_elsewhere(os.path.dirname(folder))
            self._through_links[folder] = bool(above) or os.path.islink(f"{self._standing}/{folder}".rstrip("/"))
        return self._through_links[folder]

    def _room(self, path: str) -> str:
        """The path of a file of the site, with its folder created."""
        target = f"{self.site}/{path}"
        if (folder := os.path.dirname(target)) not in self._folders:
            os.makedirs(folder, exist_ok=True)
            self._folders.add(folder)
        return target

    def _is_right(self, path: str, mark: str, size: int, time: int) -> bool:
        if path.startswith("/") or ".." in path.split("/"):
            return False
        try:
            state = os.lstat(f"{self._standing}/{path}")
            if not S_ISREG(state.st_mode) or self._leads_elsewhere(os.path.dirname(path)):
                return False
            if state.st_size == size and state.st_mtime_ns == time:
                return True
            return state.st_size == size and file_hash(self._standing / path) == mark
        except OSError:
            return False


def site_files(site: Path) -> Iterable[str]:
    """Path of every file of a site, including links. Folders may be nested to any depth."""
    left = [""]
    while left:
        before = left.pop()
        with os.scandir(site / before) as entries:
            for entry in entries:
                if entry.is_dir(follow_symlinks=False):
                    left.append(f"{before}{entry.name}/")
                else:
                    yield f"{before}{entry.name}"


def file_hash(path: Path) -> str:
    """The SHA-256 of a file, in hexadecimal."""
    return sha256(path.read_bytes()).hexdigest()


def _link(old: str, new: str) -> None:
    """A hard link to the same file. Files of a site are replaced, never written into."""
    try:
        os.link(old, new, follow_symlinks=False)
    except OSError:  # a file system without hard links
        shutil.copy2(old, new)
