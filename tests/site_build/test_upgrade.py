"""An older handbook's files are rewritten to the keys of this version, shown first; every command reports as JSON too."""

import json
import shutil

import pytest
import yaml
from click.testing import CliRunner

from handbook.folder.upgrades import ASKED, RENAMED, AskedKey, RenamedKey, upgraded
from site_build.cli.main import main
from tests.building import METHODS

OLDER = RenamedKey(block="steps", old="heat", new="chamber", since="9.9.0")
PAGE = """---
title: heat: it
heat: stays
---

heat: prose stays

```steps
- {do: "heat: it", stage: cook, heat: 120 °C}   # heat: here
- do: Cool
  heat: 20 °C
```
"""
NEWER = """---
title: heat: it
heat: stays
---

heat: prose stays

```steps
- {do: "heat: it", stage: cook, chamber: 120 °C}   # heat: here
- do: Cool
  chamber: 20 °C
```
"""
HOUSE = """kitchen: x
exceptions:
  - {method: char, rule: core, by: Odd, reason: why, on: 2026-01-02}   # first
  - method: cod
    rule: core
    by: Odd
    role: chef
  - {method: eel, rule: core, by: O, reason: y, on: 2026-01-02, role: a, process: b, until: 2027-01-02}
place: United States
"""


def test_a_renamed_key_is_rewritten_where_it_is_a_key(monkeypatch):
    """Not in quotes, comments, prose, nor in another block."""
    monkeypatch.setattr("handbook.folder.upgrades.RENAMED", (OLDER,))
    assert upgraded("char.md", PAGE.encode()) == NEWER
    assert upgraded("char.md", NEWER.encode()) is None
    assert upgraded("char.txt", PAGE.encode()) is None


def test_a_key_that_is_asked_for_gets_a_blank():
    """Only where a row does not have it, in the row's own form."""
    made = upgraded("house.yml", HOUSE.encode())
    first = made.splitlines()[2]
    assert first.startswith("  - {method: char") and 'on: 2026-01-02, role: "<the signer\'s role>", process:' in first
    assert first.endswith("}   # first")
    assert '    role: chef\n    process: "<the process document>"\n    until: "<last day' in made
    assert made.splitlines()[-2:] == HOUSE.splitlines()[-2:]
    assert upgraded("house.yml", made.encode()) is None


def test_the_tables_name_keys_of_this_version():
    """A new name is a key that some record reads; an old one is none any more."""
    from site_build.outputs.reference_keys import key_tables

    known = {row.key.rpartition(".")[2] for table in key_tables() for row in table.rows}
    assert {each.new for each in RENAMED} | {each.key for each in ASKED} <= known
    assert not {each.old for each in RENAMED} & known
    assert all(isinstance(each, AskedKey) and each.question.startswith("<") for each in ASKED)


@pytest.fixture
def older(tmp_path):
    """The demo with an exception as version 0.0 wrote it."""
    folder = tmp_path / "methods"
    folder.mkdir()
    shutil.copy2(METHODS / "about.md", folder / "about.md")
    text = (METHODS / "house.yml").read_text("utf-8")
    row = "exceptions:\n  - {method: about, rule: core-temperature, by: Odd, reason: why, on: 2026-01-02}\n"
    (folder / "house.yml").write_text(f"{text}\n{row}", "utf-8")
    return folder


def test_upgrade_shows_before_it_writes(older):
    """Nothing is written until it is asked for; then nothing is left."""
    before = (older / "house.yml").read_bytes()
    shown = CliRunner().invoke(main, ["upgrade", str(older)])
    assert shown.exit_code == 1 and "+++ methods/house.yml" in shown.output and "1 file to rewrite" in shown.output
    assert (older / "house.yml").read_bytes() == before
    done = CliRunner().invoke(main, ["upgrade", str(older), "--write"])
    assert done.exit_code == 0 and "<the process document>" in (older / "house.yml").read_text("utf-8")
    again = CliRunner().invoke(main, ["upgrade", str(older), "--quiet"])
    assert again.exit_code == 0 and again.output == ""


def test_the_demo_has_nothing_to_rewrite():
    """Its pages are of this version."""
    done = CliRunner().invoke(main, ["upgrade", str(METHODS)])
    assert (done.exit_code, done.output) == (0, "nothing to rewrite: every key is one of this version\n")


