"""``handbook words``: the site's words to translate, and what a team's catalogue leaves out."""

from __future__ import annotations

import json
import os
from pathlib import Path

import click

from handbook.base.errors import HandbookError
from handbook.base.wording import ENGLISH
from handbook.folder.source import read_source
from handbook.folder.words_file import WORDS_FILE
from site_build.base.places import own_tree, source_place
from site_build.cli.methods_folder import MethodsFolder
from site_build.cli.terminal import fail, say, write_file
from site_build.outputs.word_list import all_messages, missing, template, unknown, updated

#: Missing messages that are named; the rest are counted.
NAMED = 20


def register(main: click.Group) -> None:
    """Add the command to the group."""
    main.add_command(words)


@click.command()
@click.argument("folder", type=MethodsFolder(), default="methods")
@click.option("--template", "is_template", is_flag=True, help="Print every message as a catalogue to translate (.pot).")
@click.option("--update", is_flag=True, help="Write new messages into the catalogue of FOLDER; translations stay.")
@click.option("--quiet", is_flag=True, help="Print only faults.")
@click.option("--as", "form", type=click.Choice(("text", "json")), default="text", help="Form of the report.")
def words(folder: Path, is_template: bool, update: bool, quiet: bool, form: str) -> None:
    """Say which of the site's words the catalogue of FOLDER, words.po, does not translate.

    Set `language` in the house file, run this with --update, translate the messages in words.po, and build. A message without a
    translation stays English. Exit: 0 all translated, 1 faults or messages without a translation.
    """
    if is_template:
        click.echo(template(), nl=False)
        return
    try:
        place = source_place(folder)
        if not os.path.isdir(place):
            fail(f"{folder.name}: read no folder; allowed: a folder of method pages with a house.yml")
        source = read_source(place, wanted=lambda path: "/" not in path and path.endswith((".yml", ".po", ".csv")))
        wording = source.kitchen().wording
    except HandbookError as error:
        fail(str(error))
    if update:
        if wording.language == ENGLISH and not wording.messages:
            fail(f"{folder.name}/house.yml:1: language: read en; allowed: another language to translate into")
        old = source.contents.get(WORDS_FILE, b"").decode("utf-8-sig")
        text = updated(old, wording.language) if old else template(wording.language)
        write_file(place / WORDS_FILE, text, own_tree(place), err=False)
        return
    left, gone = missing(wording), unknown(wording)
    is_whole = wording.language == ENGLISH or not left
    if form == "json":
        report = {
            "format": 1,
            "language": wording.language,
            "messages": len(all_messages()),
            "missing": left,
            "unknown": gone,
        }
        click.echo(json.dumps(report, ensure_ascii=False, indent=1))
    elif not quiet:
        _say_report(wording.language, left, gone)
    if not is_whole:
        raise SystemExit(1)


def _say_report(language: str, left: list[str], gone: list[str]) -> None:
    count = len(all_messages())
    if language == ENGLISH:
        say([f"en: {count} messages; the house file names no other language"])
        return
    say([f"{language}: {count - len(left)} of {count} messages translated"])
    say([f"  missing: {each}" for each in left[:NAMED]])
    if len(left) > NAMED:
        say([f"  and {len(left) - NAMED} more"])
    say([f"  no longer said: {each}" for each in gone[:NAMED]])
