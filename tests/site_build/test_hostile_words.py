"""Words, records and days of a stranger in a review: they steer and call nothing, or are one fault line."""

from __future__ import annotations

import json
import os
import re
from pathlib import Path

import pytest
from click.testing import CliRunner
from markdown_it import MarkdownIt

from handbook.base.dates import read_day
from handbook.base.errors import CONTROLS
from site_build.cli.review_commands import NOT_DONE, compare
from site_build.record.figures import FiguresError, read_figures
from site_build.review.changes import SAME, Comparison, StatedChange
from site_build.review.compare import compare_recorded
from site_build.review.comparison import check_affected, review
from site_build.review.report_markdown import escape_markdown, markdown_text
from site_build.review.report_terminal import terminal_text
from tests.site_build.clone import run
from tests.site_build.review_edits import METHODS, forms, page_repository
from tests.site_build.review_edits import replace as edit

PAGE = "soy-eggs.md"


@pytest.fixture
def folder(tmp_path) -> Path:
    """A repository with one demo method."""
    return page_repository(tmp_path / "kitchen", PAGE)


# Words in reports.

HEEDED = ("::error::x", "  ::add-mask::x", "##[group]x", "x ##[endgroup]", "##vso[task.x]y", "a\n::set-env::b", "a\r::b::c",
          "\x1b[1m::error::x", "\u200b::error::x", "\ufeff::error::x", "::" * 90)  # fmt: skip


@pytest.mark.parametrize("text", HEEDED)
def test_no_line_commands_a_forge(folder, text):
    """No line of a report or fault begins with "::" or holds a "##" word in brackets, whatever pages, files and branches say."""
    title = json.dumps(text)
    edit(folder, PAGE, "title: Soy eggs", f"title: {title}")
    edit(folder, PAGE, "- do: ", f"- do: {text.split()[-1] if text.isascii() and text.isprintable() else 'x'} ")
    (folder / f"{re.sub(r'[^!-~]|[:*?]', '', text)[:60]}.txt").write_text("x")
    found = review(folder, "HEAD")
    named = Comparison(before=text, after=text, methods=found.methods, house=found.house, other_pages=(StatedChange(text, "", text),), faults=(text, f"methods/{text}"), unchanged=0, engines=("1", "1"), other_files=(StatedChange(text, "", text),))  # fmt: skip
    for width in (24, 80, 200):
        for line in re.split(r"[\n\r\x0b\x0c\x85\u2028\u2029]", terminal_text(named, width, True)):
            line = re.sub(r"\x1b\[[0-9;]*m", "", line)
            assert not line.lstrip().startswith("::"), line
            assert not re.search(r"##\w*\[", line), line
    for line in check_affected(folder, "HEAD").faults:
        assert not re.search(r"##\w*\[", line) and "\n" not in line


COMMANDS = ("/merge", " /approve", "/assign @everyone", "/label ~x", "/", "//x", "a /b", "\n/close")


@pytest.mark.parametrize("text", COMMANDS)
def test_no_line_of_a_comment_begins_with_a_slash(folder, text):
    """A forge that takes such a line of a comment for a command (common practice, no source) finds none, whoever wrote it."""
    edit(folder, PAGE, "title: Soy eggs", f"title: {json.dumps(text)}")
    found = review(folder, "HEAD")
    change = StatedChange(text, text, text)
    named = Comparison(before=text, after=text, methods=found.methods, house=found.house, other_pages=(change,), faults=(text,), unchanged=0, engines=(text, "1"), other_files=(change,))  # fmt: skip
    said = markdown_text(named)
    assert not re.search(r"^\s*/", said, re.M), said
    assert (
        MarkdownIt("commonmark").render(escape_markdown(text)).count("/") == text.count("/") + 1
    )  # the paragraph's own end


REFERENCES = (
    "@name", "@org/team", "#12", "GH-12", "gh-12", "user/repo#1", "user/repo@1f3a9c2", "1f3a9c2", "1F3A9C2".lower(), "a" * 40,
    "0" * 64, "!12", "$12", "~12", '~"label"', "%12", '%"mile stone"', "&12", "^12", "https://x.example", "ftp://x.example",
    "www.x.example", "mailto:a@b.example", "xmpp:a@b.example", "a@b.example", "ABC-123", "HTTPS://x.example", "WWW.x.example",
)  # fmt: skip
#: What forges make links of in text (from memory of their manuals).
_LINKED = re.compile(
    r"""[@\#!$~%&^][\w"]|\b[A-Za-z]{2,10}-\d|\b[0-9a-f]{7,64}\b|://|\bwww\.|\b(?:mailto|xmpp):\w""", re.I | re.X
)


