"""A methods folder made by a stranger: what lies in it is read as it is, or is one fault line, never a way out."""

from __future__ import annotations

import os
import socket
import subprocess
from pathlib import Path

import pytest

from handbook.base.errors import FaultsError, PageError
from handbook.folder import file_names, folder_files
from handbook.folder.file_names import MAX_DEPTH, name_faults, written_paths
from handbook.folder.folder_files import MAX_FILE_BYTES, list_folder, read_file
from handbook.folder.source import read_source
from site_build.build.build_site import Choices, build_site
from site_build.reading.book import GENERATED
from tests.building import dead_links, small_handbook
from tests.site_build.review_edits import METHODS, git

SECRET = b"the key of the cellar"


@pytest.fixture
def folder(tmp_path) -> Path:
    """A methods folder with a house file and one plain page."""
    made = tmp_path / "methods"
    made.mkdir()
    for name in ("house.yml", "foods.csv"):
        (made / name).write_bytes((METHODS / name).read_bytes())
    (made / "page.md").write_text("# A page\n\nWords.\n", "utf-8")
    (tmp_path / "outside").mkdir()
    (tmp_path / "outside" / "text.md").write_bytes(SECRET)
    return made


def lines(folder: Path) -> list[str]:
    """Every fault of the folder's files."""
    try:
        return [str(each) for each in read_source(folder, frozenset(GENERATED)).faults]
    except FaultsError as error:
        return str(error).splitlines()


def _link(folder: Path, name: str, target: str) -> None:
    (folder / name).parent.mkdir(parents=True, exist_ok=True)
    (folder / name).symlink_to(target)


LINKS = [
    ("a.md", "page.md"), ("a.md", "../outside/text.md"), ("a.md", "nothing.md"), ("a.md", "a.md"), ("a.txt", "/etc/hostname"),
    ("sub", "."), ("sub", ".."), ("sub", "../outside"), ("deep/sub", "../.."), ("sub", "/"), ("picture.png", "/dev/zero"),
    ("CNAME", "../outside/text.md"), ("runs", "../outside"), ("days", "/proc/self"), ("foods.csv.txt", "house.yml"),
    ("notes.txt", ".git/config"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "target"), LINKS)
def test_every_link_is_a_fault(folder, name, target):
    """A link is one line wherever it leads, inside the folder too, and nothing behind it is read."""
    _link(folder, name, target)
    found = lines(folder)
    assert found == [
        f'methods/{name}:1: file: read "a link"; allowed: the file or folder itself: a build follows no links'
    ], found
    source = read_source(folder)
    assert set(source.digests) == {"house.yml", "foods.csv", "page.md"}
    assert SECRET not in source.contents.values()


@pytest.mark.parametrize("name", ["house.yml", "foods.csv"])
def test_house_data_that_is_a_link(folder, name):
    """House data behind a link stops the build with the link's line alone."""
    (folder / name).rename(folder / ".kept")
    _link(folder, name, ".kept")
    with pytest.raises(FaultsError) as caught:
        read_source(folder).kitchen()
    assert str(caught.value).splitlines() == lines(folder) and len(lines(folder)) == 1


def test_what_is_no_file(folder):
    """Pipes and sockets are not opened: a pipe would be waited for."""
    os.mkfifo(folder / "pipe.md")
    with socket.socket(socket.AF_UNIX) as made:
        place = os.getcwd()
        os.chdir(folder)  # the name of a socket may have 108 bytes (unix(7))
        try:
            made.bind("s.txt")
        finally:
            os.chdir(place)
        assert sorted(lines(folder)) == [
            f"methods/{name}:1: file: read no file; allowed: files and folders only" for name in ("pipe.md", "s.txt")
        ]


def test_folders_within_each_other(folder):
    """1,100 folders within each other are one line."""
    handle = os.open(folder, os.O_RDONLY)
    for _ in range(1100):  # longer than any path may be, so made from within
        os.mkdir("d", dir_fd=handle)
        below = os.open("d", os.O_RDONLY, dir_fd=handle)
        os.close(handle)
        handle = below
    os.close(handle)
    try:
        found = lines(folder)
    finally:  # the test runner's own tidying up would run out of depth
        subprocess.run(["rm", "-rf", str(folder / "d")], check=True)
    deepest = "/".join("d" * (MAX_DEPTH + 1))
    read = f"{MAX_DEPTH + 1} folders within each other"
    assert found == [f'methods/{deepest}:1: file: read "{read}"; allowed: at most {MAX_DEPTH}']


