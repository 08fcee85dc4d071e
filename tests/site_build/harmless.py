"""Whether an HTML page can run or load anything: parsed as a browser parses it (html5lib, the WHATWG algorithm)."""

from __future__ import annotations

import re
from base64 import b64encode
from hashlib import sha256
from urllib.parse import urlsplit

import html5lib

#: Script elements that hold data: a browser does not run these types.
DATA_TYPES = ("application/json", "application/ld+json")
FORBIDDEN = ("iframe", "frame", "object", "embed", "applet", "base", "foreignobject", "animate", "set")
ADDRESSES = ("href", "src", "action", "formaction", "data", "poster", "srcset", "cite", "background", "xlink:href")


def harm(html: str, may_style: bool = False) -> list[str]:
    """What in ``html`` could run, load or restyle; ``may_style`` lets style elements be (never style attributes)."""
    found, let_in = [], policy(html)
    for element in html5lib.parse(html, treebuilder="etree", namespaceHTMLElements=False).iter():
        if not isinstance(element.tag, str):
            continue
        tag = element.tag.rpartition("}")[2].lower()
        if tag in FORBIDDEN or (tag == "style" and not may_style and not _is_let_in(element, let_in)):
            found.append(f"<{tag}>")
        if tag == "form" and "action" in element.attrib:  # the reader's tools are forms that send nothing
            found.append("<form action>")
        if tag == "script" and not _is_own(element) and not _is_let_in(element, let_in):
            found.append(f"<script> {element.attrib} {(element.text or '')[:60]}")
        if tag == "meta" and (element.get("http-equiv") or "").lower() not in ("", "content-security-policy"):
            found.append(f"<meta> {element.attrib}")
        found += [f"{name}={value} in <{tag}>" for name, value in element.attrib.items() if _is_harmful(name, value)]
    return found


def policy(html: str) -> dict[str, str]:
    """The page's Content-Security-Policy: directive -> sources. Empty where the page has none, or not in its head.

    A parser goes forwards: what stands before the body gives the same head as the whole page.
    """
    start = html.partition("<body")[0]
    head = html5lib.parse(start, treebuilder="etree", namespaceHTMLElements=False).find("head")
    for meta in head.iter("meta"):
        if (meta.get("http-equiv") or "").lower() == "content-security-policy":
            parts = (each.strip().partition(" ") for each in meta.get("content").split(";"))
            return {name: sources for name, _, sources in parts}
    return {}


def _is_let_in(element, let_in: dict[str, str]) -> bool:
    """Whether the page's policy lets in this very text, by its hash."""
    mark = b64encode(sha256((element.text or "").encode()).digest()).decode()
    return not element.attrib and f"'sha256-{mark}'" in let_in.get(f"{element.tag}-src", "").split()


def _is_own(element) -> bool:
    if element.get("type") in DATA_TYPES:
        return True
    source = element.get("src") or ""
    return not (element.text or "").strip() and bool(re.fullmatch(r"(?:/|(?:\.\./)*)assets/[a-z_]+\.js", source))


def _is_harmful(name: str, value: str) -> bool:
    name = name.rpartition("}")[2].lower() if "}" in name else name.lower()
    if name.startswith("on") or name in ("style", "srcdoc"):
        return True
    if name not in ADDRESSES or value == "data:,":  # the latter is an empty text
        return False
    bare = re.sub(r"[\x00-\x20]", "", value)
    return urlsplit(bare).scheme not in ("", "http", "https", "mailto", "webcal")
