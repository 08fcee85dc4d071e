"""The seal on kept work: what another user's builds wrote, or a clone brought along, is worth nothing."""

import hashlib
import hmac
import os
import stat
import subprocess
import sys

import pytest

from site_build import seal as sealing
from site_build.build import Choices, build_site, check_folder, open_cache
from site_build.cache import Cache
from site_build.gather import job_keys
from site_build.seal import seal
from site_build.source import read_source
from tests.building import ROOT, small_handbook


@pytest.fixture
def as_user(monkeypatch, tmp_path):
    """A function that lets another user go on."""

    def change(name: str) -> None:
        monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / name))
        sealing._secret.cache_clear()

    yield change
    sealing._secret.cache_clear()


def test_seal_is_an_hmac(monkeypatch):
    """RFC 4231, test case 1 (from memory; Python's hmac agrees), and the same with the name of what is kept before it."""
    key, data = b"\x0b" * 20, b"Hi There"
    wanted = "b0344c61d8db38535ca8afceaf0bf12b881dc200c9833da726e9376c2e32cff7"
    assert hmac.new(key, data, hashlib.sha256).hexdigest() == wanted
    monkeypatch.setattr(sealing, "_secret", lambda: key)
    assert seal(data, "a") == hmac.new(key, b"a\0" + data, hashlib.sha256).hexdigest()
    assert len({seal(data), seal(data, "a"), seal(data, "b"), seal(b"", "a")}) == 4


def test_secret_stays_and_is_the_owners(as_user, tmp_path):
    """The next build, a process of its own, finds the same secret; nobody else can read it."""
    as_user("one")
    mine = seal(b"x")
    file = next((tmp_path / "one").rglob(sealing.FILE))
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    command = [sys.executable, "-c", "from site_build.seal import seal; print(seal(b'x'))"]
    said = subprocess.run(
        command, capture_output=True, text=True, check=True, env=os.environ | {"PYTHONPATH": str(ROOT)}
    )
    assert said.stdout.strip() == mine
    as_user("two")
    assert seal(b"x") != mine


def test_secret_that_cannot_be_kept(monkeypatch, as_user, tmp_path):
    """Where nothing can be written a process has a secret of its own: caches are of no use then, and do no harm."""
    (tmp_path / "file").write_text("no folder")
    as_user("file")
    first = seal(b"x")
    assert seal(b"x") == first
    as_user("file")
    assert seal(b"x") != first


def test_spoilt_secret_is_made_anew(as_user, tmp_path):
    """A secret that is cut short is none."""
    as_user("one")
    first = seal(b"x")
    next((tmp_path / "one").rglob(sealing.FILE)).write_bytes(b"short")
    as_user("one")
    second = seal(b"x")
    as_user("one")
    assert second != first and seal(b"x") == second


def test_another_users_notes_are_not_there(as_user, tmp_path):
    """Notes and pages under another seal are not handed out."""
    as_user("one")
    with Cache(tmp_path / "kept") as cache:
        cache.note("a", 1)
    as_user("two")
    with Cache(tmp_path / "kept") as cache:
        assert cache.notes(["a"]) == {}
    as_user("one")
    with Cache(tmp_path / "kept") as cache:
        assert cache.notes(["a"]) == {"a": 1}


def test_cache_that_came_with_a_clone_forges_nothing(as_user, tmp_path):
    """A cache made elsewhere says that a method is sound which a rule stops: the check still stops it."""
    folder = small_handbook(tmp_path / "methods")
    as_user("author")
    build_site(folder, tmp_path / "site", Choices(shows_progress=False))
    page = folder / "brined-cucumbers.md"
    good = job_keys(read_source(folder))[page.name]
    page.write_text(page.read_text("utf-8").replace("title: ", "title: [", 1), "utf-8")
    bad = job_keys(read_source(folder))[page.name]
    with open_cache(folder) as cache:
        cache.keep(bad, cache.pages([good])[good], cache.files(good))
    found = check_folder(folder, Choices(shows_progress=False))
    assert found.methods == 5  # the forger believes it
    as_user("reviewer")
    with pytest.raises(ValueError, match="brined-cucumbers"):
        check_folder(folder, Choices(shows_progress=False))
