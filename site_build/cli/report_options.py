"""``--quiet`` and ``--as json`` on every command that reports."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Collection, Mapping
from functools import wraps
from typing import Any

import click

from site_build.cli.terminal import Report, reporting

_FAULT = re.compile(r"^(?P<file>[^:]+):(?P<line>\d+): (?P<key>[^:]+(?:: [^:]+?)?): (?P<text>read .*)$")


def add_report_options(commands: Mapping[str, click.Command], left_out: Collection[str]) -> None:
    """Give each of ``commands``, and of those in groups among them, those of the two options that it lacks."""
    for name, command in commands.items():
        if isinstance(command, click.Group):
            add_report_options(command.commands, left_out)
        elif name not in left_out:
            _add(command)


def report_json(name: str, code: int, report: Report) -> str:
    """The output of a command as JSON: its lines, its notes, and its faults with their places."""
    found = {"format": 1, "command": name, "code": code, "lines": report.lines, "notes": report.notes}
    return json.dumps(found | {"faults": [_placed(each) for each in report.faults]}, ensure_ascii=False, indent=1)


def _add(command: click.Command) -> None:
    known = {flag for option in command.params for flag in option.opts}
    own_quiet, own_form = "--quiet" in known, "--as" in known
    if not own_quiet:
        command.params.append(click.Option(["--quiet"], is_flag=True, help="Print only warnings and faults."))
    if not own_form:
        forms = click.Choice(["text", "json"])
        command.params.append(
            click.Option(["--as", "report_form"], type=forms, default="text", help="Form of what the command says.")
        )
    command.callback = _reporting(command, command.callback, own_quiet)  # type: ignore[arg-type]


def _reporting(command: click.Command, job: Callable[..., Any], own_quiet: bool) -> Callable[..., Any]:
    @wraps(job)
    def wrapped(*arguments: Any, **values: Any) -> Any:
        is_json = values.pop("report_form", "text") == "json"
        is_quiet = False if own_quiet else values.pop("quiet")  # such a command handles it by itself
        report, code = Report(is_quiet=is_quiet, is_json=is_json), 0
        try:
            with reporting(report):
                return job(*arguments, **values)
        except SystemExit as ended:
            code = ended.code if isinstance(ended.code, int) else 1
            raise
        finally:
            if is_json:
                click.echo(report_json(command.name or "", code, report))

    return wrapped


def _placed(fault: str) -> dict[str, Any]:
    found = _FAULT.match(fault)
    if found is None:
        return {"text": fault}
    return {"file": found["file"], "line": int(found["line"]), "key": found["key"], "text": found["text"]}
