"""A build replaces what a build made, and nothing else: forged, exchanged, moved and spoilt sites and records."""

import json
import os
import shutil
from pathlib import Path

import pytest

from site_build.base.store import open_store
from site_build.build import publish as swaps
from site_build.build.build_site import Choices, build_site
from site_build.build.site_record import identity, read_record
from tests.site_build.clone import assert_one_line, everything, run, stamps

pytestmark = pytest.mark.usefixtures("kept_clone")


def forged(site: Path, kind: str, made: Path) -> None:
    """Make ``site`` look like a build's."""
    site.mkdir()
    (site / "index.html").write_text("mine")
    (site / "photo.jpg").write_bytes(b"mine too")
    if kind == "empty list":
        (site / "build.json").write_text('{"format": 1, "files": {}}')
    elif kind == "list of a real build":
        shutil.copy2(made / "build.json", site / "build.json")
    elif kind == "whole real site":
        shutil.copytree(made, site, dirs_exist_ok=True)
    elif kind == "list is a link":
        (site / "build.json").symlink_to(made / "build.json")
    elif kind == "list is a pipe":
        os.mkfifo(site / "build.json")
    elif kind == "list is huge":
        (site / "build.json").touch()
        os.truncate(site / "build.json", 1 << 40)


FORGED = [
    "index alone",
    "empty list",
    "list of a real build",
    "whole real site",
    "list is a link",
    "list is a pipe",
    "list is huge",
]


@pytest.mark.parametrize("kind", FORGED)
@pytest.mark.parametrize("is_known", [False, True])
def test_folder_that_no_build_made(clone, tmp_path, kind, is_known):
    """It loses no byte, whatever it holds; nor where a site of ours stood at its place before."""
    made = tmp_path / "made"
    assert run("build", "methods", "--quiet", "--into", made).exit_code == 0
    if is_known:
        assert run("build", "methods", "--quiet", "--into", "site").exit_code == 0
        shutil.rmtree(clone / "site")
    forged(clone / "site", kind, made)
    before = stamps(clone / "site")
    result = run("build", "methods", "--quiet", "--into", "site")
    assert_one_line(result)
    assert "allowed: an empty folder or an earlier site" in result.stderr
    assert stamps(clone / "site") == before
    assert not [each.name for each in clone.iterdir() if each.name.startswith(".site")]


def test_site_of_an_earlier_build(clone, tmp_path):
    """It is replaced: as it was left, damaged, and as a copy to the byte that a cache of a forge's brought back."""
    site, page = clone / "site", clone / "methods" / "soy-eggs.md"

    def rebuilt(number):
        page.write_text(page.read_text("utf-8") + f"\nAgain {number}.\n", "utf-8")
        result = run("build", "methods", "--quiet", "--into", "site")
        assert result.exit_code == 0, result.output
        assert f"Again {number}." in (site / "soy-eggs.html").read_text("utf-8")

    rebuilt(1)
    rebuilt(2)
    (site / "soy-eggs.html").unlink()
    (site / "stray.html").write_text("stray")
    rebuilt(3)
    shutil.copytree(site, tmp_path / "copy")
    shutil.rmtree(site)
    shutil.copytree(tmp_path / "copy", site, copy_function=shutil.copyfile)
    rebuilt(4)
    assert not (site / "stray.html").exists()


def test_site_without_a_record(clone, tmp_path):
    """Where the cache folder was deleted, or the site moved, it stays; the line says what to do, and that works."""
    assert run("build", "methods", "--quiet", "--into", "site").exit_code == 0
    shutil.rmtree(tmp_path / "cache")
    before = everything(clone / "site")
    result = run("build", "methods", "--quiet", "--into", "site")
    assert_one_line(result)
    assert "Remove it yourself" in result.stderr and everything(clone / "site") == before
    shutil.rmtree(clone / "site")
    assert run("build", "methods", "--quiet", "--into", "site").exit_code == 0
    (clone / "site").rename(clone / "moved")
    assert_one_line(run("build", "methods", "--quiet", "--into", "moved"))