@pytest.mark.parametrize("text", REFERENCES)
def test_no_words_refer_on_a_forge(text):
    """Names, numbers, ids of commits and addresses in a page become no reference, whether escapes are read or not."""
    assert _LINKED.search(text), "the pattern sees it where it is not parted"
    shown = escape_markdown(text)
    assert not _LINKED.search(shown.replace("\\", "")), ascii(shown)
    assert shown.replace("\\", "").replace("\u2060", "") == text


RECORDS = (
    "1e308", "-1e308", "1e309", "NaN", "Infinity", "-Infinity", "9" * 400, "9" * 5000, "true", '"1"', "[]", "{}", "1e13",
)  # fmt: skip


def _record(value: str) -> str:
    figure = f'{{"value": {value}, "low": 1, "high": 2, "unit": "min"}}'
    plain = '{"value": 1, "low": 1, "high": 2, "unit": "min"}'
    step = f'{{"do": "x", "stage": "salt", "hands_on": true, "is_computed": true, "start": {plain}, "duration": {figure}, "stated": {{}}, "figures": {{}}}}'
    return (
        '{"engine": "1", "format": 1, "house": "x", "methods": {"a.md": {"title": "t", "mark": "m", "stated": {}, '
        f'"figures": {{"time: x": {figure}}}, "mixtures": {{}}, "steps": [{step}], "findings": {{}}, "prose": [], "prose_words": 1}}}}}}'
    )


@pytest.mark.parametrize("value", RECORDS)
def test_recorded_numbers(value, tmp_path):
    """A record holds numbers that a page can have; others are refused in one line."""
    with pytest.raises(FiguresError, match=r"^f: read no record of figures; allowed: a figures\.json"):
        read_figures(_record(value), "f")
    (tmp_path / "a.json").write_text(_record("1"))
    (tmp_path / "b.json").write_text(_record(value))
    done = CliRunner().invoke(compare, ["--recorded", str(tmp_path / "a.json"), str(tmp_path / "b.json")])
    assert done.exit_code == NOT_DONE and len(done.stderr.splitlines()) == 1


@pytest.mark.parametrize("value", ["1e12", "-1e12", "1e-320", "0", "-0.0", "5"])
def test_recorded_numbers_are_compared(value):
    """Every number that a record may hold is shown in every form, none as infinite."""
    for pair in (("1", value), (value, "1"), (value, "-1e12")):
        found = compare_recorded(*(read_figures(_record(each), "f") for each in pair), ("a", "b"))
        for text in forms(found).values():
            assert not re.search(r"\b(inf|nan)\b", text)


@pytest.mark.parametrize(
    "text",
    [
        _record("1").replace('"t"', '"\\ud800"'),
        '{"a":' * 50_000,
        "[" * 200_000,
        _record("[" * 5000 + "]" * 5000),
        '{"format": 1e999}',
    ],
)
def test_deep_records(text):
    """A record that is deep, holds half a surrogate pair (RFC 7493, 2.1) or is no record at all is one line."""
    with pytest.raises(FiguresError, match=r"^f: read "):
        read_figures(text, "f")


def test_record_with_words_that_steer(tmp_path):
    """Marks, titles and keys of a record steer no terminal."""
    text = (
        _record("1")
        .replace('"mark": "m"', '"mark": "\\u001b[31m\\u0007"')
        .replace('"title": "t"', '"title": "\\u202e::x"')
    )
    (tmp_path / "a.json").write_text(_record("2"))
    (tmp_path / "b.json").write_text(text)
    for form in ("terminal", "markdown", "html", "json"):
        done = CliRunner().invoke(
            compare, ["--recorded", str(tmp_path / "a.json"), str(tmp_path / "b.json"), "--as", form, "--gate", "none"]
        )
        assert done.exit_code == SAME and not re.search("[\x07\x1b\u202e]", done.output), done.output


# Days.

