"""What may lie in a methods folder, and under which names: the site is copied to sticks, phones and other systems."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection
from pathlib import Path, PurePosixPath

from handbook.errors import CONTROLS, PageError

PICTURES = (".png", ".jpg", ".jpeg", ".webp", ".gif", ".avif")
DATA = (".yml", ".yaml", ".csv")
TEXTS = (".txt",)
#: Without an ending: the file that tells a forge's page hosting the site's own address.
HOSTING = "CNAME"
MAX_NAME = 100
MAX_PATH = 200
MAX_FILES = 20_000
#: Names at the top of the folder under which the generator writes.
_RESERVED = ("assets", "schemas", "404.md")
# What no file of Windows may be called, whatever its ending.
_DEVICE = re.compile(r"(?:con|prn|aux|nul|com[0-9¹²³]|lpt[0-9¹²³])(?:\.|$)", re.I)
_UNSAFE = re.compile(r'[<>:"\\|?*]')


def name_faults(folder: str, paths: Collection[str], generated: Collection[str] = ()) -> list[PageError]:
    """Faults of the names of ``paths`` (with forward slashes, from the folder); ``generated`` are taken already.

    Refused are kinds of file that the site does not publish, SVG and HTML among them since both can carry script;
    names that another system cannot hold; and two names that a file system without capitals takes for one.
    """
    if len(paths) > MAX_FILES:
        return [PageError(folder, 1, "folder", f"{len(paths)} files", f"at most {MAX_FILES} files")]
    faults = []
    spelt: dict[str, str] = {_key(path): path for path in generated}
    for path in sorted(paths):
        fault = _fault(path) or _clash(path, spelt)
        if fault:
            faults.append(PageError(f"{folder}/{path}", 1, "file", *fault))
    return faults


def entry_fault(path: Path, root: Path) -> tuple[str, str] | None:
    """Why a file or folder below ``root`` (resolved) may not be read: what it is, and what is allowed."""
    if path.is_symlink():
        try:
            if not path.resolve().is_relative_to(root):
                return "a link out of the folder", "a file inside the methods folder"
            is_there = path.exists()
        except (OSError, RuntimeError):  # a link that leads to itself
            is_there = False
        if not is_there:
            return "a link to nothing", "a file inside the methods folder"
        return ("a link to a folder", "the folder itself") if path.is_dir() else None
    return None if path.is_file() or path.is_dir() else ("no file", "files and folders only")


def _fault(path: str) -> tuple[str, str] | None:
    parts = PurePosixPath(path).parts
    suffix = PurePosixPath(path).suffix
    if path != HOSTING and suffix != ".md" and suffix.lower() not in (*PICTURES, *DATA, *TEXTS):
        kinds = f"pages (.md), pictures ({', '.join(PICTURES)}), house data ({', '.join(DATA)}), plain text (.txt)"
        return suffix or "no ending", kinds
    if parts[0].casefold() in _RESERVED or parts[-1].casefold() == "readme.md":
        return path, "another name: the generator keeps this one for itself"
    if len(path) > MAX_PATH or any(len(part) > MAX_NAME for part in parts):
        return f"a name of {len(path)} characters", f"at most {MAX_NAME} characters, {MAX_PATH} with its folders"
    for part in parts:
        if _UNSAFE.search(part) or CONTROLS.search(part) or part != part.strip() or part.endswith("."):
            return path, r'a name without < > : " \ | ? * and control characters, blank or dot at its end'
        if _DEVICE.match(part):
            return path, "another name: Windows keeps this one for a device"
    return None


def _clash(path: str, spelt: dict[str, str]) -> tuple[str, str] | None:
    # Folders count too: Fish/a.md and fish/b.md lie in one folder elsewhere.
    parts = path.split("/")
    for count in range(1, len(parts) + 1):
        here = "/".join(parts[:count])
        other = spelt.setdefault(_key(here), here)
        if other != here:
            return here, f"a name that differs from {other} by more than capitals and accents' encoding"
    return None


def _key(path: str) -> str:
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", path).casefold())
