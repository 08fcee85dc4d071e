"""From notes in many styles to a page: what is read, what is asked, and that only an accepted page is written."""

import datetime
import os
import pty
import select
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from handbook.draft import Kitchen, make_draft
from handbook.house import read_house
from handbook.tables import engine_tables
from handbook.yaml_text import Text
from site_build import cli_notes
from site_build.answers import form_text, read_answers
from site_build.cli import main
from site_build.from_notes import write_page
from site_build.starter import starter_house

NOTES = Path(__file__).with_name("notes")
DAY = datetime.date(2026, 11, 25)
NAMES = sorted(path.stem for path in NOTES.glob("*.txt"))
#: What the lines say plainly, read by a person and not by the program; and what they leave open.
READ = {
    "aunt-kraut": {"food": "cabbage, green", "pieces.thickness": "2 mm", "line 4.amount": "110 g", "line 11.time": "6 weeks"},
    "bird": {"line 5.amount": "4 quart", "line 11.2.time": "10 h", "line 13.place": "oven"},
    "brisket": {"batches.written_for": "4 lb", "line 6.amount": "1/2 cup", "line 8.time": "7 days"},
    "columns": {"food": "radish", "portions": "12", "batches.written_for": "1 kg", "line 10.temperature": "65-70 °F"},
    "cukes": {"kind": "ferment", "line 3.kind": "ferment brine", "line 5.amount": "2/3 cup", "line 13.time": "3-4 weeks"},
    "dry-duck": {"line 3.kind": "dry cure", "line 4.amount": "2.2 % of food", "line 10.time": "6-7 days"},
    "gloss": {"line 10.item": "syrup, birch", "line 9.list": "glaze", "line 17.core": "160 °F", "line 17.hold": "30 min"},
    "goose": {"line 5.amount": "2½ quart", "line 7.temperature": "45 °F", "line 8.time": "2 ½ h"},
    "ham": {"batches.written_for": "10 lb", "line 4.kind": "injection", "line 6.amount": "100 g"},
    "imperial-herring": {"batches.written_for": "3 lb", "line 4.amount": "6 oz"},
    "jetty-trout": {"line 5.item": "salt, fine sea", "line 11.chamber": "110 °C", "line 11.core": "72 °C", "portions": "6"},
    "lamb": {"batches.written_for": "1.8 kg", "line 8.2.chamber": "180 °C", "line 8.2.core": "65 °C"},
    "metric-belly": {"food": "pork belly", "line 5.amount": "2.5 % of food", "line 12.core": "72 °C"},
    "monday-thighs": {"line 5.amount": "1 gallon", "line 9.amount": "4 pieces", "line 14.2.chamber": "425 °F", "line 14.2.core": "175 °F"},
    "mussels": {"batches.written_for": "2 kg", "line 4.amount": "1/2 cup", "line 9.core": "75 °C", "line 9.time": "40 min"},
    "pastoral": {},
    "plus": {"batches.written_for": "28 oz", "line 6.time": "1-2 days"},
    "pork-chops": {"pieces.thickness": "1 in", "line 9.core": "63 °C", "line 9.hold": "3 min"},
    "scrap": {"batches.written_for": "12 lb", "line 2.amount": "4 quart", "line 5.time": "12-18 h", "line 6.core": "165 °F"},
    "shed-char": {"kind": "hot smoke", "pieces.thickness": "3/4 in", "batches.written_for": "4 lb", "line 6.filling": "packed"},
    "shrimp": {"line 4.amount": "1 L", "line 8.1.time": "20-30 min"},
    "soy-eggs": {"line 6.1.time": "7 min", "line 7.time": "1 day"},
    "stars": {"line 4.amount": "200 g", "line 7.2.time": "90 min", "line 7.2.core": "72 °C", "line 7.2.hold": "1/2 h"},
    "two-brines": {"food": "carrot", "line 4.amount": "50 g", "line 7.amount": "25 g", "line 9.time": "1 day"},
    "white-cheese": {"line 2.kind": "equilibrium", "line 3.amount": "1.9 L", "batches.written_for": "1.7 kg"},
    "winter-trout": {"kind": "cold smoke", "batches.written_for": "1.5 kg", "line 6.temperature": "-20 °C", "line 6.time": "7 days"},
}  # fmt: skip
OPEN = {
    "bird": ["line 6.item", "line 13.chamber", "line 13.core", "line 13.time", "batches.written_for"],
    "brisket": ["line 4.item", "line 5.item", "line 6.filling", "line 9.core"],
    "dry-duck": ["batches.written_for", "line 6.item"],
    "ham": ["line 7.item", "line 4.pump", "line 11.core", "line 11.chamber"],
    "imperial-herring": ["line 6.stage", "measures", "line 5.item"],
    "monday-thighs": ["line 6.amount", "line 13.time", "line 14.2.hold", "keeping.pack"],
    "plus": ["line 3.amount", "line 4.item"],
    "shed-char": ["line 5.item", "line 14.time", "line 15.core", "line 7.item"],
    "shrimp": ["line 5.item", "line 6.amount", "line 8.2.time", "line 8.2.core"],
    "winter-trout": ["food", "line 3.item", "line 9.stage"],
}
#: Notes whose method the safety rules or the models stop: the rule that must say so.
STOPPED = {
    "dry-duck": "safety.core-temperature",
    "goose": "safety.growth-range-time",
    "imperial-herring": "safety.parasite-freezing",
    "metric-belly": "water_loss",
    "pastoral": "safety.parasite-freezing",
    "winter-trout": "safety.growth-range-time",
}


