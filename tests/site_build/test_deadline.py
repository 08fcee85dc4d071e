"""What takes too long is ended and told as one line, wherever it is computed, and nothing else is lost."""

import contextlib
import re
import threading
import time
from concurrent.futures import ThreadPoolExecutor

import pytest

from handbook import open_handbook
from handbook.base import deadline as limits
from handbook.base.deadline import Overtime, deadline
from handbook.folder import read_page
from handbook.folder.source import read_source
from site_build.base.fingerprint import fingerprint
from site_build.build import made_day, made_page
from site_build.build.cache import Cache
from site_build.build.executors import make_pages, workers
from site_build.build.gather import job_of
from site_build.build.kept_reads import KeptReads
from site_build.reading.book import GENERATED
from tests.hostile_pages import METHODS

SHORT = 0.2  # s, in which none of these comes to an end


def loop() -> None:
    while True:
        pass


def swallowing() -> None:
    """A loop that takes every error for one of its own figures."""
    while True:
        with contextlib.suppress(Exception):
            loop()


def backtracking() -> None:
    """A regular expression that tries 2 to the 200 ways: one call of C code."""
    re.fullmatch(r"(a|a)*b", "a" * 200)


@pytest.mark.parametrize("work", [loop, swallowing, backtracking])
def test_deadline_in_the_main_thread(work):
    """Python loops end, whatever they catch, and so does one regular expression."""
    with pytest.raises(Overtime), deadline(SHORT):
        work()


@pytest.mark.parametrize("work", [loop, swallowing])
def test_deadline_in_another_thread(work):
    """The same where pages are made in a thread: the preview, a worker of a cluster."""

    def ended():
        with pytest.raises(Overtime), deadline(SHORT):
            work()
        return True

    with ThreadPoolExecutor(1) as executor:
        assert executor.submit(ended).result()


@pytest.mark.parametrize("in_thread", [False, True])
def test_deadline_lets_go(in_thread):
    """What ends in time ends as if there were none, and nothing is thrown afterwards."""

    def work():
        for _ in range(20):
            with deadline(SHORT):
                sum(range(1000))
        began = time.thread_time()
        while time.thread_time() - began < 2 * SHORT + 2 * limits._AGAIN:
            pass
        return threading.current_thread() is threading.main_thread()

    with ThreadPoolExecutor(1) as executor:
        assert (executor.submit(work).result() if in_thread else work()) is not in_thread


def test_waiting_costs_nothing():
    """The deadline counts computing: whoever waits for a slow disk is left to wait."""
    with deadline(SHORT):
        time.sleep(2 * SHORT)


def test_outer_deadline_holds():
    """A deadline within another moves nothing."""
    with pytest.raises(Overtime), deadline(SHORT), deadline(1000 * SHORT):
        loop()


def slow_page(monkeypatch) -> None:
    """Make the page of the soy eggs one that never ends."""
    monkeypatch.setattr(limits, "PAGE_SECONDS", 1.0)
    monkeypatch.setattr(limits, "RUN_SECONDS", 0.5)
    rendered = made_page.page_parts

    def page_parts(page, *more):
        if page.path == "soy-eggs.md":
            swallowing()
        return rendered(page, *more)

    monkeypatch.setattr(made_page, "page_parts", page_parts)


def made(source, executor) -> dict:
    found = {}
    make_pages([job_of(source, path) for path in PAGES], executor, lambda page: found.update({page.path: page}))
    return found


PAGES = ("about.md", "soy-eggs.md", "brined-cucumbers.md", "brined-white-cheese.md")
#: A second for the page, half of one for the batch that teaches it.
LINE = 'methods/soy-eggs.md:1: page: read "more than 1.5 s of computing"; allowed: what is computed in 1.5 s'


def assert_one_is_told(pages: dict) -> None:
    assert set(pages) == set(PAGES)
    for path, page in pages.items():
        told = [str(each) for each in page.faults]
        if path == "soy-eggs.md":
            assert len(told) == 1 and told[0].startswith(LINE) and page.files is None
        else:
            assert told == [] and page.files is not None


def test_page_that_never_ends_is_one_line(methods_folder, monkeypatch):
    """In this process: the page is told, the pages after it are made."""
    slow_page(monkeypatch)
    assert_one_is_told(made(read_source(methods_folder, frozenset(GENERATED)), None))


def test_page_that_never_ends_in_a_thread(methods_folder, monkeypatch):
    """In threads, as in a cluster."""
    slow_page(monkeypatch)
    with ThreadPoolExecutor(2) as executor:
        assert_one_is_told(made(read_source(methods_folder, frozenset(GENERATED)), executor))


def test_page_that_never_ends_in_a_process(methods_folder, monkeypatch):
    """In processes beside this one."""
    monkeypatch.setattr("site_build.build.executors._make", make_slowly)
    with workers(2) as executor:
        assert_one_is_told(made(read_source(methods_folder, frozenset(GENERATED)), executor(len(PAGES))))


def make_slowly(job):
    with pytest.MonkeyPatch.context() as patch:
        slow_page(patch)
        return made_page.make_page(job, fingerprint())


def test_day_that_never_ends(methods_folder, monkeypatch):
    """A day's plan has a deadline of its own, which its methods' pages do not use up; the fault names the day."""
    monkeypatch.setattr(made_day, "PAGE_SECONDS", 0.02)
    monkeypatch.setattr(made_day, "_make", lambda *_: loop())
    handbook = open_handbook(methods_folder)
    _, faults = made_day.make_days(
        handbook, dict.fromkeys(handbook.source.pages, "key"), KeptReads(handbook.kitchen, Cache())
    )
    assert [str(each).partition("; ")[0] for each in faults] == [
        f'methods/days/jetty-saturday.yml:1: day: read "more than {0.02 * (1 + wishes()):g} s of computing"'
    ]


def test_day_of_a_method_that_never_ends(methods_folder, monkeypatch):
    """Where a method's page takes too long, the fault names that page, with the page's own deadline."""
    monkeypatch.setattr(limits, "PAGE_SECONDS", 0.2)
    monkeypatch.setattr(limits, "RUN_SECONDS", 0.0)
    monkeypatch.setattr(read_page, "house_report", lambda *_: loop())
    handbook = open_handbook(methods_folder)
    _, faults = made_day.make_days(
        handbook, dict.fromkeys(handbook.source.pages, "key"), KeptReads(handbook.kitchen, Cache())
    )
    assert [str(each).partition("; ")[0] for each in faults] == [
        f'methods/{name}.md:1: page: read "more than 0.2 s of computing"'
        for name in sorted(each.method for each in handbook.wish("days/jetty-saturday.yml").wishes)
    ]


def wishes() -> int:
    return sum("method:" in line for line in (METHODS / "days/jetty-saturday.yml").read_text("utf-8").splitlines())
