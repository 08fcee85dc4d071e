"""The folder in which builds cache data for the next build. It belongs to the user and is out of reach of handbook
authors.

handbooks/<key>/   cache, history and preview of one handbook, by the resolved path of its folder
sites/<key>.json   the record of one site (site_record.py), by its resolved path; beside it a lock during a build

All of it may be deleted at any time. The next build does not replace a site whose record is missing.
"""

from __future__ import annotations

import json
import os
import shutil
import stat
import tempfile
from contextlib import suppress
from hashlib import sha256
from pathlib import Path

from msgspec import Struct
from platformdirs import user_cache_path

from site_build.base.files import keep_file, path_text, read_json
from site_build.base.places import PlaceError, own_tree, real_place

NAME = "cook-method-handbook"
_HANDBOOKS, _SITES, _OF = "handbooks", "sites", "handbook.json"


class Store(Struct, frozen=True, kw_only=True):
    """The folder ``root``; None where nothing can be kept, for the reason ``why``."""

    root: Path | None
    why: str = ""

    def of_handbook(self, folder: Path) -> Path | None:
        """The folder for data on the handbook in ``folder``, created if it is missing."""
        if self.root is None:
            return None
        place = self.root / _HANDBOOKS / _key(folder.resolve())
        try:
            place.mkdir(mode=0o700, exist_ok=True)
            if read_json(place / _OF) != path_text(folder.resolve()):
                keep_file(place / _OF, json.dumps(path_text(folder.resolve())))
        except (OSError, PlaceError):
            return None
        return place

    def of_site(self, site: Path) -> Path | None:
        """The path of the record of ``site``, a resolved path."""
        return None if self.root is None else self.root / _SITES / f"{_key(site)}.json"

    def forget_gone(self) -> None:
        """Remove the data of handbooks and sites that no longer exist."""
        for record in _each(self.root, _SITES, "*.json"):
            kept = read_json(record)
            site = kept.get("site") if isinstance(kept, dict) else None
            if _is_gone(site, record.stem) and not kept.get("work"):
                record.unlink(missing_ok=True)
        for place in _each(self.root, _HANDBOOKS, "*"):
            if _is_gone(read_json(place / _OF), place.name) and not place.is_symlink():
                shutil.rmtree(place, ignore_errors=True)


def open_store(folder: Path, named: Path | None = None) -> Store:
    """The store for builds of ``folder``: the folder ``named`` by the user, otherwise the user's cache folder.

    Raises PlaceError where the named folder lies in the handbook's own tree, is writable by others, or is not writable
    at all. Where the user's cache folder has such a fault, nothing is kept.
    """
    tree = own_tree(folder)
    try:
        root = _checked(named or user_cache_path(NAME, appauthor=False), tree)
    except PlaceError as error:
        if named is not None:
            raise PlaceError(f"--cache: {error}") from None
        return Store(root=None, why=str(error))
    return Store(root=root)


def _checked(place: Path, tree: Path) -> Path:
    root = real_place(place, tree)
    if root.is_relative_to(tree):
        raise PlaceError(f"{place}: read a folder in the handbook's own tree ({tree}); allowed: a folder outside it")
    try:
        root.mkdir(mode=0o700, parents=True, exist_ok=True)
        if whose := _stranger(root):
            raise PlaceError(f"{place}: read a folder that {whose}; allowed: a folder that you alone can write")
        for each in (_HANDBOOKS, _SITES):
            (root / each).mkdir(mode=0o700, exist_ok=True)
            if (root / each).is_symlink():
                raise PlaceError(f"{place}: read a link ({each}); allowed: a folder that builds made")
            with tempfile.TemporaryFile(dir=root / each):
                pass
    except OSError as error:
        raise PlaceError(f"{place}: cannot be written ({error.strerror}); allowed: a folder of your own") from None
    return root


def _stranger(root: Path) -> str:
    """Who else can write into ``root``, in words; empty where only this user and the system can."""
    if not hasattr(os, "geteuid"):  # on Windows, the user's folders belong to the user
        return ""
    mine, state = os.geteuid(), root.stat()
    if state.st_uid != mine:
        return "belongs to another user"
    if state.st_mode & (stat.S_IWGRP | stat.S_IWOTH):
        return "others can write"
    for each in root.parents:
        state = each.stat()
        if state.st_uid not in (mine, 0):
            return f"lies in one of another user ({each})"
        if state.st_mode & stat.S_IWOTH and not state.st_mode & stat.S_ISVTX:
            return f"lies in one that everybody can write ({each})"
    return ""


def _key(path: Path | bytes) -> str:
    return sha256(os.fsencode(path)).hexdigest()[:32]


def _is_gone(path: object, key: str) -> bool:
    """Whether the data under ``key`` belongs to this path, which no longer exists."""
    if not isinstance(path, str) or any(sign > "\xff" for sign in path):
        return False
    place = path.encode("latin-1")
    return _key(place) == key and not os.path.lexists(place)


def _each(root: Path | None, folder: str, pattern: str) -> list[Path]:
    with suppress(OSError):
        return sorted((root / folder).glob(pattern)) if root else []
    return []
