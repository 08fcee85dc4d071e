"""One version of a methods folder, a revision or the working tree. Pages are read on demand."""

from __future__ import annotations

import os
from functools import cached_property
from pathlib import Path

from msgspec import Struct, field

from handbook.base.errors import FaultsError, PageError
from handbook.folder.batch_files import batches_by_slug, teaching_batches
from handbook.folder.file_names import is_hidden, name_faults
from handbook.folder.folder_files import READ_WHOLE, Listing, list_folder, most_bytes, read_files
from handbook.folder.kitchen import HOUSE_FILES, Kitchen, read_kitchen
from handbook.folder.read_page import PageSource, read_page, stated_page, states_method
from handbook.folder.run_files import RUNS, run_texts
from handbook.page.method import Method
from site_build.reading.author_html import author_faults
from site_build.reading.book import GENERATED
from site_build.record.figures import digest
from site_build.record.method_figures import method_figures
from site_build.record.stated_words import house_text, method_words
from site_build.review.compare import MISSING, Version
from site_build.review.revisions import Change, Repository, TreeEntry, blob_id

_PLAIN = "100644"


class Edition(Struct, kw_only=True, dict=True):
    """The files of one version that a build would read.

    ``entries`` describe the content of each, by path. The contents of a revision come from ``repository``; those of a
    folder are ``held`` in memory. ``refused`` are paths that a build does not read, ``file_faults`` the lines with the
    reasons.
    """

    repository: Repository | None
    folder: Path
    name: str
    entries: dict[str, TreeEntry]
    held: dict[str, bytes] = field(default_factory=dict)
    refused: frozenset[str] = frozenset()
    file_faults: tuple[PageError, ...] = ()

    @property
    def paths(self) -> set[str]:
        """Every path that a build would read."""
        return set(self.entries)

    @property
    def contents(self) -> dict[str, bytes]:
        """The texts in memory, by path."""
        return self.held

    def file(self, path: str) -> str:
        """The name of a file of the folder in faults."""
        return f"{self.folder.name}/{path}"

    @property
    def known(self) -> set[str]:
        """Every path that a page may link to."""
        return {*self.entries, *self.refused, *GENERATED}

    @property
    def pages(self) -> list[str]:
        """Markdown pages in order."""
        return sorted(path for path in self.entries if path.endswith(".md"))

    @property
    def published(self) -> list[str]:
        """Files that the site publishes beside its pages."""
        return [path for path in self.entries if not path.endswith(READ_WHOLE)]

    @property
    def runs(self) -> list[str]:
        """Files that record runs."""
        return [path for path in self.entries if path.startswith(RUNS) and path.endswith(READ_WHOLE)]

    @cached_property
    def files_mark(self) -> str:
        """A hash of the names of all files. With an equal hash the same links are dead."""
        return digest("\0".join(sorted(self.known)), 16)

    def load(self, paths) -> None:
        """Load the contents of several files at once."""
        wanted = {path: self.entries[path].blob for path in paths if path in self.entries and path not in self.held}
        if wanted:
            found = self.repository.contents(list(wanted.values()))
            self.held |= {path: found[blob] for path, blob in wanted.items()}

    def content(self, path: str) -> bytes:
        """The bytes of one page or data file."""
        self.load([path])
        return self.held[path]

    def page(self, path: str) -> PageSource:
        """The bytes of one page and of its runs."""
        name = self.folder.name
        written = run_texts(path, name, self.paths, self.content)
        taught = teaching_batches(path, self._batches, name, self.paths, self.content)
        return PageSource(folder=name, path=path, data=self.content(path), runs=(*written, *taught))

    @cached_property
    def _batches(self) -> dict[str, list[str]]:
        return batches_by_slug(self.paths)

    def kitchen(self) -> tuple[Kitchen | None, tuple[str, ...]]:
        """The house data, or None and its faults."""
        contents = {name: self.content(name) for name in HOUSE_FILES if name in self.entries}
        kitchen, faults = read_kitchen(self.folder.name, contents, self.refused)
        files = set(map(self.file, HOUSE_FILES))
        faults = faults or [each for each in self.file_faults if kitchen is None and each.file in files]
        return kitchen, tuple(map(str, FaultsError(faults).faults))


