"""The whole handbook as one document for paper: its working sheets and pages one after the other, with contents by food.

Only ids and links of the pages change, so that they remain unique and lead within the document. Browsers cannot print
the page number of a link's target; the document is therefore printed twice, first to find the page on which each
chapter begins, then with these numbers.
"""

from __future__ import annotations

import posixpath
import re
from html import escape, unescape
from html.parser import HTMLParser
from pathlib import Path

from msgspec import Struct

from site_build.html.render import render
from site_build.outputs.bundles import STYLE
from site_build.outputs.closed_server import POLICY
from site_build.reading.book import LAYERS, OWN_FOLDERS

#: Generated pages for paper, in this order, after the methods and the house's own pages.
REFERENCE = ("brines", "weights", "strength", "limits", "sources", "glossary", "figures")
#: Pages that only work on a screen, or that the contents replace.
NOT_ON_PAPER = ("index", "404", "side-by-side", "whole-handbook", "in-progress")
STYLES = (STYLE, "assets/css/whole.css")
SIZES = {"A4": "A4", "Letter": "letter"}
_VOID = {"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr"}
_IDS = {"id", "for", "aria-labelledby", "aria-describedby", "aria-controls", "headers"}
#: Controls, elements that load or run something, and smaller pictures: paper uses the largest.
_DROPPED_TAGS = {"script", "dialog", "form", "button", "template", "link", "meta", "base", "style"} | {
    *("iframe", "frame", "object", "embed", "applet", "source", "video", "audio"),
}
_DROPPED_CLASSES = {"bar-tool", "layers", "doors", "needs-scripts", "wall-card", "no-print"}


class Chapter(Struct, frozen=True, kw_only=True):
    """One page of the site: its address, title, and whether it is a method, with its food."""

    url: str
    title: str
    is_method: bool
    food: str = ""


def chapters(site: Path, with_dossiers: bool = False) -> tuple[Chapter, ...]:
    """The pages of a built site that go on paper: methods by title, the house's own pages, the reference pages.

    A method is its working sheet; ``with_dossiers`` its further pages follow it.
    """
    found = []
    for path in sorted(site.rglob("*.html")):
        url = path.relative_to(site).as_posix()
        text = path.read_text("utf-8")
        is_further = url.endswith(tuple(f".{layer}.html" for layer in LAYERS)) and 'class="layer-head"' in text
        if (is_further and not with_dossiers) or url.startswith(OWN_FOLDERS):
            continue
        if url.removesuffix(".html") not in NOT_ON_PAPER and 'class="sheet-body"' in text:
            food = re.search(r'data-said-food="([^"]*)"', text)
            title = _heading(text) + (f": {LAYERS[url.split('.')[-2]].casefold()}" if is_further else "")
            is_method = is_further or 'class="method-head"' in text
            found.append(Chapter(url=url, title=title, is_method=is_method, food=unescape(food[1]) if food else ""))
    names = [f"{name}.html" for name in REFERENCE]
    methods = sorted((each for each in found if each.is_method), key=lambda each: each.title.casefold())
    own = [each for each in found if not each.is_method and each.url not in names]
    reference = sorted((each for each in found if each.url in names), key=lambda each: names.index(each.url))
    return (*methods, *own, *reference)


def paper_document(site: Path, pages: dict[str, int] | None = None, with_dossiers: bool = False) -> str:
    """One HTML document of the whole site, to stand in its folder; ``pages`` are the chapters' page numbers by id."""
    parts = chapters(site, with_dossiers)
    places = {each.url: f"c{number}" for number, each in enumerate(parts, 1)}
    kitchen = _heading((site / "index.html").read_text("utf-8"))
    foods = sorted({each.food for each in parts if each.food}, key=str.casefold)
    groups = (
        ("Methods", [each for each in parts if each.is_method]),
        ("Reference", [each for each in parts if not each.is_method]),
        *((f"By food: {food}", [each for each in parts if each.food == food]) for food in foods),
    )
    return _document(
        title=kitchen,
        chapters=[(places[each.url], _inner((site / each.url).read_text("utf-8"), each.url, places)) for each in parts],
        groups=groups,
        methods=sum(each.is_method for each in parts),
        places=places,
        pages=pages or {},
    )


def single_document(html: str, url: str, title: str) -> str:
    """One page as a document of its own for paper: ``html`` is the content of the page at ``url``."""
    page = f'<div class="sheet-body">{html}</div>'
    return _document(title=title, chapters=[("c1", _inner(page, url, {url: "c1"}))], groups=())


