"""How commands end and write: one line on standard error, exit 1; a file written, or the line that says why not."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import NoReturn

import click


def fail(text: str, code: int = 1) -> NoReturn:
    """Say ``text`` on standard error and end with ``code``."""
    click.echo(text, err=True)
    sys.exit(code)


def write_file(file: Path, text: str) -> None:
    """Write ``text`` into ``file`` to the byte and say so."""
    try:
        file.write_bytes(text.encode())
    except OSError as error:
        fail(f"{file}: cannot be written ({error.strerror})")
    click.echo(f"wrote {file}", err=True)
