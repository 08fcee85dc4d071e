"""Where builds keep what they made: outside the clone, where nobody else can write, else nowhere."""

import os
import shutil
import stat
from pathlib import Path

import pytest

from site_build.base.store import NAME, Store, open_store
from site_build.build.site_record import read_record
from tests.building import build, environment
from tests.site_build.clone import assert_one_line, everything, run

# ---- the cache ----


def test_nothing_is_kept_in_the_clone(clone, tmp_path):
    """A build and a check leave the site and nothing else; what they keep lies in the user's cache folder."""
    assert run("check", "methods").exit_code == 0
    assert run("build", "methods", "--quiet", "--into", "site", "--history").exit_code == 0
    assert sorted(each.name for each in clone.iterdir()) == [".git", "methods", "site"]
    kept = tmp_path / "cache" / NAME
    assert stat.S_IMODE(kept.stat().st_mode) == 0o700 and list(kept.rglob("pages.sqlite"))


def test_cache_of_a_clone_is_not_read(clone, tmp_path):
    """A cache in the clone, of the place and make of ours, with a page that a rule stops and that it calls sound."""
    store = open_store(clone / "methods")
    assert run("check", "methods").exit_code == 0
    page = clone / "methods" / "soy-eggs.md"
    page.write_text(page.read_text("utf-8").replace("title: ", "title: [", 1), "utf-8")
    for place in (clone / ".handbook-cache", clone / "methods" / ".handbook-cache", clone / NAME):
        shutil.copytree(store.root, place)
    shutil.rmtree(store.root)
    assert run("check", "methods").exit_code == 1


INSIDE = [
    "methods",
    ".",
    "kept",
    "methods/kept",
    ".git/kept",
    "kept/deep",
    "site/kept",
    "../clone/kept",
    ".handbook-cache",
]


@pytest.mark.parametrize("command", ["build", "check", "preview"])
@pytest.mark.parametrize("place", INSIDE)
def test_cache_inside_the_tree(clone, command, place):
    """``--cache`` inside the handbook's own tree is refused in one line, and nothing is made there."""
    before = everything(clone)
    result = run(command, "methods", "--cache", place)
    assert_one_line(result)
    assert result.stderr.startswith("--cache: ") and everything(clone) == before


@pytest.mark.parametrize("way", ["link of the clone", "link into the clone", "chain", "dangling"])
def test_cache_through_a_link(clone, victim, tmp_path, way):
    """Neither a link that the clone brings nor one that leads into it."""
    if way == "link of the clone":
        (clone / "kept").symlink_to(victim)
    elif way == "link into the clone":
        (clone / "kept").mkdir()
        (tmp_path / "kept").symlink_to(clone / "kept")
    elif way == "chain":
        (clone / "kept").symlink_to(victim)
        (tmp_path / "kept").symlink_to(clone / "kept")
    else:
        (clone / "kept").symlink_to(tmp_path / "no")
    named = tmp_path / "kept" if (tmp_path / "kept").is_symlink() else clone / "kept"
    before = everything(victim), everything(clone)
    result = run("check", "methods", "--cache", named)
    assert_one_line(result)
    assert result.stderr.startswith("--cache: ")
    assert (everything(victim), everything(clone)) == before and not (tmp_path / "no").exists()


def test_cache_without_git(clone, tmp_path):
    """Without git, the folder around the methods is the handbook's own tree."""
    (clone / ".git").rmdir()
    assert_one_line(run("check", "methods", "--cache", clone / "kept"))
    assert run("check", "methods", "--cache", tmp_path / "kept").exit_code == 0
    assert (tmp_path / "kept" / "handbooks").is_dir() and not (tmp_path / "cache").exists()


