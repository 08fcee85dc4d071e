"""Paper: a method's working sheet and wall card on A4 and US Letter, and the whole handbook as one PDF."""

import functools
import re
import shutil
from io import BytesIO
from pathlib import Path

import pytest
from click.testing import CliRunner
from pypdf import PdfReader

from site_build.cli.paper_command import PaperError, chapter_pages, find_browser, paper, print_site
from site_build.outputs.paper import chapters, paper_document

METHOD = "hot-smoked-char-sides.html"
#: Width of A4 (ISO 216: 210 mm; US Letter is wider, 8.5 in) less the margins of paper.css, in CSS pixels of 1/96 inch.
WIDTH = (210 - 24) / 25.4 * 96
#: Methods that the whole handbook is printed with here: enough for contents, links and several pages each.
PRINTED = ("brined-cucumbers.html", "cellar-cabbage.html", "dry-cured-duck.html", METHOD)
#: What must not be the last line of a page: headings and table heads, which belong to what follows.
_HEADS = re.compile(
    r"(By the clock|Portion, yield and cost|Safety|Keep it|Steps|What you need|How salty, and when|What the core does|"
    r"How long for my piece|How long to the core|To do, every time|Limits this method keeps to|"
    r"Step Where Takes|Ingredient .*kg$|Thickness Hours)"
)


@pytest.fixture(scope="module")
def print_page(tab, demo_site):
    """Prints a page of the site as it is and in parts; returns the sheets of paper of each. No page is printed twice."""

    @functools.cache
    def printed(url, size, *parts):
        page = tab.open((demo_site / url).as_uri())
        made = [PdfReader(BytesIO(page.pdf(format=size))).pages]
        for part in parts:
            page.evaluate("part => { document.documentElement.dataset.paper = part; }", part)
            made.append(PdfReader(BytesIO(page.pdf(format=size))).pages)
        return made

    return printed


def words(sheet) -> str:
    """All words of a sheet of paper."""
    return " ".join(sheet.extract_text().split())


def lines(sheet) -> list[str]:
    """The lines of a sheet by place, not by the order of painting: a caption is painted after its table."""
    return [
        " ".join(line.split()) for line in sheet.extract_text(extraction_mode="layout").splitlines() if line.strip()
    ]


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_day_plan_is_four_pages_at_most(print_page, size):
    """The plan holds what, chart, clock and shopping list; labels and batch sheets come when they are asked for."""
    day = "days/jetty-saturday.html"
    plan, of_labels, of_batches = print_page(day, size, "labels", "batch-sheets")
    text = " ".join(words(each) for each in plan)
    assert len(plan) <= 4
    assert "Step by step" in text and "To buy" in text
    assert "Batch sheet:" not in text and "Use by" not in text
    labels = " ".join(words(each) for each in of_labels)
    assert "Use by" in labels and "Step by step" not in labels and "Batch sheet:" not in labels
    sheets = " ".join(words(each) for each in of_batches)
    assert sheets.count("Batch sheet:") == 4 and "Use by" not in sheets and "Step by step" not in sheets


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_wall_card_is_one_page(print_page, demo_book, size):
    """The wall card of every demo method fits Letter, the lower paper, and the longest ones A4, with nothing left out."""
    longest = sorted(demo_book.methods, key=lambda each: -len(each.report.method.steps))
    for each in longest if size == "Letter" else longest[:5]:
        _, sheets = print_page(each.url, size, "card")
        assert len(sheets) == 1, each.url
        read = words(sheets[0])
        assert each.report.method.front_matter.title in read and "Local food codes" in read
        for mixture in each.report.mixtures:
            assert all(part.ingredient.name.split(" (")[0] in read for part in mixture.made.parts), each.url
        for step in each.report.method.steps:
            assert step.do[:20] in read
            assert step.core is None or f"Core {step.core.text}" in read


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_working_sheet_is_two_pages(print_page, demo_book, size):
    """Printed as it is, the sheet of every demo method fits two pages: standing, amounts, steps and room to write."""
    for each in demo_book.methods if size == "Letter" else demo_book.methods[:4]:
        sheets, _ = print_page(each.url, size, "card")
        read = " ".join(words(sheet) for sheet in sheets)
        assert len(sheets) <= 2, each.url
        assert "Every limit" in read and "Made by" in read and "Local food codes" in read
        for step in each.report.method.steps:
            assert step.do[:20] in read, each.url
        for mixture in each.report.mixtures:
            assert all(part.ingredient.name.split(" (")[0] in read for part in mixture.made.parts), each.url


@pytest.mark.parametrize(
    ("url", "size"),
    [
        ("hot-smoked-char-sides.why.html", "A4"),
        ("hot-smoked-char-sides.proof.html", "Letter"),
        ("glazed-whitefish-strips.why.html", "Letter"),
        ("pumped-ham.why.html", "A4"),
        ("cellar-cabbage.why.html", "A4"),
    ],
)
def test_no_heading_ends_a_page(print_page, url, size):
    """No heading or table head is the last thing on a page, and the page number is on every one."""
    (sheets,) = print_page(url, size)
    assert len(sheets) > 1
    for number, sheet in enumerate(sheets, 1):
        read = lines(sheet)
        body = [line for line in read if line != f"{number} / {len(sheets)}"]
        assert len(body) < len(read), (url, number)
        assert not _HEADS.fullmatch(body[-1]), (url, number, body[-1])


