"""The preview: an edit is served, a fault leaves the page that stands, the next preview takes over what is right."""

import os
import re
import signal
import subprocess
import time
import urllib.error
import urllib.request
from contextlib import contextmanager

import pytest

from tests.bench_preview import free_port
from tests.building import CACHE, COMMAND, environment, handbook, small_handbook, tree

PATIENCE = 120


class Previewed:
    """One running preview."""

    def __init__(self, folder, said):
        self.folder, self.said, self.port = folder, said, free_port()
        command = [*COMMAND, "preview", str(folder), "--port", str(self.port)]
        with said.open("w") as log:
            self.process = subprocess.Popen(
                command, env=environment(), stdout=log, stderr=log, stdin=subprocess.DEVNULL, start_new_session=True
            )

    def wait(self, found):
        """Wait until ``found`` of (what was said, the eggs' page) holds; fail when nothing comes."""
        until = time.monotonic() + PATIENCE
        while time.monotonic() < until and self.process.poll() is None:
            if found(self.said.read_text("utf-8"), self.page("soy-eggs.html")):
                return
            time.sleep(0.05)
        pytest.fail(f"waited in vain, it said: {self.said.read_text('utf-8')}")

    def page(self, path):
        """A page as it is served, an empty text before it is."""
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{self.port}/{path}", timeout=PATIENCE) as answer:
                return answer.read().decode("utf-8")
        except urllib.error.HTTPError as error:
            return error.read().decode("utf-8")
        except (urllib.error.URLError, ConnectionError):
            return ""


@contextmanager
def previewed(folder, said):
    """A preview of ``folder`` that is ended as a user ends it."""
    found = Previewed(folder, said)
    try:
        yield found
        os.kill(found.process.pid, signal.SIGINT)
        assert found.process.wait(PATIENCE) == 0
        assert "Traceback" not in said.read_text("utf-8")
    finally:
        if found.process.poll() is None:
            os.killpg(found.process.pid, signal.SIGKILL)
            found.process.wait()


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A small handbook."""
    return small_handbook(tmp_path_factory.mktemp("preview") / "methods")


def test_edits_are_served(folder, tmp_path):
    """A word is served once it is written, a fault is told and leaves the page, its mending is served."""
    page = folder / "soy-eggs.md"
    good = page.read_text("utf-8")
    with previewed(folder, tmp_path / "said") as shown:
        shown.wait(lambda said, html: "</html>" in html)
        assert "livereload" in shown.page("soy-eggs.html")
        page.write_text(f"{good}\nCrackwise.\n", "utf-8")
        shown.wait(lambda said, html: "Crackwise" in html)
        page.write_text(good.replace("target_salt: 1.6 % of all", "target_salt: much"), "utf-8")
        shown.wait(lambda said, html: re.search(r'soy-eggs\.md:\d+: salting\.target_salt: read "much"', said))
        assert "Crackwise" in shown.page("soy-eggs.html")
        page.write_text(good, "utf-8")
        shown.wait(lambda said, html: html and "Crackwise" not in html)
        assert "built in" in shown.said.read_text("utf-8")
        assert "</html>" in shown.page("no-such.html")


def test_the_next_preview_takes_over(folder, tmp_path):
    """What stands from the last preview is served again; one beside it has a place of its own; links lead nowhere."""
    with previewed(folder, tmp_path / "first") as shown:
        shown.wait(lambda said, html: "</html>" in html)
    place = folder.parent / CACHE / "preview"
    stood = tree(place)
    with previewed(folder, tmp_path / "second") as shown, previewed(folder, tmp_path / "beside") as beside:
        for each in (shown, beside):
            each.wait(lambda said, html: "</html>" in html)
        assert tree(place) == stood
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "index.html").write_text("mine")
    place.rename(tmp_path / "away")
    place.mkdir()
    (place / "site").symlink_to(elsewhere)
    with previewed(folder, tmp_path / "third") as shown:
        shown.wait(lambda said, html: "</html>" in html)
    assert (elsewhere / "index.html").read_text() == "mine"
    assert tree(place) == stood


def test_port_that_is_taken(folder, tmp_path):
    """A port that something else serves on is told in one line."""
    with previewed(folder, tmp_path / "said") as shown:
        shown.wait(lambda said, html: "</html>" in html)
        ended = handbook("preview", folder, "--port", str(shown.port), env=environment())
    assert ended.code == 1 and "Traceback" not in ended.errors
    assert f"--port: read {shown.port}; allowed: a port that is free" in ended.errors
