"""Checks the links and pictures of pages: dead ones, unsafe ones, pictures without alternative text."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache
from posixpath import dirname, join, normpath, relpath
from urllib.parse import quote, unquote, urlsplit, urlunsplit

from msgspec import Struct

from handbook.base.did_you_mean import nearest
from handbook.base.errors import PageError
from handbook.folder.file_names import DATA, PICTURES
from site_build.reading.clean import SAFE_SCHEMES

#: Characters that browsers remove from an address or read as another. The written address would not be the one
#: followed.
_ODD = re.compile(r"[\x00-\x1f\x7f-\x9f\\]")
_OUTSIDE = re.compile(r"https?://[^/?#]|mailto:", re.I)


class Link(Struct, frozen=True, kw_only=True):
    """One link or picture of a page as its cleaned HTML contains it.

    A link without a valid address is not ``is_sound``; its ``target`` is the address that its line seems to state.
    """

    target: str
    words: str
    is_picture: bool
    line: int
    is_sound: bool = True


def check_links(file: str, page_path: str, links: Iterable[Link], known: set[str]) -> list[PageError]:
    """Faults of the links of one page.

    ``page_path`` is the page's path in the methods folder, ``known`` every path of the site (pages, generated pages,
    pictures), all with forward slashes.
    """
    faults = []
    for link in links:
        fault = _fault(page_path, link, known)
        if fault:
            key = "picture" if link.is_picture else "link"
            faults.append(PageError(file, link.line, key, *fault))
    return faults


def link_target(page_path: str, address: str) -> str:
    """The path in the methods folder to which a valid address leads; empty where it leads elsewhere."""
    return _resolved(dirname(page_path), address)


def site_address(page_path: str, address: str) -> str:
    """The address in the site's form: pages by their HTML file, every path in its shortest form."""
    target = link_target(page_path, address)
    if not target:
        return address
    url = target.removesuffix(".md") + ".html" if target.endswith(".md") else target
    parts = urlsplit(address)
    return urlunsplit(("", "", quote(relpath(url, dirname(page_path) or ".")), parts.query, parts.fragment))


@lru_cache(maxsize=1 << 16)
def _resolved(folder: str, address: str) -> str:
    """Whether no part of the path is hidden and none leads out of the folder."""
    try:
        parts = urlsplit(address)
    except ValueError:
        return ""
    path = unquote(parts.path)
    if parts.scheme or parts.netloc or not path or path.startswith("/") or _ODD.search(address) or _ODD.search(path):
        return ""
    target = normpath(join(folder, path))
    return "" if any(part.startswith(".") for part in target.split("/")) else target


def _fault(page_path: str, link: Link, known: set[str]) -> tuple[str, str] | tuple[str, str, str] | None:
    if link.is_picture and not link.words.strip():
        read = f"no words for {link.target or 'a picture'}"
        return read, "words for those who cannot see the picture, between the brackets"
    if not link.is_sound:
        return link.target or "no address", "a path or an address"
    if "\\" not in link.target and _ODD.search(link.target):
        return link.target, "an address without line ends and control characters"
    try:
        parts = urlsplit(link.target)
    except ValueError:  # an invalid address in brackets
        return link.target, "a path or an address"
    if parts.scheme or (parts.netloc and link.is_picture):
        return _outside_fault(link, parts.scheme)
    if not parts.path and not parts.netloc and not link.target.startswith("//"):
        return (link.target, "a picture in the methods folder") if link.is_picture else None
    return _inside_fault(page_path, link, known)


def _outside_fault(link: Link, scheme: str) -> tuple[str, str] | None:
    if link.is_picture:
        return link.target, "a picture in the methods folder"
    if scheme not in SAFE_SCHEMES:
        return link.target, f"a path or a link of {', '.join(SAFE_SCHEMES)}"
    # Without two slashes and a host, a browser takes an address for a path.
    is_whole = _OUTSIDE.match(link.target) and "\\" not in link.target
    return None if is_whole else (link.target, "an address with its host, https://…")


def _inside_fault(page_path: str, link: Link, known: set[str]) -> tuple[str, str] | tuple[str, str, str] | None:
    path = unquote(urlsplit(link.target).path)
    if link.target.startswith("/") or path.startswith("/") or "\\" in link.target or "\\" in path:
        return link.target, "a path from the page's own folder, with forward slashes"
    target = link_target(page_path, link.target)
    if not target:
        return link.target, "a path inside the methods folder"
    if link.is_picture and not target.lower().endswith(PICTURES):
        return link.target, f"a picture ({', '.join(PICTURES)})"
    if target.endswith(DATA):
        return link.target, "a page, a picture or a text: the house's data are not published"
    if target in known or _is_day_page(target, known):
        return None
    wanted = "an existing picture" if link.is_picture else "an existing page"
    return link.target, wanted, nearest(target, known)


def _is_day_page(target: str, known: set[str]) -> bool:
    """Whether the page is that of a day's wish file."""
    return target.startswith("days/") and target.endswith(".md") and target.removesuffix(".md") + ".yml" in known
