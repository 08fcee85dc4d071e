"""Whatever happens to a build, the last good site stays whole, the next build mends, and the reason is told in a line.

The faults and what is checked after each stand in tests/build_faults.py and cache_faults.py; ``python -m
tests.break_build`` tries many more moments of each. Here a seeded few, in four minutes.
"""

import signal
from random import Random

import pytest

from tests import build_faults as faults
from tests import cache_faults
from tests.building import assert_whole, dead_links
from tests.standing import prepare


@pytest.fixture(scope="module")
def trees(tmp_path_factory):
    """The clean sites before and after a change."""
    return prepare(tmp_path_factory.mktemp("trees") / "trees")


@pytest.fixture
def stand(trees, tmp_path):
    """A standing site whose handbook has changed."""
    return trees.stand(tmp_path / "here")


@pytest.mark.parametrize("harm", ["page cut", "page gone", "dead link"])
def test_assert_whole_sees_harm(stand, harm):
    """The check itself is one that can fail."""
    assert_whole(stand.site)
    page = stand.site / "soy-eggs.html"
    if harm == "page cut":
        page.write_text(page.read_text("utf-8")[:-100], "utf-8")
    elif harm == "page gone":
        page.unlink()
    else:
        page.write_text(page.read_text("utf-8").replace('href="index.html', 'href="nowhere.html', 1), "utf-8")
        assert dead_links(stand.site)
    with pytest.raises(AssertionError):
        assert_whole(stand.site)


@pytest.mark.parametrize("number", range(4))
def test_killed_at_a_random_moment(stand, number):
    """SIGKILL of the whole process group leaves the old site or the new one."""
    faults.killed_at_random(stand, Random(f"suite/{number}"))


@pytest.mark.parametrize("sign", [signal.SIGINT, signal.SIGTERM])
def test_asked_to_end(stand, sign):
    """Ctrl-C and a machine that shuts down leave the old site or the new one, without a traceback."""
    faults.killed_at_random(stand, Random(f"suite/{sign}"), sign, 0.6)


def test_killed_before_each_renaming(trees, tmp_path):
    """Where a site changes in two steps, the next build brings the old one back."""
    number = faults.count_events(trees.stand(tmp_path / "count"), "os.rename", "two steps")
    assert number >= 2
    for at in range(1, number + 1):
        faults.killed_between_two_steps(trees.stand(tmp_path / f"at-{at}"), at)


def test_killed_before_touching_a_file(trees, tmp_path):
    """Nor at any other touch of a file."""
    number = faults.count_events(trees.stand(tmp_path / "count"))
    for at in sorted(Random(2).sample(range(1, number + 1), 3)):
        faults.killed_before(trees.stand(tmp_path / f"at-{at}"), at)


@pytest.mark.parametrize("size", [0, 20_000, 120_000])
def test_file_size_limited(stand, size):
    """A write that fails for want of room leaves the old site and is told in one line (setrlimit, RLIMIT_FSIZE)."""
    faults.file_size_limited(stand, size)


def test_disk_full(trees, tmp_path):
    """The same on a disk that is full; where none may be mounted, on a smaller limit of the file's size."""
    stand = trees.stand(tmp_path / "own" / "here")
    if faults.may_mount(tmp_path / "probe"):
        faults.disk_full(stand, 100_000)
    else:
        faults.file_size_limited(stand, 4096)


@pytest.mark.parametrize("what", ["around", "site", "cache"])
def test_read_only(stand, what):
    """Folders that may not be written leave the old site or the new one."""
    faults.read_only(stand, what)


def test_unreadable_page(stand):
    """A page that may not be read is named."""
    faults.unreadable_page(stand)


@pytest.mark.parametrize("kind", faults.ODD)
@pytest.mark.parametrize("name", ["extra.md", "notes/extra.jpg"])
def test_odd_file(stand, kind, name):
    """What is no file is passed over or named, never waited for."""
    faults.odd_file(stand, kind, name)


@pytest.mark.parametrize("name", ["soy-eggs.md", "notes/bench.jpg", "house.yml"])
def test_changed_during_the_build(stand, name):
    """A file written while the build reads it never gets into the site or the cache by half."""
    faults.changed_meanwhile(stand, name, Random(name))


@pytest.mark.parametrize("wait", [0.0, 0.6])
def test_two_builds_into_one_site(stand, wait):
    """Both end well, or one says that another is at work."""
    faults.built_twice(stand, wait)


def test_two_builds_into_two_sites(stand):
    """They share the cache without harm."""
    faults.built_into_two_sites(stand)


@pytest.mark.parametrize("how", cache_faults.SPOILT)
@pytest.mark.parametrize("keeps_site", [True, False])
def test_spoilt_cache(stand, how, keeps_site):
    """Nothing in the cache is believed unseen."""
    cache_faults.spoilt_cache(stand, how, Random(how), keeps_site=keeps_site)


@pytest.mark.parametrize("how", cache_faults.SPOILT)
def test_spoilt_record(stand, how):
    """Where nothing shows that a build made the site, it stays, and one line says so."""
    cache_faults.spoilt_record(stand, how, Random(how))


@pytest.mark.parametrize("kind", ["file", "link"])
def test_cache_is_no_folder(stand, kind):
    """The build does without a cache, or says why not."""
    cache_faults.cache_is_no_folder(stand, kind)


def test_cache_of_another_version(stand):
    """An engine of another version computes anew."""
    cache_faults.cache_of_another_version(stand)


def test_damaged_site(stand):
    """A site whose files were cut, lost or added is mended by the next build."""
    cache_faults.damaged_site(stand, Random(3))


@pytest.mark.parametrize("moment", [0.0, 4102444800.0], ids=["1970", "2099"])
def test_wrong_times_of_files(stand, moment):
    """What is old and what is new is not told by a file's time."""
    cache_faults.wrong_times(stand, moment)


def test_change_that_keeps_size_and_time(stand):
    """A change shows even where neither size nor time of the file tell of it."""
    cache_faults.change_that_keeps_size_and_time(stand)


@pytest.mark.parametrize("moment", ["0", "4102444800", "soon", "-5"])
def test_told_moment(stand, moment):
    """SOURCE_DATE_EPOCH is followed in a warm build too; one that is no moment is named."""
    cache_faults.told_moment(stand, moment)
