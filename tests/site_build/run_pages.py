"""Demo pages read alone, with their runs or with others."""

from functools import lru_cache
from pathlib import Path

from handbook.page.house import vocabulary
from handbook.page.ingredient_lines import ingredient_names
from site_build.reading.read_page import ReadPage, read_page
from site_build.reading.run_files import RunText, run_texts
from site_build.reading.source import read_source

METHODS = Path(__file__).resolve().parent.parent.parent / "methods"


@lru_cache
def kitchen():
    """(house, tables) of the demo."""
    found = read_source(METHODS).kitchen()
    return found.house, found.tables


@lru_cache
def page(name: str, runs: tuple[RunText, ...] | None = None) -> ReadPage:
    """One demo page with its own runs, or with ``runs``."""
    house, tables = kitchen()
    words = vocabulary(house, tuple(tables.foods), ingredient_names(tables))
    paths = {each.relative_to(METHODS).as_posix() for each in METHODS.rglob("*") if each.is_file()}
    if runs is None:
        runs = run_texts(f"{name}.md", "methods", paths, lambda each: (METHODS / each).read_bytes())
    text = (METHODS / f"{name}.md").read_text("utf-8")
    return read_page(text, f"methods/{name}.md", f"{name}.md", paths, words, house, tables, runs)


def page_method(name: str):
    """The method of one demo page."""
    return page(name, ()).method
