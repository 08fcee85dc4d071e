"""A clone of a handbook as a stranger may have prepared it, and a victim's files outside it."""

import re
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from site_build.base.store import open_store
from site_build.build.build_site import Choices, build_site
from site_build.build.cache import FILE
from site_build.cli.main import main

METHODS = Path(__file__).resolve().parent.parent.parent / "methods"


@pytest.fixture
def clone(tmp_path, monkeypatch):
    """A clone of a handbook with one method, and the victim's cache folder and home outside it."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    here = tmp_path / "clone"
    (here / ".git").mkdir(parents=True)
    (here / "methods").mkdir()
    for name in ("house.yml", "foods.csv", "soy-eggs.md"):
        shutil.copy(METHODS / name, here / "methods" / name)
    page = here / "methods" / "soy-eggs.md"
    page.write_text(re.sub(r"\[([^\]]+)\]\([^)]+\.md[^)]*\)", r"\1", page.read_text("utf-8")), "utf-8")
    monkeypatch.chdir(here)
    return here


@pytest.fixture
def kept_clone(clone, made_once):
    """The clone, with what an earlier build of it kept: its first build computes and renders nothing."""

    def fill(place):
        shutil.copytree(clone / "methods", place / "tree" / "methods")
        choices = Choices(shows_progress=False, workers=1, cache=place / "kept")
        build_site(place / "tree" / "methods", place / "tree" / "site", choices)

    mine = open_store(clone / "methods").of_handbook(clone / "methods")
    for file in (made_once("clone", fill) / "kept").rglob(f"{FILE}*"):
        shutil.copy(file, mine)
    return clone


@pytest.fixture
def victim(tmp_path):
    """A folder of the victim's, which could be taken for a site."""
    place = tmp_path / "victim"
    (place / "assets").mkdir(parents=True)
    for name in ("index.html", "letter.txt", "assets/letter.txt", "build.json"):
        (place / name).write_text('{"format": 1, "files": {}}' if name == "build.json" else f"mine: {name}")
    return place


def everything(folder):
    """Path, kind, mode and bytes of everything in a folder."""
    return {
        path.relative_to(folder).as_posix(): (path.lstat().st_mode, path.read_bytes() if path.is_file() else b"")
        for path in [folder, *folder.rglob("*")]
    }


def stamps(folder):
    """Inode, mode, size and time of everything in a folder, unread."""
    states = {path: path.lstat() for path in sorted(folder.rglob("*"))}
    return {path: (each.st_ino, each.st_mode, each.st_size, each.st_mtime_ns) for path, each in states.items()}


def run(*arguments):
    """The command in this process."""
    return CliRunner().invoke(main, [*map(str, arguments)])


def assert_one_line(result):
    """It was refused in one line."""
    assert result.exit_code == 1 and len(result.stderr.strip().splitlines()) == 1, result.output
    assert "Traceback" not in result.output
