"""Output of commands: one error line with exit code 1, or a written file."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from pathlib import Path
from typing import NoReturn

import click

from handbook.base.errors import CONTROLS, HandbookError, without_commands
from site_build.base import files
from site_build.base.places import one_line


def fail(text: str, code: int = 1) -> NoReturn:
    """Say ``text`` on standard error and end with ``code``."""
    say(text.split("\n"), err=True)
    sys.exit(code)


def say(lines: Iterable[str], *, err: bool = False) -> None:
    """Print lines in which a stranger's words may stand, names of files among them.

    None of them steers the terminal, and a forge that reads the log takes none for its own command.
    """
    for line in lines:
        click.echo(without_commands(CONTROLS.sub("\ufffd", line)), err=err)


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