def test_folder_put_in_the_way_meanwhile(clone, victim, monkeypatch):
    """A folder or link that takes the site's place between the look and the swap stays as it is."""
    assert run("build", "methods", "--quiet", "--into", "site").exit_code == 0
    page, real, site = clone / "methods" / "soy-eggs.md", swaps.swap, clone / "site"
    for number, (kind, one_step) in enumerate([("folder", True), ("link", True), ("folder", False), ("link", False)]):
        page.write_text(page.read_text("utf-8") + f"\n{number}\n", "utf-8")
        if not one_step:
            monkeypatch.setattr(swaps, "_exchange", lambda *_: False)

        def late(made, record, standing, kind=kind):
            site.rename(clone / "away")
            if kind == "folder":
                shutil.copytree(victim, site)
            else:
                site.symlink_to(victim)
            return real(made, record, standing)

        monkeypatch.setattr("site_build.build.build_site.swap", late)
        before = everything(victim)
        assert_one_line(run("build", "methods", "--quiet", "--into", "site"))
        assert everything(victim) == before and everything(site.resolve()) == before
        assert site.is_symlink() == (kind == "link")
        site.unlink() if site.is_symlink() else shutil.rmtree(site)
        (clone / "away").rename(site)
        monkeypatch.setattr("site_build.build.build_site.swap", real)
        assert not [each.name for each in clone.iterdir() if each.name.startswith(".site")]


@pytest.mark.parametrize("kind", ["folder", "link", "file", "nothing"])
def test_recovery_removes_only_what_a_build_made(clone, victim, kind):
    """What stands under the name of a killed build's folder is removed only where it is that very folder."""
    assert run("build", "methods", "--quiet", "--into", "site").exit_code == 0
    site = clone.resolve() / "site"
    record = read_record(open_store(clone / "methods").of_site(site), site)
    place = clone / ".site-feedfacefeedface"
    place.mkdir()
    state = place.lstat()
    record.write(record.made, (place.name, state.st_dev, state.st_ino))
    place.rename(clone / "ours")  # keeps its inode from being used again
    {
        "folder": lambda: shutil.copytree(victim, place),
        "link": lambda: place.symlink_to(victim),
        "file": lambda: place.write_text("mine"),
        "nothing": lambda: None,
    }[kind]()
    before = everything(clone / ".git" / ".."), everything(victim)
    assert run("build", "methods", "--quiet", "--into", "site").exit_code == 0
    assert everything(victim) == before[1]
    assert os.path.lexists(place) == (kind != "nothing")
    assert kind != "folder" or everything(place).keys() == everything(victim).keys()


@pytest.mark.parametrize("name", ["../victim", "..", ".", "", "/", ".a/../../victim", "victim"])
def test_record_that_names_another_place(clone, victim, name):
    """A spoilt record leads to nothing beside the site."""
    site = clone.resolve() / "site"
    file = open_store(clone / "methods").of_site(site)
    state = victim.lstat()
    file.write_text(json.dumps({"site": str(site), "made": [], "work": [name, state.st_dev, state.st_ino]}))
    before = everything(victim)
    assert run("build", "methods", "--quiet", "--into", "site").exit_code == 0
    assert everything(victim) == before


# ---- what a clone puts into a site of ours ----


