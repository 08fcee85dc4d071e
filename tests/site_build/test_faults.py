"""Every fault of a folder is said in one run, each on one line, and the site that stood before stays."""

import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from handbook.base.errors import FaultsError
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


def test_check_exits_with_1():
    """``check`` prints the lines on standard error and exits with 1, without a traceback."""
    result = CliRunner().invoke(main, ["check", str(FAULTY), "--workers", "1"])
    assert result.exit_code == 1
    assert sorted(result.stderr.splitlines()) == sorted(expected())


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