@pytest.fixture(scope="module")
def kitchen():
    tables = engine_tables()
    house, faults = read_house(starter_house(), "house.yml", tuple(tables.foods), tuple(tables.ingredients))
    assert not faults
    return Kitchen(house, tables)


def draft_of(name, kitchen, answers=None):
    answers = {key: Text(value, 1) for key, value in (answers or {}).items()}
    return make_draft((NOTES / f"{name}.txt").read_text("utf-8"), f"{name}.txt", answers, "a.yml", kitchen, DAY)


def run(*arguments, **more):
    return CliRunner().invoke(main, [str(each) for each in arguments], **more)


def test_every_note_has_its_expectation():
    """None of the notes is read without a look at what was read."""
    assert sorted(READ) == NAMES and len(NAMES) >= 25


@pytest.mark.parametrize("name", NAMES)
def test_what_the_notes_say_is_read(name, kitchen):
    """The figures that a person finds in the notes are found, each with a line that holds its words."""
    draft = draft_of(name, kitchen)
    found = {key: draft.values[key].value for key in READ[name] if key in draft.values}
    assert found == READ[name]
    asked = {each.key for each in draft.questions}
    assert set(OPEN.get(name, ())) <= asked
    for value in draft.values.values():
        if value.source == "notes" and value.words:
            first = value.words.split(" / ")[0].split(" ... ")[0].split(" (")[0].strip(". ")
            assert first.casefold() in " ".join(draft.notes.lines[value.line - 1].split()).casefold(), value


@pytest.mark.parametrize("name", NAMES)
def test_nothing_that_can_hurt_is_filled_in(name, kitchen):
    """Core, hold, pH, keeping and curing salt come from the notes' own figures or are asked, and have no default."""
    draft = draft_of(name, kitchen)
    for question in draft.questions:
        if question.key.rpartition(".")[2] in ("core", "hold", "final_ph") or question.key.startswith("keeping."):
            assert question.default == ""
    for value in draft.values.values():
        if value.key.rpartition(".")[2] in ("core", "hold"):
            assert (
                value.source == "notes"
                and value.value.split()[0].split("/")[0] in "".join(draft.notes.lines[value.line - 1])
            ) or "half" in value.words
        assert not value.value.startswith("curing salt")


@pytest.mark.parametrize("name", NAMES)
def test_the_whole_way(name, tmp_path):
    """Notes and answers give a page that ``check`` accepts, or no page and the reason."""
    page = tmp_path / "methods" / f"{name}.md"
    result = run("new", page, "--from", NOTES / f"{name}.txt", "--answers", NOTES / f"{name}.yml")
    if name in STOPPED:
        assert result.exit_code == 1 and STOPPED[name] in result.stderr and "is not written" in result.stderr
        assert not page.parent.exists()
        return
    assert result.exit_code == 0, result.stderr
    assert "safety notes" in result.stdout
    checked = run("check", page.parent)
    assert (checked.exit_code, checked.stdout) == (0, "1 method: no fault found\n"), checked.stderr
    text = page.read_text("utf-8")
    for number, line in enumerate((NOTES / f"{name}.txt").read_text("utf-8").splitlines(), 1):
        assert any(row.strip().startswith(str(number)) and line.rstrip() in row for row in text.splitlines()), line


