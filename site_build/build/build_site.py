"""Builds a site from a folder of methods: read, compute what changed, assemble beside the published site, swap."""

from __future__ import annotations

import logging
import os
import time
from contextlib import nullcontext
from datetime import date
from importlib.resources import files
from pathlib import Path
from tempfile import TemporaryDirectory

from mkdocs.commands.build import build as mkdocs_build
from mkdocs.config import load_config
from mkdocs.exceptions import Abort, ConfigurationError, PluginError
from mkdocs.utils import get_build_datetime
from msgspec import Struct
from msgspec.structs import replace

from handbook import __version__
from handbook.base.errors import HandbookError
from handbook.base.wording import PLAIN_ENGLISH
from handbook.folder.file_names import is_hidden
from handbook.folder.source import FolderSource, read_source
from site_build.base.fingerprint import key_of
from site_build.base.places import one_line, own_tree, real_place, source_place
from site_build.base.progress import Progress, Tell
from site_build.base.said_words import worded
from site_build.base.store import Store, open_store
from site_build.build.assembly import Assembly, site_files
from site_build.build.cache import Cache
from site_build.build.executors import workers
from site_build.build.gather import gather
from site_build.build.prepared import Prepared
from site_build.build.publish import BuildError, alone, beside, replaceable, swap
from site_build.build.site_record import SiteRecord
from site_build.reading.book import GENERATED
from site_build.review.review_states import review_states


class Summary(Struct, frozen=True, kw_only=True):
    """The result of a build."""

    pages: int
    methods: int
    warnings: tuple[str, ...]
    seconds: float
    is_unchanged: bool = False


class _Warnings(logging.Handler):
    def __init__(self):
        super().__init__(logging.WARNING)
        self.lines: list[str] = []
        self.errors: list[str] = []

    def emit(self, record):
        (self.errors if record.levelno >= logging.ERROR else self.lines).append(record.getMessage())


class Choices(Struct, frozen=True, kw_only=True):
    """Options of a build.

    ``workers`` is a number of processes, 0 for one per processor; ``cluster`` the address of a Dask scheduler;
    ``is_fresh`` ignores the results of earlier builds; ``cache`` is the folder for results, in place of the user's
    cache folder.
    """

    strict: bool = False
    shows_progress: bool = True
    history: bool = False
    is_preview: bool = False
    is_fresh: bool = False
    workers: int = 0
    cluster: str = ""
    cache: Path | None = None


def build_site(folder: Path, site: Path, choices: Choices, cache: Cache | None = None) -> Summary:
    """Build ``folder`` of methods into ``site``; with ``strict`` a warning is a fault, with ``history`` pages show what
    their past changes moved.

    Successive builds may share one open ``cache``. Raises BuildError, and then leaves the old ``site`` unchanged.
    """
    started = time.monotonic()
    try:
        folder, site, store = _places(folder, site, choices)
        with (
            worded(PLAIN_ENGLISH),
            alone(site, store.of_site(site)) as record,
            nullcontext(cache) if cache else _cache(folder, store, choices) as kept,
        ):
            made = _Build(folder=folder, record=record, choices=choices, cache=kept, store=store).run()
        store.forget_gone()
    except OSError as error:
        raise BuildError(f"{one_line(error.filename or site.name)}: cannot be written ({error.strerror})") from None
    except HandbookError as error:
        raise error if isinstance(error, BuildError) else BuildError(str(error)) from None
    return replace(made, seconds=time.monotonic() - started)


def open_cache(folder: Path, choices: Choices) -> Cache:
    """The open cache of earlier builds of ``folder``. Raises PlaceError where ``choices`` name no usable place for it."""
    return _cache(folder, open_store(folder, choices.cache), choices)


def check_folder(folder: Path, choices: Choices) -> Summary:
    """Read and compute everything in ``folder`` without writing a site.

    Raises HandbookError with every fault.
    """
    folder = source_place(folder)
    with (
        worded(PLAIN_ENGLISH),
        Progress(choices.shows_progress) as progress,
        open_cache(folder, choices) as cache,
        workers(choices.workers, choices.cluster) as executor,
    ):
        gathered = gather(read_source(folder, frozenset(GENERATED)), cache, executor, progress)
        cache.end_build()
        return Summary(pages=0, methods=len(gathered.methods), warnings=gathered.warnings, seconds=0.0)


def _cache(folder: Path, store: Store, choices: Choices) -> Cache:
    return Cache(None if choices.is_fresh else store.of_handbook(folder))


