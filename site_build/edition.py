"""One version of a methods folder, a revision or the working tree, read page by page as far as it is asked for."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

from handbook.errors import FaultsError, PageError
from handbook.method import Method
from handbook.read_method import read_method
from site_build.blocks import split_page
from site_build.book import GENERATED
from site_build.compare import MISSING, Version
from site_build.figures import digest
from site_build.kitchen import HOUSE_FILES, Kitchen, read_kitchen
from site_build.method_figures import method_figures, method_words
from site_build.read_page import decode_page, means_method, read_page
from site_build.revisions import Change, Entry, Repository
from site_build.run_files import RunText, run_texts


@dataclass
class Edition:
    """The files of one version. ``entries`` are those git knows, by path; ``on_disk`` are read from ``folder``."""

    repository: Repository | None
    folder: Path
    name: str
    entries: dict[str, Entry]
    on_disk: frozenset[str] = frozenset()
    _texts: dict[str, bytes] = field(default_factory=dict)

    @property
    def paths(self) -> set[str]:
        """Every path that a build would read."""
        return {path for path in (*self.entries, *self.on_disk) if is_read(path)}

    @property
    def pages(self) -> list[str]:
        """Markdown pages in order."""
        return sorted(path for path in self.paths if path.endswith(".md"))

    @cached_property
    def files_mark(self) -> str:
        """A hash of the names of all files: with equal ones, the same links are dead."""
        return digest("\0".join(sorted(self.paths)), 16)

    def load(self, paths) -> None:
        """Bring the contents of several files in at once."""
        wanted = {path: self.entries[path].blob for path in paths if path in self.entries and path not in self.on_disk}
        wanted = {path: blob for path, blob in wanted.items() if path not in self._texts}
        if wanted:
            found = self.repository.contents(list(wanted.values()))
            self._texts |= {path: found[blob] for path, blob in wanted.items()}

    def content(self, path: str) -> bytes:
        """One file's bytes; a link is followed once, inside the folder."""
        if path in self.on_disk:
            return _on_disk(self.folder, path)
        self.load([path])
        data = self._texts[path]
        if not self.entries[path].is_link:
            return data
        target = _link_target(path, data)
        return self.content(target) if target in self.entries and not self.entries[target].is_link else b""

    def kitchen(self) -> tuple[Kitchen | None, tuple[str, ...]]:
        """The house data, or None and its faults."""
        contents = {name: self.content(name) for name in HOUSE_FILES if name in self.paths}
        kitchen, faults = read_kitchen(self.folder.name, contents)
        return kitchen, tuple(map(str, FaultsError(faults).faults))


@dataclass
class Reader:
    """Reads pages of editions in a kitchen; equal text in an equal kitchen is computed once."""

    _known: dict[tuple, Version] = field(default_factory=dict)

    def version(self, edition: Edition, path: str, kitchen: Kitchen | None, faults: tuple[str, ...]) -> Version:
        """One page of ``edition`` in ``kitchen``; where there is none, nothing can be computed."""
        if path not in edition.paths:
            return MISSING
        if kitchen is None:
            return Version(None, faults)
        data = edition.content(path)
        runs = run_texts(path, edition.folder.name, edition.paths, edition.content)
        key = path, data, runs, kitchen.text, edition.files_mark
        if key not in self._known:
            self._known[key] = self._read(edition, path, data, kitchen, runs)
        return self._known[key]

    def _read(self, edition: Edition, path: str, data: bytes, kitchen: Kitchen, runs: tuple[RunText, ...]) -> Version:
        file = f"{edition.folder.name}/{path}"
        text, fault = decode_page(data, file)
        if fault:
            return Version(None, (str(fault),))
        known = edition.paths | set(GENERATED)
        found = read_page(text, file, path, known, kitchen.words, kitchen.house, kitchen.tables, runs)
        # A stop is told by its finding, with its figure and source.
        faults = tuple(str(each) for each in found.faults if not each.key.startswith("safety."))
        if found.report is None:
            return Version(None, faults, words=method_words(found.method) if found.method else {})
        figures = method_figures(found.report, found.text, kitchen.house, kitchen.tables)
        return Version(figures, faults, words=method_words(found.method))


def folder_edition(folder: Path, name: str) -> Edition:
    """What stands in ``folder`` now, in git or not."""
    files = (each.relative_to(folder).as_posix() for each in folder.rglob("*") if each.is_file())
    return Edition(None, folder, name, {}, frozenset(files))


def revision_edition(repository: Repository, folder: Path, commit: str, name: str) -> Edition:
    """The edition of one commit."""
    return Edition(repository, folder, name, repository.files(commit))


def working_edition(repository: Repository, folder: Path, base: Edition, changes: list[Change], name: str) -> Edition:
    """The working tree: what differs from ``base`` is read from disk, everything else is the base's."""
    gone = {each.old_path for each in changes if each.status in "DR"}
    entries = {path: entry for path, entry in base.entries.items() if path not in gone}
    on_disk = frozenset(each.path for each in changes if each.status != "D" and (folder / each.path).is_file())
    entries = {path: entry for path, entry in entries.items() if path not in on_disk}
    return Edition(repository, folder, name, entries, on_disk)


def is_read(path: str) -> bool:
    """Whether a build reads this path: nothing hidden."""
    return not any(part.startswith(".") for part in path.split("/"))


def method_of(edition: Edition, path: str, kitchen: Kitchen) -> Method | None:
    """The method of one page, read but not computed; None where it is no method or cannot be read."""
    text, fault = decode_page(edition.content(path), path)
    if fault:
        return None
    page, faults = split_page(text, path)
    if faults or not means_method(page):
        return None
    name, blocks = path.removesuffix(".md"), list(page.blocks)
    return read_method(path, name, page.head, blocks, kitchen.words, kitchen.house.measures)[0]


def is_method_page(edition: Edition, path: str) -> bool:
    """Whether a page of ``edition`` means to be a method."""
    if path not in edition.paths:
        return False
    text, fault = decode_page(edition.content(path), path)
    return not fault and means_method(split_page(text, path)[0])


def _on_disk(folder: Path, path: str) -> bytes:
    file = folder / path
    if not file.resolve().is_relative_to(folder.resolve()):
        raise FaultsError(
            [
                PageError(
                    f"{folder.name}/{path}",
                    1,
                    "file",
                    "a link out of the folder",
                    "a file inside the methods folder",
                )
            ]
        )
    try:
        return file.read_bytes()
    except OSError as error:
        raise FaultsError(
            [PageError(f"{folder.name}/{path}", 1, "file", f"no text ({error.strerror})", "a readable file")]
        ) from None


def _link_target(path: str, data: bytes) -> str:
    from posixpath import dirname, normpath

    return normpath(f"{dirname(path)}/{data.decode('utf-8', 'surrogateescape')}".lstrip("/"))
