"""The author's words as cleaned HTML, in pieces before, between and after the computed parts.

A placeholder paragraph marks each block through Markdown and the cleaner. Where a placeholder is not a top-level
paragraph in the author's order afterwards, the computed part would be hidden or moved: that is a fault of the page.
"""

from __future__ import annotations

import re
import secrets
import threading
from collections.abc import Collection, Iterator, Sequence
from html import unescape
from xml.etree.ElementTree import Element

from markdown import Markdown
from markdown.extensions.toc import unique
from msgspec import Struct

from handbook.base.deadline import Overtime, deadline, overtime_fault, page_seconds
from handbook.base.errors import CONTROLS, PageError, UnforeseenError
from handbook.folder.page_text import PageText
from site_build.base.html_tree import depth_of, inner_html, parse_html, text_of
from site_build.reading.clean import SAFE_SCHEMES, UnstableHtmlError, clean_html, schemes_in
from site_build.reading.link_lines import LinkLines
from site_build.reading.links import Link, check_links, site_address

#: The Markdown dialect of pages.
EXTENSIONS = ("toc", "tables", "fenced_code", "smarty")
# Without inline styles, which the page's policy forbids.
_SETTINGS = {"tables": {"use_align_attribute": True}}
#: Chromium's parser stops nesting at 512 elements. No page of words comes near this limit.
MAX_DEPTH = 60
#: A browser reopens an unclosed inline element in every following paragraph, so the number of them is limited.
MAX_REOPENED = 500_000
_REOPENED = re.compile(r"<(?:a|b|big|code|em|font|i|nobr|s|small|strike|strong|tt|u)(?=[\s/>])", re.I)
_SOUND = f"HTML whose elements are closed, at most {MAX_DEPTH} within each other, few on a long page"
_TOP = "a block outside of every list, HTML element and comment; each of them closed before it"


class AuthorHtml(Struct, frozen=True, kw_only=True):
    """The author's words on one page: a tree for each stretch (one more than there are blocks) and every link."""

    pieces: tuple[Element, ...] = ()
    links: tuple[Link, ...] = ()

    @property
    def title(self) -> str:
        """The first level-1 heading of the page, or an empty text."""
        found = (heading for piece in self.pieces for heading in piece.iter("h1"))
        return next((" ".join(text_of(each).split()) for each in found), "")

    @property
    def shown(self) -> list[str]:
        """The HTML of the pieces. A plain heading directly before a computed part is omitted, because the part has its
        own.
        """
        return [_shown(piece, number < len(self.pieces) - 1) for number, piece in enumerate(self.pieces)]

    def free_ids(self, taken: Collection[str], parts: Sequence[str] = ()) -> None:
        """Rename the author's ids that equal ``taken`` ones, ids in ``parts``, or each other."""
        seen: set[str] = set()
        for element in (each for piece in self.pieces for each in piece.iter() if "id" in each.attrib):
            wanted = element.attrib["id"]
            if wanted.startswith(
                "handbook"
            ):  # names of the window object, under which scripts would find elements by id
                wanted = f"words-{wanted}"
            while _is_taken(wanted, taken, parts):
                wanted += "-words"
            element.attrib["id"] = unique(wanted, seen)


def author_html(text: PageText, file: str, path: str) -> tuple[AuthorHtml, list[PageError]]:
    """Render a page's words, with the faults that only rendering shows. Words that are not bounded are not rendered.

    ``file`` is the name in faults; ``path`` is the page's path in its folder, the base of its links.
    """
    if not text.is_bounded:
        return AuthorHtml(), []
    # The marks are unpredictable, so that no author can write one; none of them remains in the page.
    mark = f"b{secrets.token_hex(16)}n"
    marks = [f"{mark}{number}e" for number in range(len(text.blocks))]
    try:
        root, links = _rendered(text, marks)
    except UnstableHtmlError as error:
        line = next((number for number, line in text.prose if "<" in line), 1)
        return AuthorHtml(), [PageError(file, line, "text", str(error), _SOUND)]
    if fault := _steering_fault(root, text, file):
        return AuthorHtml(links=links), [fault]
    places = _places(root, marks)
    faults = [
        PageError(file, block.line - 1, "block", _whereabouts(root, each), _TOP)
        for block, each, place in zip(text.blocks, marks, places, strict=True)
        if place is None
    ]
    if faults:
        return AuthorHtml(pieces=(), links=links), faults
    _fit_addresses(root, path)
    return AuthorHtml(pieces=tuple(_cut(root, places)), links=links), []


def author_faults(text: PageText, file: str, path: str, known: Collection[str]) -> list[PageError]:
    """Faults of the author's words on a page and of their links, which may lead to the ``known`` paths."""
    seconds = page_seconds(0)
    try:
        with deadline(seconds):
            author, faults = author_html(text, file, path)
            return faults + check_links(file, path, author.links, known)
    except Overtime:
        return [overtime_fault(file, seconds)]
    except Exception as error:  # one page must not stop the others; the build still fails
        return [UnforeseenError.of(file, error)]