def test_no_table_is_clipped(tabs, demo_site):
    """On paper no table or chart of any page is wider than the paper between its margins."""
    with tabs.lend() as tab:
        for path in sorted(demo_site.glob("*.html")):
            page = tab.open(path.as_uri(), width=int(WIDTH), height=1000, media="print")
            wide = page.evaluate(
                """width => Array.from(document.querySelectorAll('table, svg.chart-svg, dl'))
              .filter(each => each.getBoundingClientRect().right > width + 1).map(each => each.outerHTML.slice(0, 90))""",
                WIDTH,
            )
            assert wide == [], path.name


@pytest.fixture(scope="module")
def part_of_site(demo_site, tmp_path_factory):
    """The demo site with a few methods only."""
    site = shutil.copytree(demo_site, tmp_path_factory.mktemp("part") / "site")
    for path in site.glob("*.html"):
        if 'class="method-head"' in path.read_text("utf-8") and path.name not in PRINTED:
            path.unlink()
    return site


@pytest.fixture(scope="module")
def whole(part_of_site, tmp_path_factory):
    """That site as one PDF on A4."""
    work = tmp_path_factory.mktemp("whole")
    site = shutil.copytree(part_of_site, work / "site")
    print_site(site, work / "handbook.pdf", "A4", find_browser())
    return work / "handbook.pdf"


def test_contents_name_the_right_pages(whole, part_of_site, demo_book):
    """Each title of the contents stands on the page that the contents name, methods by title first."""
    sheets = PdfReader(whole).pages
    parts, places = chapters(part_of_site), chapter_pages(whole)
    titles = [each.report.method.front_matter.title for each in demo_book.methods if each.url in PRINTED]
    assert [each.title for each in parts if each.is_method] == titles
    contents = " ".join(words(each) for each in sheets[1 : places["c1"] - 1])
    for number, part in enumerate(parts, 1):
        page = places[f"c{number}"]
        assert f"{part.title} {page} " in f"{contents} ", part.title
        read = lines(sheets[page - 1])
        # Without blanks: readers of different versions put some between letters that are set apart.
        assert (
            read[0].replace(" ", "").startswith(part.title[:25].replace(" ", "")) and f"{page} / {len(sheets)}" in read
        ), part.title


def test_whole_handbook_size_and_outline(whole):
    """The paper is A4 (ISO 216: 210 x 297 mm), links lead inside, and the reader's outline names the methods."""
    reader = PdfReader(whole)
    box = reader.pages[0].mediabox
    assert (float(box.width) / 72 * 25.4, float(box.height) / 72 * 25.4) == pytest.approx((210, 297), abs=0.5)
    titles = str(reader.outline)
    assert all(title in titles for title in ("Hot-smoked char sides", "Contents"))
    links = [note.get_object() for page in reader.pages for note in page.get("/Annots") or ()]
    assert len(links) > 50
    assert not any(str(link.get("/A", {}).get("/URI", "")).startswith("file:") for link in links)


def test_document_ids_and_links(part_of_site):
    """In the one document every id stands once, every inner link has its target, and no control is left."""
    text = paper_document(part_of_site)
    ids = re.findall(r'\sid="([^"]+)"', text)
    assert len(ids) == len(set(ids)) > 100
    assert {link for link in re.findall(r'href="#([^"]+)"', text)} <= set(ids)
    assert not re.search(r"<(script|form|dialog|button|input)\b", text)


def test_letter_is_letter(demo_site, tmp_path):
    """US Letter is 8.5 x 11 in; a small site is enough to see it."""
    site = shutil.copytree(demo_site, tmp_path / "site")
    for path in site.glob("*.html"):
        if path.name not in ("index.html", "strength.html"):
            path.unlink()
    print_site(site, tmp_path / "out.pdf", "Letter", find_browser())
    box = PdfReader(tmp_path / "out.pdf").pages[0].mediabox
    assert (float(box.width), float(box.height)) == (8.5 * 72, 11 * 72)


def test_no_browser_is_said(monkeypatch, tmp_path):
    """Without Chromium, or with a wrong path, the command ends with 1 and one line."""
    monkeypatch.setenv("PATH", str(tmp_path))
    result = CliRunner().invoke(paper, [str(tmp_path)])
    assert result.exit_code == 1
    assert (
        result.stderr
        == "browser: read no Chromium on this machine; allowed: an installed Chromium, or its path after --browser\n"
    )
    result = CliRunner().invoke(paper, [str(tmp_path), "--browser", "no-such-program"])
    assert result.exit_code == 1 and "read no program no-such-program" in result.stderr


def test_browser_that_fails_is_said(demo_site, tmp_path):
    """A browser that prints nothing is named with its last words."""
    broken = Path(tmp_path / "broken")
    broken.write_text("#!/bin/sh\necho no display >&2\nexit 3\n")
    broken.chmod(0o755)
    site = shutil.copytree(demo_site, tmp_path / "site")
    with pytest.raises(PaperError, match=r"browser: broken did not print \(no display\)"):
        print_site(site, tmp_path / "out.pdf", "A4", find_browser(broken))
