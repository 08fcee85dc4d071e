"""The measuring tools themselves: what they write is sound, what they measure is there, what they fit is known."""

import re
import sys
from collections import Counter

import pytest
from bs4 import BeautifulSoup
from click.testing import CliRunner
from markdown import markdown

from handbook.folder.handbook import open_handbook
from handbook.folder.read_page import PageSource, stated_page
from tests.bench_plain import EXTENSIONS, plain_markdown, reading_matter
from tests.big_handbook import PATTERNS, main, write_handbook
from tests.big_words import place_name
from tests.building import tree
from tests.measure import growth, measure
from tests.whole_book import read_book


@pytest.fixture(scope="module")
def big(tmp_path_factory):
    """Three methods of each kind."""
    folder = tmp_path_factory.mktemp("big") / "methods"
    write_handbook(3 * len(PATTERNS), folder)
    return folder


def test_big_handbook_passes(big, tmp_path):
    """Every page is read, one of each kind computed and safe, every kind comes as often, and some have pictures."""
    kitchen = open_handbook(big).kitchen
    paths = [path.relative_to(big).as_posix() for path in big.rglob("*.md")]
    sources = [PageSource(folder="methods", path=path, data=(big / path).read_bytes()) for path in paths]
    methods = [page for each in sources if (page := stated_page(each, kitchen)).is_method]
    assert len(methods) == 3 * len(PATTERNS) and not [fault for page in methods for fault in page.faults]
    kinds = Counter(page.method.front_matter.kind for page in methods)
    assert set(kinds) == {"hot smoke", "cold smoke", "cook", "dry cure", "brine", "ferment"}
    assert len({page.method.front_matter.title for page in methods}) == len(methods)
    write_handbook(len(PATTERNS), tmp_path / "first")
    assert len(read_book(tmp_path / "first").methods) == len(PATTERNS)
    assert 5 <= sum(path.suffix in (".jpg", ".png") for path in big.rglob("*")) <= 12


def test_big_handbook_is_the_same_again(big, tmp_path):
    """The same seed gives the same bytes, by the command too; a smaller one is the beginning of a larger one."""
    result = CliRunner().invoke(main, [str(3 * len(PATTERNS)), str(tmp_path / "again")])
    assert result.exit_code == 0, result.output
    assert tree(tmp_path / "again") == tree(big)
    write_handbook(20, tmp_path / "smaller")
    assert tree(tmp_path / "smaller").items() <= tree(big).items()
    write_handbook(20, tmp_path / "other", seed=8)
    assert tree(tmp_path / "other") != tree(tmp_path / "smaller")


def test_place_name_is_its_own():
    """No two of the 8000 numbers share a name, not even one written in small ASCII letters."""
    names = {place_name(number).casefold().replace("å", "a") for number in range(8000)}
    assert len(names) == 8000


@pytest.mark.parametrize("page", ["soy-eggs", "glazed-whitefish-strips", "about"])
def test_plain_markdown_keeps_what_is_read(demo_site, page):
    """Rendered again, the plain page has the tables, rows, headings and words of the built one."""
    html = (demo_site / f"{page}.html").read_text("utf-8")
    sheet = reading_matter(html)
    again = BeautifulSoup(markdown(plain_markdown(html), extensions=list(EXTENSIONS[:2])), "lxml")
    for tag in ("table", "h1", "h2", "h3"):
        assert len(again.select(tag)) == len(sheet.select(tag)), tag
    # Markdown gives a table without a head an empty one.
    again_rows, sheet_rows = ([_cells(row) for row in each.select("tr") if _cells(row)] for each in (again, sheet))
    assert again_rows == sheet_rows
    words, kept = _words(sheet), _words(again)
    assert sum((words - kept).values()) <= 0.005 * words.total(), (words - kept).most_common(9)


def _cells(row):
    return ["".join(cell.get_text(" ").split()) for cell in row.select("td, th") if cell.get_text().strip()]


def _words(soup):
    return Counter(re.findall(r"[^\W\d_]+|\d+", soup.get_text(" ")))


def test_measure_sees_children():
    """Memory that a child holds counts, and the time is at least what the command waits."""
    code = "import time; held = b'x' * 120_000_000; time.sleep(0.6)"
    parent = f"import subprocess, sys; held = b'y' * 80_000_000; subprocess.run([sys.executable, '-c', {code!r}])"
    found = measure([sys.executable, "-c", parent])
    assert found.megabytes > 200 and found.seconds > 0.6 and found.processor > 0


def test_measure_tells_a_failure():
    """A command that fails is no measurement."""
    with pytest.raises(RuntimeError, match="no luck"):
        measure([sys.executable, "-c", "print('no luck'); raise SystemExit(3)"])


def test_growth_of_known_times():
    """A straight line and a square are told apart (worked by hand: t = 2 + 3 n; t = n² / 100)."""
    straight = growth([10, 100, 1000], [32.0, 302.0, 3002.0])
    assert straight.fixed == pytest.approx(2, abs=1e-6) and straight.each == pytest.approx(3)
    assert straight.distance < 1e-9
    square = growth([10, 100, 1000], [1.0, 100.0, 10000.0])
    assert square.exponent == pytest.approx(2) and square.distance > 0.5
