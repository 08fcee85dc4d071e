"""The demo handbook as a reader gets it: whole, linked, without a request to anywhere, figures as computed."""

import re
import subprocess
import sys
from html.parser import HTMLParser
from pathlib import Path

import pytest
from click.testing import CliRunner

from handbook.base.formats import format_mass
from site_build.cli.main import main
from site_build.reading.book import GENERATED


class Parts(HTMLParser):
    """Addresses, ids, and the words of each table cell of one page."""

    def __init__(self):
        super().__init__()
        self.addresses, self.ids, self.rows, self._cell = [], set(), [], None

    def handle_starttag(self, tag, attrs):
        attributes = dict(attrs)
        for name in ("href", "src"):
            if name in attributes:
                self.addresses.append(attributes[name])
        if "id" in attributes:
            self.ids.add(attributes["id"])
        assert not any(name == "style" or name.startswith("on") for name in attributes), (tag, attrs)
        if tag == "tr":
            self.rows.append([])
        if tag in ("td", "th"):
            self._cell = []

    def handle_data(self, data):
        if self._cell is not None:
            self._cell.append(data)

    def handle_endtag(self, tag):
        if tag in ("td", "th") and self._cell is not None:
            self.rows[-1].append(" ".join("".join(self._cell).split()))
            self._cell = None


def parse(path: Path) -> Parts:
    parts = Parts()
    parts.feed(path.read_text("utf-8"))
    return parts


def test_every_link_resolves(demo_site):
    """Each address on each page is a file of the site, and each anchor an id of its page."""
    pages = {path: parse(path) for path in demo_site.rglob("*.html") if path.name != "404.html"}
    assert len(pages) >= 20
    for path, parts in pages.items():
        for address in parts.addresses:
            if re.match(r"https?:|mailto:", address):
                continue
            file, _, anchor = address.partition("#")
            file = file.partition("?")[0]
            target = (path.parent / file).resolve() if file else path
            assert target.is_file(), (path.name, address)
            if anchor and target.suffix == ".html":
                assert anchor in pages[target].ids, (path.name, address)


def test_no_request_leaves_the_site(demo_site):
    """No page, style or script loads anything from elsewhere, and house data is not published."""
    for path in demo_site.rglob("*"):
        if path.suffix == ".html":
            assert not re.search(r'(?:src|<link[^>]*href)="(?:https?:)?//', path.read_text("utf-8")), path
        if path.suffix == ".css":
            assert "http" not in re.sub(r"/\*.*?\*/", "", path.read_text("utf-8"), flags=re.S), path
        assert path.suffix not in (".yml", ".csv", ".md"), path


def test_every_kind_of_page_is_there(demo_site):
    """All generated pages and all methods stand in the site."""
    assert all((demo_site / path.replace(".md", ".html")).is_file() for path in GENERATED)


def test_brine_table_is_the_engine_s(demo_site, demo_book):
    """Every mass of every brine table is the engine's, rounded to the scale, in every batch."""
    for page in demo_book.methods:
        rows = {
            row[0].partition(" written:")[0]: row
            for row in parse((demo_site / page.url).with_suffix(".why.html")).rows
            if row and " written:" in row[0]
        }
        for each in (*page.report.saltings, *page.report.glazes):
            for index, part in enumerate(each.made.parts):
                label = " ".join(f"{part.ingredient.name} {part.note}".split())
                shown = [cell.split(" g")[0].split(" kg")[0] for cell in rows[label][1:]]
                wanted = [format_mass(column.rows[index].weighed.mass).split()[0] for column in each.columns]
                if (
                    len(
                        [
                            row
                            for row in parse((demo_site / page.url).with_suffix(".why.html")).rows
                            if row and row[0].startswith(label + " written")
                        ]
                    )
                    == 1
                ):
                    assert shown == wanted, (page.path, label)


