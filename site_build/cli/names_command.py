"""The command ``names``: what pages may name, by any word that cooks use for it."""

from __future__ import annotations

from pathlib import Path

import click

from handbook.base.errors import FaultsError, printable
from handbook.catalogue.name_resolver import NameList, food_names, ingredient_names, may_be_curing_salt
from handbook.catalogue.other_names import KINDS, find_names
from handbook.catalogue.own_columns import COLUMNS, columns_text
from handbook.catalogue.tables import Tables, engine_tables
from handbook.folder.handbook import open_handbook
from handbook.folder.kitchen import HOUSE_FILE
from site_build.cli.methods_folder import MethodsFolder
from site_build.cli.starter import FAMILIES
from site_build.cli.terminal import say


@click.command()
@click.argument("words", nargs=-1)
@click.option("--folder", type=MethodsFolder(), default="methods", help="A handbook, whose own foods are listed too.")
@click.option("--families", is_flag=True, help="List the families of methods, for handbook new --family.")
@click.option("--columns", type=click.Choice(tuple(COLUMNS)), help="The columns of a house's own table, and its head.")
def names(words: tuple[str, ...], folder: Path, families: bool, columns: str | None) -> None:
    """List the foods and ingredients that pages may name; WORDS narrow the list, trade names included."""
    if columns:
        say(columns_text(columns))
        return
    if families:
        _say_families()
        return
    tables, said = tables_of(folder), " ".join(words)
    if words and may_be_curing_salt(said):
        _say_curing(said, tables)
        return
    found = find_names(words, tables)
    if not found:
        _say_near(said, tables)
        return
    for group in KINDS:
        say([f"{group}s:"])
        for each in found:
            if each.group == group:
                also = f"; also called {', '.join(each.said_as)}" if each.said_as else ""
                say([f"  {each.name}  ({each.kind}{also})"])
    if not words:
        _say_families()


def register(main: click.Group) -> None:
    """Add the command to ``main``."""
    main.add_command(names)


def tables_of(folder: Path) -> Tables:
    """The tables of the handbook in ``folder``; the engine's own where there is none, or none that can be read."""
    try:
        return open_handbook(folder).catalogue if (folder / HOUSE_FILE).is_file() else engine_tables()
    except FaultsError:
        return engine_tables()


def _say_families() -> None:
    say(["families (handbook new PAGE.md --family NAME):"])
    say(f"  {name}  ({meant})" for name, meant in FAMILIES.items())


def _say_curing(said: str, tables: Tables) -> None:
    """Curing salts by their strength: a name on a packet does not say it, its label does."""
    known = ingredient_names(tables).resolve(said)
    meant = [each for each in (known.name, *known.candidates) if each]
    if not meant:
        say(
            [
                f'"{printable(said)}" may hold nitrite or nitrate of a strength that no row states: read its label; it is no salt.'
            ]
        )
        say(["A curing salt of your own is a row of ingredients.csv: handbook names --columns ingredients"])
        return
    say([f'"{printable(said)}" may be said of a curing salt, never of salt. The label says which:'])
    for name in meant:
        each = tables.ingredients[name]
        parts = [(each.nitrite, "sodium nitrite"), (each.nitrate, "sodium nitrate"), (each.salt, "salt")]
        say([f"  {name}  ({', '.join(f'{part * 100:.3g} % {what}' for part, what in parts if part)})"])


def _say_near(said: str, tables: Tables) -> None:
    say([f'No name holds all the words "{printable(said)}". Near ones:'])
    groups: tuple[tuple[str, NameList], ...] = (
        ("food", food_names(tables)),
        ("ingredient", ingredient_names(tables)),
    )
    for group, known in groups:
        meant = known.resolve(said)
        say(f"{group}: {name}" for name in filter(None, (meant.name, *meant.candidates)))
    say(["A new one is a row of your foods.csv or ingredients.csv: handbook names --columns foods, or ingredients"])
