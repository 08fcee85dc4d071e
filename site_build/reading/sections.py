"""The author's words in sections, each with its part of the sheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from xml.etree.ElementTree import Element

from msgspec import Struct
from msgspec.structs import replace

from site_build.base.html_tree import inner_html, text_of

#: Parts of a sheet with the author's words: the lead and its continuation, the ingredients, the steps, the keeping, and
#: the rest.
LEAD, LEAD_ON, NEED, STEPS, KEEPING, REST = "lead", "lead on", "need", "steps", "keeping", "rest"
_PLACES = {"pieces": NEED, "salting": NEED, "glaze": NEED, "batches": NEED, "steps": STEPS, "keeping": KEEPING}
_TOP_HEADINGS = ("h1", "h2")
#: Maximum number of the author's words on the sheet: a cook at work reads no more. Further sections are on the next
#: page.
MOST_WORDS = 450
#: Maximum number of words of the lead that are shown above the steps.
MOST_LEAD = 120


class WordsSection(Struct, frozen=True, kw_only=True):
    """One of the author's headings with its content, as cleaned HTML; ``place`` is its part of the sheet.

    One that ``is_further`` is on "Understand it", and the sheet links to it.
    """

    place: str
    anchor: str
    title: str
    html: str
    count: int = 0
    is_further: bool = False


def words_sections(pieces: Sequence[Element], kinds: Sequence[str]) -> list[WordsSection]:
    """The words split at the top-level headings. A section belongs to its first calculation block.

    ``pieces`` are the stretches between the blocks, ``kinds`` the kinds of the blocks. Sections without words are left out.
    A section beyond MOST_WORDS is a further one, unless it has no heading by which the sheet could link to it.
    """
    found, held = [], 0
    for each in _sections(pieces, kinds):
        if not each.html.strip():
            continue
        if held + each.count > MOST_WORDS and each.anchor and each.title:
            found.append(replace(each, is_further=True))
            continue
        held += each.count
        found.append(each)
    return found


def further_anchors(words: Sequence[WordsSection]) -> frozenset[str]:
    """The anchors of the sections on "Understand it"."""
    return frozenset(each.anchor for each in words if each.is_further)


def _sections(pieces: Sequence[Element], kinds: Sequence[str]) -> Iterator[WordsSection]:
    heading, rest, place = None, Element("div"), ""
    is_first = True
    for number, piece in enumerate(pieces):
        _append_text(rest, piece.text)
        for element in piece:
            if element.tag in _TOP_HEADINGS:
                yield from _section(heading, rest, place, is_first)
                heading, rest, place, is_first = element, Element("div"), "", False
                rest.text = element.tail
            else:
                rest.append(element)
        if number < len(kinds):
            if heading is None and is_first:  # words before the first heading lead; those after a block serve it
                yield from _section(None, rest, "", True)
                rest, is_first = Element("div"), False
            place = place or _PLACES.get(kinds[number], "")
    yield from _section(heading, rest, place, is_first)


def _section(heading: Element | None, rest: Element, place: str, is_first: bool) -> Iterator[WordsSection]:
    title = "" if heading is None else " ".join(text_of(heading).split())
    anchor = "" if heading is None else heading.get("id", "")
    where = place or (LEAD if is_first and heading is None else REST)
    parts = _lead_parts(rest) if where == LEAD else ((where, rest),)
    for name, words in parts:
        yield WordsSection(
            place=name, anchor=anchor, title=title, html=inner_html(words), count=len(text_of(words).split())
        )


def _lead_parts(rest: Element) -> Iterator[tuple[str, Element]]:
    """The lead up to the paragraph that exceeds MOST_LEAD words, and the rest. The first paragraph is always in the lead."""
    lead, on, count = Element("div"), Element("div"), len((rest.text or "").split())
    lead.text = rest.text
    for element in rest:
        count += len(text_of(element).split())
        (on if len(on) or (len(lead) and count > MOST_LEAD) else lead).append(element)
    yield LEAD, lead
    yield LEAD_ON, on


def _append_text(root: Element, text: str | None) -> None:
    if not text:
        return
    if len(root):
        root[-1].tail = (root[-1].tail or "") + text
    else:
        root.text = (root.text or "") + text
