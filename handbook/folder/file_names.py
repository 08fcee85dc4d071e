"""The files that a methods folder may contain, and their names. Sites are copied to sticks, phones and other systems."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection, Iterable
from pathlib import PurePosixPath

from handbook.base.errors import CONTROLS, PageError

PICTURES = (".png", ".jpg", ".jpeg", ".webp", ".gif", ".avif")
DATA = (".yml", ".yaml", ".csv", ".po")
TEXTS = (".txt",)
#: Without an ending: the file that states the site's own address to a forge's page hosting.
HOSTING = "CNAME"
MAX_NAME = 100
MAX_PATH = 200
MAX_FILES = 20_000
MAX_DEPTH = 12
#: Entries that a build does not read: the kind, and what is allowed.
LINK = "a link", "the file or folder itself: a build follows no links"
NESTED = "a repository within the folder", "its files themselves"
NO_FILE = "no file", "files and folders only"
#: Names at the top of the folder that the generator or the frame of the site uses.
RESERVED = ("assets", "schemas", "templates", "404.md")
#: Files that every build writes at the top of the site, beside its pages.
SITE_FILES = (
    "404.html", "build.json", "feed.xml", "figures.json", "manifest.webmanifest", "service-worker.js", "sitemap.xml",
    "sitemap.xml.gz",
)  # fmt: skip
# Names that Windows reserves, whatever their ending.
_DEVICE = re.compile(r"(?:con|prn|aux|nul|com[0-9¹²³]|lpt[0-9¹²³])(?:\.|$)", re.I)
# "#" and "%" have a special meaning in an address.
_UNSAFE = re.compile(r'[<>:"\\|?*#%]')
#: Folders in which the generator makes pages of its own: the list of each year's batches, inspector's folders.
BATCHES, INSPECTION = "batches/", "inspection/"
#: Endings of the further pages of a method.
FURTHER = ("why", "proof")


def name_faults(folder: str, paths: Collection[str], generated: Collection[str]) -> list[PageError]:
    """Faults of the names of ``paths`` (with forward slashes, from the folder); ``generated`` are already in use.

    Refused are kinds of file that the site does not publish, including SVG and HTML because both can contain scripts;
    names that another system cannot store; and names that differ only in upper and lower case.
    """
    if len(paths) > MAX_FILES:
        return [PageError(folder, 1, "folder", f"{len(paths)} files", f"at most {MAX_FILES} files")]
    faults = []
    spelt: dict[str, str] = {_key(path): path for path in generated}
    written = {_key(path): path for path in written_paths([*paths, *generated])}
    for path in sorted(paths):
        fault = _fault(path) or _clash(path, spelt, written)
        if fault:
            faults.append(PageError(f"{folder}/{path}", 1, "file", *fault))
    return faults


def written_paths(paths: Iterable[str]) -> set[str]:
    """Every path that a build writes for the pages and day plans among ``paths``, and the build's own files.

    The files that it writes for other files have names of their own, or are below ``assets`` and ``schemas``.
    """
    found = set(SITE_FILES)
    for path in paths:
        is_day = path.startswith("days/") and path.endswith(".yml")
        if path.endswith(".md") or is_day:
            stem = path.rpartition(".")[0]
            found |= {f"{stem}.html", f"{stem}.ics", *(f"{stem}.{each}.html" for each in FURTHER)}
            found.add(f"{INSPECTION}{stem}.html")
        elif path.startswith(BATCHES):
            found.add(f"{BATCHES}{path.split('/')[1]}.html")
    return found


def is_hidden(path: str) -> bool:
    """Whether ``path`` or one of its folders is hidden. Builds ignore hidden files."""
    return any(part.startswith(".") for part in path.split("/"))


def _fault(path: str) -> tuple[str, str] | None:
    parts = PurePosixPath(path).parts
    suffix = PurePosixPath(path).suffix
    if path != HOSTING and suffix != ".md" and suffix.lower() not in (*PICTURES, *DATA, *TEXTS):
        kinds = f"pages (.md), pictures ({', '.join(PICTURES)}), house data ({', '.join(DATA)}), plain text (.txt)"
        return suffix or "no ending", kinds
    if parts[0].casefold() in RESERVED or parts[-1].casefold() == "readme.md":
        return path, "another name: the generator keeps this one for itself"
    if len(path) > MAX_PATH or any(len(part) > MAX_NAME for part in parts):
        return f"a name of {len(path)} characters", f"at most {MAX_NAME} characters, {MAX_PATH} with its folders"
    for part in parts:
        if _UNSAFE.search(part) or CONTROLS.search(part) or part != part.strip() or part.endswith("."):
            return path, r'a name without < > : " \ | ? * # % and control characters, blank or dot at its end'
        if _DEVICE.match(part):
            return path, "another name: Windows keeps this one for a device"
    return None


def _clash(path: str, spelt: dict[str, str], written: dict[str, str]) -> tuple[str, str] | None:
    """A file or folder whose name differs only in capitals from another, or whose name the build needs for its own file."""
    # Folders count too: on other systems, Fish/a.md and fish/b.md are in one folder.
    parts = path.split("/")
    places = ["/".join(parts[:count]) for count in range(1, len(parts) + 1)]
    for here in places:
        other = spelt.setdefault(_key(here), here)
        if other != here:
            return here, f"a name that differs from {other} by more than capitals and accents' encoding"
    for here in places:
        if _key(here) in written:
            return here, f"another name: the generator writes {written[_key(here)]}"
        if here != path and here.casefold().endswith(".md"):
            return here, "a folder that is not named like a page"
    return None


def _key(path: str) -> str:
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", path).casefold())
