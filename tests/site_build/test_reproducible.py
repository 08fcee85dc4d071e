"""The same input gives the same bytes: wherever, whenever, in whatever language and on however many cores it is built.

Compared are whole trees, byte for byte (the meaning of "reproducible" at reproducible-builds.org; its
SOURCE_DATE_EPOCH, version 1.1, sets the moment that a build writes down).
"""

import os
import shutil
import subprocess
import time
from datetime import UTC, datetime

import pytest

from site_build.base.store import open_store
from tests.building import assert_same, assert_whole, build, environment, has_option, small_handbook, tree

pytestmark = pytest.mark.usefixtures("ready_commands")


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A small handbook."""
    return small_handbook(tmp_path_factory.mktemp("same") / "methods")


@pytest.fixture(scope="module")
def wanted(folder, ready_commands):
    """The tree of its site, built once."""
    site = folder.parent / "site"
    ended = build(folder, site)
    assert ended.code == 0 and ended.errors == ""
    return tree(site)


def built_with(folder, place, **variables):
    """The tree of a fresh copy built in ``place`` under other conditions."""
    shutil.copytree(folder, place / "methods")
    ended = build(place / "methods", place / "site", env=environment(**variables))
    assert ended.code == 0, ended
    return tree(place / "site")


def locales():
    """The locales that this machine has, besides the one the test runs in."""
    listed = subprocess.run(["locale", "-a"], capture_output=True, text=True, check=True).stdout.split()
    return sorted({"C", "POSIX", "C.UTF-8", *listed})[:12]


#: What differs from build to build: what a byte follows shows wherever it differs.
ZONES, SEEDS, MASKS, WORKERS = ("Pacific/Kiritimati", "XYZ+11:45"), ("1", "4294967295"), (0o022, 0o077), ("1", "3")


@pytest.mark.parametrize(("number", "name"), list(enumerate(locales())))
def test_other_conditions(folder, wanted, tmp_path, number, name):
    """No byte follows the locale (in words, numbers, order, encoding), the time zone, the seed of hashes (the order of
    sets), the mode mask of the user, the number of workers or of cores, the path (deeper, with blanks and letters beyond
    ASCII), the order in which the folder lists its files, or the working directory; all of them differ at once.
    """
    second = number % 2
    options = ("--workers", WORKERS[second]) if has_option("--workers") else ()
    place = tmp_path / "a b" / "Küche ø"
    copy_backwards(folder, place / "methods")

    def before():
        os.umask(MASKS[second])
        if second:
            os.sched_setaffinity(0, {min(os.sched_getaffinity(0))})

    variables = {"LC_ALL": name, "LANG": name, "PYTHONIOENCODING": "", "PYTHONUTF8": "0"}
    env = environment(**variables, TZ=ZONES[second], PYTHONHASHSEED=SEEDS[second])
    ended = build("methods", "out/site", *options, before=before, env=env, cwd=place)
    assert ended.code == 0, ended
    assert_same(tree(place / "out/site"), wanted)


def copy_backwards(folder, target):
    """A copy whose files are written in the reverse order, so that the folder lists them otherwise."""
    for path in sorted(folder.rglob("*"), reverse=True):
        if path.is_file():
            copy = target / path.relative_to(folder)
            copy.parent.mkdir(parents=True, exist_ok=True)
            copy.write_bytes(path.read_bytes())


def test_warm_cache(folder, wanted, tmp_path):
    """With a warm cache each of these gives the bytes of the first build: a second build, one after a change was taken
    back, a new site, a folder carried elsewhere, times and all, and ``--fresh``, which neither reads nor writes the cache.
    """
    home, page = tmp_path / "here", "methods/soy-eggs.md"
    shutil.copytree(folder, home / "methods")
    text = (home / page).read_text("utf-8")
    for each in (text, text, text.replace("1.6 % of all", "1.7 % of all"), text):
        (home / page).write_text(each, "utf-8")
        assert build(home / "methods", home / "site").code == 0
        assert (tree(home / "site") == wanted) is (each == text)
    assert_same(tree(home / "site"), wanted)
    assert_whole(home / "site")

    shutil.rmtree(home / "site")
    assert build(home / "methods", home / "site").code == 0
    assert_same(tree(home / "site"), wanted)

    kept = open_store(home / "methods").of_handbook(home / "methods")
    before = tree(kept)
    assert build(home / "methods", home / "site", "--fresh").code == 0
    assert_same(tree(home / "site"), wanted)
    assert before and tree(kept) == before

    shutil.rmtree(home / "site")
    home.rename(tmp_path / "there")
    assert build(tmp_path / "there/methods", tmp_path / "there/site").code == 0
    assert_same(tree(tmp_path / "there/site"), wanted)


def test_moment_of_the_build_is_told(folder, wanted, tmp_path):
    """SOURCE_DATE_EPOCH is honoured: another moment changes at most the calendar files, which are dated, and lists."""
    found = built_with(folder, tmp_path, SOURCE_DATE_EPOCH="1700000000")
    changed = {path for path in found if found[path] != wanted.get(path)}
    assert set(found) == set(wanted)
    assert {path for path in changed if not path.endswith(".ics")} <= {"service-worker.js", "build.json"}


def test_two_moments_of_a_day(folder, tmp_path):
    """Without SOURCE_DATE_EPOCH two builds of one day, some seconds apart, give the same bytes."""
    day, first = today(), built_with(folder, tmp_path / "first", SOURCE_DATE_EPOCH="")
    time.sleep(1.1)  # a date in a file could be written to the second
    second = built_with(folder, tmp_path / "second", SOURCE_DATE_EPOCH="")
    if today() != day:  # midnight came between them: build again on the new day
        first = built_with(folder, tmp_path / "third", SOURCE_DATE_EPOCH="")
    assert_same(second, first)


def today():
    """The day in UTC."""
    return datetime.now(UTC).date()
