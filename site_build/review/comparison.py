"""Compares two git versions of a methods folder. Only pages that can differ are read and computed."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from handbook import __version__
from handbook.base.errors import HandbookError
from handbook.folder.file_names import is_hidden
from handbook.folder.kitchen import Kitchen
from handbook.folder.page_text import split_page
from handbook.folder.read_text import decode_page
from handbook.folder.run_files import method_page
from handbook.folder.titles import earlier_names, stated_title, title_faults
from site_build.base.places import one_line, source_place
from site_build.base.progress import Tell, silent
from site_build.reading.author_html import author_html
from site_build.reading.links import check_links
from site_build.record.dependencies import depends_on_any
from site_build.record.stated_words import house_values
from site_build.review.changed_words import WordsChange, changed_words, marked_words
from site_build.review.changes import Comparison, HouseChange, MethodChange, StatedChange
from site_build.review.compare import MISSING, compare_method, compare_words
from site_build.review.edition import (
    HOUSE_FILES,
    Edition,
    Reader,
    is_method_page,
    method_of,
    revision_edition,
    working_changes,
    working_edition,
)
from site_build.review.review_files import file_faults
from site_build.review.revisions import Change, open_repository

WORKING_TREE = "working tree"
HOUSES = ("today", "own")
#: Share of equal lines from which a removed and a new file count as renamed, where git finds no rename.
_RENAMED = 0.5
#: With more removed and new pages, only identical ones count as renamed.
_MOST_PAIRS = 10_000
_STATUSES = {"A": "added", "D": "removed", "M": "changed"}


def review(
    folder: Path,
    base: str,
    head: str | None = None,
    house: str = "today",
    from_fork: bool = False,
    progress: Tell = silent,
) -> Comparison:
    """Compare revision ``base`` of ``folder`` with revision ``head``, or with the working tree where it is None.

    With ``house`` "today", both versions are computed in the newer house, and the effect of the changed house alone is
    reported apart; with "own", each is computed in its own. With ``from_fork``, the older version is the commit in
    which the newer one left ``base``.

    Raises RevisionError where a revision cannot be read, FaultsError where a file of the working tree cannot.
    """
    folder = source_place(folder)
    repository = open_repository(folder)
    older = repository.commit_of(base)
    newer = repository.commit_of(head if head is not None else "HEAD") if head is not None or from_fork else None
    if from_fork:
        older = repository.fork_of(older, newer)
    before = revision_edition(repository, folder, older, f"{base} ({older[:10]})")
    if head is None:
        after = working_edition(repository, folder, before, WORKING_TREE)
        changes = _with_renames(working_changes(before, after), before, after)
    else:
        after = revision_edition(repository, folder, newer, f"{head} ({newer[:10]})")
        changes = _with_renames(repository.changes(older, newer), before, after)
    absent = [each for each in (before, after) if not each.entries and not each.refused]
    if len(absent) == 2:
        read = f"no such folder in {before.name} or {after.name}"
        raise HandbookError(f"{one_line(folder)}: read {read}; allowed: a folder of method pages with a house.yml")
    found = compare_editions(before, after, changes, house, Reader(), progress)
    return replace(found, absent=tuple(f"The folder {one_line(folder.name)} is not in {each.name}." for each in absent))


def compare_editions(
    before: Edition,
    after: Edition,
    changes: list[Change],
    house: str,
    reader: Reader,
    progress: Tell = silent,
) -> Comparison:
    """Compare two editions that differ by ``changes``. Pages that ``reader`` has computed are not computed again."""
    return _Review(before, after, changes, house, reader, progress).comparison()


class _Review:
    def __init__(
        self,
        before: Edition,
        after: Edition,
        changes: list[Change],
        mode: str,
        reader: Reader,
        progress: Tell,
    ):
        self.before, self.after, self.mode, self.reader, self.progress = before, after, mode, reader, progress
        self.changes = [each for each in changes if not (is_hidden(each.path) and is_hidden(each.old_path))]
        self.kitchen_before, self.faults_before = before.kitchen()
        self.kitchen, self.faults = after.kitchen()
        self.house_differs = any({each.path, each.old_path} & set(HOUSE_FILES) for each in self.changes)

    def comparison(self) -> Comparison:
        """The whole comparison."""
        pairs = self.pairs()
        faults = [*map(str, self.after.file_faults), *self.dead_links({path for path, _ in pairs})]
        others = [self._other_page(*pair) for pair in pairs if not self._is_method(*pair)]
        faults += [fault for _, found in others for fault in found]
        pairs = [pair for pair in pairs if self._is_method(*pair)]
        house = self._house_change() if self.house_differs or self.kitchen is None else None
        if self.mode == "own" and house and self.kitchen and self.kitchen_before:
            pairs = sorted({*pairs, *((path, path) for path in self.moved_by_house(house.stated))})
        found = []
        for done, (path, old) in enumerate(pairs, 1):
            self.progress("methods compared", done, len(pairs))
            found.append(self.compare(path, old))
        found = self.with_same_titles(found)
        found = sorted((each for each in found if not each.is_empty), key=lambda each: each.order)
        return Comparison(
            before=self.before.name,
            after=self.after.name,
            methods=tuple(found),
            house=house,
            other_pages=tuple(each for each, _ in others if each),
            faults=tuple(sorted(faults)),
            unchanged=len(self.after.pages) - sum(each.is_there for each in found),
            engines=(__version__, __version__),
            other_files=self.other_files(),
        )

    def other_files(self) -> tuple[StatedChange, ...]:
        """Every changed file that is not a page and that a build reads or publishes."""
        files = [each for each in self.changes if not each.path.endswith(".md") or not each.old_path.endswith(".md")]
        return tuple(
            sorted(
                {
                    StatedChange(each.path, "", _STATUSES.get(each.status) or f"renamed from {each.old_path}")
                    for each in files
                }
            )
        )

    def pairs(self) -> list[tuple[str, str]]:
        """(path, old path) of every page that may differ by its own text."""
        pairs = {
            (each.path, each.old_path)
            for each in self.changes
            if each.path.endswith(".md") or each.old_path.endswith(".md")
        }
        # A run changes the figures of its method.
        pages = {method_page(path) for each in self.changes for path in (each.path, each.old_path)} - {""}
        told = {path for pair in pairs for path in pair}
        pairs |= {(page, page) for page in pages - told if page in self.after.paths or page in self.before.paths}
        self.before.load([old for _, old in pairs])
        self.after.load([path for path, _ in pairs])
        return sorted(pairs)

    def dead_links(self, touched: set[str]) -> list[str]:
        """Faults of links from unchanged pages to removed pages and pictures."""
        gone = self.before.paths - self.after.known
        if not gone:
            return []
        names = [path.rsplit("/", 1)[-1].encode("utf-8", "surrogateescape") for path in gone]
        self.after.load(self.after.pages)
        known, found = self.after.known, []
        for path in self.after.pages:
            data = self.after.content(path) if path not in touched else b""
            # A name written with escapes contains one of these characters.
            if any(sign in data for sign in (b"%", b"&", b"\\")) or any(name in data for name in names):
                found += self._link_faults(path, data, known)
        return found

    def _link_faults(self, path: str, data: bytes, known: set[str]) -> list[str]:
        file = self.after.file(path)
        text, fault = decode_page(data, file)
        if fault:
            return []
        links = author_html(split_page(text, file)[0], file, path)[0].links
        before = {str(each) for each in check_links(file, path, links, self.before.known)}
        return [str(each) for each in check_links(file, path, links, known) if str(each) not in before]

    def _is_method(self, path: str, old: str) -> bool:
        return is_method_page(self.after, path) or is_method_page(self.before, old)

    def compare(self, path: str, old: str) -> MethodChange:
        older = (self.kitchen_before, self.faults_before) if self.mode == "own" else (self.kitchen, self.faults)
        before = self.reader.version(self.before, old, *older)
        if before.figures is None and self.kitchen_before and self.kitchen:
            # A page with a name that only its own house has, such as a renamed container, is read in that house.
            before = self.reader.version(self.before, old, self.kitchen_before, ())
        after = self.reader.version(self.after, path, self.kitchen, self.faults)
        if before.is_there and not is_method_page(self.before, old):
            before = MISSING
        change = compare_method(path, old, before, after)
        return replace(change, words=self.words(path, old))

    def words(self, path: str, old: str) -> tuple[WordsChange, ...]:
        """The passages of prose that differ between a page's two versions; none where it is new or removed."""
        if path not in self.after.paths or old not in self.before.paths:
            return ()
        sides = []
        for edition, name in ((self.before, old), (self.after, path)):
            text, fault = decode_page(edition.content(name), edition.file(name))
            if fault:
                return ()
            sides.append(split_page(text, edition.file(name))[0].paragraphs)
        return changed_words(*sides)

    def _house_change(self) -> HouseChange:
        if self.kitchen is None or self.kitchen_before is None:
            return HouseChange(faults_before=self.faults_before, faults=self.faults)
        stated = compare_words(_values(self.kitchen_before), _values(self.kitchen))
        if self.mode == "own":
            return HouseChange(stated=stated)
        found, paths = [], self.moved_by_house(stated)
        changed = {each.old_path for each in self.changes}
        for done, path in enumerate(paths, 1):
            self.progress("methods in the new house", done, len(paths))
            before = self.reader.version(self.before, path, self.kitchen_before, ())
            after = self.reader.version(self.before, path, self.kitchen, ())
            if after.figures is None and path in changed:
                continue  # only its newer text is compared in the new house
            change = compare_method(path, path, before, after)
            if not change.is_empty:
                found.append(change)
        return HouseChange(stated=stated, methods=tuple(sorted(found, key=lambda each: each.order)))

    def moved_by_house(self, stated: tuple[StatedChange, ...]) -> list[str]:
        """Methods of the older version whose figures depend on a changed setting."""
        keys = [each.key for each in stated]
        self.before.load(self.before.pages)
        found = []
        for path in self.before.pages:
            if self.mode == "own" and path not in self.after.paths:
                continue
            method = method_of(self.before, path, self.kitchen_before)
            if method is not None and depends_on_any(method, keys):
                found.append(path)
        return found

    def with_same_titles(self, found: list[MethodChange]) -> list[MethodChange]:
        """``found`` with a fault at each new title that another page of the newer version has too."""
        new = {
            each.path for each in found if each.after and not (each.before and each.before.title == each.after.title)
        }
        if not new or self.kitchen is None:
            return found
        self.after.load(self.after.pages)
        stated = {path: stated_title(self.after.content(path)) for path in self.after.pages}
        wanted = {stated[path][0].casefold() for path in new}
        titles = {
            path: title
            for path, title in stated.items()
            if title[0].casefold() in wanted and is_method_page(self.after, path)
        }
        faults = {each.file: str(each) for each in title_faults(self.after.folder.name, titles, new)}
        return [
            replace(each, faults=(*each.faults, faults[file]))
            if each.path in new and (file := self.after.file(each.path)) in faults
            else each
            for each in found
        ]

    def stops(self, path: str) -> list[str]:
        """The stops of a page of the newer version, as lines."""
        found = self.reader.version(self.after, path, self.kitchen, self.faults).figures
        return [
            f"{self.after.file(path)}:1: safety.{key}: {each.title}: {each.figure}; {each.printed}"
            for key, each in (found.findings if found else {}).items()
            if each.level == "stop"
        ]

    def _other_page(self, path: str, old: str) -> tuple[StatedChange | None, list[str]]:
        """The change of a page without calculations, and its new faults."""
        was, now = old in self.before.paths, path in self.after.paths
        if was and now and path == old and self.before.content(old) == self.after.content(path):
            return None, []
        status = "changed" if was and now else "added" if now else "removed"
        if was and now and path != old:
            status = f"renamed from {old}"
        if marks := marked_words(self.words(path, old)):
            status += f"; {'; '.join(marks)}"
        if not now or self.kitchen is None:
            return StatedChange(path, "", status), []
        faults = self.reader.version(self.after, path, self.kitchen, ()).faults
        before = self.reader.version(self.before, old, self.kitchen, ()).faults
        return StatedChange(path, "", status), [each for each in faults if each not in before]


