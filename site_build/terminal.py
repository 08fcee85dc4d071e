"""How commands end and write: one line on standard error, exit 1; a file written, or the line that says why not."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import NoReturn

import click

_NO_LINK = getattr(os, "O_NOFOLLOW", 0)


def fail(text: str, code: int = 1) -> NoReturn:
    """Say ``text`` on standard error and end with ``code``."""
    click.echo(text, err=True)
    sys.exit(code)


def write_file(file: Path, text: str, code: int = 1, says: str = "wrote") -> None:
    """Write ``text`` into ``file`` to the byte and say so; ``code`` is that of the end where it cannot be written."""
    refuse_links(file, code)
    try:
        descriptor = os.open(file, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | _NO_LINK, 0o666)
        with os.fdopen(descriptor, "wb") as opened:
            opened.write(text.encode("utf-8", "backslashreplace"))
    except OSError as error:
        fail(f"{file}: cannot be written ({error.strerror})", code)
    click.echo(f"{says} {file}", err=True)


def refuse_links(path: Path, code: int = 1) -> None:
    """End where ``path`` is a link, or a folder of it below this one is: what a clone brings could lead anywhere."""
    parts = [path] if path.is_absolute() else [path, *path.parents]
    for each in parts:
        if os.path.islink(each):
            fail(f'{each}: read "a link"; allowed: the file or folder itself', code)
