"""Batch files of a stranger: nothing of them is left out of a recall without a word, and every command says one line."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest

from tests.site_build.clone import METHODS, run
from tests.site_build.pseudo_language import copy_of
from tests.site_build.review_edits import commit, git
from tests.site_build.test_identity import picture

NAME = "soy-eggs-261105"
FILE = f"batches/2026/{NAME}.yml"
TEXT = (METHODS / FILE).read_text("utf-8")
COMMANDS = (
    ("recall", "H-22"),
    ("due",),
    ("stock",),
    ("batch", "label", NAME, "--into", "x.html"),
    ("batch", "end", NAME),
)

#: The same still in progress: `due` leaves out what has plainly ended.
OPEN = "".join(line for line in TEXT.splitlines(keepends=True) if "ended" not in line)


@pytest.fixture
def folder(tmp_path, monkeypatch) -> Path:
    """A handbook of one page of reading with one batch."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.chdir(tmp_path)
    made = copy_of(METHODS, tmp_path / "methods", "about.md")
    (made / "about.md").write_text("# About\n")
    (made / FILE).parent.mkdir(parents=True)
    (made / FILE).write_text(TEXT, "utf-8")
    return made


def _link(path: Path) -> None:
    (path.parents[3] / "outside.yml").write_text(TEXT, "utf-8")
    path.symlink_to(path.parents[3] / "outside.yml")


UNREADABLE = {
    "a link": _link,
    "a pipe": lambda path: os.mkfifo(path),
    "a folder": lambda path: (path.mkdir(), (path / "x.yml").write_text("x")),
    "too large": lambda path: path.write_text(TEXT + "#" * 400_000, "utf-8"),
    "no UTF-8": lambda path: path.write_bytes(b"\xff\xfe"),
    "nothing": lambda path: path.write_text(""),
    "a control": lambda path: path.write_text(OPEN + "\0"),
    "an alias": lambda path: path.write_text("a: &a [x]\nb: *a\n"),
    "deep": lambda path: path.write_text("{" * 10_000),
    "two people": lambda path: path.write_text("<<<<<<< a\nx\n=======\ny\n>>>>>>> b\n"),
    "another lot": lambda path: path.write_text(OPEN.replace(f"lot: {NAME}", "lot: x")),
}


@pytest.mark.parametrize("kind", UNREADABLE)
@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_no_command_passes_over_a_batch(folder, command, kind):
    """A batch that cannot be read would be missing from the answer, so there is none but its fault lines."""
    (folder / FILE).unlink()
    UNREADABLE[kind](folder / FILE)
    found = run(*command, "--in", folder)
    assert found.exit_code == 1 and NAME in found.stderr, found.output
    assert not Path("x.html").exists() and found.stdout == ""


def test_a_folder_in_capitals_hides_no_batch(folder):
    """On some systems `Batches` is `batches`; where it is not, its lots would be in no list."""
    shutil.move(folder / "batches", folder / "Batches")
    for command in (("recall", "H-22", "--in", folder), ("due", "--in", folder), ("check", folder)):
        found = run(*command)
        assert found.exit_code == 1 and "batches/ in small letters" in found.stderr, found.output


@pytest.mark.parametrize("name", ["stock.yml", "thermometers.yml"])
def test_no_list_is_read_through_a_link(folder, name, tmp_path):
    """Neither shown, nor quoted in a fault, nor written."""
    secret = tmp_path / "secret.yml"
    secret.write_text("the key of the cellar\n")
    (folder / "batches/2026" / name).symlink_to(secret)
    for command in (("stock",), ("thermometer", "probe", "0 °C", "--at", "2026-11-05 08:00")):
        found = run(*command, "--in", folder)
        assert found.exit_code == 1 and "a link" in found.stderr and "cellar" not in found.output, found.output
    assert secret.read_text() == "the key of the cellar\n"


def test_two_lots_that_read_alike_are_asked_for(folder):
    """A lot written loosely that two batches could be names both; as written it is one."""
    other = "soyeggs-261105"
    (folder / f"batches/2026/{other}.yml").write_text(TEXT.replace("soy-eggs", "soyeggs"), "utf-8")
    asked = run("batch", "label", "SOY EGGS 261105", "--in", folder, "--into", "x.html")
    assert asked.exit_code == 1 and f"{NAME} or {other}" in asked.stderr, asked.output
    assert run("batch", "label", other, "--in", folder, "--into", "x.html").exit_code == 0


@pytest.mark.parametrize(
    "word", ["\x1b[31mx", "::error::x", "##[group]x", "../../x", "%s", "\udc80", "x" * 5000, "\u202ex"]
)
def test_words_of_a_command_steer_no_terminal(folder, word):
    """Lots, moments, names and amounts given on the command line are said again in one harmless line."""
    for command in (
        ("recall", word),
        ("due", "--at", word),
        ("batch", "start", word, "1 kg"),
        ("thermometer", "p", word),
    ):
        found = run(*command, "--in", folder)
        assert found.exit_code == 1 and len(found.stderr.strip().splitlines()) == 1, found.output
        assert "\x1b" not in found.stderr and "\u202e" not in found.stderr and len(found.stderr) < 500
        assert not found.stderr.lstrip().startswith("::") and "##[" not in found.stderr


WRONG = {
    FILE: b"x",
    "batches/2026/soy-eggs-261106.yml": b"x",
    "batches/2026/x.yml": b"x",
    "batches/2026/stock.yml": b"x",
    "batches/2026/thermometers.yml": b"x",
    "Batches/2026/soy-eggs-261105.yml": b"x",
    "words.po": b'msgid "Find"\nmsgstr "<b>"\n',
    "mark.png": picture(20, 20),
    "house.yml": b'colours: {main: "#eeeeee"}\n',
}


def test_a_check_of_changes_stops_what_a_check_stops(folder):
    """Batches, lists, catalogue, mark and colours: a changed file with a fault passes neither."""
    (folder / "mark.png").write_bytes(picture(64, 64))
    house = (folder / "house.yml").read_bytes() + b"\nmark: mark.png\n"
    (folder / "house.yml").write_bytes(house)
    git(folder.parent, "init", "-q", "-b", "main")
    commit(folder)
    for name, data in WRONG.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(house + data if name == "house.yml" else data)
        found = run("check", folder, "--changed-since", "HEAD")
        assert found.exit_code == 1 and found.output.count("allowed:") >= 1, (name, found.output)
        git(folder.parent, "checkout", "-q", "--", ".")
        git(folder.parent, "clean", "-fdq")


def test_a_check_of_changes_knows_earlier_names(folder):
    """A page that says to have had another page's name is told, whichever of the two is the changed one."""
    git(folder.parent, "init", "-q", "-b", "main")
    commit(folder)
    (folder / "a.md").write_text("---\nwas: [about]\n---\n# A\n")
    found = run("check", folder, "--changed-since", "HEAD")
    assert found.exit_code == 1 and 'was: read "about"; allowed: a name that no page has' in found.output, found.output


def test_the_manual_into_no_folder_is_one_line(folder):
    """A place that cannot be written is said as one."""
    found = run("manual", "--into", folder / "house.yml" / "manual")
    assert found.exit_code == 1 and len(found.stderr.strip().splitlines()) == 1, found.output