class Affected(Struct, frozen=True, kw_only=True):
    """Pages that the working tree's changes can affect, in order, the number of all pages, and every fault of the
    former.
    """

    pages: tuple[str, ...]
    of: int
    faults: tuple[str, ...]


def check_affected(folder: Path, base: str, progress: Tell = silent) -> Affected:
    """Compute only the pages that changes since ``base`` can affect, and report every fault, stops included."""
    work, paths = _since(folder, base)
    if work.kitchen is None:
        every = {*work.faults, *map(str, work.after.file_faults)}
        return Affected(pages=tuple(paths), of=len(work.after.pages), faults=tuple(sorted(every)))
    changes, faults = [], set(map(str, work.after.file_faults))
    for done, path in enumerate(paths, 1):
        changes.append(work.compare(path, path))
        faults |= set(work.stops(path))
        progress("methods compared", done, len(paths))
    faults |= {fault for change in work.with_same_titles(changes) for fault in change.faults}
    faults |= set(map(str, file_faults(work.after, {each.path for each in work.changes}, work.kitchen.house)))
    return Affected(pages=tuple(paths), of=len(work.after.pages), faults=tuple(sorted(faults)))


def _since(folder: Path, base: str) -> tuple[_Review, list[str]]:
    folder = source_place(folder)
    repository = open_repository(folder)
    commit = repository.commit_of(base)
    before = revision_edition(repository, folder, commit, base)
    after = working_edition(repository, folder, before, WORKING_TREE)
    changes = working_changes(before, after)
    work = _Review(before, after, changes, "own", Reader(), silent)
    found = {path for path, _ in work.pairs() if path in after.paths}
    found |= {fault.split(":")[0].partition("/")[2] for fault in work.dead_links(found)}
    if work.house_differs and (work.kitchen is None or work.kitchen_before is None):
        found = set(after.pages)
    elif work.house_differs:
        found |= set(work.moved_by_house(compare_words(_values(work.kitchen_before), _values(work.kitchen))))
    return work, sorted(found)