def put(site: Path, kind: str, victim: Path) -> None:
    """Put something into a standing site, as a pull would where a team keeps its site in git."""
    if kind == "link to a folder":
        (site / "more").symlink_to(victim)
    elif kind == "link for a folder":
        shutil.rmtree(site / "assets")
        (site / "assets").symlink_to(victim / "assets")
    elif kind == "link for a page":
        (site / "soy-eggs.html").unlink()
        (site / "soy-eggs.html").symlink_to(victim / "letter.txt")
    elif kind == "link to nothing":
        (site / "more.html").symlink_to(victim / "new.txt")
    elif kind == "link to itself":
        (site / "loop").symlink_to("loop")
    elif kind == "pipe":
        (site / "soy-eggs.html").unlink()
        os.mkfifo(site / "soy-eggs.html")
    elif kind == "deep folders":
        (site / Path(*["d"] * 900)).mkdir(parents=True)
    elif kind == "a file of one's own":
        (site / "photos").mkdir()
        (site / "photos" / "mine.jpg").write_text("mine")
    elif kind == "closed folder":
        (site / "closed" / "in").mkdir(parents=True)
        (site / "closed").chmod(0)


KINDS = [
    "link to a folder",
    "link for a folder",
    "link for a page",
    "link to nothing",
    "link to itself",
    "pipe",
    "deep folders",
    "closed folder",
    "a file of one's own",
]


@pytest.mark.parametrize("is_changed", [False, True])
@pytest.mark.parametrize("kind", KINDS)
def test_put_into_a_site(clone, victim, kind, is_changed):
    """It goes with the old site, one's own file too, and leads nowhere; nothing of the victim's is published or lost."""
    assert run("build", "methods", "--quiet").exit_code == 0
    put(clone / "site", kind, victim)
    page = clone / "methods" / "soy-eggs.md"
    page.write_text(page.read_text("utf-8") + ("\nMore.\n" if is_changed else ""), "utf-8")
    before = everything(victim)
    result = run("build", "methods", "--quiet")
    assert result.exit_code == 0, result.output
    assert everything(victim) == before
    assert sorted(each.name for each in clone.iterdir()) == [".git", "methods", "site"]
    left = {
        path.name for path in (clone / "site").rglob("*") if path.is_symlink() or not (path.is_file() or path.is_dir())
    }
    assert not left and not [*(clone / "site").rglob("letter.txt"), *(clone / "site").rglob("mine.jpg")]


@pytest.mark.parametrize(
    "name", [".git", ".git/empty", "methods", "methods/site", "methods/../methods", ".", "..", "/"]
)
def test_places_for_no_site(clone, name):
    """The repository, the methods and what holds them are no place for a site."""
    (clone / ".git" / "config").write_text("mine")
    before = everything(clone)
    result = run("build", "methods", "--quiet", "--into", name)
    if name == ".git/empty":  # a new folder there harms nothing
        assert result.exit_code == 0
    else:
        assert_one_line(result)
        assert everything(clone) == before


@pytest.mark.parametrize("kind", ["work tree of git", "hidden file alone", "empty folder inside", "pipe", "file"])
def test_other_things_under_the_name_of_the_site(clone, kind):
    """Each stays as it is."""
    site = clone / "site"
    if kind in ("pipe", "file"):
        os.mkfifo(site) if kind == "pipe" else site.write_text("mine")
    else:
        site.mkdir()
        (site / "inner").mkdir() if kind == "empty folder inside" else (site / ".git").write_text("gitdir: elsewhere\n")
    before = stamps(clone)
    assert_one_line(run("build", "methods", "--quiet"))
    assert stamps(clone).keys() == before.keys()


def test_name_of_a_link_in_an_error(clone, tmp_path):
    """A link's name cannot put a line of its own into what is said."""
    (clone / "a\n::error::b\x1b[31m").symlink_to(tmp_path)
    (tmp_path / "mine").symlink_to(clone / "a\n::error::b\x1b[31m")
    result = run("build", "methods", "--quiet", "--into", tmp_path / "mine")
    assert_one_line(result)
    assert "\x1b" not in result.stderr


def test_identity_is_of_a_real_folder(clone, tmp_path):
    """A link to a site has none."""
    build_site(clone / "methods", tmp_path / "made", Choices(shows_progress=False, workers=1))
    (tmp_path / "link").symlink_to(tmp_path / "made")
    assert identity(tmp_path / "made") is not None and identity(tmp_path / "link") is None
