"""Commands write files whole, and through no link of a clone."""

import os
import shutil
import stat
import subprocess
import sys

import pytest

from site_build.base.files import write_file
from site_build.base.places import PlaceError
from site_build.cli import day_command
from tests.site_build.clone import assert_one_line, everything, run

# ---- files that other commands write ----


@pytest.fixture
def outside(tmp_path):
    """A file and a folder of the victim's."""
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "letter.txt").write_text("mine")
    return tmp_path / "mine"


def _link(place, aim):
    place.parent.mkdir(parents=True, exist_ok=True)
    if place.is_dir() and not place.is_symlink():
        shutil.rmtree(place)
    place.unlink(missing_ok=True)
    place.symlink_to(aim)


WRITERS = {
    "sign": (["sign", "soy-eggs", "--by", "Odd"], "methods/signed.yml"),
    "record": (
        ["record", "methods/soy-eggs.md", "--on", "2026-11-02", "--batch", "1 kg"],
        "methods/runs/soy-eggs/2026-11-02.yml",
    ),
    "record, folder": (["record", "methods/soy-eggs.md", "--on", "2026-11-02", "--batch", "1 kg"], "methods/runs"),
    "record, method's folder": (
        ["record", "methods/soy-eggs.md", "--on", "2026-11-02", "--batch", "1 kg"],
        "methods/runs/soy-eggs",
    ),
    "record, paper": (["record", "methods/soy-eggs.md", "--paper", "sheet.html"], "sheet.html"),
    "schemas": (["schemas", "schemas"], "schemas"),
    "schemas, one": (["schemas", "schemas"], "schemas/house.schema.json"),
    "plan": (["plan", "methods/soy-eggs.md", "--start", "2026-11-02 08:00", "--calendar", "eggs.ics"], "eggs.ics"),
    "new": (["new", "methods/more/ham.md"], "methods/more"),
    "new, dangling": (["new", "methods/ham.md"], "methods/ham.md"),
    "new, house": (["new", "second/ham.md"], "second/house.yml"),
}


@pytest.mark.parametrize("aim", ["file", "folder", "nothing"])
@pytest.mark.parametrize("writer", WRITERS)
def test_writers_follow_no_link(clone, outside, writer, aim):
    """No command that writes a file writes through a link of the clone, into what it leads to or in its place."""
    command, name = WRITERS[writer]
    _link(clone / name, {"file": outside / "letter.txt", "folder": outside, "nothing": outside / "new"}[aim])
    before = everything(outside)
    result = run(*command)
    assert everything(outside) == before and (clone / name).is_symlink()
    assert "Traceback" not in result.output and not isinstance(result.exception, OSError)
    assert result.exit_code != 0 or writer in ("new, house",), result.output


@pytest.mark.parametrize("kind", ["git", "archive"])
@pytest.mark.parametrize("writer", [*WRITERS, "day", "day, calendar"])
def test_methods_behind_a_link(clone, outside, writer, kind):
    """Where the methods folder itself is a link of the clone, nothing is written where it leads, git or not."""
    if kind == "archive":
        (clone / ".git").rmdir()
    command, _ = (WRITERS | {"day": (DAY, ""), "day, calendar": ([*DAY[:2], "--calendar", "day.ics"], "")})[writer]
    (clone / "methods" / "days").mkdir()
    (clone / "methods" / "days" / "sunday.yml").write_text("title: Sunday\n")
    (clone / "methods").rename(outside / "methods")
    (clone / "methods").symlink_to(outside / "methods")
    (clone / "second").symlink_to(outside)
    before = everything(outside)
    result = run(*command)
    assert everything(outside) == before and result.exit_code in (1, 3), result.output
    assert "a link" in result.stderr and len(result.stderr.strip().splitlines()) == 1


DAY = ["day", "methods/days/sunday.yml", "--keep", "--quiet"]


@pytest.mark.parametrize("kind", ["git", "archive"])
@pytest.mark.parametrize("name", ["methods/days/sunday.plan.yml", "methods/days", "day.ics"])
def test_day_follows_no_link(clone, outside, monkeypatch, demo_book, name, kind):
    """Neither the plan that is kept nor the calendar of a day is written through a link."""
    if kind == "archive":
        (clone / ".git").rmdir()
    monkeypatch.setattr(day_command, "_plan", lambda file, tell: (demo_book.days[0], demo_book.house))
    (clone / "methods" / "days").mkdir()
    assert run(*DAY, "--calendar", "day.ics").exit_code == 0
    aim = outside if name == "methods/days" else outside / "letter.txt"
    _link(clone / name, aim)
    before = everything(outside)
    result = run(*DAY, "--calendar", "day.ics")
    assert everything(outside) == before and result.exit_code == 1
    assert "a link" in result.stderr and (clone / name).is_symlink()


def test_recorded_comparison_follows_no_link(clone, outside, demo_site):
    """``compare --into`` neither."""
    _link(clone / "report.md", outside / "letter.txt")
    figures = demo_site / "figures.json"
    result = run("compare", "--recorded", figures, figures, "--as", "markdown", "--into", "report.md")
    assert result.exit_code == 3 and "a link" in result.stderr and (outside / "letter.txt").read_text() == "mine"


def test_paper_follows_no_link(clone, outside, monkeypatch):
    """Nor does the printed handbook."""
    from site_build.cli import paper_command as cli_paper

    def printed(site, made, size, browser, with_dossiers):
        made.write_bytes(b"%PDF")
        return 1

    monkeypatch.setattr(cli_paper, "find_browser", lambda named: "none")
    monkeypatch.setattr(cli_paper, "print_site", printed)
    assert run("paper", "methods").exit_code == 0 and (clone / "handbook.pdf").read_bytes() == b"%PDF"
    _link(clone / "handbook.pdf", outside / "letter.txt")
    assert_one_line(run("paper", "methods"))
    assert (outside / "letter.txt").read_text() == "mine"


def test_write_file(tmp_path):
    """Whole or not at all: a new file by the umask, an old one's mode kept, nothing left beside it, nothing new written over."""
    file = tmp_path / "a.txt"
    write_file(file, "ä\n")
    assert file.read_bytes() == "ä\n".encode() and stat.S_IMODE(file.stat().st_mode) == 0o666 & ~_umask()
    file.chmod(0o600)
    write_file(file, b"b")
    assert file.read_bytes() == b"b" and stat.S_IMODE(file.stat().st_mode) == 0o600
    with pytest.raises(FileExistsError):
        write_file(file, "c", is_new=True)
    write_file(tmp_path / "deep" / "er" / "new.txt", "n", is_new=True)
    assert [each.name for each in tmp_path.iterdir() if each.name.startswith(".")] == []
    with pytest.raises(PlaceError):
        write_file(tmp_path / "deep", "d")
    with pytest.raises(OSError):
        write_file(tmp_path / "no" / "such" / "folder.txt", "d")


def test_write_file_to_standard_output(tmp_path):
    """A user who names /dev/stdout gets it there."""
    code = "from pathlib import Path; from site_build.base.files import write_file; write_file(Path('/dev/stdout'), 'said')"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "said"


def _umask():
    now = os.umask(0)
    os.umask(now)
    return now