def test_the_pages_build(tmp_path):
    """All accepted pages together make a site, strictly."""
    folder = tmp_path / "methods"
    for name in NAMES:
        if name not in STOPPED:
            assert (
                run(
                    "new", folder / f"{name}.md", "--from", NOTES / f"{name}.txt", "--answers", NOTES / f"{name}.yml"
                ).exit_code
                == 0
            )
    result = run("build", folder, "--into", tmp_path / "site", "--strict", "--quiet")
    assert result.exit_code == 0, result.stderr
    page = (tmp_path / "site" / "shed-char.html").read_text("utf-8")
    assert "1 1/2 cups kosher salt" in page and "As it was written" in page


def test_amounts_stay_in_the_cooks_own_units(kitchen):
    """A cup stays a cup; where the notes mean other cups than the house, it becomes millilitres."""
    answers = {key: node.value for key, node in read_answers(NOTES / "scrap.yml").items()}
    draft = draft_of("scrap", kitchen, answers)
    assert "amount: 4 quart   # line 2: 4 qts" in write_page(draft).text
    answers["measures"] = "imperial"
    # 4 imperial quarts = 1 imperial gallon = 4546.09 mL, exact by definition
    assert draft_of("scrap", kitchen, answers).values["line 2.amount"].value == "4546.09 mL"


def test_missing_answers_are_all_listed(tmp_path):
    """Without answers every open question is a line with what is allowed, and the exit code is 1."""
    empty = tmp_path / "a.yml"
    empty.write_text("")
    result = run("new", tmp_path / "m" / "x.md", "--from", NOTES / "shed-char.txt", "--answers", empty)
    lines = result.stderr.splitlines()
    assert result.exit_code == 1 and all("read nothing; allowed: " in line for line in lines[:-1])
    assert any(": line 5.item: " in line and '"1 1/2 cups kosher salt"' in line for line in lines)
    assert lines[-1].endswith(f"is not written: {len(lines) - 1} to answer") and not (tmp_path / "m").exists()


def test_wrong_answers_are_all_named(tmp_path):
    """Each wrong answer is one line with file, line and key; so is a key that nobody asked for."""
    path = tmp_path / "a.yml"
    path.write_text(
        'food: salmn\nkind: smok\nline 15.core: "9000 F"\npieces.thickness: thick\nportion: 8\nline 5.item: sugar\n'
    )
    result = run("new", tmp_path / "x.md", "--from", NOTES / "shed-char.txt", "--answers", path)
    faults = [line for line in result.stderr.splitlines() if line.startswith(str(path))]
    keys = [line.removeprefix(f"{path}:").split(": ")[0:2] for line in faults]
    assert sorted(keys) == [
        ["1", "food"],
        ["2", "kind"],
        ["3", "line 15.core"],
        ["4", "pieces.thickness"],
        ["5", "portion"],
        ["6", "line 5.item"],
    ]
    assert "Did you mean portions?" in "\n".join(faults)


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("- a\n- b\n", "a list"),
        ("food: [a, b]\n", "a list or a table"),
        ("food: &x a\nkind: *x\n", "an anchor or alias"),
        ("food: a\nfood: b\n", "food twice"),
        ("food: 'a\n", "no YAML"),
    ],
)
def test_a_faulty_answers_file_is_one_line(tmp_path, text, part):
    """A file that is no table of answers is told with its line."""
    path = tmp_path / "a.yml"
    path.write_text(text)
    result = run("new", tmp_path / "x.md", "--from", NOTES / "scrap.txt", "--answers", path)
    assert result.exit_code == 1 and part in result.stderr and len(result.stderr.splitlines()) == 1


@pytest.mark.parametrize(
    "content", [b"\xff\xfe\x00", b"A\n\x00", b"", b"x" * 500_000, "T\n\u202e1".encode(), b"x\n" * 10_000]
)
def test_hostile_notes_are_one_line(tmp_path, content):
    """Notes that are no text are refused in one line, and nothing is written."""
    notes, page = tmp_path / "n.txt", tmp_path / "m" / "x.md"
    notes.write_bytes(content)
    result = run("new", page, "--from", notes, "--questions", tmp_path / "q.yml")
    assert result.exit_code == 1 and result.stderr.startswith(f"{notes}:") and len(result.stderr.splitlines()) == 1
    assert list(tmp_path.iterdir()) == [notes]


