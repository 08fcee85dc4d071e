"""The author's words in sections, each with the part of the sheet that it belongs to."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from xml.etree.ElementTree import Element

from site_build.base.html_tree import inner_html, text_of

#: Parts of a sheet that hold words: before everything, with what is needed, with the steps, with keeping, and the rest.
LEAD, NEED, STEPS, KEEPING, REST = "lead", "need", "steps", "keeping", "rest"
_PLACES = {"pieces": NEED, "salting": NEED, "glaze": NEED, "batches": NEED, "steps": STEPS, "keeping": KEEPING}
_TOP_HEADINGS = ("h1", "h2")


@dataclass(frozen=True, kw_only=True)
class WordsSection:
    """A heading of the author's with what stands under it, as cleaned HTML; ``place`` is the part that it belongs to."""

    place: str
    anchor: str
    title: str
    html: str


def words_sections(pieces: Sequence[Element], kinds: Sequence[str]) -> list[WordsSection]:
    """The words cut at the headings of the page's top; a section belongs to the first calculation block that stands in it.

    ``pieces`` are the stretches between the blocks, ``kinds`` the kinds of the blocks. Sections without words are left out.
    """
    return [each for each in _sections(pieces, kinds) if each.html.strip()]


def _sections(pieces: Sequence[Element], kinds: Sequence[str]) -> Iterator[WordsSection]:
    heading, rest, place = None, Element("div"), ""
    is_first = True
    for number, piece in enumerate(pieces):
        _append_text(rest, piece.text)
        for element in piece:
            if element.tag in _TOP_HEADINGS:
                yield _section(heading, rest, place, is_first)
                heading, rest, place, is_first = element, Element("div"), "", False
                rest.text = element.tail
            else:
                rest.append(element)
        if number < len(kinds):
            if heading is None and is_first:  # words before the first heading lead; those after a block serve it
                yield _section(None, rest, "", True)
                rest, is_first = Element("div"), False
            place = place or _PLACES.get(kinds[number], "")
    yield _section(heading, rest, place, is_first)


def _section(heading: Element | None, rest: Element, place: str, is_first: bool) -> WordsSection:
    title = "" if heading is None else " ".join(text_of(heading).split())
    anchor = "" if heading is None else heading.get("id", "")
    where = place or (LEAD if is_first and heading is None else REST)
    return WordsSection(place=where, anchor=anchor, title=title, html=inner_html(rest))


def _append_text(root: Element, text: str | None) -> None:
    if not text:
        return
    if len(root):
        root[-1].tail = (root[-1].tail or "") + text
    else:
        root.text = (root.text or "") + text
