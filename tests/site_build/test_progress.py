"""The line of progress: what is drawn, when, and that nothing stays behind."""

import io
from types import SimpleNamespace

import pytest

from site_build.base import progress


class _Terminal(io.StringIO):
    def isatty(self):
        return True


class _Clock:
    """Time that passes when it is told to."""

    now = 1000.0

    def monotonic(self):
        return self.now


@pytest.fixture
def clock(monkeypatch):
    found = _Clock()
    monkeypatch.setattr(progress, "time", found)
    return found


@pytest.fixture
def terminal(monkeypatch):
    found = _Terminal()
    monkeypatch.setattr(progress, "sys", SimpleNamespace(stderr=found))
    return found


def _run(clock, steps, total, each):
    with progress.Progress() as tell:
        for done in range(1, steps + 1):
            tell("pages", done, total)
            clock.now += each


def test_short_jobs_draw_nothing(clock, terminal):
    """Nothing flashes up for what is done within a second."""
    _run(clock, 10, 10, 0.09)
    assert terminal.getvalue() == ""


def test_long_jobs_tell_the_time_left(clock, terminal):
    """A line after a second, the time left from the pace so far, and a clean line at the end."""
    _run(clock, 40, 100, 0.5)
    drawn = terminal.getvalue().split("\r")[1:]
    assert drawn[0] == "pages: 3 of 100, 32 s left"  # 1 s for 3 of them
    assert drawn[-3].startswith("pages: 40 of 100, 29 s left")  # 19.5 s for 40
    assert not drawn[-2].strip() and drawn[-1] == ""


def test_hours_are_not_told_in_seconds(clock, terminal):
    """What takes long is told in minutes."""
    _run(clock, 3, 1000, 1.0)
    assert "pages: 3 of 1000, 11 min left" in terminal.getvalue()


def test_each_job_has_its_own_pace(clock, terminal):
    """The time that an earlier job took does not count for the next one."""
    with progress.Progress() as tell:
        tell("pages", 1, 2)
        clock.now += 60
        tell("pictures", 1, 100)
        clock.now += 2
        tell("pictures", 2, 100)
    assert terminal.getvalue().split("\r")[1] == "pictures: 2 of 100, 98 s left"


def test_files_hear_nothing(clock, monkeypatch):
    """Where standard error is no terminal, as in a log, nothing is drawn."""
    found = io.StringIO()
    monkeypatch.setattr(progress, "sys", SimpleNamespace(stderr=found))
    _run(clock, 40, 100, 1.0)
    assert found.getvalue() == ""
