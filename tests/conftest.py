"""What several tests share: the demo handbook, built once, and what that build kept."""

import gc
import os
import pickle
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from filelock import FileLock
from hypothesis import settings

from site_build.base.store import open_store
from site_build.build.build_site import Choices, build_site, open_cache
from site_build.build.cache import FILE
from tests import building, remembered
from tests.ready import commands_ready
from tests.remembered import reports_remembered
from tests.whole_book import Book, read_book

# No clock decides a test, and every run tries the same cases.
settings.register_profile("house", deadline=None, derandomize=True)
settings.load_profile("house")

METHODS = Path(__file__).resolve().parent.parent / "methods"


def pytest_collection_finish() -> None:
    """What is imported and collected lasts to the end, and arrays hold no circles: their garbage is collected rarely."""
    gc.freeze()
    gc.set_threshold(50_000)


@pytest.fixture(scope="session", autouse=True)
def own_cache(tmp_path_factory):
    """What builds of the tests keep lies in a folder of their own, not the user's (site_build/base/store.py)."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("kept")))
        yield


@pytest.fixture(scope="session", autouse=True)
def each_report_once():
    """No method is computed twice with the same inputs (tests/remembered.py)."""
    with reports_remembered():
        yield


@pytest.fixture(scope="session")
def methods_folder() -> Path:
    """The demo handbook's content."""
    return METHODS


@pytest.fixture(scope="session")
def made_once(tmp_path_factory) -> Callable[[str, Callable[[Path], None]], Path]:
    """Gives the folder of a name; whoever asks first, among all processes that run tests, fills it.

    They share the folder ``MADE_ONCE`` (tests/run), as workers of one run share theirs.
    """
    base = tmp_path_factory.getbasetemp()
    shared = Path(os.environ.get("MADE_ONCE") or (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base))

    def made(name: str, fill: Callable[[Path], None]) -> Path:
        place = shared / f"once-{name}"
        with FileLock(f"{place}.lock"):
            if not place.is_dir():
                half = place.with_name(f"half-{name}")
                shutil.rmtree(half, ignore_errors=True)  # left by an attempt that failed
                half.mkdir(mode=0o700)
                fill(half)
                half.rename(place)
        return place

    return made


@pytest.fixture(scope="session")
def command_server(tmp_path_factory):
    """The socket of a server whose commands are ready at once (tests/ready.py)."""
    with commands_ready(tmp_path_factory.mktemp("ready"), building.environment()) as socket:
        yield socket


@pytest.fixture(scope="module")
def ready_commands(command_server):
    """Commands of tests/building.py that run to their end are ready at once, unless their start is tested."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(building, "served", command_server)
        yield command_server


@pytest.fixture(scope="session")
def demo_site(made_once) -> Path:
    """The demo handbook as a site, built strictly."""

    def fill(place: Path) -> None:
        if "DEMO_KEPT" in os.environ:  # what a build of the demo by this very code kept (tests/run)
            shutil.copytree(os.environ["DEMO_KEPT"], place / "kept")
        build_site(METHODS, place / "site", Choices(strict=True, shows_progress=False, cache=place / "kept"))

    return made_once("demo", fill) / "site"


@pytest.fixture(scope="session")
def demo_book(made_once, demo_site) -> Book:
    """The demo handbook, read and computed once. Its reports are remembered, so that no test computes them again."""

    def fill(place: Path) -> None:
        with open_cache(METHODS, Choices(cache=demo_site.parent / "kept")) as cache:
            book = read_book(METHODS, cache)
        ours = {id(page.report) for page in book.methods}
        known = {key: made for key, made in remembered.reports.items() if id(made[0][0]) in ours}
        (place / "book").write_bytes(pickle.dumps((book, known)))

    book, known = pickle.loads((made_once("book", fill) / "book").read_bytes())
    remembered.reports.update(known)
    return book


@pytest.fixture
def take_over(demo_site) -> Callable[[Path], None]:
    """Gives builds of a folder, the demo or a changed copy, what the demo's own build kept: the rest is computed."""

    def taken(folder: Path) -> None:
        theirs = open_store(METHODS, demo_site.parent / "kept").of_handbook(METHODS)
        mine = open_store(folder).of_handbook(folder)
        if (mine / FILE).exists():
            return
        for file in theirs.glob(f"{FILE}*"):
            shutil.copy(file, mine)

    return taken
