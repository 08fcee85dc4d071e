"""The methods folder, read once: what a build makes is made from these bytes, whatever happens to the files meanwhile."""

from __future__ import annotations

import os
from dataclasses import dataclass, field
from functools import cached_property
from hashlib import sha256
from pathlib import Path

from handbook.errors import FaultsError, PageError
from site_build.file_names import DATA, entry_fault, name_faults
from site_build.kitchen import HOUSE_FILES, Kitchen, read_kitchen
from site_build.run_files import RUNS, RunText, method_page, run_texts

_READ_WHOLE = (".md", *DATA)


@dataclass(frozen=True)
class Source:
    """A methods folder at one moment: the bytes of pages and data, a hash of every file, by path in the folder.

    ``unread`` are files that are there and could not be read, ``states`` size and time of each file when it was read.
    """

    folder: Path
    contents: dict[str, bytes]
    digests: dict[str, str]
    faults: tuple[PageError, ...]
    unread: frozenset[str] = frozenset()
    states: dict[str, tuple[int, int]] = field(default_factory=dict)

    @property
    def stands(self) -> bool:
        """Whether the published files, which are opened again when they are needed, are still those that were hashed."""
        return all(_state(self.folder / path) == self.states[path] for path in self.published)

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

    def runs_of(self, path: str) -> tuple[RunText, ...]:
        """The runs of the method page at ``path``."""
        return run_texts(path, self.folder.name, self._runs_by_page.get(path, ()), self.contents.__getitem__)

    def run_digests(self, path: str) -> list[str]:
        """Path and hash of each file of a page's runs."""
        return [f"{each} {self.digests[each]}" for each in self._runs_by_page.get(path, ())]

    @cached_property
    def _runs_by_page(self) -> dict[str, list[str]]:
        found: dict[str, list[str]] = {}
        for path in self.runs:
            found.setdefault(method_page(path), []).append(path)
        return found

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
    contents, digests, states, faults, unread = {}, {}, {}, [], set()
    root = folder.resolve()
    for path, entry in sorted(_files(folder)):
        file = f"{folder.name}/{path}"
        is_plain = entry.is_file(follow_symlinks=False)
        if not is_plain and (fault := entry_fault(Path(entry), root)):
            faults.append(PageError(file, 1, "file", *fault))
        elif path in generated:
            faults.append(PageError(file, 1, "file", path, "another name: the generator makes this page"))
        elif entry.is_file():
            try:
                states[path] = _state(entry)
                data = Path(entry).read_bytes()
            except OSError as error:
                unread.add(path)
                faults.append(PageError(file, 1, "file", f"no text ({error.strerror})", "a readable file"))
                continue
            digests[path] = sha256(data).hexdigest()
            if path.endswith(_READ_WHOLE):
                contents[path] = data
    faults += name_faults(folder.name, list(digests), generated)
    return Source(folder, contents, digests, tuple(faults), frozenset(unread), states)


def _state(path: os.PathLike) -> tuple[int, int] | None:
    try:
        found = os.stat(path)
    except OSError:
        return None
    return found.st_size, found.st_mtime_ns


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