class Reader(Struct, kw_only=True):
    """Reads pages of editions in a kitchen. Equal text in an equal kitchen is computed once."""

    _known: dict[tuple, Version] = field(default_factory=dict)

    def version(self, edition: Edition, path: str, kitchen: Kitchen | None, faults: tuple[str, ...]) -> Version:
        """One page of ``edition`` in ``kitchen``; a version without figures where the page does not exist."""
        if path not in edition.paths:
            return MISSING
        if kitchen is None:
            return Version(faults=faults)
        source = edition.page(path)
        key = source, house_text(kitchen.house, kitchen.tables), edition.files_mark
        if key not in self._known:
            self._known[key] = _version(source, kitchen, edition.known)
        return self._known[key]


def folder_edition(folder: Path, name: str, repository: Repository | None = None, digits: int = 40) -> Edition:
    """The present content of ``folder``, in git or not, read as a build reads it; ``digits`` is the length of git's
    ids.
    """
    found = list_folder(folder) if os.path.isdir(folder) else Listing(folder=folder)
    held, entries = {}, {}
    for path, data, _ in read_files(found):
        entries[path] = TreeEntry(mode=_PLAIN, blob=blob_id(data, digits), size=len(data))
        if path.endswith(READ_WHOLE):
            held[path] = data
    return _edition(repository, found, name, entries, held)


def revision_edition(repository: Repository, folder: Path, commit: str, name: str) -> Edition:
    """The edition of one commit: the files that a build of its checkout would read."""
    found = Listing(folder=folder)
    every = {path: each for path, each in repository.files(commit).items() if not is_hidden(path)}
    for path, entry in every.items():
        if entry.fault:
            found.refuse(path, *entry.fault)
        elif (entry.size or 0) > most_bytes(path):
            found.refuse(path, f"{entry.size} bytes", f"at most {most_bytes(path)} bytes")
    entries = {path: each for path, each in every.items() if path not in found.refused}
    return _edition(repository, found, name, entries, {})


def _edition(
    repository: Repository | None, found: Listing, name: str, entries: dict[str, TreeEntry], held: dict[str, bytes]
) -> Edition:
    faults = FaultsError([*found.faults, *name_faults(found.folder.name, list(entries), GENERATED)])
    return Edition(
        repository=repository,
        folder=found.folder,
        name=name,
        entries=entries,
        held=held,
        refused=frozenset(found.refused),
        file_faults=tuple(faults.faults),
    )


def working_edition(repository: Repository, folder: Path, base: Edition, name: str) -> Edition:
    """The working tree, including files that git ignores, for comparison with ``base``."""
    digits = next((len(each.blob) for each in base.entries.values()), 40)
    return folder_edition(folder, name, repository, digits)


def working_changes(before: Edition, after: Edition) -> list[Change]:
    """The files that differ between a revision and the folder, by their bytes.

    A text that differs only in line ends, as checkouts on another system write them, is unchanged: all readers ignore
    them.
    """
    found = []
    for path in sorted(before.paths | after.paths | before.refused | after.refused):
        old, new = (each.entries[path].blob if path in each.entries else "" for each in (before, after))
        stood, stands = (path in each.entries or path in each.refused for each in (before, after))
        if stood and stands and old and new and (old == new or _with_one_line_end(after, path, len(old)) == old):
            continue
        status = "M" if stood and stands else "D" if stood else "A"
        found.append(Change(status=status, before=old, after=new, old_path=path, path=path))
    return found


def method_of(edition: Edition, path: str, kitchen: Kitchen) -> Method | None:
    """The method of one page, read but not computed; None where it is not a method or cannot be read."""
    return stated_page(edition.page(path), kitchen).method


def is_method_page(edition: Edition, path: str) -> bool:
    """Whether a page of ``edition`` is meant as a method."""
    return path in edition.paths and states_method(edition.content(path), path)


def _version(source: PageSource, kitchen: Kitchen, known: set[str]) -> Version:
    page = read_page(source, kitchen)
    found = [*author_faults(page.text, source.file, source.path, known), *page.faults]
    # Stops are reported by their findings, with figure and source.
    faults = tuple(str(each) for each in found if not each.key.startswith("safety."))
    words = method_words(page.method) if page.method else {}
    figures = page.report and method_figures(page.report, page.text, kitchen.house, kitchen.tables)
    return Version(figures=figures, faults=faults, words=words)


def _with_one_line_end(edition: Edition, path: str, digits: int) -> str:
    data = edition.held.get(path, b"")
    return blob_id(data.replace(b"\r\n", b"\n"), digits) if b"\r\n" in data else ""
