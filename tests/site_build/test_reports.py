"""The reports of realistic edits in every form, and what untrusted text can do in them: nothing."""

from __future__ import annotations

import json
import re
from html.parser import HTMLParser

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from markdown_it import MarkdownIt
from msgspec.structs import replace

from site_build.record.figures import Figure, FindingFigures, IngredientFigures, MethodFigures, StepFigures
from site_build.review.changes import Comparison, HouseChange, StatedChange
from site_build.review.compare import MISSING, Version, compare_method
from site_build.review.comparison import review
from site_build.review.overlay_chart import overlay_chart
from site_build.review.report_html import html_text
from site_build.review.report_json import COMPARISON_SCHEMA, json_text
from site_build.review.report_markdown import LIMIT, MARKER, code, escape_markdown, markdown_text
from site_build.review.report_parts import visible
from site_build.review.report_terminal import columns, terminal_text
from tests.site_build.review_edits import EDITS, GOLDEN, apply, commit, demo_repository, git, golden_report

OURS = re.compile(r"\x1b\[\d+m")
NASTY = (
    "<script>alert(1)</script>", "</td></tr></table><img src=x onerror=alert(1)>", "<!-- ", "-->", "<details>", "</details>",
    "![x](http://evil.example/x.png)", "[click](javascript:alert(1))", "http://evil.example", "www.evil.example",
    "| a | b |", "`code`", "``", "**bold**", "*", "_", "~~", "# heading", "> quote", "- list", "1. list", "---", "***",
    "@everyone", "#123", "!45", "&amp;", "&#60;script&#62;", "\\", "\\<b\\>", "$x^2$", ":smile:", "{+x+}", "[[wiki]]",
    "\x1b[2J\x1b[31mred", "\x1b]8;;http://evil.example\x07link\x1b]8;;\x07", "\x9b31m", "\u202egnp.exe", "\u2066x\u2069",
    "\r\nnew line\n\nparagraph", "a\x00b", "\u2028line", "{{ 7*7 }}", "{% raw %}", "${x}", "%s", "\ud800", "燻製の鮭", "é́́",
)  # fmt: skip
words = st.one_of(
    st.sampled_from(NASTY), st.text(max_size=30), st.lists(st.sampled_from(NASTY), max_size=3).map(" ".join)
)


def figure(value: float, unit: str = "%", text: str = "") -> Figure:
    return Figure(value=value, low=value * 0.9, high=value * 1.1, unit=unit, words=text)


def method(text: str, factor: float = 1.0, level: str = "met") -> MethodFigures:
    """A method whose every word is ``text``."""
    step = StepFigures(do=text, stage="smoke", hands_on=False, is_computed=False, start=figure(1, "min"), duration=figure(60 * factor, "min"), stated={text or "air": text + str(factor)},
                       figures={"core at the end": figure(60 * factor, "°C")})  # fmt: skip
    finding = FindingFigures(
        level=level, title=text, verdict=text, figure=f"{text} {factor}", printed=text, message=text, signed=text
    )
    return MethodFigures(
        title=text, mark="aaaaaa-bbbbbb", stated={"keeping: time": f"{factor} {text}"},
        figures={f"{text}: salt": figure(2 * factor), "allergens": Figure(words=f"{text}{factor}")},
        mixtures={text: {text: IngredientFigures(written=text, mass=100 * factor, note=text)}}, steps=(step,), findings={f"{text}/{text}": finding},
        prose=(f"{factor} 3",), prose_words=3,
    )  # fmt: skip