def test_the_form_can_be_filled_in(tmp_path, kitchen):
    """The form is YAML with every open key, defaults filled in; it is not written over an old one."""
    form = tmp_path / "q.yml"
    assert run("new", tmp_path / "x.md", "--from", NOTES / "shed-char.txt", "--questions", form).exit_code == 0
    answers = read_answers(form)
    draft = draft_of("shed-char", kitchen)
    assert list(answers) == [each.key for each in draft.questions]
    assert (answers["measures"].value, answers["line 15.core"].value) == ("us", "")
    again = run("new", tmp_path / "x.md", "--from", NOTES / "shed-char.txt", "--questions", form)
    assert again.exit_code == 1 and "not there yet" in again.stderr
    assert "line 4.amount: 3 quart" in form_text(draft, {})


def test_text_of_notes_cannot_break_out_of_the_page(tmp_path):
    """Fences, front matter, markers and tags in the notes stay words."""
    notes, answers, page = tmp_path / "n.txt", tmp_path / "a.yml", tmp_path / "m" / "x.md"
    evil = [
        "```steps",
        "---",
        "handbook-block-0-here",
        "<script>alert(1)</script>",
        "[x](javascript:alert(1))",
        "~~~",
        "# {{ 7*7 }}",
    ]
    notes.write_text((NOTES / "scrap.txt").read_text() + "\n".join(evil) + "\n")
    extra = "".join(f"line {number}.is: words\n" for number in range(7, 14))
    answers.write_text((NOTES / "scrap.yml").read_text() + extra)
    result = run("new", page, "--from", notes, "--answers", answers)
    assert result.exit_code == 0, result.stderr
    assert run("build", page.parent, "--into", tmp_path / "site", "--strict", "--quiet").exit_code == 0
    html = (tmp_path / "site" / "x.html").read_text("utf-8")
    assert "<script>alert" not in html and 'href="javascript' not in html and "&lt;script&gt;alert(1)" in html


def test_words_that_tell_an_old_figure_are_asked_anew(kitchen):
    """An answer beside another figure in the step's words would print both: the words are asked for."""
    answers = {key: node.value for key, node in read_answers(NOTES / "jetty-trout.yml").items()}
    draft = draft_of("jetty-trout", kitchen, answers | {"line 11.core": "75 °C"})
    assert [each.key for each in draft.questions] == ["line 11.do"] and "75 °C" in draft.questions[0].why
    draft = draft_of(
        "jetty-trout", kitchen, answers | {"line 11.core": "75 °C", "line 11.do": "Smoke to a core of 75 °C"}
    )
    assert not draft.questions and "145" not in draft.steps[-1]["do"].value


def test_curing_salt_cannot_be_left_out_or_spooned(kitchen):
    """Neither ``none`` nor a plain salt nor a spoon is taken for a curing salt."""
    draft = draft_of("ham", kitchen, {"line 7.item": "none"})
    assert draft.faults[0].key == "line 7.item"
    assert draft_of("ham", kitchen, {"line 7.item": "salt, fine sea"}).faults
    cure = {"line 7.item": "curing salt, 6.25 % sodium nitrite (type 1)"}
    assert draft_of("ham", kitchen, cure | {"line 7.amount": "2 tsp"}).faults[0].allowed.endswith("weighed")
    asked = next(each for each in draft_of("ham", kitchen, cure).questions if each.key == "line 7.amount")
    assert asked.choices == ("60 g",) and "label" in asked.why


def test_a_line_may_be_said_to_be_something_else(kitchen):
    """``line N.is`` takes a line out of the list or into the steps."""
    draft = draft_of("brisket", kitchen, {"line 7.is": "words", "line 2.is": "step"})
    assert {7} <= set(draft.notes.unread) and any(step.line == 2 for step in draft.notes.steps)


def test_a_title_of_another_page_is_refused(tmp_path):
    """As ``check`` would."""
    for name, code in (("one", 0), ("two", 1)):
        result = run("new", tmp_path / f"{name}.md", "--from", NOTES / "scrap.txt", "--answers", NOTES / "scrap.yml")
        assert result.exit_code == code
    assert "one.md has it" in result.stderr and not (tmp_path / "two.md").exists()


