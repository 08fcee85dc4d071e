"""What is made of a site once all its pages are written."""

from __future__ import annotations

from pathlib import Path

from site_build.book import Book
from site_build.bundles import join_assets
from site_build.offline import write_offline
from site_build.pictures import write_pictures
from site_build.search import write_search
from site_build.sharing import write_sharing
from site_build.side_by_side import write_side_by_side


def finish_site(book: Book, folder: Path, site: Path, is_preview: bool = False) -> None:
    """Pictures, search, comparison, feed and sitemap, and last of all the copy to keep, which lists every file.

    A preview has no copy to keep: its pages change with every edit.
    """
    join_assets(site)
    write_pictures(folder, site)
    write_search(book, site)
    write_side_by_side(book, site)
    write_sharing(book, site)
    if not is_preview:
        write_offline(book, site)