def comparison(text: str, count: int = 1) -> Comparison:
    """A comparison in which every text that anybody can write is ``text``."""
    changes = tuple(
        compare_method(
            f"{text}{number}",
            f"old {text}",
            Version(figures=method(text)),
            Version(figures=method(text, 1.5, "stop"), faults=(text,)),
        )
        for number in range(count)
    )
    broken = compare_method(text, text, Version(figures=method(text)), Version(figures=None, faults=(text, text)))
    added = compare_method(text, text, MISSING, Version(figures=method(text, level="act")))
    removed = compare_method(text, text, Version(figures=method(text)), MISSING)
    house = HouseChange(
        stated=(StatedChange(text, text, text),), methods=(changes[0],), faults_before=(text,), faults=(text,)
    )
    return Comparison(before=text, after=text, methods=(*changes, broken, added, removed), house=house, other_pages=(StatedChange(text, text, text),), faults=(text,), unchanged=3,
                      engines=(text, "2"))  # fmt: skip


class Page(HTMLParser):
    """Every tag, address and word of one HTML text."""

    def __init__(self):
        super().__init__()
        self.tags, self.addresses, self.handlers, self.words = [], [], [], []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        for name, value in attrs:
            if name in ("href", "src", "action", "xlink:href", "data"):
                self.addresses.append(value or "")
            if name.startswith("on") or name == "style":
                self.handlers.append(name)

    def handle_data(self, data):
        self.words.append(data)


def parsed(text: str) -> Page:
    page = Page()
    page.feed(text)
    return page


MARKDOWN = MarkdownIt("commonmark", {"html": True}).enable("table")
GITHUB_LIKE = MarkdownIt("commonmark", {"html": True}).enable(["table", "strikethrough"])


# Golden reports.


@pytest.fixture(scope="module")
def golden_folder(tmp_path_factory, demo_book):
    """The demo methods in a repository; their reports are those of the book."""
    return demo_repository(tmp_path_factory.mktemp("golden"))


@pytest.mark.parametrize("name", EDITS)
def test_golden(golden_folder, name):
    """The report of a realistic edit is the one that was read and approved, revision ids apart."""
    expected = (GOLDEN / f"{name}.md").read_text("utf-8")
    assert _without_ids(golden_report(golden_folder, name)) == _without_ids(expected)


def _without_ids(text: str) -> str:
    text = re.sub(r"\([0-9a-f]{6}\u2060?[0-9a-f]{4}\)", "(id)", text)
    # Figures that moved by a last bit differ from one processor to the next.
    text = re.sub(r"^\d+ figures? moved by less", "some figures moved by less", text, flags=re.M)
    # The mark's second half holds the whole text of the page.
    return re.sub(r"`[0-9a-f]{6}-[0-9a-f]{6}`", "`mark`", text)


@pytest.mark.parametrize("name", EDITS)
def test_golden_renders(name):
    """Each report renders as CommonMark with tables whole: every row has as many cells as its head."""
    html = MARKDOWN.render((GOLDEN / f"{name}.md").read_text("utf-8"))
    for table in re.findall(r"<table>.*?</table>", html, re.S):
        rows = [len(re.findall(r"<t[hd]", row)) for row in re.findall(r"<tr>.*?</tr>", table, re.S)]
        assert len(rows) > 1 and len(set(rows)) == 1
    assert html.count("<details>") == html.count("</details>")
    assert not re.search(r"<p>\s*\|", html), "a table fell back into text"


def test_every_form_of_one_edit(golden_folder):
    """The four forms of one edit say the same stop and the same figures; the JSON fits its schema."""
    git(golden_folder, "checkout", "-q", "-B", "forms", "main")
    apply(golden_folder, "shorter-freezing")
    commit(golden_folder)
    found = review(golden_folder, "main", "forms")
    git(golden_folder, "checkout", "-q", "main")
    terminal, markdown, html = terminal_text(found, 200, True), markdown_text(found), html_text(found)
    for text in (terminal, markdown, " ".join(parsed(html).words)):
        assert "NEW STOP" in text and "8 days" in text and "5 days" in text
    table = json.loads(json_text(found))
    jsonschema.validate(table, COMPARISON_SCHEMA)
    assert table["code"] == 2 and table["methods"][0]["findings"][0]["after"]["level"] == "stop"


# Nothing breaks out.


