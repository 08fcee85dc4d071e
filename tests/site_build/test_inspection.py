"""The inspector's folder of three methods, read against what a state asks for in a request to depart from its code.

WAC 246-215-08115 (Variances, documentation of proposed variance and justification) and WAC 246-215-08215 (Contents of a
HACCP plan), Washington, statutory authority WSR 13-03-109, effective 2013-05-01; read 2026-11-28 in two public copies.
The clauses are told in our own words.
"""

import re
from itertools import pairwise

import pytest
from click.testing import CliRunner

from handbook.batches.inspection_plan import inspection_plan
from site_build.charts.flow_chart import FlowInput, flow_chart
from site_build.cli.main import main
from tests.site_build.clone import METHODS

NAMES = ("hot-smoked-char-sides", "cellar-cabbage", "dry-cured-duck")
#: Clause -> what it asks, the part of the folder, and what must stand there; "blank": room for licensed people to fill in.
ASKED = {
    "08115 (1)": ("the requirement from which to depart, with its section", "ins-leave", ["depart, with its section", "blank"]),
    "08115 (2)": ("why the hazards it addresses are controlled all the same", "ins-leave", ["controlled all the same", "blank"]),
    "08115 (3)": ("a HACCP plan where one is required", "ins-hazards", ["Control point"]),
    "08215 (1)": ("the categories of food", "ins-about", ["Food", "Packed and kept", "Who eats it", "blank"]),
    "08215 (2)": ("a flow diagram with the critical control points", "ins-flow", ["<svg", "flow-box", "critical control point"]),
    "08215 (2)(a)": ("ingredients, materials and equipment", "ins-about", ["Recipe", "Equipment", "Supplier"]),
    "08215 (2)(b)": ("recipes that tell methods and control measures", "ins-hazards", ["What controls them here"]),
    "08215 (3)": ("training of employees and supervisors", "ins-watch", ["Training", "blank"]),
    "08215 (4)(a), (b)": ("each critical control point and its critical limits", "ins-limits", ["As printed", "This method"]),
    "08215 (4)(c)": ("method and frequency of monitoring, by whom", "ins-watch", ["How often", "Who", "blank"]),
    "08215 (4)(d)": ("how the person in charge verifies", "ins-watch", ["Verified by", "person in charge"]),
    "08215 (4)(e)": ("action where a limit is not met", "ins-limits", ["Where it is missed"]),
    "08215 (4)(f)": ("records kept", "ins-records", ["Batches of the last months", "Thermometer checks"]),
    "08215 (5)": ("further data that the authority asks for", "ins-sign", ["Scientific data", "blank"]),
}  # fmt: skip


def parts(html: str) -> dict[str, str]:
    """The sections of a folder by id."""
    return {
        found[1]: found[0]
        for found in re.finditer(r'<section class="[^"]*" id="(ins-[a-z]+)".*?</section>', html, re.S)
    }


@pytest.fixture(scope="module", params=NAMES)
def folder(request, demo_site):
    return request.param, (demo_site / f"inspection/{request.param}.html").read_text("utf-8")


@pytest.mark.parametrize("clause", ASKED)
def test_what_a_variance_request_asks_for_is_there(folder, clause):
    """Each clause has its part, filled from the method or left blank to fill in."""
    _, html = folder
    _, part, wanted = ASKED[clause]
    text = parts(html)[part]
    for words in wanted:
        assert ("ins-blank" in text) if words == "blank" else (words in text), (clause, words)


def test_the_first_words_are_the_caution(folder):
    """Before anything else the folder says that it is a draft, for whom, and what prevails."""
    _, html = folder
    head = html.partition("<main")[2].partition("</header>")[0]
    for words in ("A draft for licensed people", "no approval", "local codes prevail", "blank is not known"):
        assert words in head, words


def test_steps_limits_and_records_are_the_method_s_own(folder, demo_book):
    """Every step stands in the flow and in the hazards; each deciding limit with its citation; batches of this method only."""
    name, html = folder
    report = demo_book.pages[f"{name}.md"].report
    found = parts(html)
    assert found["ins-flow"].count("<rect") == 2 * len(report.method.steps)
    assert found["ins-flow"].count('class="flow-arrow"') == 2 * (len(report.method.steps) - 1)
    rows = re.findall(r'<tr><th scope="row">(\d+)\. ', found["ins-hazards"])
    assert rows == [str(number) for number in range(1, len(report.method.steps) + 1)]
    lots = set(re.findall(r'<th scope="row">([a-z-]+-\d{6}[b-z]?)</th>', found["ins-records"]))
    own = {path.stem for path in (METHODS / "batches/2026").glob(f"{name}-*.yml")}
    assert lots == own and own
    assert "sources.html#src-" in found["ins-limits"]


def test_a_home_s_method_is_judged_as_in_a_licensed_kitchen(demo_book):
    """The folder's limits are those of documents for licensed kitchens: the core of smoked fish by them, not by the home's."""
    report = demo_book.pages["hot-smoked-char-sides.md"].report
    plan = inspection_plan(report, demo_book.house)
    assert demo_book.house.audience == "home" and plan.audience == "retail"
    here = {each.limit for each in report.findings if each.decides}
    there = {each.finding.limit for each in plan.limits}
    assert there - here and "smoking food as a method of preservation" in plan.leave_needed
    assert any(each.is_control_point for each in plan.steps)
    assert all(each.finding.level != "note" for each in plan.limits)


def test_leave_is_named_by_what_the_page_does(demo_book):
    """Cured duck names curing and smoking, cabbage in jars fermenting and its pack; roast chicken nothing."""
    named = {
        name: set(inspection_plan(demo_book.pages[f"{name}.md"].report, demo_book.house).leave_needed)
        for name in ("dry-cured-duck", "cellar-cabbage", "brined-chicken-thighs")
    }
    assert "curing food" in named["dry-cured-duck"] and named["brined-chicken-thighs"] == set()
    assert any("fermenting" in each for each in named["cellar-cabbage"])


def test_flow_chart_reads_from_left_to_right():
    """Boxes stand in rows of three; each but the first has an arrow; no box lies on another; long words are cut."""
    steps = [FlowInput(number=n, words="Lay flat " * 40, facts="2 h", is_control_point=n == 2) for n in range(1, 8)]
    chart = flow_chart(steps)
    assert [bool(each.arrow) for each in chart.boxes] == [False] + [True] * 6
    assert len({(each.left, each.top) for each in chart.boxes}) == 7 and len({each.top for each in chart.boxes}) == 3
    rows = sorted({(each.top, each.height) for each in chart.boxes})
    assert all(top + height < lower for (top, height), (lower, _) in pairwise(rows))
    assert all(each.left + chart.box <= chart.width for each in chart.boxes) and chart.boxes[0].lines[-1][1].endswith(
        "…"
    )
    assert flow_chart([]).boxes == ()


def test_one_pdf(tmp_path):
    """The command prints the folder: the caution on its first page, every part after it, nothing loaded from elsewhere."""
    from pypdf import PdfReader

    target = tmp_path / "folder.pdf"
    result = CliRunner().invoke(main, ["inspection", str(METHODS / "cellar-cabbage.md"), "--into", str(target)])
    assert result.exit_code == 0, result.output
    pages = [page.extract_text() for page in PdfReader(target).pages]
    assert "A draft for licensed people" in pages[0] and "local codes prevail" in " ".join(pages[0].split())
    text = " ".join(pages)
    for words in (
        "Flow",
        "Hazards by step",
        "Critical limits",
        "Monitoring",
        "Records kept",
        "Label",
        "must still sign",
    ):
        assert words in text, words
    assert len(pages) >= 3
