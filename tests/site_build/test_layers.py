"""The three pages of a method: what stands where, once, and how its standing is said."""

import re
import shutil
from collections import Counter

import html5lib
import pytest
from click.testing import CliRunner
from msgspec.structs import replace

from handbook.folder.page_text import split_page
from handbook.safety.findings import Finding
from site_build.cli.main import main
from site_build.html.standing import is_caution, standing_of, step_limit
from site_build.reading.author_html import author_html
from site_build.reading.sections import KEEPING, LEAD, MOST_WORDS, NEED, REST, STEPS, words_sections
from tests.one_page import METHODS, OnePage

FINDING = Finding(
    level="met",
    rule="cold-storage",
    limit="x",
    topic="cold",
    title="Cold storage",
    verdict="meets",
    figure="3.0 °C, as stated",
    printed="40 °F or below",
    source="",
    trust="read",
    audience=("home",),
    message="Meets the limit.",
)


def test_standing_counts_each_limit_once():
    """A limit to act on is neither met nor measured beside it; one from memory is not met; a computed one is measured."""
    act = replace(
        FINDING, level="act", title="Salt", verdict="may not meet", figure="water-phase salt 3 %", mend="salt it more"
    )
    found = [
        FINDING,
        act,
        replace(act, level="met", verdict="meets"),
        replace(FINDING, title="Core", figure="72 °C", basis="computed"),
        replace(FINDING, title="Half known", trust="from memory"),
        replace(FINDING, level="note", title="Marking", verdict="", is_judged=False),
        replace(FINDING, title="Elsewhere", decides=False),
    ]
    standing = standing_of(found)
    assert standing.word == "act" and standing.act == (("Salt", "", "salt it more."),)
    assert standing.measure == ("Core",) and standing.met == 1 and standing.not_judged == 1


def test_standing_word_is_the_worst():
    """Without anything to act on the word is measure, and met where nothing is predicted either."""
    predicted = replace(FINDING, title="Core", figure="core 70 °C", basis="computed")
    assert standing_of([FINDING, predicted]).word == "measure"
    assert standing_of([FINDING]).word == "met" and standing_of([]).met == 0


def test_step_carries_its_own_limit():
    """A step shows the limit that its lines are judged by, one to act on first, and none that an earlier step has shown."""
    first, second = replace(FINDING, line=12), replace(FINDING, line=14, level="act", printed="other words")
    assert step_limit([first, second], 10, 20, shown=()) is second
    assert step_limit([first, second], 10, 20, {"other words"}) is first
    assert step_limit([first, second], 20, 30, shown=()) is None
    assert step_limit([replace(first, trust="from memory"), replace(second, decides=False)], 10, 20, shown=()) is None


def test_caution_has_no_figure_of_the_method():
    """A note without a figure and a verdict holds for every kitchen; one with a figure is the method's own."""
    note = replace(FINDING, level="note", verdict="", figure="", message="Wash hands.")
    assert is_caution(note) and not is_caution(replace(note, figure="contains fish")) and not is_caution(FINDING)


def test_words_go_with_their_part():
    """Words before the first heading lead; a section goes with the first block in it; the rest stands at the end."""
    page = (METHODS / "hot-smoked-char-sides.md").read_text("utf-8")
    text = split_page(page, "page.md")[0]
    author, faults = author_html(text, "page.md", "page.md")
    found = words_sections(author.pieces, [each.kind for each in text.blocks])
    assert faults == []
    assert [(each.place, each.title) for each in found] == [
        (LEAD, ""),
        (NEED, "The fish"),
        (NEED, "The brine"),
        (REST, "Signs to go by"),
        (REST, "When it goes wrong"),
        (REST, "Keeping it, and where next"),
    ]
    whole = " ".join(re.sub(r"<[^>]+>", " ", each.html) for each in found)
    assert "Small and old char in one tub" in whole and "A side of char is thin enough" in whole
    assert {STEPS, KEEPING}.isdisjoint(each.place for each in found)


def test_long_words_stand_on_the_next_page():
    """What no longer fits on the sheet is named there and stands whole on "Understand it"; every link still arrives."""
    page, other = (METHODS / "soy-eggs.md").read_text("utf-8"), OnePage()
    long = " ".join(["word"] * MOST_WORDS)
    more = f"\n\n## First\n\n{long}\n\n## Second\n\n### Below\n\nSee [first](#first) and [below](#below). {long}\n"
    text, method, faults = other.read((page + more).encode())
    assert faults == []
    make, why, _ = (
        html5lib.parse(each, namespaceHTMLElements=False) for each in other.layers(text, other.compute(method)[0])
    )
    assert long not in "".join(make.itertext()) and long in "".join(why.itertext())
    led = [each.get("href") for each in make.iter("a") if (each.text or "") in ("First", "Second")]
    assert led == ["page.why.html#first", "page.why.html#second"]
    ids = [{each.get("id") for each in tree.iter() if each.get("id")} for tree in (make, why)]
    assert all({"first", "second", "below"} <= found for found in ids)
    inner = [each.get("href") for each in why.iter("a") if (each.text or "") in ("first", "below")]
    assert inner == ["#first", "#below"]


@pytest.mark.parametrize("name", ["fish.why.md", "fish.proof.md"])
def test_name_of_a_further_page_is_refused(tmp_path, name):
    """A page whose address a method's further page could have is a fault of one line that says what is allowed."""
    for file in ("house.yml", "foods.csv", "about.md"):
        shutil.copy(METHODS / file, tmp_path / file)
    (tmp_path / name).write_text("# Words\n", "utf-8")
    result = CliRunner().invoke(main, ["check", str(tmp_path)])
    assert result.exit_code == 1
    assert f"{name}:1: file name: read" in result.output and "does not end in .why.md or .proof.md" in result.output


def test_nothing_stands_twice_on_the_sheet(tab, demo_site, demo_book):
    """No sentence of six words or more stands twice on what a cook works from; a step's time and place are its own."""
    for each in demo_book.methods:
        page = tab.open((demo_site / each.url).as_uri(), width=360, height=740)
        page.evaluate("document.querySelectorAll('details.words').forEach((one) => { one.open = true; })")
        page.evaluate("document.querySelectorAll('.work-facts').forEach((one) => { one.remove(); })")
        sentences = re.split(r"(?<=[.!?:;])\s+|\n+", page.inner_text("main"))
        counted = Counter(" ".join(one.split()) for one in sentences if len(one.split()) >= 6)
        assert {one for one, count in counted.items() if count > 1} == set(), each.url


def test_cautions_stand_once(demo_site, demo_book):
    """What holds for every kitchen stands on its own page, once each, and on no page of a method but as a link there."""
    tree = html5lib.parse((demo_site / "cautions.html").read_text("utf-8"), namespaceHTMLElements=False)
    items = [
        " ".join("".join(each.itertext()).split()) for each in tree.iter("li") if "finding" in (each.get("class") or "")
    ]
    cautions = {each for page in demo_book.methods for each in page.report.findings if is_caution(each)}
    assert len(items) == len({(each.title, each.message, each.printed) for each in cautions}) > 4
    for page in demo_book.methods:
        texts = [
            (demo_site / page.url.replace(".html", f"{layer}.html")).read_text("utf-8") for layer in ("", ".proof")
        ]
        for each in page.report.findings:
            if is_caution(each):
                assert any(each.title.split()[0] in item for item in items)
                assert not any(each.message in text for text in texts), (page.url, each.title)