@pytest.mark.parametrize("text", NASTY)
def test_terminal_escapes(text):
    """The terminal gets no control sign but line ends and our own colours, and no sign that turns text around."""
    shown = OURS.sub("", terminal_text(comparison(text), 60, True))
    assert not re.search(r"[\x00-\x09\x0b-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069]", shown)


@settings(max_examples=25, deadline=None)
@given(words)
def test_no_form_breaks(text):
    """Whatever the words, all four forms are written, and hold only tags and escapes of ours."""
    found = comparison(text)
    shown = OURS.sub("", terminal_text(found, 40))
    assert "\x1b" not in shown
    markdown = markdown_text(found)
    assert len(markdown.encode("utf-8", "replace")) <= LIMIT
    ours = {"h3", "h4", "p", "br", "em", "code", "ul", "li", "strong", "table", "thead", "tbody", "tr", "th", "td", "details",
            "summary"}  # fmt: skip
    page = parsed(GITHUB_LIKE.render(markdown))
    assert set(page.tags) <= ours and page.addresses == [] and page.handlers == []
    html = html_text(found)
    page = parsed(html)
    assert "script" not in page.tags and "img" not in page.tags and page.handlers == []
    assert all(each.startswith("#") for each in page.addresses)
    jsonschema.validate(json.loads(json_text(found)), COMPARISON_SCHEMA)


@pytest.mark.parametrize("text", NASTY)
def test_markdown_words_survive(text):
    """A reader of the rendered Markdown sees the words as they were written."""
    html = MARKDOWN.render(
        f"| a |\n| --- |\n| {escape_markdown(visible(text))} |\n\n- **{escape_markdown(visible(text))}** x"
    )
    shown = "".join(parsed(html).words).replace("\u2060", "").replace("\ufffd", "?")
    expected = visible(text).replace("\ufffd", "?")
    assert shown.count(expected) >= 2 if expected else True


@pytest.mark.parametrize("text", [each for each in NASTY if "\ud800" not in each])
def test_code_span(text):
    """No backtick ends a path's code span."""
    html = MARKDOWN.renderInline(code(visible(text) or "x") + "<end>")
    assert html.startswith("<code>") and html.endswith("</code><end>")


def test_mentions_and_references():
    """Names, numbers and addresses in a page call nobody and link nowhere on a forge."""
    text = escape_markdown("@everyone #12 !34 http://x.example www.x.example a@b.example")
    for pattern in (r"@\w", r"#\d", r"!\d", r"https?://", r"www\."):
        assert not re.search(pattern, text.replace("\\", "" if pattern[0] in "@#!" else "\\"))


def test_html_stands_alone():
    """The page asks for nothing from anywhere, runs nothing, and its own policy forbids both."""
    html = html_text(comparison("plain"))
    assert "default-src 'none'" in html and not re.search(r"(src|href)=\"(?!#)", html)
    assert "url(" not in html and "@import" not in html and "<script" not in html


# Lengths.


@pytest.mark.parametrize("limit", [1500, 4000, 20_000, LIMIT])
@pytest.mark.parametrize("count", [1, 3, 60, 400])
def test_markdown_length(limit, count):
    """The report never passes its limit, begins with its marker, and says how many methods it leaves out."""
    found = comparison("a method with *some* words & signs", count)
    text = markdown_text(found, limit)
    assert len(text.encode()) <= limit and text.startswith(MARKER)
    told = len(re.findall(r"^#### a method|^- \*\*a method", text, re.M))
    left = re.search(r"^\*\*(\d+) more\*\* method", text, re.M)
    assert told + (int(left[1]) if left else 0) == count + 3 + 1
    assert text.count("<details>") == text.count("</details>")


