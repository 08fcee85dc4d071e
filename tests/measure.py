"""Time and memory of a command with all its processes, and how both grow."""

from __future__ import annotations

import os
import subprocess
import threading
import time
from contextlib import suppress
from pathlib import Path

import numpy as np
import psutil
from msgspec import Struct

#: Seconds between two looks at the memory.
EVERY = 0.1


class Measured(Struct, frozen=True, kw_only=True):
    """The best of ``runs`` runs in seconds, its processor time in seconds, the most memory of any run in MB (10^6 bytes).

    Processor time is that of all processes together, user and system, of descendants as last looked at: it says more
    where others use the machine too.
    Memory is the sum over the process and all its descendants at one moment, looked at ten times a second, pages that
    processes share counted once (proportional set size, where the system tells it, else resident set size). What a system
    keeps as a child's peak is no measure: it begins with the memory of the process that started it.
    """

    seconds: float
    megabytes: float
    processor: float
    runs: int = 1


class Growth(Struct, frozen=True, kw_only=True):
    """How times grow with size n: c n^exponent, and a + b n with the largest relative distance of a time from it."""

    exponent: float
    fixed: float
    each: float
    distance: float


def measure(command: list[str], cwd: Path | None = None, env: dict | None = None, codes=(0,)) -> Measured:
    """Run a command to its end.

    Raises RuntimeError with what it said when its exit code is not one of ``codes``.
    """
    with open(os.devnull) as nothing:
        started = time.perf_counter()
        running = subprocess.Popen(
            command, cwd=cwd, env=env, stdin=nothing, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
        )
    watch = _Watch(running.pid)
    watch.start()
    said = running.stdout.read()
    _, status, used = os.wait4(running.pid, 0)
    seconds = time.perf_counter() - started
    watch.ended.set()
    watch.join()
    running.stdout.close()
    running.returncode = os.waitstatus_to_exitcode(status)
    if running.returncode not in codes:
        raise RuntimeError(f"{' '.join(map(str, command))} ended with {running.returncode}:\n{said[-2000:]}")
    # The system adds up those that were waited for; workers of another parent were only looked at.
    processor = max(used.ru_utime + used.ru_stime, sum(watch.processor.values()))
    return Measured(seconds=seconds, megabytes=watch.peak / 1e6, processor=processor)


def best_of(job, most_runs: int, patience: float) -> Measured:
    """The best of up to ``most_runs`` calls of ``job``; no further one once they have taken ``patience`` seconds."""
    found: list[Measured] = []
    while len(found) < most_runs and (not found or sum(each.seconds for each in found) < patience):
        found.append(job())
    best = min(found, key=lambda each: each.seconds)
    return Measured(
        seconds=best.seconds, megabytes=max(each.megabytes for each in found), processor=best.processor, runs=len(found)
    )


def growth(sizes: list[int], seconds: list[float]) -> Growth:
    """Least-squares fits of the times at two sizes or more: a power law (to the logarithms) and a straight line."""
    exponent = float(np.polyfit(np.log(sizes), np.log(seconds), 1)[0])
    each, fixed = (float(value) for value in np.polyfit(sizes, seconds, 1))
    fitted = fixed + each * np.array(sizes, float)
    return Growth(
        exponent=exponent, fixed=fixed, each=each, distance=float(np.max(np.abs(fitted / np.array(seconds) - 1)))
    )


class _Watch(threading.Thread):
    """Looks at the memory and the processor time of a process tree until it ends."""

    def __init__(self, pid: int):
        super().__init__(daemon=True)
        self.ended, self.peak = threading.Event(), 0
        self.processor: dict[int, float] = {}
        self._process = psutil.Process(pid)

    def run(self):
        while not self.ended.wait(EVERY):
            try:
                family = [self._process, *self._process.children(recursive=True)]
            except psutil.Error:
                return
            self.peak = max(self.peak, sum(_memory(each) for each in family))
            for each in family:
                with suppress(psutil.Error):
                    self.processor[each.pid] = sum(each.cpu_times()[:2])


def _memory(process: psutil.Process) -> int:
    try:
        found = process.memory_full_info()
    except psutil.Error:  # it has ended meanwhile
        return 0
    return getattr(found, "pss", found.rss)
