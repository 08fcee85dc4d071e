"""Makes every page of a handbook or takes it from the cache, and collects all faults in one run."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Executor
from functools import cached_property

from msgspec import Struct, field
from msgspec.structs import asdict

from handbook.base.errors import FaultsError, PageError
from handbook.base.forms import MAX_FAULTS
from handbook.catalogue.tables import Tables
from handbook.folder.faulty_house import faults_of_all
from handbook.folder.handbook import Handbook
from handbook.folder.kept_days import day_file_faults
from handbook.folder.kitchen import Kitchen
from handbook.folder.source import FolderSource
from handbook.page.house import House
from site_build.base.fingerprint import fingerprint, key_of
from site_build.base.progress import Tell, silent
from site_build.base.said_words import use_wording
from site_build.build.cache import Cache
from site_build.build.executors import make_pages
from site_build.build.further_pages import FurtherPage, further_pages
from site_build.build.kept_reads import KeptReads
from site_build.build.made_batches import MadeBatches, gather_batches
from site_build.build.made_day import MadeDay, make_days
from site_build.build.made_page import MadePage, PageFiles, PageJob, PageResult, make_page
from site_build.reading.book import GENERATED, known_paths
from site_build.reading.folder_faults import Earlier, day_page_faults, folder_faults
from site_build.reading.links import check_links, link_target
from site_build.review.signed import Signature, read_signatures, review_warnings


class Gathered(Struct, frozen=True, kw_only=True, dict=True):
    """The whole handbook for the makers of the site. ``keys`` are those of the pages by path: of their jobs and of the
    house data that they read.
    """

    handbook: Handbook
    pages: dict[str, MadePage]
    keys: dict[str, str]
    cache: Cache
    reads: KeptReads
    days: tuple[MadeDay, ...] = ()
    batches: MadeBatches = field(default_factory=MadeBatches)
    further: tuple[FurtherPage, ...] = ()
    signatures: tuple[Signature, ...] = ()

    @property
    def source(self) -> FolderSource:
        """The folder of the handbook."""
        return self.handbook.source

    @property
    def kitchen(self) -> Kitchen:
        """The house data."""
        return self.handbook.kitchen

    @property
    def warnings(self) -> tuple[str, ...]:
        """Messages that are not faults."""
        days = [day.warning for day in self.days if day.warning]
        pages = [line for page in self.pages.values() if page.method for line in page.method.warnings]
        return (*days, *pages, *review_warnings(self.source.folder.name, self.marks, self.signatures))

    @property
    def generated(self) -> dict[str, str]:
        """Title of each generated page, by path."""
        made = (*self.days, *self.further)
        return GENERATED | {each.path: each.title for each in made}

    @property
    def house(self) -> House:
        """The house's settings."""
        return self.handbook.house

    @property
    def tables(self) -> Tables:
        """Its foods and ingredients."""
        return self.handbook.catalogue

    @cached_property
    def methods(self) -> tuple[MadePage, ...]:
        """Method pages by title."""
        found = (page for page in self.pages.values() if page.method)
        return tuple(sorted(found, key=lambda page: (page.title.casefold(), page.path)))

    @property
    def marks(self) -> dict[str, str]:
        """Version mark of each method, by path."""
        return {page.path: page.method.mark for page in self.methods}

    def targets(self, path: str) -> list[str]:
        """Paths in the folder that a page links to or shows."""
        return [target for link in self.pages[path].links if (target := link_target(path, link.target))]

    def files(self, path: str) -> PageFiles:
        """The content of one page and of the files beside it."""
        found = self.cache.files(self.keys[path])
        if found is None:  # the cache has lost it: make it again
            found = make_page(job_of(self.source, path), fingerprint()).files
        return found


def job_of(source: FolderSource, path: str) -> PageJob:
    """All inputs of one page of the folder."""
    return PageJob(**asdict(source.page(path)), house=source.house_data)


def job_bases(source: FolderSource) -> dict[str, str]:
    """The key of each page's job without the house data, by path."""
    name = source.folder.name
    return {path: key_of("page", name, path, source.digests[path], *source.run_digests(path)) for path in source.pages}


