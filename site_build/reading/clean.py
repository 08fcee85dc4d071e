"""The author's own HTML, cleaned against a small allow-list. nh3 (the ammonia sanitiser) parses it as a browser does."""

from __future__ import annotations

import re
from collections.abc import Iterable
from html import unescape

import nh3

from handbook.base.errors import HandbookError

SAFE_SCHEMES = ("http", "https", "mailto")

#: Elements that an author's HTML may contain. Of other elements the words remain, of scripts and styles nothing.
ALLOWED_TAGS = frozenset(
    {"h1", "h2", "h3", "h4", "h5", "h6", "p", "div", "blockquote", "pre", "br", "hr"}
    | {"ul", "ol", "li", "dl", "dt", "dd"}
    | {"table", "caption", "thead", "tbody", "tr", "th", "td"}
    | {"a", "img", "abbr", "b", "cite", "code", "del", "em", "i", "ins", "kbd", "q", "s", "small", "strong"}
    | {"sub", "sup", "u"}
)
ALLOWED_ATTRIBUTES = {
    "*": {"id", "title", "lang", "dir"},
    "a": {"href"},
    "img": {"src", "alt", "width", "height"},
    "td": {"align", "colspan", "rowspan"},
    "th": {"align", "colspan", "rowspan", "scope"},
    "ol": {"start"},
}


#: Misnested elements become stable in two passes. HTML that needs more passes is refused.
_MOST_READINGS = 6
_SCHEME = re.compile(r"[a-z][a-z0-9+.-]*(?=:)")


class UnstableHtmlError(HandbookError):
    """HTML that parses differently each time it is written."""


def clean_html(html: str, schemes: Iterable[str] = SAFE_SCHEMES) -> str:
    """``html`` with only the allowed elements and attributes, and with links of ``schemes`` or none.

    The result is stable: a browser that parses it finds the same elements.

    Raises UnstableHtmlError.
    """
    allowed, most = set(schemes), 10 * len(html) + 10_000
    for _ in range(_MOST_READINGS):
        before, html = html, _cleaned(html, allowed)
        if html == before:
            return html
        if len(html) > most:
            break
    raise UnstableHtmlError("HTML that changes whenever a browser reads it")


def schemes_in(html: str) -> set[str]:
    """Every word that may be the scheme of an address in ``html``, however it is written. For reports, not for
    permission.
    """
    # A browser removes line ends and tabs from an address and decodes its escapes.
    return set(_SCHEME.findall(re.sub(r"[\t\n\f\r]", "", unescape(html)).lower()))


def _cleaned(html: str, schemes: set[str]) -> str:
    return nh3.clean(html, tags=set(ALLOWED_TAGS), attributes=ALLOWED_ATTRIBUTES, url_schemes=schemes, link_rel=None)