def test_without_a_terminal_it_says_what_to_do(tmp_path):
    """Nobody to ask, no answers: one line, no page."""
    result = run("new", tmp_path / "x.md", "--from", NOTES / "scrap.txt")
    assert result.exit_code == 1 and "--answers FILE" in result.stderr and "--questions FILE" in result.stderr
    result = run("new", tmp_path / "x.md", "--answers", NOTES / "scrap.yml")
    assert result.exit_code == 1 and "together with --from" in result.stderr


def talk(tmp_path, monkeypatch, lines):
    monkeypatch.setattr(cli_notes, "on_terminal", lambda: True)
    notes = tmp_path / "scrap.txt"
    notes.write_text((NOTES / "scrap.txt").read_text("utf-8"))
    return run("new", tmp_path / "m" / "x.md", "--from", notes, input="\n".join([*lines, ""]))


def test_answers_on_a_terminal(tmp_path, monkeypatch, kitchen):
    """Asked one by one, with wrong answers, a step back, names looked up and a change at the end, the page is written."""
    answers, given = read_answers(NOTES / "scrap.yml"), {}
    lines = ["", "?"]  # nothing, then help, at the first question
    while (draft := draft_of("scrap", kitchen, given)).questions:
        question = draft.questions[0]
        given[question.key] = answers[question.key].value
        if question.key == "food":
            lines += ["turky", "?turkey whole", "<", answers["title"].value]
        lines.append(given[question.key])
    lines += ["no such key", "portions", "10", ""]
    result = talk(tmp_path, monkeypatch, lines)
    assert result.exit_code == 0, result.output
    assert "portions: 10" in (tmp_path / "m" / "x.md").read_text("utf-8")
    assert "Did you mean" in result.output or "allowed: a food" in result.output
    assert run("check", tmp_path / "m").exit_code == 0


def test_stopping_keeps_the_answers(tmp_path, monkeypatch):
    """Who stops half-way finds the answers in a file and no page."""
    result = talk(tmp_path, monkeypatch, ["Sunday bird"])
    assert result.exit_code == 1 and not (tmp_path / "m").exists() and "Traceback" not in result.output
    assert read_answers(tmp_path / "scrap.answers.yml")["title"].value == "Sunday bird"


def test_on_a_real_terminal(tmp_path):
    """The prompts come on a terminal, a wrong answer is told, and Ctrl-C leaves no traceback."""
    notes = tmp_path / "scrap.txt"
    notes.write_text((NOTES / "scrap.txt").read_text("utf-8"))
    master, slave = pty.openpty()
    command = [sys.executable, "-m", "site_build.cli", "new", str(tmp_path / "m" / "x.md"), "--from", str(notes)]
    child = subprocess.Popen(command, stdin=slave, stdout=slave, stderr=slave, close_fds=True, start_new_session=False)
    os.close(slave)
    shown = b""

    def until(words: bytes) -> None:
        nonlocal shown
        while words not in shown:
            assert select.select([master], [], [], 60)[0], shown
            shown += os.read(master, 4096)

    until(b"What is the method called?")
    until(b"\n> ")
    os.write(master, b"Sunday bird\n")
    until(b"Which food of the handbook is it?")
    os.write(master, b"unicorn\n")
    until(b'read "unicorn"; allowed:')
    os.write(master, b"\x04")
    until(b"is not written")
    assert child.wait(60) == 1 and b"Traceback" not in shown
    os.close(master)


def test_an_until_that_nothing_computes_is_a_fault(tmp_path):
    """Two steps in one cure, the first "until target salt": one line and no traceback."""
    page = tmp_path / "m" / "x.md"
    assert run("new", page).exit_code == 0
    text = page.read_text("utf-8").replace('temperature: "3 °C"\ningredients', "target_salt: 2 % of all\ningredients")
    first = "- {do: Rub, stage: salt, until: target salt}\n- {do: Lay"
    page.write_text(text.replace("- {do: Lay", first, 1), "utf-8")
    result = run("check", page.parent)
    assert result.exit_code == 1 and "steps.2.until: read" in result.stderr and len(result.stderr.splitlines()) == 1