def test_most_serious_first():
    """A method that stops comes before all that only changed, also where there is room for one alone."""
    calm = [
        compare_method(
            f"m{n}.md", f"m{n}.md", Version(figures=method(f"calm {n}")), Version(figures=method(f"calm {n}", 1.2))
        )
        for n in range(90)
    ]
    stop = compare_method(
        "z.md", "z.md", Version(figures=method("zander")), Version(figures=method("zander", 1.2, "stop"))
    )
    ordered = tuple(sorted((*calm, stop), key=lambda each: each.order))
    found = Comparison(
        before="a", after="b", methods=ordered, house=None, other_pages=(), faults=(), unchanged=0, engines=("1", "1")
    )
    for limit in (2500, LIMIT):
        text = markdown_text(found, limit)
        assert "zander" in text and ("calm" not in text or text.index("zander") < text.index("calm"))
    assert terminal_text(found).index("zander") < terminal_text(found).index("calm")


@pytest.mark.parametrize("width", [1, 24, 40, 80, 200])
@pytest.mark.parametrize("text", ["plain words of a method that go on and on", "燻製の鮭を薄く切る", "a" * 90])
def test_terminal_width(width, text):
    """No line passes the window's width, wide signs counted as two."""
    for line in OURS.sub("", terminal_text(comparison(text), width, True)).splitlines():
        assert columns(line) <= max(width, 24), line


def test_headline_of_nothing():
    """Two equal versions are said to differ in nothing, in every form."""
    found = Comparison(
        before="a", after="b", methods=(), house=None, other_pages=(), faults=(), unchanged=14, engines=("1", "1")
    )
    for text in (terminal_text(found), markdown_text(found), html_text(found)):
        assert "Nothing differs" in text
    assert found.code == 0


def test_engines_are_named():
    """A comparison of two engines names both."""
    found = Comparison(
        before="a.json",
        after="b.json",
        methods=(),
        house=None,
        other_pages=(),
        faults=(),
        unchanged=14,
        engines=("0.1.0", "0.2.0"),
    )
    assert "Engine 0.1.0 before, 0.2.0 after." in terminal_text(found)


# The overlaid chart.


def test_overlay_positions():
    """Both schedules share one axis: a step twice as long has a bar twice as wide, at its own start."""
    one, two = method("Smoke"), method("Smoke", 2.0)
    chart = overlay_chart(one, two)
    lane = chart.lanes[0]
    assert lane.after.width == pytest.approx(2 * lane.before.width) and lane.is_changed
    assert lane.before.left == pytest.approx(lane.after.left)
    total = lane.after.width + lane.after.range_width
    assert lane.after.left + total <= chart.width and chart.axis[0].label == "0"


def test_overlay_of_added_and_removed_steps():
    """A step that came has no bar before, one that went none after, each in its place."""
    old, new = method("Smoke"), method("Smoke")
    gone, came = replace(old.steps[0], do="Rinse"), replace(old.steps[0], do="Glaze it twice")
    chart = overlay_chart(replace(old, steps=(gone, *old.steps)), replace(new, steps=(*new.steps, came)))
    found = [(lane.before is not None, lane.after is not None) for lane in chart.lanes]
    assert found == [(True, False), (True, True), (False, True)]
    assert overlay_chart(None, None) is None


@given(st.lists(st.floats(0.01, 1e5), min_size=1, max_size=6), st.lists(st.floats(0.01, 1e5), max_size=6))
def test_overlay_stays_inside(old, new):
    """Every bar lies inside the chart, whatever the times."""

    def made(times):
        start, steps = 0.0, []
        for number, each in enumerate(times):
            time = Figure(value=each, low=each / 2, high=each * 2, unit="min")
            steps.append(
                StepFigures(
                    do=f"step {number}",
                    stage="rest",
                    hands_on=False,
                    is_computed=False,
                    start=Figure(value=start, low=start, high=start, unit="min"),
                    duration=time,
                    stated={},
                    figures={},
                )
            )
            start += each
        return replace(method("x"), steps=tuple(steps))

    chart = overlay_chart(made(old), made(new))
    for lane in chart.lanes:
        for bar in filter(None, (lane.before, lane.after)):
            assert bar.left >= 0 and bar.left + bar.width <= chart.width + 3 and bar.range_width >= 0
