"""``handbook preview``: the site on this machine, built again after every edit, the open page loaded again."""

from __future__ import annotations

import logging
import tempfile
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

from filelock import FileLock, Timeout
from mkdocs.livereload import LiveReloadServer

from handbook.errors import HandbookError
from site_build.build import Choices, build_site, open_cache
from site_build.cache import FOLDER
from site_build.swap import BuildError

_HOST = "127.0.0.1"
#: How often the folder is looked at, and how long more changes are waited for, in s.
_EVERY, _PAUSE = 0.2, 0.05


def serve(folder: Path, port: int, say: Callable[[str], None]) -> None:
    """Serve ``folder`` until it is interrupted; ``say`` is given a line for each thing that happens.

    A faulty edit is named and the last good page stays. Raises BuildError where the first build fails or the port is
    taken.
    """
    logging.getLogger("mkdocs.livereload").setLevel(logging.WARNING)
    choices = Choices(is_preview=True)
    with open_cache(folder, choices) as cache, _place(folder.resolve().parent / FOLDER) as place:
        site = place / "site"

        def rebuild() -> None:
            try:
                made = build_site(folder, site, choices, cache)
            except HandbookError as error:
                say(str(error))
            else:
                say(f"built in {made.seconds:.1f} seconds")

        say(f"Preview on http://{_HOST}:{port}/ (stop with Ctrl-C)")
        build_site(folder, site, choices, cache)
        try:
            server = LiveReloadServer(rebuild, _HOST, port, str(site), polling_interval=_EVERY)
            server.build_delay = _PAUSE
            server.watch(str(folder))
            server.error_handler = lambda code: _error_page(site, code)
            _run(server)
        except OSError as error:
            raise BuildError(f"--port: read {port}; allowed: a port that is free ({error.strerror})") from None


@contextmanager
def _place(kept: Path) -> Iterator[Path]:
    """Where the site is built: a place that stays, so that the next preview takes over what is still right; one that
    goes where another preview holds that or nothing can be written there.
    """
    place, lock = kept / "preview", FileLock(kept / "preview.lock")
    with ExitStack() as held:
        try:
            for each in (place, place / "site"):  # a clone can bring links along
                if each.is_symlink():
                    each.unlink()
            place.mkdir(parents=True, exist_ok=True)
            held.enter_context(lock.acquire(blocking=False))
        except (OSError, Timeout):
            place = Path(held.enter_context(tempfile.TemporaryDirectory(prefix="handbook-preview-")))
        yield place


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
