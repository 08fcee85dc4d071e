"""The examples for forges and hooks are true: they parse, and each command in them is one with such options."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import click
import pytest
import yaml

from site_build.cli import main
from site_build.report_markdown import MARKER

EXAMPLES = Path(__file__).resolve().parent.parent.parent / ".examples"
FILES = sorted(path for path in EXAMPLES.rglob("*") if path.is_file())


def commands() -> list[tuple[str, str]]:
    """(file, command line) of each call of the handbook command in the examples."""
    found = []
    for path in FILES:
        if path.name != "README.md":
            lines = re.findall(
                r"(?:^|[\s-])(?:exec )?(handbook (?:check|compare|build) [^-][^\n]*)", path.read_text("utf-8")
            )
            found += [(path.name, line) for line in lines]
    return found


@pytest.mark.parametrize(
    "path", [each for each in FILES if each.suffix in (".yml", ".yaml")], ids=lambda each: each.name
)
def test_examples_parse(path):
    """Each YAML file is one table or list."""
    assert isinstance(yaml.safe_load(path.read_text("utf-8")), dict | list)


@pytest.mark.parametrize(("file", "line"), commands())
def test_commands_are_ours(file, line):
    """Each command line is taken by the command as it stands today."""
    _, name, *arguments = shlex.split(line)
    command = main.get_command(click.Context(main), name)
    assert command is not None, f"{file}: no command {name}"
    command.make_context(name, arguments)


def test_every_example_is_listed():
    """The table of examples names each file."""
    listed = (EXAMPLES / "README.md").read_text("utf-8")
    assert len(commands()) >= 9
    for path in FILES:
        assert path.name == "README.md" or f"`{path.relative_to(EXAMPLES).as_posix()}`" in listed


def test_comment_is_found_again():
    """The example that replaces its last comment looks for the line that a report begins with."""
    assert f'startswith("{MARKER}")' in (EXAMPLES / "github" / "comment.yml").read_text("utf-8")


def test_rights_and_code_stay_apart():
    """What runs on a pull request's own text has no right to write; what may write checks nothing out."""
    check = yaml.safe_load((EXAMPLES / "github" / "check.yml").read_text("utf-8"))
    assert check["permissions"] == {"contents": "read"}
    assert "checkout" not in (EXAMPLES / "github" / "comment.yml").read_text("utf-8").replace("checks out", "")
    # What a stranger names, such as a branch, reaches a shell only as a variable.
    for job in check["jobs"].values():
        for step in job["steps"]:
            expressions = re.findall(r"\$\{\{(.*?)\}\}", step.get("run", ""))
            assert all("number" in each for each in expressions)
