"""The methods folder, read once. A build uses these bytes even if the files change meanwhile."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from hashlib import sha256
from pathlib import Path

from msgspec import Struct, field

from handbook.base.errors import FaultsError, PageError
from handbook.folder.batch_files import batches_by_slug, teaching_batches
from handbook.folder.file_names import name_faults
from handbook.folder.folder_files import READ_WHOLE, FileState, list_folder, read_file, read_files, state_of
from handbook.folder.kitchen import HOUSE_FILES, Kitchen, kept_kitchen
from handbook.folder.read_page import PageSource
from handbook.folder.run_files import RUNS, RunText, method_page, run_texts


class FolderSource(Struct, frozen=True, kw_only=True, dict=True):
    """A methods folder at one moment: the bytes of pages and data, and a hash of every file, by path in the folder.

    ``unread`` are existing files and links that are not read; ``states`` identify each file as it was read.
    """

    folder: Path
    contents: dict[str, bytes]
    digests: dict[str, str]
    faults: tuple[PageError, ...]
    unread: frozenset[str] = frozenset()
    states: dict[str, FileState] = field(default_factory=dict)

    @property
    def stands(self) -> bool:
        """Whether the published files, which are opened again when needed, are unchanged since they were hashed."""
        return all(map(self.is_unchanged, self.published))

    @property
    def pages(self) -> list[str]:
        """Paths of the Markdown pages, in order."""
        return [path for path in self.digests if path.endswith(".md")]

    @property
    def published(self) -> list[str]:
        """Paths of the files that the site publishes beside its pages, in order."""
        return [path for path in self.digests if not path.endswith(READ_WHOLE)]

    def is_unchanged(self, path: str) -> bool:
        """Whether the file at ``path`` is unchanged since it was read."""
        return state_of(self.folder, path) == self.states[path]

    def published_bytes(self, path: str) -> bytes:
        """A published file, opened again.

        Raises PageError where it has changed since it was read.
        """
        data = read_file(self.folder, path)
        if sha256(data).hexdigest() != self.digests[path]:
            raise self.changed(path)
        return data

    def changed(self, path: str) -> PageError:
        """The fault of a file that has changed meanwhile."""
        return PageError(self.file(path), 1, "file", "a changed file", "a file that does not change during a build")

    @cached_property
    def runs(self) -> list[str]:
        """Paths of the files that record runs."""
        return [path for path in self.contents if path.startswith(RUNS)]

    def runs_of(self, path: str) -> tuple[RunText, ...]:
        """The runs of the method page at ``path``: run files, and batches that count as runs."""
        written = run_texts(path, self.folder.name, self._runs_by_page.get(path, ()), self.contents.__getitem__)
        return (*written, *self._teaching.get(path, ()))

    def page(self, path: str) -> PageSource:
        """The bytes of one page and of its runs."""
        return PageSource(folder=self.folder.name, path=path, data=self.contents[path], runs=self.runs_of(path))

    def run_digests(self, path: str) -> list[str]:
        """Path and hash of each file of a page's runs."""
        paths = list(self._runs_by_page.get(path, ()))
        for each in self._teaching.get(path, ()):
            batch = each.file.removeprefix(f"{self.folder.name}/")
            paths += [batch] if each.log is None else [batch, batch.removesuffix(".yml") + ".csv"]
        return [f"{each} {self.digests[each]}" for each in paths]

    @cached_property
    def _teaching(self) -> dict[str, tuple[RunText, ...]]:
        batches = batches_by_slug(self.contents)
        return {
            path: teaching_batches(path, batches, self.folder.name, self.contents, self.contents.__getitem__)
            for path in self.pages
        }

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
        """The name of a file of the folder in faults."""
        return f"{self.folder.name}/{path}"

    def kitchen(self) -> Kitchen:
        """The house data.

        Raises FaultsError with every fault of it.
        """
        if not self.unread.isdisjoint(HOUSE_FILES):  # each is a fault of the folder
            raise FaultsError(list(self.faults))
        try:
            return kept_kitchen(self.folder.name, self.house_data)
        except FaultsError as error:
            raise FaultsError([*error.faults, *self.faults]) from None


def read_source(
    folder: Path, generated: frozenset[str] = frozenset(), wanted: Callable[[str], bool] = lambda path: True
) -> FolderSource:
    """Read every file of ``folder`` that is not hidden; ``generated`` are paths that the generator uses itself.

    Files that are not ``wanted`` are listed, not read. Anything but a plain file (a link, a pipe), an unreadable file
    and a file with a generated page's name are faults of the result.
    """
    found = list_folder(folder)
    for path in sorted(generated & found.sizes.keys()):
        found.refuse(path, path, "another name: the generator makes this page")
    contents, digests, states = {}, {}, {}
    for path, data, state in read_files(found, wanted):
        states[path], digests[path] = state, sha256(data).hexdigest()
        if path.endswith(READ_WHOLE):
            contents[path] = data
    faults = [*found.faults, *name_faults(folder.name, list(found.sizes), generated)]
    source = FolderSource(
        folder=folder,
        contents=contents,
        digests=digests,
        faults=tuple(faults),
        unread=frozenset(found.refused),
        states=states,
    )
    if not found.is_whole:
        raise FaultsError(faults)
    return source
