"""Decides which places are untrusted: the handbook's own tree, and the links in it.

A clone can contain files, folders and links of any name. A place inside the tree is therefore never trusted because of
its name, and no file is written through a link inside it.
"""

from __future__ import annotations

import os
from pathlib import Path

from handbook.base.errors import HandbookError, printable

_GIT = ".git"
_OPEN_FILES = "/proc"
#: Longer chains of links are treated as circles (Linux follows 40).
_MOST_LINKS = 40


class PlaceError(HandbookError):
    """A place that must not be used. The text gives the reason on one line, whatever characters the name contains."""

    def __str__(self) -> str:
        return one_line(super().__str__())


def own_tree(folder: Path) -> Path:
    """The tree that contains the methods in ``folder``.

    It is the git work tree of the methods (the outer one of a submodule), otherwise the parent folder, as an archive is
    unpacked; the methods folder alone where the parent contains the user's home folder.
    """
    folder = folder.resolve()
    found = None
    for each in (folder, *folder.parents):
        if os.path.lexists(each / _GIT):
            found = each
            if (each / _GIT).is_dir():  # in a submodule or a linked work tree, .git is a file
                break
    if found is not None:
        return found
    return folder if _home().is_relative_to(folder.parent) else folder.parent


def real_place(path: Path, tree: Path | None = None) -> Path:
    """The place to which ``path`` leads. It need not exist.

    Raises PlaceError for a link in ``tree`` or in any git work tree, because it may have come with a clone. Other links
    belong to the user and are followed.
    """
    whole = Path.cwd() / path
    here, left, links = Path(whole.anchor), list(reversed(whole.parts[1:])), 0
    while left:
        part = left.pop()
        if part == "..":
            here = here.parent
            continue
        aim = _aim(here / part)
        if aim is None:
            here = here / part
            continue
        links += 1
        if links > _MOST_LINKS:
            raise PlaceError(f"{path}: read links that lead to each other; allowed: the place itself")
        if (tree and here.is_relative_to(tree)) or _in_git(here):
            raise PlaceError(f"{path}: read a link ({here / part}); allowed: a place that no link of the tree leads to")
        if aim.is_absolute():
            here = Path(aim.anchor)
        left += reversed(aim.parts[1:] if aim.is_absolute() else aim.parts)
    return here


def source_place(path: Path) -> Path:
    """The real place of a methods folder, or of a file in it.

    Raises PlaceError for a link that a clone may have brought along: the folder or file itself, any on a relative path
    (the clone may be the current folder), and any in a git work tree.
    """
    for each in [path] if path.is_absolute() else [path, *path.parents]:
        if _aim(each) is not None:
            raise PlaceError(f'{each}: read "a link"; allowed: the file or folder itself')
    return real_place(path)


def one_line(text: object) -> str:
    """A path or message without line ends and control characters, for an error text."""
    return printable(str(text), 1000)


def _aim(path: Path) -> Path | None:
    if path.is_relative_to(_OPEN_FILES):  # /dev/stdout and similar links end in no path
        return None
    try:
        return Path(os.readlink(path))
    except (OSError, ValueError):  # not a link, or missing
        return None


def _in_git(folder: Path) -> bool:
    return any(os.path.lexists(each / _GIT) for each in (folder, *folder.parents))


def _home() -> Path:
    try:
        return Path.home().resolve()
    except RuntimeError:  # no home folder is known
        return Path(os.sep)
