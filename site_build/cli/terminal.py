"""Output of commands: one error line with exit code 1, or a written file."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import NoReturn

import click

from handbook.base.errors import HandbookError, without_commands
from site_build.base import files
from site_build.base.places import one_line


def fail(text: str, code: int = 1) -> NoReturn:
    """Print ``text`` on standard error and exit with ``code``."""
    click.echo(text, err=True)
    sys.exit(code)


def say(lines: Iterable[str]) -> None:
    """Print lines with an author's words, escaped so that a forge reading the log does not take any for its own
    command.
    """
    for line in lines:
        click.echo(without_commands(line))


def refuse_links(path: Path, code: int = 1) -> None:
    """Exit where ``path``, or one of its folders below the current one, is a link: a link in a clone could lead
    anywhere.
    """
    parts = [path] if path.is_absolute() else [path, *path.parents]
    for each in parts:
        if os.path.islink(each):
            fail(f'{each}: read "a link"; allowed: the file or folder itself', code)


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
    click.echo(f"wrote {one_line(file)}", err=err)