@pytest.mark.parametrize(
    ("name", "size"),
    [("page.md", 20 << 30), ("house.yml", 400_001), ("picture.jpg", 20 << 30), ("foods.csv", 1_000_001)],
)
def test_size_is_judged_before_reading(folder, name, size, monkeypatch):
    """A file that is too large, sparse ones of 20 GB too, is a line, and is not opened."""
    with (folder / name).open("ab") as file:
        file.truncate(size)
    opened = []
    real = folder_files._read
    monkeypatch.setattr(folder_files, "_read", lambda *given: opened.append(given[1]) or real(*given))
    assert lines(folder) == [
        f'methods/{name}:1: file: read "{size} bytes"; allowed: at most {folder_files.most_bytes(name)} bytes'
    ]
    assert name not in opened


@pytest.mark.parametrize(("limit", "words"), [("MAX_ALL_BYTES", "files"), ("MAX_TEXT_BYTES", "pages and data")])
def test_all_bytes_are_judged_before_reading(folder, limit, words, monkeypatch):
    """Where all files together are too large, none is opened."""
    monkeypatch.setattr(folder_files, limit, 100)
    monkeypatch.setattr(folder_files, "_read", None)
    found = lines(folder)
    assert len(found) == 1 and f'bytes of {words}"; allowed: at most 100 bytes' in found[0]


def test_too_many_files(folder, monkeypatch):
    """A folder of too many files or folders, empty ones too, is one line."""
    monkeypatch.setattr(folder_files, "MAX_FILES", 10)
    monkeypatch.setattr(folder_files, "_read", None)
    for number in range(10):
        (folder / f"empty-{number}").mkdir()
    assert lines(folder) == ['methods:1: folder: read "more than 10 files and folders"; allowed: at most 10']


@pytest.mark.parametrize("name", ["locked", "locked.md"])
def test_unreadable(folder, name, monkeypatch):
    """A folder or file that may not be opened is one line, and all others are read."""
    (folder / name).mkdir() if name == "locked" else (folder / name).write_text("x")
    real = os.open

    def refusing(path, *given, **more):
        if path == name:
            raise PermissionError(13, "Permission denied")
        return real(path, *given, **more)

    monkeypatch.setattr(os, "open", refusing)
    monkeypatch.setattr(os, "supports_dir_fd", {*os.supports_dir_fd, refusing})
    found = lines(folder)
    assert (
        len(found) == 1 and found[0].startswith(f"methods/{name}:1: file: read no ") and "Permission denied" in found[0]
    )
    assert "page.md" in read_source(folder).contents


def test_names_that_are_no_text(folder):
    """A file or folder whose name is no UTF-8 is one line that can be printed."""
    Path(os.fsdecode(os.fsencode(folder) + b"/\xff\xfe.md")).write_text("# x\n")
    os.mkdir(os.fsencode(folder) + b"/\xe9")
    Path(os.fsdecode(os.fsencode(folder) + b"/\xe9/a.txt")).write_text("x")
    found = lines(folder)
    assert len(found) == 2 and all(each.encode("utf-8") for each in found), found


def test_repository_within_the_folder(folder):
    """A repository nested in the folder, by a folder or a file .git, is one line and not read."""
    for name, write in (("inner", Path.mkdir), ("other", lambda path: path.write_text("gitdir: /elsewhere"))):
        (folder / name).mkdir()
        write(folder / name / ".git")
        (folder / name / "a.md").write_text("# a\n")
    assert sorted(lines(folder)) == [
        f'methods/{name}:1: file: read "a repository within the folder"; allowed: its files themselves'
        for name in ("inner", "other")
    ]


def test_folder_that_becomes_a_link(folder, monkeypatch):
    """A folder or file that is exchanged for a link between listing and reading is not followed."""
    (folder / "sub").mkdir()
    (folder / "sub" / "text.md").write_text("# good\n")
    (folder / "one.txt").write_text("good")
    found = list_folder(folder)
    (folder / "sub").rename(folder.parent / "gone")
    (folder / "sub").symlink_to("../outside")
    (folder / "one.txt").unlink()
    (folder / "one.txt").symlink_to("../outside/text.md")
    read = {path: data for path, data, _ in folder_files.read_files(found)}
    assert "sub/text.md" not in read and "one.txt" not in read and SECRET not in read.values()
    assert [each.file for each in found.faults] == ["methods/one.txt", "methods/sub/text.md"]


def test_without_handles(folder, monkeypatch):
    """Where a system opens files by their paths alone, links are refused as well."""
    monkeypatch.setattr(folder_files, "_BY_HANDLE", False)
    _link(folder, "sub", "../outside")
    (folder / "fine").mkdir()
    (folder / "fine" / "b.md").write_text("# b\n")
    assert [each.split(":")[0] for each in lines(folder)] == ["methods/sub"]
    assert read_source(folder).contents["fine/b.md"] == b"# b\n"
    with pytest.raises(PageError, match="a link"):
        read_file(folder, "sub/text.md")