def paper_style(size: str) -> str:
    """The style sheet that sets the paper's size; ``size`` is a key of SIZES."""
    return f"@page {{ size: {SIZES[size]}; }}\n"


def _document(**values) -> str:
    return render("paper.html", styles=STYLES, policy=POLICY, **values)


def _inner(html: str, url: str, places: dict[str, str]) -> str:
    body = _Body(url, places)
    body.feed(html)
    body.close()
    return "".join(body.kept)


def _heading(text: str) -> str:
    match = re.search(r"<h1[^>]*>(.*?)</h1>", text, re.S)
    return unescape(re.sub(r"<[^>]+>", "", match[1])).strip() if match else ""


class _Body(HTMLParser):
    """Copies the content of the page's sheet body, without elements for the screen only."""

    def __init__(self, url: str, places: dict[str, str]):
        super().__init__(convert_charrefs=False)
        self.kept: list[str] = []
        self._url, self._places = url, places
        self._depth = 0  # open elements from the sheet body on; 0 outside it
        self._dropping = 0  # depth of the omitted element, or 0
        self._ids: set[str] = set()

    def handle_starttag(self, tag, attrs):
        is_void = tag in _VOID
        if self._depth == 0:
            self._depth = int(("class", "sheet-body") in attrs)
            return
        if not self._dropping and self._is_dropped(tag, dict(attrs)):
            self._dropping = 0 if is_void else self._depth + 1
        elif not self._dropping:
            self.kept.append(self._tag(tag, attrs, ""))
        self._depth += not is_void

    def handle_startendtag(self, tag, attrs):
        if self._depth and not self._dropping and not self._is_dropped(tag, dict(attrs)):
            self.kept.append(self._tag(tag, attrs, "/"))

    def handle_endtag(self, tag):
        if self._depth == 0 or tag in _VOID:
            return
        if self._depth > 1 and not self._dropping:
            self.kept.append(f"</{tag}>")
        if self._dropping == self._depth:
            self._dropping = 0
        self._depth = self._depth - 1 if self._depth > 1 else 0

    def handle_data(self, data):
        self._keep(data)

    def handle_entityref(self, name):
        self._keep(f"&{name};")

    def handle_charref(self, name):
        self._keep(f"&#{name};")

    def _keep(self, text: str) -> None:
        if self._depth and not self._dropping:
            self.kept.append(text)

    def _is_dropped(self, tag: str, attributes: dict) -> bool:
        return tag in _DROPPED_TAGS or not _DROPPED_CLASSES.isdisjoint((attributes.get("class") or "").split())

    def _tag(self, tag: str, attrs, end: str) -> str:
        return f"<{tag}{''.join(self._attribute(*each) for each in attrs)}{end}>"

    def _attribute(self, name: str, value: str | None) -> str:
        if name in ("hidden", "tabindex", "loading", "srcset", "style", "ping", "background") or name.startswith("on"):
            return ""  # paper does not scroll: everything is loaded at once
        if value is None:
            return f" {name}"
        if name in _IDS:
            value = " ".join(f"{self._places[self._url]}-{each}" for each in value.split())
            if name == "id" and value in self._ids:
                return ""  # a link finds the first of two equal ids; the second makes the document invalid
            self._ids |= {value} if name == "id" else set()
        elif name in ("href", "xlink:href"):
            value = self._link(value)
        elif name == "src":
            value = self._picture(value)
        return f' {name}="{escape(value)}"' if value else ""

    def _picture(self, address: str) -> str:
        """The address from the document's folder; empty for a file outside the site, whose words are printed instead."""
        path = posixpath.normpath(posixpath.join(posixpath.dirname(self._url), address))
        is_own = not re.match(r"[a-z][a-z0-9+.-]*:|[/\\]|\.\.(/|$)", path, re.I)
        return path if is_own else ""

    def _link(self, address: str) -> str:
        """A link within the document where its target is printed, an unchanged one to other sites, otherwise none."""
        if re.match(r"(https?|mailto):", address):
            return address
        file, _, anchor = address.partition("#")
        url = posixpath.normpath(posixpath.join(posixpath.dirname(self._url), file)) if file else self._url
        place = self._places.get(url)
        return f"#{place}-{anchor}" if place and anchor else f"#{place}" if place else ""
