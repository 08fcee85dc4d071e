"""The methods folder, read once: what a build makes is made from these bytes, whatever happens to the files meanwhile."""

from __future__ import annotations

import os
from dataclasses import dataclass
from functools import cached_property
from hashlib import sha256
from pathlib import Path

from handbook.errors import FaultsError, PageError
from site_build.file_names import entry_fault, name_faults
from site_build.kitchen import HOUSE_FILES, Kitchen, read_kitchen
from site_build.run_files import RUNS

#: Files that are read and never published.
DATA_ENDINGS = (".yml", ".yaml", ".csv")
_READ_WHOLE = (".md", *DATA_ENDINGS)


@dataclass(frozen=True)
class Source:
    """A methods folder at one moment: the bytes of pages and data, a hash of every file, by path in the folder.

    ``unread`` are files that are there and could not be read.
    """

    folder: Path
    contents: dict[str, bytes]
    digests: dict[str, str]
    faults: tuple[PageError, ...]
    unread: frozenset[str] = frozenset()

    @property
    def pages(self) -> list[str]:
        """Paths of the Markdown pages, in order."""
        return [path for path in self.digests if path.endswith(".md")]

    @property
    def published(self) -> list[str]:
        """Paths of the files that the site takes over beside its pages, in order."""
        return [path for path in self.digests if not path.endswith(_READ_WHOLE)]

    @cached_property
    def runs(self) -> list[str]:
        """Paths of the files that record runs."""
        return [path for path in self.contents if path.startswith(RUNS)]

    @cached_property
    def house_data(self) -> tuple[tuple[str, bytes], ...]:
        """Name and bytes of each house file."""
        return tuple((name, self.contents[name]) for name in HOUSE_FILES if name in self.contents)

    def file(self, path: str) -> str:
        """What faults call a file of the folder."""
        return f"{self.folder.name}/{path}"

    def kitchen(self) -> Kitchen:
        """The house data.

        Raises FaultsError with every fault of it.
        """
        kitchen, faults = read_kitchen(self.folder.name, dict(self.house_data))
        if kitchen is None:
            raise FaultsError([*faults, *self.faults])
        return kitchen


def read_source(folder: Path, generated: frozenset[str] = frozenset()) -> Source:
    """Read every file of ``folder`` that is not hidden; ``generated`` are paths that the generator keeps for itself.

    A file that leads out of the folder, cannot be read or bears a generated page's name is a fault of the result.
    """
    contents, digests, faults, unread = {}, {}, [], set()
    root = folder.resolve()
    for path, entry in sorted(_files(folder)):
        file = f"{folder.name}/{path}"
        if fault := entry_fault(Path(entry), root):
            faults.append(PageError(file, 1, "file", *fault))
        elif path in generated:
            faults.append(PageError(file, 1, "file", path, "another name: the generator makes this page"))
        elif entry.is_file():
            try:
                data = Path(entry).read_bytes()
            except OSError as error:
                unread.add(path)
                faults.append(PageError(file, 1, "file", f"no text ({error.strerror})", "a readable file"))
                continue
            digests[path] = sha256(data).hexdigest()
            if path.endswith(_READ_WHOLE):
                contents[path] = data
    faults += name_faults(folder.name, list(digests), generated)
    return Source(folder, contents, digests, tuple(faults), frozenset(unread))


def _files(folder: Path, before: str = ""):
    """Path in the folder and entry of each file that is not hidden, links to folders not followed."""
    with os.scandir(folder) as entries:
        for entry in entries:
            if entry.name.startswith("."):
                continue
            if entry.is_dir(follow_symlinks=False):
                yield from _files(Path(entry), f"{before}{entry.name}/")
            else:
                yield f"{before}{entry.name}", entry