def gather(
    source: FolderSource,
    cache: Cache,
    executor: Callable[[int], Executor | None] = lambda pages: None,
    progress: Tell = silent,
) -> Gathered:
    """Make every page of ``source`` that the cache does not hold; ``progress`` is called with (what, done, total).

    Raises
    ------
    FaultsError   every fault of the house file and of every page
    WorkerError     the workers could not do their work
    """
    handbook = Handbook(source=source, kitchen=_kitchen(source))
    use_wording(handbook.kitchen.wording)
    reads = KeptReads(handbook.kitchen, cache)
    pages, keys, faults = _pages(source, cache, reads, executor, progress)
    faults += _link_faults(source, pages)
    titles = {path: (page.title, page.title_line) for path, page in pages.items() if page.method}
    meant = {path for path, page in pages.items() if page.is_method}
    faults += day_page_faults(source)
    signed, found = read_signatures(source, meant)
    faults += found
    batches, found = gather_batches(source, cache, handbook.house.measures)
    known = {str(each) for each in faults}
    faults += [each for each in found if str(each) not in known]
    days, further = (), ()
    if faults:
        names = tuple(sorted(path.removesuffix(".md") for path in meant))
        faults += day_file_faults(source, names, handbook.house)
    else:
        methods = {path: keys[path] for path, page in pages.items() if page.method}
        days, faults = make_days(handbook, methods, reads)
        shown = {path: (pages[path].title, pages[path].method.mark) for path in methods}
        inspections = {path: html for path in methods if (html := pages[path].method.inspection)}
        further = further_pages(handbook, shown, inspections, batches, reads)
    unseen = _unseen(source, cache)
    faults += folder_faults(source, handbook.house, meant, _earlier(pages), unseen, titles)
    if faults:
        error = FaultsError(faults)
        # The author can correct them in the same round.
        error.warnings = tuple(line for page in pages.values() if page.method for line in page.method.warnings)
        raise error
    for key in unseen.values():
        cache.note(key, "sound")
    return Gathered(
        handbook=handbook,
        pages=pages,
        keys=keys,
        cache=cache,
        reads=reads,
        days=days,
        batches=batches,
        further=further,
        signatures=signed,
    )


def _pages(
    source: FolderSource,
    cache: Cache,
    reads: KeptReads,
    executor: Callable[[int], Executor | None],
    progress: Tell,
) -> tuple[dict[str, MadePage], dict[str, str], list[PageError]]:
    """Every page from the cache, or made and put into it, with the keys of the pages and all faults."""
    bases, faults = job_bases(source), list(source.faults)
    known = reads.keys(bases.values())
    keys = {path: known[base] for path, base in bases.items() if base in known}
    kept = cache.pages(keys.values())
    pages = {path: kept[key] for path, key in keys.items() if key in kept}
    missing = [path for path in bases if path not in pages]
    left = len(missing)

    def done(made: PageResult) -> None:
        nonlocal left
        left -= 1
        faults.extend(made.faults)
        if made.page:
            pages[made.path] = made.page
        if made.page and made.files:
            keys[made.path] = reads.note(bases[made.path], made.reads)
            cache.keep(keys[made.path], made.page, made.files)
        progress("methods computed", len(missing) - left, len(missing))

    if missing:
        make_pages([job_of(source, path) for path in missing], executor(len(missing)), done)
    return {path: pages[path] for path in bases if path in pages}, keys, faults


def _kitchen(source: FolderSource) -> Kitchen:
    try:
        return source.kitchen()
    except FaultsError as error:
        raise faults_of_all(source, error) from None


def _earlier(pages: dict[str, MadePage]) -> list[Earlier]:
    return [
        Earlier(path=path, line=page.title_line, names=tuple(page.method.was))
        for path, page in pages.items()
        if page.method and page.method.was
    ]


def _link_faults(source: FolderSource, pages: dict[str, MadePage]) -> list[PageError]:
    known, faults = known_paths(source), []
    for path, page in pages.items():
        found = check_links(source.file(path), path, page.links, known) if page.links else []
        faults += found[:MAX_FAULTS]
        if len(found) > MAX_FAULTS:
            read = f"more than {MAX_FAULTS} faults"
            faults.append(PageError(source.file(path), found[-1].line, "link", read, "a page without its first faults"))
    return faults


def _unseen(source: FolderSource, cache: Cache) -> dict[str, str]:
    """Published files that no build has checked yet, with the key of the note on each check."""
    keys = {path: key_of("sound", path, source.digests[path]) for path in source.published}
    sound = cache.notes(keys.values())
    return {path: key for path, key in keys.items() if key not in sound}