def test_default_cache_inside_the_tree(clone, monkeypatch):
    """A cache folder of the user's that lies in the clone is done without; the build says so."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(clone / "cache"))
    result = run("build", "methods", "--into", "site")
    assert result.exit_code == 0 and "handbook's own tree" in result.stderr
    assert not (clone / "cache").exists() and (clone / "site" / "index.html").is_file()


def test_two_handbooks_of_one_name(clone, tmp_path):
    """They share nothing."""
    shutil.copytree(clone, tmp_path / "other" / "clone")
    folders = [clone / "methods", tmp_path / "other" / "clone" / "methods"]
    kept = {open_store(each).of_handbook(each) for each in folders}
    sites = {open_store(each).of_site(each.parent / "site") for each in folders}
    assert len(kept) == len(sites) == 2


def alter(place: Path, how: str, monkeypatch) -> None:
    """Make ``place`` one that somebody else could write."""
    place.mkdir(parents=True, exist_ok=True)
    if how == "everybody's":
        place.chmod(0o777)
    elif how == "group's":
        place.chmod(0o775)
    elif how == "another user's":
        mine = os.geteuid()
        monkeypatch.setattr(os, "geteuid", lambda: mine + 1)
    elif how == "below everybody's":
        place.chmod(0o700)
        place.parent.chmod(0o777)
    elif how == "a file":
        place.rmdir()
        place.write_text("no folder")
    elif how == "sites is a link":
        place.chmod(0o700)
        (place.parent / "elsewhere").mkdir()
        (place / "sites").symlink_to(place.parent / "elsewhere")


HOWS = ["everybody's", "group's", "another user's", "below everybody's", "a file", "sites is a link"]


@pytest.mark.parametrize("how", HOWS)
def test_cache_that_others_can_write(clone, tmp_path, how, monkeypatch):
    """Named by the user it is refused in one line; as the default it is done without, and the site is still built."""
    alter(tmp_path / "shared" / "kept", how, monkeypatch)
    assert_one_line(run("check", "methods", "--cache", tmp_path / "shared" / "kept"))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "default"))
    alter(tmp_path / "default" / NAME, how, monkeypatch)
    assert open_store(clone / "methods").root is None
    result = run("build", "methods", "--into", "site")
    assert result.exit_code == 0 and "nothing is cached" in result.stderr
    assert not list(tmp_path.rglob("pages.sqlite"))
    assert_one_line(run("build", "methods", "--into", "site"))


def test_shared_folder_for_everybody_is_none_of_ours(tmp_path, monkeypatch):
    """Below a folder like /tmp (mode 1777, in which nobody removes another's) a folder of one's own is one's own."""
    (tmp_path / "tmp").mkdir()
    (tmp_path / "tmp").chmod(0o1777)
    (tmp_path / "methods").mkdir()
    assert open_store(tmp_path / "methods" / "in", tmp_path / "tmp" / "kept").root == tmp_path / "tmp" / "kept"


def test_gone_handbooks_and_sites_are_forgotten(tmp_path):
    """What is kept of a handbook or site that is there no more goes; a build that was killed is not forgotten."""
    store = Store(root=tmp_path)
    for name in ("handbooks", "sites"):
        (tmp_path / name).mkdir()
    for name in ("there", "gone"):
        (tmp_path / "work" / name).mkdir(parents=True)
        store.of_handbook(tmp_path / "work" / name)
        read_record(store.of_site(tmp_path / "work" / name), tmp_path / "work" / name).write([])
    killed = tmp_path / "work" / "killed"
    read_record(store.of_site(killed), killed).write([], (".killed-1",))
    (tmp_path / "work" / "gone").rmdir()
    store.forget_gone()
    assert [store.of_site(tmp_path / "work" / each).exists() for each in ("there", "gone", "killed")] == [
        True,
        False,
        True,
    ]
    assert len(list((tmp_path / "handbooks").iterdir())) == 1


def test_place_that_the_locale_cannot_write(clone, tmp_path):
    """A build in the C locale, beside what is kept of a handbook whose path has letters beyond ASCII, goes on."""
    other = tmp_path / "Küche ø" / "methods"
    shutil.copytree(clone / "methods", other)
    assert run("check", other).exit_code == 0
    shutil.rmtree(other)
    more = {"LC_ALL": "C", "LANG": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0", "PYTHONIOENCODING": ""}
    ended = build(clone / "methods", clone / "site", env=environment(**more))
    assert ended.code == 0 and ended.errors == "", ended
    assert len(list((tmp_path / "cache" / NAME / "handbooks").iterdir())) == 1


def test_only_what_is_ours_is_forgotten(clone, tmp_path):
    """A user's own files in the folder after ``--cache`` stay, were they called as ours."""
    kept = tmp_path / "own"
    (kept / "handbooks" / "notes").mkdir(parents=True)
    (kept / "handbooks" / "notes" / "handbook.json").write_text('"/no/such/place"')
    (kept / "sites").mkdir()
    (kept / "sites" / "mine.json").write_text('{"site": "/no/such/place"}')
    kept.chmod(0o700)
    before = everything(kept)
    assert run("build", "methods", "--quiet", "--cache", kept).exit_code == 0
    assert before.items() - everything(kept).items() == set()
