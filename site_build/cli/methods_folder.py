"""The places of a handbook's methods and of its site: in a folder of the repository, or at its top."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import click

from handbook.folder.kitchen import HOUSE_FILE

#: The usual folder of the methods, and the one of a site beside them.
METHODS, SITE = "methods", "site"
#: The site of a handbook with its methods at the top of the repository. It is hidden, so that no build reads it.
HIDDEN_SITE = ".site"


class MethodsFolder(click.Path):
    """A folder of methods: itself, its folder ``methods``, or, for that name, the current folder.

    Anything without a house file is passed on unchanged, and refused by its reader.
    """

    def __init__(self) -> None:
        super().__init__(path_type=Path, file_okay=False)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Path:
        """The folder with the house file."""
        folder = Path(super().convert(value, param, ctx))
        candidates = [folder, folder / METHODS, *([Path(".")] if folder == Path(METHODS) else [])]
        return next((each for each in candidates if os.path.isfile(each / HOUSE_FILE)), folder)


def site_of(folder: Path) -> Path:
    """The default place of the site of ``folder``: beside the methods, or hidden in them at the top of a repository.

    >>> site_of(Path("kitchen/methods")).as_posix(), site_of(Path(".")).as_posix()
    ('kitchen/site', '.site')
    """
    return folder.parent / SITE if folder.name == METHODS else folder / HIDDEN_SITE
