"""``handbook upgrade``: an older handbook's files, rewritten to the keys of this version."""

from __future__ import annotations

import os
from difflib import unified_diff
from pathlib import Path

import click

from handbook.base.errors import HandbookError
from handbook.folder.kitchen import HOUSE_FILE
from handbook.folder.source import read_source
from handbook.folder.upgrades import upgraded
from site_build.base.files import write_file
from site_build.base.places import one_line, own_tree, source_place
from site_build.cli.methods_folder import MethodsFolder
from site_build.cli.terminal import fail, say


def register(main: click.Group) -> None:
    """Add the command to the group."""
    main.add_command(upgrade)


@click.command()
@click.argument("folder", type=MethodsFolder(), default="methods")
@click.option("--write", is_flag=True, help="Write what is shown.")
def upgrade(folder: Path, write: bool) -> None:
    """Show what this version would rewrite in the pages and the house file of FOLDER; with --write, do it.

    Keys that were renamed get their new name, and keys that are asked for since an older version get a blank that check asks for.
    Nothing else of a file changes. Exit: 0 nothing left to rewrite, 1 something that was only shown, or a fault.
    """
    try:
        place = source_place(folder)
        if not os.path.isdir(place):
            fail(f"{one_line(folder)}: read no folder; allowed: a folder of method pages with a house.yml")
        source = read_source(place, wanted=lambda path: path.endswith((".md", ".yml")))
        if HOUSE_FILE not in source.contents and not source.faults:
            fail(f"{one_line(folder)}: read no {HOUSE_FILE}; allowed: a folder of method pages with a {HOUSE_FILE}")
        if source.faults:
            fail("\n".join(map(str, source.faults)))
        changed = {path: text for path, data in source.contents.items() if (text := upgraded(path, data)) is not None}
        for path, text in changed.items():
            _show(source.file(path), source.contents[path].decode("utf-8"), text)
            if write:
                write_file(place / path, text, own_tree(place))
    except HandbookError as error:
        fail(str(error))
    except OSError as error:
        fail(f"{one_line(error.filename or folder)}: cannot be written ({error.strerror})")
    count = f"{len(changed)} file{'' if len(changed) == 1 else 's'}"
    if not changed:
        say(["nothing to rewrite: every key is one of this version"])
    elif write:
        say([f"{count} rewritten; handbook check says what is left"])
    else:
        say([f"{count} to rewrite; handbook upgrade --write does it"])
        raise SystemExit(1)


def _show(file: str, before: str, after: str) -> None:
    lines = unified_diff(before.splitlines(), after.splitlines(), file, file, "before", "after", lineterm="", n=1)
    say(lines)