DAYS = (
    "0001-01-01",
    "0000-00-00",
    "9999-12-31",
    "1969-12-31",
    "2100-01-01",
    "2026-W11-1",
    "2026-02-30",
    "20260101",
    "２０２６-01-01",
    "+2026-1-1",
)


@pytest.mark.parametrize("day", DAYS)
def test_days_out_of_range(folder, day):
    """A day that calendars and feeds cannot hold is a fault line wherever a day is read."""
    assert read_day(day) is None
    text = (folder / PAGE).read_text("utf-8")
    (folder / PAGE).write_text(re.sub(r"^reviewed: .*$", f"reviewed: {day}", text, count=1, flags=re.M), "utf-8")
    (folder / "runs" / "soy-eggs").mkdir(parents=True)
    (folder / "runs" / "soy-eggs" / f"{day}.yml").write_text(f"on: {day}\nbatch: 1 kg\n", "utf-8")
    (folder / "signed.yml").write_text(f"- {{method: soy-eggs, mark: 000000-000000, by: M, on: {day}}}\n", "utf-8")
    house = (folder / "house.yml").read_text("utf-8")
    lines = "\n".join(check_affected(folder, "HEAD").faults)
    for start in (f"{PAGE}:", "signed.yml:1: signed.1.on", f"runs/soy-eggs/{day}.yml"):
        assert re.search(rf"^methods/{re.escape(start)}.*1970 to 2099", lines, re.M), lines
    exception = f"\nexceptions:\n- {{method: soy-eggs, rule: x, by: M, on: {day}, reason: y}}\n"
    (folder / "house.yml").write_text(
        re.sub(r"\nexceptions:.*?(?=\n\w|\Z)", "", house, flags=re.S) + exception, "utf-8"
    )
    assert any(re.search(r"exceptions.*on: .*1970 to 2099", each) for each in check_affected(folder, "HEAD").faults)


def test_days_of_every_demo_file_are_days():
    """The demo names no day that is refused."""
    found = re.findall(r"\b\d{4}-\d{2}-\d{2}\b", "".join(path.read_text("utf-8") for path in METHODS.rglob("*.yml")))
    assert found and all(map(read_day, found))


# Names on the command line, as a shell's pattern takes them from a clone.

NAMES = ("a\n::error::b.md", "::error::b.md", "a\r::b.md", "a\x1b[31m.md", "\u202ea.md", "##[group]a.md", "x" * 300 + ".md", os.fsdecode(b"a\xff.md"))  # fmt: skip
TAKE_A_NAME = {
    "plan": ("plan", "methods/{}", "--start", "2026-11-02 08:00"), "adjust": ("adjust", "methods/{}", "--used"),
    "record": ("record", "methods/{}"), "record on": ("record", "methods/soy-eggs.md", "--on", "{}"),
    "adjust read": ("adjust", "methods/soy-eggs.md", "--read", "{}"), "day": ("day", "methods/days/{}"), "new": ("new", "methods/{}"),
    "check": ("check", "{}"), "check since": ("check", "methods", "--changed-since", "{}"), "check cache": ("check", "methods", "--cache", "{}"),
    "build": ("build", "{}"), "build into": ("build", "methods", "--into", "../{}"), "compare": ("compare", "{}"),
    "compare folder": ("compare", "HEAD", "--folder", "{}"), "compare records": ("compare", "--recorded", "{}", "{}"),
    "sign": ("sign", "{}", "--by", "{}"), "signed by": ("sign", "soy-eggs", "--by", "{}"), "paper": ("paper", "{}"),
    "paper browser": ("paper", "methods", "--browser", "{}"), "preview": ("preview", "{}"), "schemas": ("schemas", "../{}"),
    "names": ("names", "{}"),
}  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("command", TAKE_A_NAME)
def test_names_on_the_command_line(clone, command, name):
    """They steer no terminal and command no forge; what cannot be done with them is told without a traceback."""
    result = run(*(word.replace("{}", name) for word in TAKE_A_NAME[command]))
    assert result.exception is None or isinstance(result.exception, SystemExit), repr(result.exception)
    assert not CONTROLS.search(result.output) and "Traceback" not in result.output
    for line in result.output.splitlines():
        assert not line.lstrip().startswith("::") and not re.search(r"##\w*\[", line), line
