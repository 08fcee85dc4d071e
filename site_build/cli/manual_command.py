"""``handbook manual``: one manual, made from the program itself."""

from __future__ import annotations

import tempfile
from pathlib import Path

import click

from site_build.base.places import one_line
from site_build.cli.starter import FAMILIES, family_page
from site_build.cli.terminal import fail, write_file
from site_build.outputs.manual import CommandHelp, Starter, manual_html

FILE = "index.html"
#: Start of the manual of any version.
TITLE = "<title>Manual of the cook-method handbook"


def register(main: click.Group) -> None:
    """Add the command to the group."""
    main.add_command(manual)


@click.command()
@click.option(
    "--into", type=click.Path(path_type=Path, file_okay=False), help="Write the manual into this folder, as index.html."
)
@click.pass_context
def manual(context: click.Context, into: Path | None) -> None:
    """Open the manual of this version: tutorial, how-to, every key and command, upgrading, CI, security."""
    text = manual_html(command_helps(context.find_root().command), starters())
    if into is not None:
        try:
            into.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            fail(f"--into: read {one_line(into)}, {error.strerror}; allowed: a folder that can be written")
        if (into / FILE).exists() and not _is_manual(into / FILE):
            fail(
                f"--into: read {one_line(into)} with another {FILE} in it; allowed: a folder without one, or with a manual"
            )
        write_file(into / FILE, text, err=False)
        return
    # A new folder of its own: nobody else can put another file in its place before the browser opens it.
    place = Path(tempfile.mkdtemp(prefix="handbook-manual-")) / FILE
    place.write_text(text, "utf-8")
    click.echo(place)
    click.launch(str(place))


def _is_manual(file: Path) -> bool:
    try:
        return TITLE in file.read_text("utf-8", "replace")[:2000]
    except OSError:
        return False


def command_helps(group: click.Command, before: tuple[str, ...] = ()) -> list[CommandHelp]:
    """The help of every command, groups before their own commands."""
    found: list[CommandHelp] = []
    for name in sorted(getattr(group, "commands", {})):
        command = group.commands[name]  # type: ignore[attr-defined]
        path = (*before, name)
        context = click.Context(
            command, info_name=" ".join(("handbook", *path)), terminal_width=100, max_content_width=100
        )
        usage, _, text = command.get_help(context).partition("\n\n")
        found += [CommandHelp(name=" ".join(path), usage=usage, text=text), *command_helps(command, path)]
    return found


def starters() -> list[Starter]:
    """The families of methods with their starter pages."""
    return [Starter(name=name, about=about, page=family_page(name, name)) for name, about in FAMILIES.items()]
