"""The time from an edit to the changed page being served by ``handbook preview``."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import time
import urllib.error
import urllib.request
from collections.abc import Callable
from pathlib import Path

import psutil

from tests.building import COMMAND, environment
from tests.measure import Measured

EVERY, PATIENCE, EDITS = 0.02, 3600.0, 3


def edit_to_page(folder: Path, page: str, change: Callable[[], str]) -> tuple[Measured, Measured]:
    """From the start to the first page served, and the best of some edits from the write to the changed page served.

    ``change`` edits ``page`` and returns a word that was not on it before. Memory is the resident set
    size of all its processes then; processor time is that of the start, and of one edit with the wait for it.

    Raises RuntimeError when the preview ends or nothing comes within an hour.
    """
    port = free_port()
    url = f"http://127.0.0.1:{port}/{page.removesuffix('.md')}.html"
    started = time.perf_counter()
    server = subprocess.Popen(
        [*COMMAND, "preview", str(folder), "--port", str(port)],
        env=environment(),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    try:
        first = _wait_for("", url, server, started)
        begun, edits = _used(server.pid), []
        while len(edits) < EDITS and sum(edits) < 20:
            time.sleep(1)  # as a writer pauses; the watcher may look once a second
            word, edited = change(), time.perf_counter()
            edits.append(_wait_for(word, url, server, edited))
        ended = _used(server.pid)
    finally:
        if server.poll() is None:
            os.killpg(server.pid, signal.SIGINT)
            try:
                server.wait(10)
            except subprocess.TimeoutExpired:
                os.killpg(server.pid, signal.SIGKILL)
                server.wait()
    each = (ended[1] - begun[1]) / len(edits)
    return Measured(seconds=first, megabytes=begun[0], processor=begun[1], runs=1), Measured(
        seconds=min(edits), megabytes=ended[0], processor=each, runs=len(edits)
    )


def _used(pid: int) -> tuple[float, float]:
    """Memory in MB and processor seconds of a process and its descendants up to now."""
    family = [psutil.Process(pid), *psutil.Process(pid).children(recursive=True)]
    memory = sum(each.memory_info().rss for each in family) / 1e6
    return memory, sum(sum(each.cpu_times()[:2]) for each in family)


def _wait_for(word: str, url: str, server: subprocess.Popen, since: float) -> float:
    while time.perf_counter() - since < PATIENCE:
        if server.poll() is not None:
            raise RuntimeError(f"the preview ended with {server.returncode}")
        try:
            with urllib.request.urlopen(url, timeout=PATIENCE) as answer:
                if word in answer.read().decode("utf-8"):
                    return time.perf_counter() - since
        except (urllib.error.URLError, ConnectionError, TimeoutError):
            pass
        time.sleep(EVERY)
    raise RuntimeError(f"{url}: nothing within {PATIENCE:.0f} s")


def free_port() -> int:
    """A port that nothing serves on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]