def _steering_fault(root: Element, text: PageText, file: str) -> PageError | None:
    """A reference such as ``&#x202e;`` to a character that no page may contain (read_text.py)."""
    words = (each for element in root.iter() for each in (element.text, element.tail, *element.attrib.values()))
    found = next(filter(None, (CONTROLS.search(each or "") for each in words)), None)
    if found is None:
        return None
    line = next((number for number, line in text.prose if found[0] in unescape(line)), 1)
    read = f"the character U+{ord(found[0]):04X}"
    return PageError(file, line, "text", read, "text without control and direction characters")


def _rendered(text: PageText, marks: Sequence[str]) -> tuple[Element, tuple[Link, ...]]:
    """The page's tree, and its links including those whose addresses the cleaner removes.

    Raises UnstableHtmlError.
    """
    source = text.joined(marks)
    opened = len(_REOPENED.findall(source))
    if opened * (source.count("\n") + source.count("<")) > MAX_REOPENED:
        raise UnstableHtmlError(f"{opened} inline elements as HTML")
    html = _RENDERER.markdown.reset().convert(source)
    told = clean_html(html, {*SAFE_SCHEMES, *schemes_in(html)})
    root = parse_html(told)
    if depth_of(root) > MAX_DEPTH:
        raise UnstableHtmlError(f"more than {MAX_DEPTH} elements within each other")
    links = tuple(_links(root, LinkLines(text.prose)))
    safe = clean_html(told)
    return (root if safe == told else parse_html(safe)), links


class _Renderer(threading.local):
    """One Markdown object for each thread: it holds the state of the page that it is rendering."""

    def __init__(self) -> None:
        self.markdown = Markdown(extensions=list(EXTENSIONS), extension_configs=_SETTINGS)


_RENDERER = _Renderer()


def _links(root: Element, lines: LinkLines) -> Iterator[Link]:
    for element in root.iter():
        # an anchor, <a id="…">, is not a link
        if element.tag == "img" or (element.tag == "a" and ("href" in element.attrib or "id" not in element.attrib)):
            yield _link(element, lines)


def _link(element: Element, lines: LinkLines) -> Link:
    is_picture = element.tag == "img"
    address = element.get("src" if is_picture else "href")
    words = element.get("alt", "") if is_picture else text_of(element)
    line = lines.next_of(address or "", words)
    if address is None:
        return Link(target=lines.address_at(line, words), words=words, is_picture=is_picture, line=line, is_sound=False)
    return Link(target=address.strip(), words=words, is_picture=is_picture, line=line)


def _fit_addresses(root: Element, path: str) -> None:
    for element in root.iter():
        for name in ("href", "src"):
            if name in element.attrib:
                element.attrib[name] = site_address(path, element.attrib[name].strip())


def _places(root: Element, marks: Sequence[str]) -> list[int | None]:
    """The position of each mark in ``root``, in order; None where one is not a top-level paragraph."""
    found = {child.text: number for number, child in enumerate(root) if _is_paragraph_of_its_own(child)}
    places, last = [], -1
    for mark in marks:
        place = found.get(mark)
        places.append(place if place is not None and place > last else None)
        last = place if places[-1] is not None else last
    return places


def _is_paragraph_of_its_own(element: Element) -> bool:
    return element.tag == "p" and not element.attrib and len(element) == 0


def _whereabouts(root: Element, mark: str) -> str:
    """The text that a reader would find in place of a block's computed part."""
    around = [each.tag for each in root.iter() if each is not root and mark in text_of(each)]
    if around or mark in text_of(root):
        return next((f"a block within <{tag}>" for tag in around if tag != "p"), "a block among other words")
    return "a block that is not shown"


def _cut(root: Element, places: Sequence[int]) -> Iterator[Element]:
    """The stretches between the positions, each under a root of its own."""
    children, start, text = list(root), 0, root.text
    for place in (*places, len(children)):
        piece = Element("div")
        piece.text = text
        piece.extend(children[start:place])
        yield piece
        if place < len(children):
            start, text = place + 1, children[place].tail


def _shown(piece: Element, before_a_part: bool) -> str:
    last = piece[-1] if before_a_part and len(piece) else None
    if last is not None and last.tag == "h2" and len(last) == 0 and not (last.tail or "").strip():
        rest = Element("div")
        rest.text = piece.text
        rest.extend(piece[:-1])
        return inner_html(rest)
    return inner_html(piece)


def _is_taken(wanted: str, taken: Collection[str], parts: Sequence[str]) -> bool:
    # Templates write ids in double quotes and escape every text, so this text can only be an id.
    return wanted in taken or any(f'id="{wanted}"' in part for part in parts)
