"""The preview: an edit is served, a fault leaves the page that stands, the next preview takes over what is right."""

import os
import re
import shutil
import signal
import socket
import subprocess
import time
import urllib.error
import urllib.request
from contextlib import contextmanager

import pytest

from site_build.base.store import open_store
from tests import building
from tests.bench_preview import free_port
from tests.building import environment, handbook, small_handbook, tree
from tests.ready import Command

PATIENCE = 120
pytestmark = pytest.mark.usefixtures("ready_commands")


class Previewed:
    """One running preview."""

    def __init__(self, folder, said, **more):
        self.folder, self.said, self.port = folder, said, free_port()
        words = ["preview", str(folder), "--port", str(self.port)]
        with said.open("w") as log, open(os.devnull) as nothing:
            files = [each.fileno() for each in (nothing, log, log)]
            self.process = Command(building.served, words, os.getcwd(), building.environment(**more), files)

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
            with error:
                return error.read().decode("utf-8")
        except (urllib.error.URLError, ConnectionError):
            return ""


@contextmanager
def previewed(folder, said, **more):
    """A preview of ``folder`` that is ended as a user ends it."""
    found = Previewed(folder, said, **more)
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
    """What stands from the last preview is served again; one beside it has a place of its own; the clone stays as it is."""
    with previewed(folder, tmp_path / "first") as shown:
        shown.wait(lambda said, html: "</html>" in html)
    place = open_store(folder).of_handbook(folder) / "preview"
    stood = tree(place)
    with previewed(folder, tmp_path / "second") as shown, previewed(folder, tmp_path / "beside") as beside:
        for each in (shown, beside):
            each.wait(lambda said, html: "</html>" in html)
        assert tree(place) == stood
    assert sorted(each.name for each in folder.parent.iterdir()) == ["methods"]


def test_links_of_the_clone_lead_nowhere(folder, tmp_path):
    """Links under names that a preview used to build in are left alone, with what they lead to."""
    mine = tmp_path / "mine"
    mine.mkdir()
    (mine / "index.html").write_text("mine")
    for name in (".handbook-cache/preview/site", ".handbook-cache/preview/.site-building", ".site-building", "site"):
        (folder.parent / name).parent.mkdir(parents=True, exist_ok=True)
        (folder.parent / name).symlink_to(mine)
    with previewed(folder, tmp_path / "said") as shown:
        shown.wait(lambda said, html: "</html>" in html)
    assert [each.name for each in mine.iterdir()] == ["index.html"] and (mine / "index.html").read_text() == "mine"
    shutil.rmtree(folder.parent / ".handbook-cache")
    for name in (".site-building", "site"):
        (folder.parent / name).unlink()


def _sparse(folder):
    with open(folder / "huge.jpg", "wb") as file:
        file.truncate(20_000_000_000)


def _deep(folder):
    handle = os.open(folder, os.O_RDONLY)
    for _ in range(1100):  # longer than any path may be, so made from within
        os.mkdir("deep", dir_fd=handle)
        below = os.open("deep", os.O_RDONLY, dir_fd=handle)
        os.close(handle)
        handle = below
    os.close(handle)
    (folder / "huge.txt").write_text("folders alone are no edit")


#: What appears in the folder while it is served, and the line that tells of it.
APPEARS = {
    "link": (lambda folder: (folder / "huge.md").symlink_to("/etc/passwd"), r'huge\.md:1: file: read "a link"'),
    "link around": (lambda folder: (folder / "huge").symlink_to("."), r'huge:1: file: read "a link"'),
    "20 GB": (_sparse, r'huge\.jpg:1: file: read "20000000000 bytes"'),
    "pipe": (lambda folder: os.mkfifo(folder / "huge.md"), r"huge\.md:1: file: read no file"),
    "1,100 folders": (_deep, r"read \"13 folders within each other\""),
    "no folder": (lambda folder: folder.rename(folder.with_name("away")), r"methods: read no folder"),
}


