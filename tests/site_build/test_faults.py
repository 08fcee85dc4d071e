"""Every fault of a folder is said in one run, each on one line, and the site that stood before stays."""

from pathlib import Path

import pytest
from click.testing import CliRunner

from handbook.base.errors import FaultsError
from site_build.cli.main import main
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
    result = CliRunner().invoke(main, ["check", str(FAULTY)])
    assert result.exit_code == 1
    assert sorted(result.stderr.splitlines()) == sorted(expected())


def test_failed_build_leaves_the_site(tmp_path):
    """A failed build touches neither the last site nor leaves anything beside it."""
    site = tmp_path / "site"
    site.mkdir()
    (site / "index.html").write_text("the last good site")
    result = CliRunner().invoke(main, ["build", str(FAULTY), "--into", str(site)])
    assert result.exit_code == 1 and sorted(result.stderr.splitlines()) == sorted(expected())
    assert [path.name for path in tmp_path.iterdir()] == ["site"]
    assert (site / "index.html").read_text() == "the last good site"
