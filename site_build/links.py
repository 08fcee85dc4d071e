"""Check the links and pictures of pages: dead ones, unsafe ones, pictures without words."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from posixpath import dirname, join, normpath
from urllib.parse import unquote, urlsplit

from handbook.errors import PageError
from handbook.names import nearest
from site_build.blocks import Link

SAFE_SCHEMES = ("http", "https", "mailto")


def check_links(file: str, page_path: str, links: Iterable[Link], known: set[str]) -> list[PageError]:
    """Faults of the links of one page.

    ``page_path`` is the page's path in the methods folder, ``known`` every path that the site will hold
    (pages, generated pages, pictures), all with forward slashes.
    """
    faults = []
    for link in links:
        fault = _fault(page_path, link, known)
        if fault:
            key = "picture" if link.is_picture else "link"
            faults.append(PageError(file, link.line, key, *fault))
    return faults


def link_target(page_path: str, link: Link) -> str:
    """The path in the methods folder that a sound link leads to; an empty text where it leads elsewhere."""
    return _resolved(dirname(page_path), link.target)


@lru_cache(maxsize=1 << 16)
def _resolved(folder: str, address: str) -> str:
    parts = urlsplit(address)
    if parts.scheme or parts.netloc or not parts.path:
        return ""
    return normpath(join(folder, unquote(parts.path)))


def _fault(page_path: str, link: Link, known: set[str]) -> tuple[str, str] | tuple[str, str, str] | None:
    if link.is_picture and not link.words.strip():
        return f"no words for {link.target}", "words for those who cannot see the picture, between the brackets"
    try:
        parts = urlsplit(link.target)
    except ValueError:  # an address in brackets that is none
        return link.target, "a path or an address"
    if parts.scheme or parts.netloc:
        if link.is_picture:
            return link.target, "a picture in the methods folder"
        return None if parts.scheme in SAFE_SCHEMES else (link.target, f"a path or a link of {', '.join(SAFE_SCHEMES)}")
    if not parts.path:
        return None
    path = unquote(parts.path)
    if path.startswith("/") or "\\" in path:
        return link.target, "a path from the page's own folder, with forward slashes"
    target = link_target(page_path, link)
    if target.startswith(".."):
        return link.target, "a path inside the methods folder"
    if target in known or _is_day_page(target, known):
        return None
    wanted = "a picture that is there" if link.is_picture else "a page that is there"
    return link.target, wanted, nearest(target, known)


def _is_day_page(target: str, known: set[str]) -> bool:
    """Whether a day's wish file stands where the generator will make the page."""
    return target.startswith("days/") and target.endswith(".md") and target.removesuffix(".md") + ".yml" in known