class _Build(Struct, frozen=True, kw_only=True):
    """One running build, the only one at its site."""

    folder: Path
    record: SiteRecord
    choices: Choices
    cache: Cache
    store: Store

    def run(self) -> Summary:
        """Make the site, unless it is up to date."""
        choices, site = self.choices, self.record.site
        standing = replaceable(self.record)
        source = read_source(self.folder, frozenset(GENERATED))
        digests = map(str, source.digests.items())
        key = key_of("site", __version__, str(site), str(_day()), str(choices.is_preview), self.folder.name, *digests)
        same = None if choices.is_fresh or source.faults or choices.history else _unchanged(key, site, self.cache)
        if same:
            return same
        with Progress(choices.shows_progress) as progress:
            return self._made(source, key, standing, progress)

    def _made(self, source: FolderSource, key: str, standing: tuple[int, int] | None, progress: Tell) -> Summary:
        choices, cache = self.choices, self.cache
        with workers(choices.workers, choices.cluster) as executor:
            gathered = gather(source, cache, executor, progress)
        kept = self.store.of_handbook(self.folder)
        review = review_states(gathered.marks, gathered.signatures, source, choices.history, progress, kept)
        with beside(self.record) as made:
            assembly = Assembly(made, self.record.site if standing and not choices.is_fresh else None, cache)
            warnings = _render(
                Prepared(
                    gathered=gathered,
                    standing=review,
                    assembly=assembly,
                    is_preview=choices.is_preview,
                    progress=progress,
                ),
                choices,
            )
            pages = sum(path.endswith(".html") for path in assembly.hashes)
            if source.stands:  # otherwise the results may come from files that changed during the build
                assembly.keep_notes()
                _note_site(key, [pages, len(gathered.methods), warnings], made, cache)
            swap(made, self.record, standing)
        cache.end_build()
        if self.store.root is None:
            warnings = [*warnings, f"nothing is cached, so no later build can replace this site: {self.store.why}"]
        return Summary(pages=pages, methods=len(gathered.methods), warnings=tuple(warnings), seconds=0.0)


def _day() -> date:
    """The day of the build, or the day in SOURCE_DATE_EPOCH (reproducible-builds.org)."""
    try:
        day = get_build_datetime().date()
        if not 1970 <= day.year < 2106:  # the range of the time in a compressed file's header (RFC 1952)
            raise ValueError(day)
        return day
    except (ValueError, OverflowError, OSError):
        read = os.environ.get("SOURCE_DATE_EPOCH", "")
        raise BuildError(
            f'SOURCE_DATE_EPOCH: read "{one_line(read)}"; allowed: seconds since 1970 as a whole number'
        ) from None


def _render(prepared: Prepared, choices: Choices) -> list[str]:
    """Run MkDocs and return its warnings."""
    warnings = _Warnings()
    logger = logging.getLogger("mkdocs")
    logger.addHandler(warnings)
    logger.propagate = False
    try:
        # MkDocs reads no file of the methods, and refuses a folder that holds the site: it gets an empty one.
        with TemporaryDirectory() as empty:
            config = site_config(Path(empty), prepared.assembly.site)
            config.plugins["handbook"].prepare(prepared)
            mkdocs_build(config)
    except Abort as error:  # MkDocs has logged the reason
        raise BuildError("\n".join(warnings.errors) or str(error)) from None
    except (PluginError, ConfigurationError) as error:
        raise BuildError(str(error)) from None
    finally:
        logger.removeHandler(warnings)
    if choices.strict and warnings.lines:
        raise BuildError("\n".join(f"warning: {line}" for line in warnings.lines))
    return warnings.lines


def _note_site(key: str, said: list, made: Path, cache: Cache) -> None:
    """Note the files that this input makes, with their state on disk."""
    cache.note(key, [said, {path: _state(made / path) for path in site_files(made)}])


def _unchanged(key: str, site: Path, cache: Cache) -> Summary | None:
    """The note on the published site, if it was made from the same input without a warning and every file is unchanged."""
    noted = cache.notes([key]).get(key)
    if noted is None or not site.is_dir():
        return None
    (pages, methods, warnings), files = noted
    if (
        warnings
        or set(files) != set(site_files(site))
        or any(_state(site / path) != said for path, said in files.items())
    ):
        return None
    return Summary(pages=pages, methods=methods, warnings=(), seconds=0.0, is_unchanged=True)


def _state(path: Path) -> list[int]:
    state = path.lstat()
    return [state.st_size, state.st_mtime_ns, state.st_mode]


def site_config(folder: Path, site: Path, **more):
    """MkDocs' configuration for a folder of methods without its own mkdocs.yml."""
    with files("site_build").joinpath("mkdocs.yml").open("rb") as base:
        return load_config(base, docs_dir=str(folder), site_dir=str(site), **more)


def _places(folder: Path, site: Path, choices: Choices) -> tuple[Path, Path, Store]:
    """The resolved places of the methods, the site and the store. Raises HandbookError for unusable places."""
    if not os.path.isdir(folder):
        raise BuildError(f"{one_line(folder.name)}: read no folder; allowed: a folder of method pages with a house.yml")
    real_folder = source_place(folder)
    real_site = real_place(site, own_tree(real_folder))
    is_within = real_site.is_relative_to(real_folder)
    # A hidden folder of the methods is not part of them.
    is_apart = is_within and is_hidden(real_site.relative_to(real_folder).as_posix().removeprefix("./"))
    if (is_within and not is_apart) or real_folder.is_relative_to(real_site):
        raise BuildError(
            f"{one_line(real_site.name)}: read a folder that holds or lies in the methods; allowed: a folder beside them"
        )
    store = open_store(real_folder, choices.cache)
    if store.root and store.root.is_relative_to(real_site):
        raise BuildError(f"{one_line(real_site.name)}: read a folder that holds the cache; allowed: a folder beside it")
    if store.root and real_site.is_relative_to(store.root) and not choices.is_preview:
        raise BuildError(f"{one_line(real_site.name)}: read a folder in the cache; allowed: a folder beside it")
    return real_folder, real_site, store