def test_demo_covers_every_kind(demo_book):
    """The demo uses every kind of method, every way of salting, and most classes of food."""
    from handbook.page.front_matter import KINDS
    from handbook.page.salting import SALTING_KINDS

    reports = [page.report for page in demo_book.methods]
    assert {each.method.front_matter.kind for each in reports} == set(KINDS)
    assert {salting.kind for each in reports for salting in each.method.saltings} == set(SALTING_KINDS)
    assert {each.food.food_class for each in reports} >= {
        "fish",
        "shellfish",
        "poultry",
        "pork",
        "beef",
        "egg",
        "cheese",
        "vegetable",
    }


def test_engine_imports_alone():
    """The engine runs where no generator package can be imported."""
    code = (
        "import sys, pkgutil, importlib, handbook\n"
        "for name in ('mkdocs', 'jinja2', 'markdown', 'nh3', 'markupsafe', 'click'): sys.modules[name] = None\n"
        "for each in pkgutil.walk_packages(handbook.__path__, 'handbook.'): importlib.import_module(each.name)\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_build_summary(tmp_path, methods_folder, take_over):
    """The command ends with what it made, and a second build replaces the first."""
    take_over(methods_folder)
    for number in range(2):
        result = CliRunner().invoke(main, ["build", str(methods_folder), "--into", str(tmp_path / "site")])
        assert result.exit_code == 0, result.output
        said = r"^\d+ methods, \d+ pages, 0 warnings, [\d.]+ seconds: "
        assert re.search(said.replace(": ", ", nothing changed: ") if number else said, result.output, re.M)
    assert [path.name for path in tmp_path.iterdir()] == ["site"]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["build", "no-such-folder"], "allowed: a folder of method pages"),
        (["build", "methods", "--into", "methods/site"], "allowed: a folder beside them"),
        (["check", "no-such-folder"], "allowed: a folder of method pages"),
        (["new", "Bad Name.md"], "allowed: small letters, digits and hyphens"),
        (["new", "good-name.md", "--food", "trout, rainbow, farmd"], "Did you mean trout, rainbow, farmed?"),
    ],
)
def test_wrong_use_is_one_line(arguments, words, tmp_path, monkeypatch):
    """Wrong use ends with 1 and one line that says what is allowed."""
    (tmp_path / "methods").mkdir()
    monkeypatch.chdir(tmp_path)
    result = CliRunner().invoke(main, arguments)
    assert result.exit_code == 1 and words in result.stderr
    assert len(result.stderr.strip().splitlines()) == 1


def test_build_does_not_take_a_foreign_folder(tmp_path, methods_folder):
    """A folder with other people's files is never replaced by a site."""
    (tmp_path / "letter.txt").write_text("mine")
    result = CliRunner().invoke(main, ["build", str(methods_folder), "--into", str(tmp_path)])
    assert result.exit_code == 1 and "allowed: an empty folder or an earlier site" in result.stderr
    assert (tmp_path / "letter.txt").read_text() == "mine"


def test_new_page_passes_check(tmp_path, monkeypatch):
    """A starter page with its house file is a handbook without a fault, and is not overwritten."""
    monkeypatch.chdir(tmp_path)
    assert CliRunner().invoke(main, ["new", "mine/first-try.md"]).exit_code == 0
    result = CliRunner().invoke(main, ["check", "mine"])
    assert result.exit_code == 0 and result.output == "1 method: no fault found\n"
    assert CliRunner().invoke(main, ["new", "mine/first-try.md"]).exit_code == 1


def test_authors_html_is_cleaned(tmp_path, monkeypatch):
    """Raw HTML of a page cannot bring scripts, handlers, styles or frames into the site."""
    monkeypatch.chdir(tmp_path)
    CliRunner().invoke(main, ["new", "mine/first-try.md"])
    page = tmp_path / "mine/first-try.md"
    page.write_text(
        page.read_text("utf-8") + "\n<script>alert(1)</script><b onclick='x()' style='color:red'>bold</b>"
        "<iframe src='x'></iframe>\n\n[go](https://example.org/)\n",
        "utf-8",
    )
    assert CliRunner().invoke(main, ["build", "mine", "--into", "site"]).exit_code == 0
    html = (tmp_path / "site/first-try.html").read_text("utf-8")
    assert "<b>bold</b>" in html and 'href="https://example.org/"' in html
    assert "alert(1)" not in html and "onclick" not in html and "<iframe" not in html and "color:red" not in html
