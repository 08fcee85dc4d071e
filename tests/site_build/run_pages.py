"""Demo pages read alone, with their runs or with others."""

from functools import lru_cache
from pathlib import Path

from msgspec.structs import replace

from handbook.folder.handbook import Handbook, open_handbook
from handbook.folder.read_page import Page, read_page
from handbook.folder.run_files import RunText

METHODS = Path(__file__).resolve().parent.parent.parent / "methods"


@lru_cache
def handbook() -> Handbook:
    """The demo."""
    return open_handbook(METHODS)


def kitchen():
    """(house, tables) of the demo."""
    return handbook().house, handbook().catalogue


@lru_cache
def page(name: str, runs: tuple[RunText, ...] | None = None) -> Page:
    """One demo page with its own runs, or with ``runs``."""
    source = handbook().source.page(f"{name}.md")
    return read_page(source if runs is None else replace(source, runs=runs), handbook().kitchen)


def page_method(name: str):
    """The method of one demo page."""
    return page(name, ()).method
