"""One line of progress on the terminal, rewritten in place; silent where nobody watches."""

from __future__ import annotations

import sys
import time


class Progress:
    """Call with (what, done, total); time left is shown once a job has taken two seconds."""

    def __init__(self, wanted: bool = True):
        self._shows = wanted and sys.stderr.isatty()
        self._started = time.monotonic()
        self._drawn = 0.0
        self._width = 0

    def __call__(self, what: str, done: int, total: int) -> None:
        now = time.monotonic()
        if not self._shows or (done < total and now - self._drawn < 0.1):
            return
        self._drawn = now
        passed = now - self._started
        left = f", {passed / done * (total - done):.0f} s left" if passed > 2 and done < total else ""
        line = f"{what}: {done} of {total}{left}"
        sys.stderr.write("\r" + line.ljust(self._width))
        sys.stderr.flush()
        self._width = len(line)

    def end(self) -> None:
        """Leave the terminal on a clean line."""
        if self._width:
            sys.stderr.write("\r" + " " * self._width + "\r")
            sys.stderr.flush()
            self._width = 0
