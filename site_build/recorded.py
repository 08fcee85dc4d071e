"""The figures of a whole build, written beside its site."""

from __future__ import annotations

from pathlib import Path

from handbook import __version__
from site_build.book import Book
from site_build.figures import FILE, Recorded, digest, figures_text
from site_build.method_figures import house_text, method_figures


def recorded(book: Book) -> Recorded:
    """The figures of every method of ``book``."""
    methods = {page.path: method_figures(page.report, page.text, book.house, book.tables) for page in book.methods}
    return Recorded(__version__, digest(house_text(book.house, book.tables), 12), methods)


def figures_json(book: Book) -> str:
    """The figures of every method as stable, sorted JSON text."""
    return figures_text(recorded(book))


def write_figures(book: Book, site: Path) -> Path:
    """Write the figures into the site's folder; the path written."""
    path = site / FILE
    path.write_text(figures_json(book), "utf-8", "backslashreplace", newline="\n")
    return path
