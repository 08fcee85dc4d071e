"""Output of commands: one error line with exit code 1, or a written file."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from pathlib import Path
from typing import Any, NoReturn

import click
from msgspec import Struct, field

from handbook.base.errors import CONTROLS, HandbookError, without_commands
from site_build.base import files
from site_build.base.places import one_line


class Report(Struct, kw_only=True):
    """The output of a command that is asked to be quiet or to print JSON."""

    is_quiet: bool = False
    is_json: bool = False
    lines: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)


_report: ContextVar[Report | None] = ContextVar("report", default=None)


@contextmanager
def reporting(report: Report) -> Iterator[None]:
    """Commands within the block report into ``report``."""
    token = _report.set(report)
    try:
        yield
    finally:
        _report.reset(token)


def is_quiet() -> bool:
    """Whether a command was asked to print only warnings and faults, or JSON for a program."""
    report = _report.get()
    return report is not None and (report.is_quiet or report.is_json)


def fail(text: str, code: int = 1) -> NoReturn:
    """Print ``text`` on standard error and exit with ``code``."""
    report = _report.get()
    if report is not None and report.is_json:
        report.faults += map(_harmless, text.split("\n"))
    else:
        say(text.split("\n"), err=True)
    sys.exit(code)


def or_exit(job: Callable[..., Any], *arguments: Any) -> Any:
    """The result of ``job``; its faults end the command."""
    try:
        return job(*arguments)
    except HandbookError as error:
        fail(str(error))


def say(lines: Iterable[str], *, err: bool = False) -> None:
    """Print lines that may contain a stranger's words, such as names of files.

    Control characters are replaced, and no line can be taken for a command by a forge that reads the log.
    """
    report = _report.get()
    for line in map(_harmless, lines):
        if report is not None and report.is_json:
            (report.notes if err else report.lines).append(line)
        elif err or not is_quiet():
            click.echo(line, err=err)


def say_whole(text: str) -> None:
    """Print a finished report with its own colours."""
    if not is_quiet():
        click.echo(text, nl=False)


def write_file(file: Path, text: str, tree: Path | None = None, *, is_new: bool = False, err: bool = True) -> None:
    """Write ``text`` unchanged into ``file`` and report it, by default on standard error; ``tree`` is the handbook's
    own (places.py).
    """
    try:
        files.write_file(file, text, tree, is_new=is_new)
    except HandbookError as error:
        fail(str(error))
    except OSError as error:
        fail(f"{one_line(file)}: cannot be written ({error.strerror})")
    say([f"wrote {one_line(file)}"], err=err)


def _harmless(line: str) -> str:
    return without_commands(CONTROLS.sub("\ufffd", line))