def test_what_appears_while_it_serves(folder, tmp_path):
    """What a build refuses is told, the last good site is served on, and the next edit is followed."""
    page = folder / "soy-eggs.md"
    good = page.read_text("utf-8")
    with previewed(folder, tmp_path / "said") as shown:
        shown.wait(lambda said, html: "</html>" in html)
        for turn, (appear, line) in enumerate(APPEARS.values()):
            try:
                appear(folder)
                shown.wait(lambda said, html, line=line: re.search(line, said))
                assert "</html>" in shown.page("soy-eggs.html")
            finally:  # the test runner's own tidying up would run out of depth
                if not folder.exists():
                    folder.with_name("away").rename(folder)
                subprocess.run(["rm", "-rf", str(folder / "deep"), *folder.glob("huge*")], check=True)
            page.write_text(f"{good}\nCrackwise {turn}.\n", "utf-8")
            shown.wait(lambda said, html, turn=turn: f"Crackwise {turn}." in html)
    page.write_text(good, "utf-8")


def answer(port: int, request: str) -> bytes:
    """The answer to a raw request."""
    with socket.create_connection(("127.0.0.1", port), PATIENCE) as opened:
        opened.sendall(request.encode("latin-1"))
        opened.shutdown(socket.SHUT_WR)
        return b"".join(iter(lambda: opened.recv(65536), b""))


def test_other_names_of_the_host_are_not_answered(folder, tmp_path):
    """A page elsewhere whose name leads to this machine reads nothing (421, RFC 9110, section 15.5.20)."""
    with previewed(folder, tmp_path / "said") as shown:
        shown.wait(lambda said, html: "</html>" in html)
        port = shown.port
        for host in (f"localhost:{port}", f"127.0.0.1:{port}", f"[::1]:{port}", f"LOCALHOST:{port}"):
            said = answer(port, f"GET /soy-eggs.html HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n")
            assert said.split(b"\r\n")[0].endswith(b"200 OK") and b"</html>" in said, host
        hosts = ["evil.example", f"evil.example:{port}", "localhost", f"localhost.evil.example:{port}", "127.0.0.1:1"]
        hosts += [f"localhost:{port}@evil.example", f"localhost:{port}, evil.example", f" localhost:{port} x", ""]
        lines = [f"Host: {host}\r\n" for host in hosts]
        lines += ["", f"Host: localhost:{port}\r\nHost: evil.example\r\n", f"X-Forwarded-Host: localhost:{port}\r\n"]
        for line in lines:
            for path in ("/soy-eggs.html", "/livereload/0/0", "/no-such.html", "http://evil.example/soy-eggs.html"):
                said = answer(port, f"GET {path} HTTP/1.1\r\n{line}Connection: close\r\n\r\n")
                assert said.split(b"\r\n")[0].endswith(b"421 Misdirected Request"), (line, path, said[:80])
                assert b"</html>" not in said


def test_nothing_can_be_kept(folder, tmp_path):
    """Where the cache folder cannot be written, a preview builds and builds again in a place that goes with it."""
    (tmp_path / "file").write_text("no folder")
    page = folder / "soy-eggs.md"
    good = page.read_text("utf-8")
    with previewed(folder, tmp_path / "said", XDG_CACHE_HOME=str(tmp_path / "file")) as shown:
        shown.wait(lambda said, html: "</html>" in html)
        page.write_text(f"{good}\nAgain.\n", "utf-8")
        shown.wait(lambda said, html: "Again." in html)
        page.write_text(good, "utf-8")


def test_port_that_is_taken(folder, tmp_path):
    """A port that something else serves on is told in one line."""
    with previewed(folder, tmp_path / "said") as shown:
        shown.wait(lambda said, html: "</html>" in html)
        ended = handbook("preview", folder, "--port", str(shown.port), env=environment())
    assert ended.code == 1 and "Traceback" not in ended.errors
    assert f"--port: read {shown.port}; allowed: a port that is free" in ended.errors
