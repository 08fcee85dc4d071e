"""``handbook new``: a commented starter page."""

from __future__ import annotations

import os
from pathlib import Path

import click

from handbook.base.errors import format_fault, printable
from handbook.catalogue.name_resolver import food_names
from handbook.folder.kitchen import HOUSE_FILE
from site_build.base.places import one_line, own_tree, source_place
from site_build.cli.names_command import tables_of
from site_build.cli.starter import FAMILIES, family_page, refused_name, starter_house, starter_page
from site_build.cli.terminal import fail, or_exit, write_file


def register(main: click.Group) -> None:
    """Add the command to the group."""
    main.add_command(new)


@click.command()
@click.argument("page", type=click.Path(path_type=Path))
@click.option("--food", default="", help="A food of the handbook.")
@click.option("--kind", default="cook", show_default=True, help="Kind of method, without a family.")
@click.option("--family", type=click.Choice(tuple(FAMILIES)), help="A family: its page has blanks that check asks for.")
def new(page: Path, food: str, kind: str, family: str | None) -> None:
    """Write a commented starter page at PAGE, and a house file beside it where there is none."""
    if page.suffix != ".md":
        fail(f'PAGE: read "{printable(page.name)}"; allowed: a name that ends in .md')
    if fault := refused_name(page.stem):
        fail(f"PAGE: {fault}")
    if os.path.exists(page):
        fail(f'PAGE: read "{one_line(page)}"; allowed: a page that does not exist yet')
    tables = tables_of(page.parent)
    found = food_names(tables).resolve(food)
    if food and not found.name:
        fail(f"--food: {format_fault(food, 'a food of the handbook; handbook names lists them', found.question)}")
    if family:
        text = family_page(family, page.stem, food=found.name)
    else:
        text = or_exit(starter_page, page.stem, found.name or "trout, rainbow, farmed", kind, tables)
    or_exit(source_place, page)
    house = page.parent / HOUSE_FILE
    for file, written in ((house, starter_house()), (page, text)):
        if file == page or not os.path.exists(house):
            write_file(file, written, own_tree(page.parent), is_new=True, err=False)