# ---- Quiet, and JSON


def _commands(group, before=()):
    for name, command in group.commands.items():
        if hasattr(command, "commands"):
            yield from _commands(command, (*before, name))
        else:
            yield (*before, name), command


def test_every_command_that_reports_is_quiet_and_speaks_json_on_demand():
    """But for those that run until they are ended or open something."""
    for path, command in _commands(main):
        flags = {flag for option in command.params for flag in option.opts}
        assert {"--quiet", "--as"} <= flags or path in (("preview",), ("manual",)), path


def test_faults_as_json_have_their_places(tmp_path):
    """File, line and key by themselves; nothing on the error stream."""
    folder = tmp_path / "methods"
    folder.mkdir()
    (folder / "house.yml").write_text("kitchen: x\nfridge: 99 °C\n", "utf-8")
    done = CliRunner().invoke(main, ["check", str(folder), "--as", "json"])
    told = json.loads(done.stdout)
    assert done.exit_code == 1 == told["code"] and done.stderr == "" and told["command"] == "check"
    assert {"file": "methods/house.yml", "line": 2, "key": "fridge"}.items() <= next(
        each for each in told["faults"] if each.get("key") == "fridge"
    ).items()


def test_a_report_as_json_has_its_lines():
    """The same lines as in the terminal."""
    words = CliRunner().invoke(main, ["names", "dill"]).stdout.splitlines()
    told = json.loads(CliRunner().invoke(main, ["names", "dill", "--as", "json"]).stdout)
    assert told["lines"] == words and told["code"] == 0 and told["faults"] == []
    assert CliRunner().invoke(main, ["names", "dill", "--quiet"]).stdout == ""


# ---- Rows in every form that YAML has


ADDED = (
    'role: "<the signer\'s role>", process: "<the process document>", until: "<last day it holds, such as 2027-06-30>"'
)


@pytest.mark.parametrize(
    ("text", "made"),
    [
        ("exceptions: [{method: char}]\n", f"exceptions: [{{method: char, {ADDED}}}]\n"),
        ("exceptions:\n  - {}\n", f"exceptions:\n  - {{{ADDED}}}\n"),
        ("exceptions:\n  - {method: char,}\n", f"exceptions:\n  - {{method: char, {ADDED},}}\n"),
        ("exceptions:\n  - {method: char} # a } b\n", f"exceptions:\n  - {{method: char, {ADDED}}} # a }} b\n"),
        ("exceptions:\n  - {method: 'x, role: y'}\n", f"exceptions:\n  - {{method: 'x, role: y', {ADDED}}}\n"),
        ("exceptions:\r\n  - {method: char}\r\n", f"exceptions:\r\n  - {{method: char, {ADDED}}}\r\n"),
        ("\ufeffexceptions:\n  - {method: char}", f"\ufeffexceptions:\n  - {{method: char, {ADDED}}}"),
        (
            "exceptions:\n-\n  reason: |\n    role: x\n\n  # note\nplace: x\n",
            f"exceptions:\n-\n  reason: |\n    role: x\n  {ADDED.replace(', p', chr(10) + '  p').replace(', u', chr(10) + '  u')}\n\n  # note\nplace: x\n",
        ),
    ],
)
def test_a_row_of_any_form_gets_its_blanks(text, made):
    """What is written is YAML again, and nothing is left to rewrite."""
    assert upgraded("house.yml", text.encode()) == made
    assert upgraded("house.yml", made.encode()) is None
    yaml.safe_load(made)


@pytest.mark.parametrize(
    "text",
    ["exceptions:\n  - {method: char\n", "exceptions: &a\n  - {method: char}\n", "exceptions: none\n", "", "\x00", "\xff",
     "exceptions:\n" + "  - {method: char}\n" * 20_000, "x: " + "[" * 5000],
)  # fmt: skip
def test_what_cannot_be_read_is_left(text):
    """``check`` says what is wrong with it."""
    assert upgraded("house.yml", text.encode("latin-1")) is None


def test_a_folder_without_a_house_file_is_no_handbook(tmp_path):
    """One line, not "nothing to rewrite"."""
    done = CliRunner().invoke(main, ["upgrade", str(tmp_path)])
    assert done.exit_code == 1 and "read no house.yml" in done.output
