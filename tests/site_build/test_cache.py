"""What is kept from build to build: found again, never trusted when spoilt, let go of when nobody asks."""

import os
import sqlite3
import stat
import zlib

import pytest

from site_build.base.files import keep_file, path_text, read_json
from site_build.base.store import open_store
from site_build.build import cache as kept
from site_build.build.assembly import Assembly
from site_build.build.cache import FILE, KEPT_BUILDS, Cache
from site_build.build.site_record import read_record


def test_note_is_found_again(tmp_path):
    """A note goes through JSON unchanged, in a folder and in memory."""
    for folder in (tmp_path / "kept", None):
        cache = Cache(folder)
        cache.note("one", {"ham": [1, "två"]})
        assert cache.notes(["one", "two"]) == {"one": {"ham": [1, "två"]}}
        cache.close()
    again = Cache(tmp_path / "kept")
    assert again.notes(["one"]) == {"one": {"ham": [1, "två"]}}
    again.close()


@pytest.mark.parametrize("place", [0, 5, -1])
def test_spoilt_row_is_not_there(tmp_path, place):
    """A row with a byte turned is not handed out: each bears the checksum of RFC 1950."""
    cache = Cache(tmp_path)
    cache.note("one", "good")
    cache.close()
    data = bytearray(kept._packed("good"))
    data[place] ^= 1
    with sqlite3.connect(tmp_path / FILE) as base:
        base.execute("UPDATE notes SET note = ?", (bytes(data),))
    base.close()
    cache = Cache(tmp_path)
    assert cache.notes(["one"]) == {}
    cache.close()


@pytest.mark.parametrize("data", ["text", b"x", 7, b"", zlib.compress(b"[1"), zlib.compress(b"\xff")])
def test_row_of_other_kinds_is_not_there(tmp_path, data):
    """A column of SQLite holds values of any kind: the row counts as not there."""
    cache = Cache(tmp_path)
    cache.note("one", "good")
    cache.close()
    with sqlite3.connect(tmp_path / FILE) as base:
        base.execute("UPDATE notes SET note = ?", (data,))
        base.execute("INSERT INTO pages VALUES ('two', ?, ?)", (data, data))
    base.close()
    cache = Cache(tmp_path)
    assert cache.notes(["one"]) == {} and cache.pages(["two"]) == {} and cache.files("two") is None
    cache.close()


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE builds SET number = 'many'",
        "UPDATE builds SET number = 9223372036854775807",
        "UPDATE builds SET number = -1",
        "UPDATE builds SET number = NULL",
        "DELETE FROM builds",
        "INSERT INTO builds VALUES (1)",
        "DROP TABLE used",
        "DROP TABLE notes; CREATE VIEW notes AS WITH RECURSIVE n(key) AS (SELECT 'a' UNION ALL SELECT key FROM n) "
        "SELECT key, key AS note FROM n",
        "CREATE TRIGGER more AFTER INSERT ON notes BEGIN DELETE FROM notes; END",
    ],
)
def test_file_of_other_tables_is_begun_anew(tmp_path, change):
    """A file with counts, views or triggers that are not ours is replaced; work goes on."""
    with Cache(tmp_path) as cache:
        cache.note("old", 1)
    base = sqlite3.connect(tmp_path / FILE)
    base.executescript(change)
    base.close()
    with Cache(tmp_path) as cache:
        cache.note("new", 2)
        cache.end_build()
    with Cache(tmp_path) as cache:
        assert cache.notes(["old", "new"]) == {"new": 2}


@pytest.mark.parametrize("data", [b"", b"no database", b"SQLite format 3\0" + bytes(200)])
def test_spoilt_file_is_begun_anew(tmp_path, data):
    """A file that is no database of ours is replaced; work goes on."""
    (tmp_path / FILE).write_bytes(data)
    cache = Cache(tmp_path)
    cache.note("one", 1)
    cache.close()
    cache = Cache(tmp_path)
    assert cache.notes(["one"]) == {"one": 1}
    cache.close()


def test_place_that_cannot_be_a_folder(tmp_path):
    """A link in the folder's place is taken away, what it leads to is left alone; no folder at all means memory."""
    aim = tmp_path / "aim"
    aim.mkdir()
    (aim / "letter").write_text("mine")
    (tmp_path / "kept").symlink_to(aim)
    cache = Cache(tmp_path / "kept")
    cache.note("one", 1)
    cache.close()
    assert [each.name for each in aim.iterdir()] == ["letter"] and not (tmp_path / "kept").is_symlink()
    cache = Cache(tmp_path / "no" / "such" / "folder")
    cache.note("one", 1)
    assert cache.notes(["one"]) == {"one": 1}
    cache.close()


