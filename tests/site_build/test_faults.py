"""Every fault of a folder is said in one run, each on one line, and the site that stood before stays."""

import re
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from handbook.base.errors import FaultsError
from handbook.folder.handbook import open_handbook
from site_build.cli.main import main
from site_build.cli.starter import starter_house
from tests.whole_book import read_book

FAULTY = Path(__file__).with_name("faulty")


def expected() -> list[str]:
    return [line for line in (FAULTY / "expected.txt").read_text("utf-8").splitlines() if not line.startswith("#")]


def test_every_fault_in_one_run():
    """The whole text of every error line is as written down beside the faulty pages."""
    with pytest.raises(FaultsError) as caught:
        read_book(FAULTY)
    assert sorted(str(caught.value).splitlines()) == sorted(expected())


OTHER_FILES = {
    "signed.yml": ("- {method: nobody, mark: 000000-000000, by: M, on: 2026-01-01}\n", "signed.method"),
    "days/sunday.yml": ("title: Sunday\nbegin: soon\n", "begin"),
    "days/sunday.md": ("# Sunday\n", "file"),
    "runs/nothing/2026-10-12.yml": ("on: 2026-10-12\n", "run"),
    "notes.png": ("no picture", "picture"),
}


def test_files_that_are_no_pages_in_the_same_run(tmp_path):
    """Signatures, day plans, runs and pictures are judged beside a faulty page, by ``check`` and ``build`` alike."""
    folder = tmp_path / "methods"
    shutil.copytree(FAULTY.parent.parent.parent / "methods", folder, ignore=shutil.ignore_patterns("days", "runs"))
    for page in folder.rglob("*.md"):
        page.unlink()
    (folder / "bare-salt.md").write_bytes((FAULTY / "bare-salt.md").read_bytes())
    for name, (text, _) in OTHER_FILES.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, "utf-8")
    for command in (["check", str(folder)], ["build", str(folder), "--into", str(tmp_path / "site")]):
        said = CliRunner().invoke(main, command).stderr.splitlines()
        assert any(line.startswith("methods/bare-salt.md:") for line in said), said
        for name, (_, key) in OTHER_FILES.items():
            assert any(re.match(rf"methods/{name}:\d+: (?:\w+\.)*{key}: ", line) for line in said), (name, said)
    found = map(str, open_handbook(folder).faults())
    assert any(line.startswith("methods/days/sunday.yml:2: begin: ") for line in found)


def test_check_exits_with_1():
    """``check`` prints the lines on standard error and exits with 1, without a traceback."""
    result = CliRunner().invoke(main, ["check", str(FAULTY), "--workers", "1"])
    assert result.exit_code == 1
    faults = [line for line in result.stderr.splitlines() if not line.startswith("warning: ")]  # of its sound pages
    assert sorted(faults) == sorted(expected())


def test_failed_build_leaves_the_site(tmp_path):
    """A failed build touches neither the last site nor leaves anything beside it."""
    site, methods = tmp_path / "site", tmp_path / "kitchen" / "methods"
    methods.mkdir(parents=True)
    (methods / "house.yml").write_text(starter_house())
    assert CliRunner().invoke(main, ["build", str(methods), "--into", str(site)]).exit_code == 0
    shutil.rmtree(tmp_path / "kitchen")
    before = {path: path.read_bytes() for path in site.rglob("*") if path.is_file()}
    result = CliRunner().invoke(main, ["build", str(FAULTY), "--into", str(site), "--workers", "1"])
    assert result.exit_code == 1 and sorted(result.stderr.splitlines()) == sorted(expected())
    assert [path.name for path in tmp_path.iterdir()] == ["site"]
    assert {path: path.read_bytes() for path in site.rglob("*") if path.is_file()} == before
