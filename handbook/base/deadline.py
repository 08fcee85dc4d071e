"""A deadline in seconds of processor time for each computation: a page's figures, its Markdown, a day's plan.

The deadline is far longer than any legal page takes, on a slow machine too, so the result of a build never depends on
it. Limits on the input keep pages fast; the deadline covers a limit that was forgotten.

In a main thread (of this process or of a worker) the system's timer counts processor time, and its signal ends Python
code and regular expressions. Elsewhere (threads, Windows) a second thread reads the clock and makes the interpreter
raise the same error at the next step of Python code.
"""

from __future__ import annotations

import ctypes
import signal
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from handbook.base.errors import PageError

#: For one page or one method of a day, and more for each run of a method.
PAGE_SECONDS = 60.0
RUN_SECONDS = 3.0
#: Wall-clock time of one git command, which may wait for a disk, a network or a lock.
GIT_SECONDS = 600.0
#: Interval of repeated errors after the first, and of readings of the clock.
_AGAIN = 0.5
_under_way = threading.local()


class Overtime(BaseException):
    """The deadline has passed. Not an Exception, so that no handler mistakes it for a figure that cannot be computed."""


@contextmanager
def deadline(seconds: float) -> Iterator[None]:
    """Raise Overtime once this thread has computed for ``seconds`` within the block.

    A nested deadline has no effect: the outer one applies.
    """
    if getattr(_under_way, "is_limited", False):
        yield
        return
    _under_way.is_limited = True
    try:
        with (_by_signal if _has_signals() else _by_watching)(seconds):
            yield
    finally:
        _under_way.is_limited = False


def page_seconds(runs: int) -> float:
    """The deadline of a page with ``runs`` runs."""
    return PAGE_SECONDS + RUN_SECONDS * runs


def overtime_fault(
    file: str, seconds: float, what: str = "page", fewer: str = "steps, runs, batches or tables"
) -> PageError:
    """The fault of a page or a day that takes more than ``seconds`` to compute; ``fewer`` of these shorten it."""
    read = f"more than {seconds:g} s of computing"
    return PageError(file, 1, what, read, f"what is computed in {seconds:g} s: fewer {fewer}")


def _has_signals() -> bool:
    return hasattr(signal, "setitimer") and threading.current_thread() is threading.main_thread()


@contextmanager
def _by_signal(seconds: float) -> Iterator[None]:
    ends = time.thread_time() + seconds

    def end(*_: object) -> None:
        left = ends - time.thread_time()  # the timer counts the process's other threads too
        if left > 0:
            signal.setitimer(signal.ITIMER_VIRTUAL, max(left, 0.01), _AGAIN)
        else:
            raise Overtime

    def put_back() -> None:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)
        signal.signal(signal.SIGVTALRM, before)

    before = signal.signal(signal.SIGVTALRM, end)
    signal.setitimer(signal.ITIMER_VIRTUAL, seconds, _AGAIN)
    try:
        yield
    finally:
        try:
            put_back()
        finally:  # the deadline may pass during the first call
            put_back()


@contextmanager
def _by_watching(seconds: float) -> Iterator[None]:
    thread, clock = threading.get_ident(), _clock()
    ends = clock() + seconds
    over, lock = threading.Event(), threading.Lock()

    def watch() -> None:
        while not over.wait(_AGAIN):
            with lock:
                if clock() > ends and not over.is_set():
                    _raise_in(thread, ctypes.py_object(Overtime))

    threading.Thread(target=watch, daemon=True).start()
    try:
        yield
    finally:
        with lock:
            over.set()
        _raise_in(thread, None)  # cancels an error not yet raised


def _clock() -> Callable[[], float]:
    """Clock of this thread's processor time for use by another thread; of the whole process where the system has none."""
    if hasattr(time, "pthread_getcpuclockid"):
        clock = time.pthread_getcpuclockid(threading.get_ident())
        return lambda: time.clock_gettime(clock)
    return time.process_time


def _raise_in(thread: int, error: ctypes.py_object | None) -> None:
    ctypes.pythonapi.PyThreadState_SetAsyncExc(ctypes.c_ulong(thread), error)
