"""A deadline in seconds of the processor's time, for whatever is computed: a page's figures, its Markdown, a day's plan.

It lies far beyond what anything legal takes, on a slow machine too, so that what is built never depends on it. The
limits of what may be asked for keep pages fast; the deadline holds where one of them was forgotten.

Two ways lead there. In a main thread, where pages are made in this process and in workers alike, the system's timer
counts the processor's time, and its signal ends Python code and regular expressions. Elsewhere (threads, Windows) a
thread looks at the clock and has the interpreter raise the same error at the next step of Python code.
"""

from __future__ import annotations

import ctypes
import signal
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from handbook.base.errors import PageError

#: For one page, one method of a day, and more for each run of a method.
PAGE_SECONDS = 60.0
RUN_SECONDS = 3.0
#: For one command of git, by the clock on the wall: it may wait for a disk, a network or a lock.
GIT_SECONDS = 600.0
#: After the first error, and between looks at the clock.
_AGAIN = 0.5
_under_way = threading.local()


class Overtime(BaseException):
    """The deadline has passed. No Exception, so that nothing on the way takes it for a figure that cannot be had."""


@contextmanager
def deadline(seconds: float) -> Iterator[None]:
    """Raise Overtime within the block once this thread has computed for ``seconds`` in it.

    Within another deadline's block the outer one holds.
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
    """The time of a page with so many runs."""
    return PAGE_SECONDS + RUN_SECONDS * runs


def overtime_fault(file: str, seconds: float) -> PageError:
    """The one line about what did not come to an end in ``seconds``."""
    read = f"more than {seconds:g} s of computing"
    return PageError(file, 1, "page", read, f"what is computed in {seconds:g} s: fewer steps, runs, batches or tables")


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
        finally:  # where the deadline passes at this very moment
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
        _raise_in(thread, None)  # what was on its way is taken back


def _clock() -> Callable[[], float]:
    """This thread's seconds, to be read by another; the process's where the system tells no thread's apart."""
    if hasattr(time, "pthread_getcpuclockid"):
        clock = time.pthread_getcpuclockid(threading.get_ident())
        return lambda: time.clock_gettime(clock)
    return time.process_time


def _raise_in(thread: int, error: ctypes.py_object | None) -> None:
    ctypes.pythonapi.PyThreadState_SetAsyncExc(ctypes.c_ulong(thread), error)