def _values(kitchen: Kitchen) -> dict[str, str]:
    return house_values(kitchen.house, kitchen.tables)


def _with_renames(changes: list[Change], before: Edition, after: Edition) -> list[Change]:
    """Pages unknown to git count as renamed where they equal a removed page."""
    lost = [each for each in changes if each.status == "D" and each.path in before.pages]
    new = [each for each in changes if each.status == "A" and each.path in after.pages]
    before.load([each.path for each in lost])
    same = {each.after: each for each in new}
    pairs = [(gone, came) for gone in lost if (came := same.pop(gone.before, None))]
    pairs += _told(lost, new, after, {each for pair in pairs for each in pair})
    done = {each.path for pair in pairs for each in pair}
    lost, new = ([each for each in side if each.path not in done] for side in (lost, new))
    if len(lost) * len(new) <= _MOST_PAIRS:
        pairs += _alike(lost, new, before, after)
    moved = {each for pair in pairs for each in pair}
    renamed = [
        Change(status="R", before=gone.before, after=came.after, old_path=gone.path, path=came.path)
        for gone, came in pairs
    ]
    return [*(each for each in changes if each not in moved), *renamed]


def _told(lost: list[Change], new: list[Change], after: Edition, done: set[Change]) -> list[tuple[Change, Change]]:
    """Removed pages with the new page whose ``was`` names them."""
    after.load([each.path for each in new])
    known = {}
    for each in new:
        if each not in done:
            known |= {f"{name}.md": each for name in earlier_names(after.content(each.path))}
    return [(gone, known[gone.path]) for gone in lost if gone not in done and gone.path in known]


def _alike(lost: list[Change], new: list[Change], before: Edition, after: Edition) -> Iterator[tuple[Change, Change]]:
    lines = {each: set(after.content(each.path).splitlines()) for each in new}
    for gone in lost:
        old = set(before.content(gone.path).splitlines())
        best = max(lines, key=lambda each: _equal_share(old, lines[each]), default=None)
        if best is not None and _equal_share(old, lines[best]) >= _RENAMED:
            del lines[best]
            yield gone, best


def _equal_share(old: set[bytes], new: set[bytes]) -> float:
    return len(old & new) / max(len(old | new), 1)
