"""``handbook preview``: serves the site on this machine, builds it after every edit and reloads the open page."""

from __future__ import annotations

import logging
import os
import tempfile
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

from filelock import FileLock, Timeout
from mkdocs.livereload import LiveReloadServer
from msgspec import Struct
from msgspec.structs import replace
from watchdog.observers.polling import PollingObserverVFS

from handbook.base.errors import HandbookError, UnforeseenError
from handbook.folder.file_names import MAX_DEPTH, is_hidden
from site_build.base.places import source_place
from site_build.base.store import open_store
from site_build.build.build_site import Choices, build_site, open_cache
from site_build.build.publish import BuildError

_HOST = "127.0.0.1"
#: Names of this machine that a browser may ask for. Requests for other names get no answer, because any name server can
#: lead a name here.
_NAMES = ("localhost", "127.0.0.1", "[::1]")
#: Interval of checks of the folder, and the wait for further changes, in s.
_EVERY, _PAUSE = 0.2, 0.05


def serve(folder: Path, port: int, say: Callable[[str], None], kept: Path | None) -> None:
    """Serve ``folder`` until interrupted; ``say`` receives a line for each event.

    A faulty edit is reported and the last good page remains. ``kept`` is the folder for the results of builds. Raises
    HandbookError where the first build fails or the port is taken.
    """
    folder = source_place(folder)
    logging.getLogger("mkdocs.livereload").setLevel(logging.WARNING)
    with _places(folder, Choices(is_preview=True, cache=kept)) as (site, choices), open_cache(folder, choices) as cache:

        def rebuild() -> None:
            try:
                made = build_site(folder, site, choices, cache)
            except HandbookError as error:
                say(str(error))
            except Exception as error:  # the build thread must survive any edit
                say(str(UnforeseenError.of(folder.name, error)))
            else:
                say(f"built in {made.seconds:.1f} seconds")

        say(f"Preview on http://{_HOST}:{port}/ (stop with Ctrl-C)")
        build_site(folder, site, choices, cache)
        try:
            server = _Server(rebuild, _HOST, port, str(site), folder=folder, polling_interval=_EVERY)
            server.build_delay = _PAUSE
            server.watch(str(folder))
            server.error_handler = lambda code: _error_page(site, code)
            _run(server)
        except OSError as error:
            raise BuildError(f"--port: read {port}; allowed: a port that is free ({error.strerror})") from None


class _Server(LiveReloadServer):
    """Answers only requests for this machine by its own name, and watches ``folder`` as a build reads it."""

    def __init__(self, *arguments, folder: Path, polling_interval: float, **more):
        super().__init__(*arguments, polling_interval=polling_interval, **more)
        watched = _Watched(folder=str(folder))
        self.observer = PollingObserverVFS(watched.state, watched.entries, polling_interval=polling_interval)

    def serve_request(self, environ, start_response):
        if environ.get("HTTP_HOST", "").lower() not in {f"{name}:{self.server_port}" for name in _NAMES}:
            start_response("421 Misdirected Request", [("Content-Type", "text/plain")])
            return [b"This preview answers this machine alone.\n"]
        return super().serve_request(environ, start_response)


class _Watched(Struct, frozen=True, kw_only=True):
    """Reads the state of ``folder`` without following links. Files that appear or vanish do not end the watching."""

    folder: str

    def state(self, path: str) -> os.stat_result:
        """State of a file; that of the root in place of the watched folder while it is gone, as between two branches."""
        try:
            return os.lstat(path)
        except OSError:
            if path != self.folder:
                raise
            return os.lstat(os.sep)

    def entries(self, path: str) -> list[os.DirEntry]:
        """What a build would look at in a folder."""
        if path[len(self.folder) :].count(os.sep) > MAX_DEPTH:
            return []
        try:
            with os.scandir(path) as found:
                return [each for each in found if not is_hidden(each.name)]
        except OSError:
            return []


@contextmanager
def _places(folder: Path, choices: Choices) -> Iterator[tuple[Path, Choices]]:
    """The folder of the preview's site, and the choices with a cache.

    Both are kept for the next preview, except where another preview holds the place or nothing can be kept.
    """
    kept = open_store(folder, choices.cache).of_handbook(folder)
    with ExitStack() as held:
        try:
            if kept is None:
                raise FileNotFoundError
            (kept / "preview").mkdir(mode=0o700, exist_ok=True)
            held.enter_context(FileLock(kept / "preview.lock").acquire(blocking=False))
            site = kept / "preview" / "site"
        except (OSError, Timeout):
            place = Path(held.enter_context(tempfile.TemporaryDirectory(prefix="handbook-preview-")))
            site = place / "site"
            choices = choices if kept else replace(choices, cache=place / "kept")
        yield site, choices


def _run(server: LiveReloadServer) -> None:
    try:
        server.serve()
    except KeyboardInterrupt:
        pass
    finally:
        server.shutdown()


def _error_page(site: Path, code: int) -> bytes | None:
    page = site / f"{code}.html"
    return page.read_bytes() if page.is_file() else None
