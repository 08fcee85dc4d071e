"""Selects where pages are computed: in this process, in local processes, or on a cluster, as a standard Executor."""

from __future__ import annotations

import gc
import multiprocessing
import os
import sys
import threading
import time
from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, Executor, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from itertools import islice
from math import ceil

from handbook.base.deadline import page_seconds
from handbook.base.errors import HandbookError, PageError
from site_build.base.fingerprint import fingerprint
from site_build.build.made_page import PageJob, PageResult, make_page, unmade

try:
    import resource
except ImportError:  # Windows
    resource = None

#: Fewer pages than this are computed here, because starting processes takes longer.
FEW = 4
#: Pages submitted before the first result, enough for a cluster with as many processors.
AHEAD = 64
#: Whether this is a worker process of the build, which may be ended.
_ends_itself = False


class WorkerError(HandbookError):
    """The workers failed."""


@contextmanager
def workers(number: int | None, cluster: str = "") -> Iterator[Callable[[int], Executor | None]]:
    """A function that gives the executor for a number of pages; None means this process.

    ``number`` is the number of local processes, by default one per processor; ``cluster`` the address of a Dask
    scheduler. Everything is shut down at the end. Raises WorkerError where the cluster is unreachable.
    """
    number = number or _processors()
    opened: list = []

    def executor(pages: int) -> Executor | None:
        if cluster:
            opened.append(_client(cluster))
            return opened[-1].get_executor()
        if number == 1 or pages < FEW:
            return None
        pool = _pool(min(number, pages))
        opened.append(pool)
        return pool

    try:
        yield executor
    finally:
        for each in opened:
            if isinstance(each, Executor):
                each.shutdown(cancel_futures=True)
            else:
                each.close()


def make_pages(jobs: list[PageJob], executor: Executor | None, done: Callable[[PageResult], None]) -> None:
    """Make every page of ``jobs`` and pass each result to ``done``, in any order.

    A page whose process ends before the page is made gets a fault. Raises WorkerError where a worker runs another version
    of the handbook.
    """
    engine = fingerprint()
    if executor is None:
        for job in jobs:
            done(make_page(job, engine))
        return
    left = {job.path: job for job in jobs}
    try:
        for made in _as_made(jobs, executor):
            if made.engine != engine:
                raise WorkerError(
                    "cluster: read workers with another version of the handbook; allowed: the same everywhere"
                )
            del left[made.path]
            done(made)
    except BrokenProcessPool:
        # The failed page is unknown, and several together may have used up the memory: the rest runs one by one.
        for made in _one_by_one(list(left.values()), engine):
            done(made)


def _as_made(jobs: list[PageJob], executor: Executor) -> Iterator[PageResult]:
    """Pages in the order of completion. Only a few are submitted ahead, because all jobs and results would fill the memory."""
    left = iter(jobs)
    running = {executor.submit(_make, job) for job in islice(left, AHEAD)}
    while running:
        ended, running = wait(running, return_when=FIRST_COMPLETED)
        running |= {executor.submit(_make, job) for job in islice(left, len(ended))}
        while ended:
            yield ended.pop().result()


def _one_by_one(jobs: list[PageJob], engine: str) -> Iterator[PageResult]:
    """Pages in one local process. Where it ends, its page gets a fault and the next page a new process."""
    allowed = "a page that one process can compute; or more memory, if that ran out"
    left = deque(jobs)
    while left:
        with _pool(1) as pool:
            try:
                while left:
                    job = left.popleft()
                    yield pool.submit(_make, job).result()
            except BrokenProcessPool:
                fault = PageError(job.file, 1, "page", "no figures: its process was ended", allowed)
                yield unmade(job, engine, fault)


def _pool(number: int) -> ProcessPoolExecutor:
    return ProcessPoolExecutor(number, _context(), _begin, (os.getpid(),))


def _processors() -> int:
    """Processors that this process may use, where the system reports them."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _make(job: PageJob) -> PageResult:
    """Runs in a worker, with the worker's own engine mark."""
    if _ends_itself:
        _limit_processor(2 * page_seconds(len(job.runs)))
    return make_page(job, fingerprint())


def _limit_processor(seconds: float) -> None:
    """Make the system end this process after ``seconds`` of processor time. The page's own deadline cannot interrupt a
    call into C code that never returns; this limit can.
    """
    used = resource.getrusage(resource.RUSAGE_SELF)
    _, most = resource.getrlimit(resource.RLIMIT_CPU)
    until = ceil(used.ru_utime + used.ru_stime + seconds)
    resource.setrlimit(resource.RLIMIT_CPU, (until if most == resource.RLIM_INFINITY else min(until, most), most))


def _context() -> multiprocessing.context.BaseContext:
    # Python starts its workers with "-c", which searches modules in the current folder first: that is the clone.
    os.environ["PYTHONSAFEPATH"] = "1"
    if sys.platform == "linux" and threading.active_count() == 1:
        # The engine is loaded once, and its memory is shared for as long as no collector writes into it. Only a process
        # without other threads may be copied.
        gc.freeze()
        return multiprocessing.get_context("fork")
    if "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload([__name__, "handbook.base.unit_registry"])
    return context


def _begin(builder: int) -> None:
    """Ends a worker process when the build is gone, because a killed build cannot end it."""
    global _ends_itself
    _ends_itself = resource is not None

    def watch() -> None:
        while _is_alive(builder):
            time.sleep(0.5)
        os._exit(1)

    threading.Thread(target=watch, daemon=True).start()


def _is_alive(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True


def _client(address: str):
    try:
        from distributed import Client
    except ImportError:
        raise WorkerError(
            "cluster: read no distributed library; allowed: the package installed with its extra [cluster]"
        ) from None
    try:
        return Client(address, timeout=10)
    except (OSError, ValueError) as error:
        raise WorkerError(
            f'cluster: read "{address}"; allowed: the address of a Dask scheduler that answers ({error})'
        ) from None