def test_unasked_rows_go(tmp_path):
    """A row that no build has asked for in KEPT_BUILDS builds goes, one that is asked for stays."""
    cache = Cache(tmp_path)
    cache.note("asked", 1)
    cache.note("forgotten", 1)
    cache.end_build()
    cache.close()
    for _ in range(KEPT_BUILDS + KEPT_BUILDS // 4):
        cache = Cache(tmp_path)
        assert cache.notes(["asked"])
        cache.end_build()
        cache.close()
    cache = Cache(tmp_path)
    assert cache.notes(["asked", "forgotten"]) == {"asked": 1}
    cache.close()


@pytest.fixture
def standing(tmp_path):
    """A site that stands, with a group of two files noted in a cache."""
    site, cache = tmp_path / "site", Cache()
    assembly = Assembly(site, None, cache)
    assembly.write("ham.html", b"ham")
    assembly.write("assets/ham.svg", b"drawn")
    assembly.note("key", ["ham.html", "assets/ham.svg"])
    assembly.keep_notes()
    return site, cache


def taken(standing, tmp_path, key="key"):
    """Whether the group is taken over into a new site, and the new site's hashes."""
    site, cache = standing
    assembly = Assembly(tmp_path / "beside", site, cache)
    (tmp_path / "beside").mkdir()
    assembly.look_up([key])
    return assembly.take_over(key), assembly.hashes


def test_group_is_taken_over(standing, tmp_path):
    """A group that stands as noted is the same file under a second name."""
    done, hashes = taken(standing, tmp_path)
    assert done and set(hashes) == {"ham.html", "assets/ham.svg"}
    assert (tmp_path / "beside/ham.html").samefile(standing[0] / "ham.html")


def test_changed_file_is_not_taken_over(standing, tmp_path):
    """One changed, missing or exchanged file of a group, and none of it is taken."""
    (standing[0] / "assets/ham.svg").write_bytes(b"wrong")
    done, hashes = taken(standing, tmp_path)
    assert not done and hashes == {} and not list((tmp_path / "beside").iterdir())


def test_link_is_not_taken_over(standing, tmp_path):
    """A link in the place of a file is not followed."""
    (tmp_path / "secret").write_bytes(b"ham")
    (standing[0] / "ham.html").unlink()
    (standing[0] / "ham.html").symlink_to(tmp_path / "secret")
    assert not taken(standing, tmp_path)[0]


def test_file_through_a_link_is_not_taken_over(standing, tmp_path):
    """A link in the place of a folder is not followed, even to the same file."""
    (standing[0] / "assets").rename(tmp_path / "elsewhere")
    (standing[0] / "assets").symlink_to(tmp_path / "elsewhere")
    assert not taken(standing, tmp_path)[0]


@pytest.mark.parametrize("path", ["../secret", "/etc/hostname", "a/../../secret"])
def test_path_out_of_the_site_is_not_taken_over(standing, tmp_path, path):
    """A spoilt note cannot reach outside the site."""
    (tmp_path / "secret").write_bytes(b"ham")
    cache = standing[1]
    state = (tmp_path / "secret").stat()
    cache.note("bad", {path: ["0" * 64, state.st_size, state.st_mtime_ns]})
    assert not taken(standing, tmp_path, "bad")[0]


def _pipe(place):
    os.mkfifo(place)


def _link(place):
    place.symlink_to("elsewhere")


def _folder(place):
    place.mkdir()
    (place / "in").write_text("in")


@pytest.mark.parametrize("put", [_pipe, _link, _folder])
@pytest.mark.parametrize("name", [FILE, f"{FILE}-wal", f"{FILE}-shm", "handbook.json", "history.json"])
def test_what_is_no_file_in_the_cache(tmp_path, name, put):
    """A pipe in the place of a kept file is not waited for, a link not followed: what stands there goes."""
    folder = tmp_path / "clone" / "methods"
    folder.mkdir(parents=True)
    place = open_store(folder, tmp_path / "kept").of_handbook(folder)
    (place / name).unlink(missing_ok=True)
    put(place / name)
    again = open_store(folder, tmp_path / "kept").of_handbook(folder)
    cache = Cache(again)
    cache.note("one", 1)
    cache.close()
    keep_file(again / "history.json", "{}")
    cache = Cache(again)
    assert cache.notes(["one"]) == {"one": 1} and read_json(again / "handbook.json") == path_text(folder)
    cache.close()
    assert not (place / "elsewhere").exists()
    assert all(stat.S_ISREG(each.lstat().st_mode) for each in place.iterdir())


@pytest.mark.parametrize("put", [_pipe, _link, _folder])
def test_what_is_no_file_for_the_record_of_a_site(tmp_path, put):
    """The same for the record of a site."""
    put(tmp_path / "record.json")
    record = read_record(tmp_path / "record.json", tmp_path / "site")
    record.write(())
    assert read_json(tmp_path / "record.json")["site"] == path_text(tmp_path / "site")
    assert (tmp_path / "record.json").lstat().st_nlink == 1 and not (tmp_path / "elsewhere").exists()
