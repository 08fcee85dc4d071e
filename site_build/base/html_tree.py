"""Cleaned HTML as a tree of elements, and the tree as HTML again.

nh3 is the only HTML5 parser (clean.py). Its output is stable: each element is closed, each text escaped, and parsing it
again changes nothing. The standard library's tokeniser can therefore read it.
"""

from __future__ import annotations

from collections.abc import Iterator
from html.parser import HTMLParser
from xml.etree.ElementTree import Element, TreeBuilder

#: Void elements among those that clean.py allows.
_VOID = ("br", "hr", "img")
#: Inline elements. All others separate the words before and after them.
_INLINE = frozenset(
    {"a", "abbr", "b", "cite", "code", "del", "em", "i", "img", "ins", "kbd", "q", "s", "small", "strong"}
    | {"sub", "sup", "u"}
)


def parse_html(cleaned: str) -> Element:
    """The tree of stable HTML: a root whose children are the elements of the fragment."""
    reader = _Reader()
    reader.feed(cleaned)
    reader.close()
    return reader.tree()


def inner_html(root: Element) -> str:
    """The HTML of everything in ``root``, with every text and value escaped."""
    return "".join((_escaped(root.text), *(part for child in root for part in _parts(child))))


def text_of(element: Element) -> str:
    """The words of an element as a reader finds them, including the alternative texts of pictures."""
    words = (element.get("alt") or "") if element.tag == "img" else element.text or ""
    words += "".join(f"{text_of(child)}{child.tail or ''}" for child in element)
    return words if element.tag in _INLINE else f" {words} "


def depth_of(element: Element) -> int:
    """The depth of nesting."""
    depth, level = 0, list(element)
    while level:
        depth, level = depth + 1, [child for each in level for child in each]
    return depth


class _Reader(HTMLParser):
    def __init__(self):
        super().__init__(convert_charrefs=True)
        self._builder = TreeBuilder()
        self._builder.start("div", {})

    def tree(self) -> Element:
        self._builder.end("div")
        return self._builder.close()

    def handle_starttag(self, tag, attrs):
        self._builder.start(tag, {name: value or "" for name, value in attrs})
        if tag in _VOID:
            self._builder.end(tag)

    def handle_endtag(self, tag):
        self._builder.end(tag)

    def handle_data(self, data):
        self._builder.data(data)


def _parts(element: Element) -> Iterator[str]:
    attributes = "".join(f' {name}="{_quoted(value)}"' for name, value in element.attrib.items())
    yield f"<{element.tag}{attributes}>"
    if element.tag not in (*_VOID, "source"):
        if element.tag == "pre" and (element.text or "").startswith("\n"):
            yield "\n"  # a parser drops the first line end of this element
        yield _escaped(element.text)
        for child in element:
            yield from _parts(child)
        yield f"</{element.tag}>"
    yield _escaped(element.tail)


def _escaped(text: str | None) -> str:
    return (text or "").replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _quoted(value: str) -> str:
    return _escaped(value).replace('"', "&#34;")
