"""The author's own HTML, cleaned against a small allow-list; nh3 (the ammonia sanitiser) parses it as a browser would."""

from __future__ import annotations

import nh3

from site_build.links import SAFE_SCHEMES

#: Elements that an author's HTML may keep; of the others the words stay, of scripts and styles nothing.
ALLOWED_TAGS = frozenset(
    [
        "a",
        "abbr",
        "b",
        "blockquote",
        "br",
        "caption",
        "cite",
        "code",
        "dd",
        "del",
        "div",
        "dl",
        "dt",
        "em",
        "h1",
        "h2",
        "h3",
        "h4",
        "h5",
        "h6",
        "hr",
        "i",
        "img",
        "ins",
        "kbd",
        "li",
        "ol",
        "p",
        "pre",
        "q",
        "s",
        "small",
        "strong",
        "sub",
        "sup",
        "table",
        "tbody",
        "td",
        "th",
        "thead",
        "tr",
        "u",
        "ul",
    ]
)
ALLOWED_ATTRIBUTES = {
    "*": {"id", "title", "lang", "dir"},
    "a": {"href"},
    "img": {"src", "alt", "width", "height"},
    "td": {"align", "colspan", "rowspan"},
    "th": {"align", "colspan", "rowspan", "scope"},
    "ol": {"start"},
}


def clean_html(html: str) -> str:
    """``html`` with the allowed elements and attributes only, and links of the safe schemes or none."""
    return nh3.clean(
        html,
        tags=set(ALLOWED_TAGS),
        attributes=ALLOWED_ATTRIBUTES,
        url_schemes=set(SAFE_SCHEMES),
        link_rel=None,
    )
