"""Pages computed elsewhere: processes and a cluster give the same bytes as this process, whoever falls over on the way."""

import os
import resource
import signal
import threading
from concurrent.futures import ThreadPoolExecutor
from itertools import repeat

import pytest
from click.testing import CliRunner

from handbook.base.errors import FaultsError
from handbook.folder.source import read_source
from site_build.base.fingerprint import fingerprint
from site_build.build import executors as work
from site_build.build import made_page
from site_build.build.build_site import Choices, build_site
from site_build.build.cache import Cache
from site_build.build.executors import WorkerError, make_pages, workers
from site_build.build.gather import gather, job_of
from site_build.build.publish import BuildError
from site_build.cli.main import main
from site_build.reading.book import GENERATED

SOME = 6  # pages are enough to share out


@pytest.fixture(scope="module")
def source(methods_folder):
    """The demo folder, read."""
    return read_source(methods_folder, frozenset(GENERATED))


@pytest.fixture(scope="module")
def here(source):
    """Some pages made in this process."""
    return made(source, None)


def made(source, executor, told=lambda page: None) -> dict:
    """Path -> page and files, made by ``executor``; ``told`` is called with each as it comes."""
    found = {}

    def done(page):
        found[page.path] = page.page, page.files
        told(page)

    make_pages([job_of(source, path) for path in source.pages[:SOME]], executor, done)
    return found


def test_processes_make_the_same(source, here):
    """Two processes make what this one makes, to the byte."""
    with workers(2) as executor:
        assert made(source, executor(SOME)) == here


def test_any_executor_will_do(source, here):
    """Nothing but ``concurrent.futures.Executor`` is asked for."""
    with ThreadPoolExecutor(1) as executor:
        assert made(source, executor) == here


@pytest.fixture
def cluster():
    """A Dask cluster of three processes on this machine."""
    from distributed import LocalCluster

    with LocalCluster(n_workers=3, threads_per_worker=1, processes=True, dashboard_address=None) as found:
        yield found


@pytest.mark.filterwarnings("ignore")
def test_cluster_with_a_worker_lost_half_way(source, here, cluster):
    """A cluster makes the same bytes, though one of its workers is killed in the middle of the work."""
    victim = next(iter(cluster.workers.values())).pid
    lost = threading.Event()

    def kill_one(page):
        if not lost.is_set():
            os.kill(victim, signal.SIGKILL)
            lost.set()

    with workers(None, cluster.scheduler_address) as executor:
        assert made(source, executor(SOME), kill_one) == here
    assert lost.is_set()


@pytest.mark.parametrize("address", ["tcp://127.0.0.1:9", "no address"])
def test_cluster_that_does_not_answer(address, methods_folder, tmp_path):
    """An address where no scheduler answers is one line."""
    with pytest.raises(BuildError, match=r"^cluster: read .*; allowed: the address of a Dask scheduler") as caught:
        build_site(methods_folder, tmp_path / "site", Choices(shows_progress=False, is_fresh=True, cluster=address))
    assert "\n" not in str(caught.value)


def test_worker_of_another_version(source, monkeypatch):
    """A worker that runs other code is refused."""
    monkeypatch.setattr("site_build.build.executors._make", _made_by_another)
    with ThreadPoolExecutor(1) as executor, pytest.raises(WorkerError, match="another version"):
        made(source, executor)


def _made_by_another(job):
    from site_build.build.made_page import make_page

    return make_page(job, "another engine")


def test_worker_that_dies(source, monkeypatch):
    """A process that ends, whatever ended it, is one line of the page that it was at; every other page is made."""
    monkeypatch.setattr("site_build.build.executors._make", _die_of_one)
    paths, told = source.pages[:SOME], {}
    with workers(2) as executor:
        make_pages(
            [job_of(source, path) for path in paths], executor(SOME), lambda page: told.update({page.path: page})
        )
    assert set(told) == set(paths)
    assert [str(each).partition(";")[0] for page in told.values() for each in page.faults] == [
        f"methods/{paths[1]}:1: page: read no figures: its process was ended"
    ]
    assert all(told[path].files is not None for path in paths if path != paths[1])


def test_gathering_when_a_worker_dies(source, monkeypatch):
    """The build says the page whose process ended, and nothing else, as any fault."""
    monkeypatch.setattr("site_build.build.executors._make", _die_of_one)
    with workers(2) as executor, pytest.raises(FaultsError) as caught:
        gather(source, Cache(), executor)
    assert [line.partition(";")[0] for line in str(caught.value).splitlines()] == [
        "methods/brined-chicken-thighs.md:1: page: read no figures: its process was ended"
    ]


def _die_of_one(job):
    if job.path == "brined-chicken-thighs.md":
        os._exit(9)
    return made_page.make_page(job, fingerprint())


def test_worker_that_never_returns(source, monkeypatch):
    """A call of C code that no error reaches is ended with its process by the system."""
    monkeypatch.setattr("site_build.build.executors._make", _hang_in_one)
    paths, told = source.pages[:SOME], {}
    with workers(2) as executor:
        make_pages(
            [job_of(source, path) for path in paths], executor(SOME), lambda page: told.update({page.path: page})
        )
    assert [page.path for page in told.values() if page.faults] == ["brined-chicken-thighs.md"]
    assert sum(page.files is not None for page in told.values()) == SOME - 1


def _hang_in_one(job):
    work._limit_processor(20.0 if job.path != "brined-chicken-thighs.md" else 1.0)
    if job.path == "brined-chicken-thighs.md":
        sum(repeat(0))
    return made_page.make_page(job, fingerprint())


def test_workers_limit_themselves(source):
    """A process of the build's own has a limit of the processor's time beyond the page's deadline; this one has none."""
    with workers(2) as executor:
        pool = executor(SOME)
        pool.submit(work._make, job_of(source, "about.md")).result()
        limited = [pool.submit(_limit).result() for _ in range(8)]
    assert any(0 < each < 1000 for each in limited)
    assert _limit() == resource.RLIM_INFINITY


def _limit() -> int:
    return resource.getrlimit(resource.RLIMIT_CPU)[0]


def test_second_gathering_makes_nothing(tmp_path, monkeypatch):
    """What the cache holds is not made again, and is the same."""
    CliRunner().invoke(main, ["new", str(tmp_path / "mine/first-try.md")])
    source, cache = read_source(tmp_path / "mine"), Cache()
    first = gather(source, cache)
    monkeypatch.setattr("site_build.build.gather.make_pages", lambda *_: pytest.fail("made again"))
    again = gather(source, cache)
    assert again.pages == first.pages
    assert [again.files(path) for path in again.pages] == [first.files(path) for path in first.pages]
