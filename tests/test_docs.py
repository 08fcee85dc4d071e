"""The documents do not drift from the program."""

import re
from pathlib import Path

from handbook.catalogue.tables import engine_tables
from handbook.folder.page_text import split_page
from handbook.page.method import BLOCKS, SALTING_KINDS, Vocabulary
from handbook.page.read_method import read_method
from site_build.cli.main import main

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text("utf-8")


def test_every_command_is_in_the_readme():
    """Each command of ``handbook`` has its row."""
    for name in main.commands:
        assert re.search(rf"^\| `handbook {name}\b", README, re.M), name


def test_every_block_and_salting_is_in_the_readme():
    """Each block and each way of salting is named."""
    for word in (*BLOCKS, *SALTING_KINDS):
        assert word in README, word


def test_the_readme_page_reads_without_a_fault():
    """The page printed in the README is a method."""
    page = re.search(r"````markdown\n(.*?)````", README, re.S)[1]
    text, faults = split_page(page, "README.md")
    tables = engine_tables()
    words = Vocabulary(foods=tuple(tables.foods), ingredients=tuple(tables.ingredients), containers=())
    method, found = read_method("README.md", "page", text.head, list(text.blocks), words, "us")
    assert not faults and not found and method.sheet.title == "Char in a quick brine"


def test_every_source_is_used_or_named():
    """Every source key of the list stands in the engine, its data or the models' page."""
    from handbook.base.sources import sources

    places = (
        [
            path.read_text("utf-8")
            for folder in ("handbook", "site_build")
            for path in (ROOT / folder).rglob("*")
            if path.suffix in (".py", ".csv", ".yml", ".html") and path.name != "sources.yml"
        ]
        if (ROOT / "handbook").is_dir()
        else []
    )
    if places:
        unused = [key for key in sources() if not any(key in text for text in places)]
        assert unused == []
