"""One line of progress on the terminal, rewritten in place. Silent where standard error is not a terminal."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable

#: Called with (what, done, total).
Tell = Callable[[str, int, int], None]

#: Seconds before a job gets a line, and between two updates.
_FIRST, _EVERY = 1.0, 0.1


def silent(what: str, done: int, total: int) -> None:
    """Progress without output."""


class Progress:
    """A function to call with (what, done, total). It prints the time left of each job that takes more than a second."""

    def __init__(self, wanted: bool = True):
        self._shows = wanted and sys.stderr.isatty()
        self._what, self._began, self._drawn = "", 0.0, 0.0
        self._width = 0

    def __call__(self, what: str, done: int, total: int) -> None:
        now = time.monotonic()
        if what != self._what:
            self._what, self._began = what, now
        passed = now - self._began
        if not self._shows or done == total or passed < _FIRST or now - self._drawn < _EVERY:
            return
        self._drawn = now
        line = f"{what}: {done} of {total}, {_left(passed / done * (total - done))} left"
        sys.stderr.write("\r" + line.ljust(self._width))
        sys.stderr.flush()
        self._width = len(line)

    def __enter__(self) -> Progress:
        return self

    def __exit__(self, *_) -> None:
        """End the line on the terminal."""
        if self._width:
            sys.stderr.write("\r" + " " * self._width + "\r")
            sys.stderr.flush()
            self._width = 0


def _left(seconds: float) -> str:
    return f"{seconds:.0f} s" if seconds < 99.5 else f"{seconds / 60:.0f} min"