def test_published_file_that_changes_during_a_build(folder):
    """A published file is opened again as it was the first time: another one, or a link, is a fault."""
    (folder / "a.txt").write_text("good")
    source = read_source(folder)
    assert source.published_bytes("a.txt") == b"good" and source.is_unchanged("a.txt")
    (folder / "a.txt").write_text("evil")
    with pytest.raises(PageError, match="a changed file"):
        source.published_bytes("a.txt")
    (folder / "a.txt").unlink()
    _link(folder, "a.txt", "../outside/text.md")
    assert not source.is_unchanged("a.txt")
    with pytest.raises(PageError, match=r"a\.txt:1: file: read"):
        source.published_bytes("a.txt")


def test_file_that_grows(folder):
    """No more than the limit is ever read of a file."""
    with (folder / "big.txt").open("wb") as file:
        file.truncate(MAX_FILE_BYTES + 1)
    with pytest.raises(PageError, match="it grows while it is read"):
        read_file(folder, "big.txt")


# Names.


@pytest.mark.parametrize(
    "path",
    [
        "char.ics/x.md", "char.why.html/x.txt", "sub/char.proof.html/x.md", "char.html/x.txt", "char.md/x.md", "index.html/x.txt", "feed.xml/x.md", "figures.json/x.txt",
        "Feed.XML/x.md", "build.json/x.csv", "404.html/x.md", "service-worker.js/x.md", "sitemap.xml/x.md", "schemas/x.md",
        "manifest.webmanifest/x.md", "Assets/x.png", "brines.html/x.md", "days/sat.html/x.md", "days/sat.ics/x.txt",
        "templates/x.md", "index.md/x.txt", "sub/char.html/x.md", "a#b.md", "a%20b.md", "50%/a.md", "a?b.md",
    ],
)  # fmt: skip
def test_names_that_the_build_needs(path):
    """A folder or file in the place of one that the build writes, and a name that is no plain address, are faults."""
    others = ["char.md", "sub/char.md", "days/sat.yml", "days/sat.plan.yml"]
    others = [each for each in others if not path.startswith(f"{each}/")]
    found = name_faults("methods", [*others, path], GENERATED)
    assert [each.file for each in found] == [f"methods/{path}"], found


def test_every_written_path_is_known(demo_site):
    """A build writes nothing at the top of a site or beside its pages that the check of names does not know."""
    there = {each.relative_to(demo_site).as_posix() for each in demo_site.rglob("*") if each.is_file()}
    paths = [each.relative_to(METHODS).as_posix() for each in METHODS.rglob("*") if each.is_file()]
    known = written_paths([*paths, *GENERATED]) | set(file_names.SITE_FILES)
    assert {each for each in there if not each.startswith(("assets/", "schemas/"))} <= known | set(paths)


UNUSUAL = ("salt & sugar.md", "brine+char.md", "røkt ørret.md", "燻製.md", "it's (new), 1=2;..,~@!$.md", "a&lt;b.md")


def test_unusual_names_lead_everywhere(tmp_path):
    """Pages with blanks, signs and letters of any script are reached from contents, feed, sitemap, search and copy."""
    from tests.building import listed_files

    folder = small_handbook(tmp_path / "methods")
    text = (folder / "soy-eggs.md").read_text("utf-8")
    for name in UNUSUAL:
        page = text.replace("title: ", f"title: {name.removesuffix('.md')} " if "&" not in name else "title: Signs ", 1)
        page = page.replace("title: Signs ", f"title: Signs {UNUSUAL.index(name)} ")
        (folder / name).write_text(page.replace("it's (new), 1=2;..,~@!$", "Signs of all kinds"), "utf-8")
    (folder / "sub dir&co").mkdir()
    (folder / "sub dir&co" / "p+q.md").write_text("# Plain\n\n[eggs](../soy-eggs.md)\n", "utf-8")
    site = tmp_path / "site"
    build_site(folder, site, Choices(shows_progress=False))
    assert dead_links(site) == []
    for name in (*UNUSUAL, "sub dir&co/p+q.md"):
        assert (site / f"{name.removesuffix('.md')}.html").is_file()
        assert f"{name.removesuffix('.md')}.html" in listed_files(site)


def test_root_of_a_repository(tmp_path):
    """Where the methods are the root of a repository, its settings and other hidden files are neither read nor followed."""
    folder = small_handbook(tmp_path / "kitchen")
    git(folder, "init", "-q")
    (folder / ".git" / "circle").symlink_to(".")
    (folder / ".hidden").mkdir()
    for name in "ab":  # walked with links followed, 2 ** 40 folders
        (folder / ".hidden" / name).symlink_to(".")
    (folder / ".hidden" / "secret.txt").write_bytes(SECRET)
    site = tmp_path / "site"
    build_site(folder, site, Choices(shows_progress=False))
    names = {each.name for each in site.rglob("*")}
    assert not names & {"config", "secret.txt", ".git", ".hidden", "HEAD"}
    assert not any(SECRET in each.read_bytes() for each in site.rglob("*") if each.is_file())
