"""One line of a list of ingredients as people write it: amount, item, and what is said beside."""

from __future__ import annotations

import re
from dataclasses import dataclass

from handbook.notes_figures import Read, amount_at
from handbook.notes_names import words_of

_BULLET = re.compile(r"^\s*(?:[-*+•·–—▢☐]\s*|\[[ xX]?\]\s*)+(?=\S)")
_AMOUNT_LAST = re.compile(
    r"^(?P<item>[^\W\d_][^:;.\d½⅓⅔¼¾⅛]{1,60}?)\s*(?::|,|\.{2,}|\s[-–—]|\t|\s)\s*(?P<amount>[\d½⅓⅔¼¾⅛~].*)$"
)
_VAGUE = re.compile(
    r",?\s*\b(?P<words>to taste|(?:enough )?to cover|as needed|as required|if you (?:like|want)|for (?:serving|garnish)|q\.?\s?s\.?)(?=\W|$)",
    re.I,
)
_FILLING = re.compile(
    r",?\s*\(?\b(?P<words>(?P<how>lightly|firmly|tightly|well)?[ -]*(?P<filling>packed|loose(?:ly)?(?: packed| filled)?))\b\)?",
    re.I,
)
#: "2 % salt of the meat's weight": what a share is of, said behind the item.
_SHARE_BASE = re.compile(
    r"(?P<item>[^,;(]{2,40}?),?\s+(?P<of>(?:of|by|on)\s+(?:the\s+)?(?:weight\s+of\s+(?:the\s+)?)?(?P<base>food|meat|fish|water)\b)",
    re.I,
)
_EACH = re.compile(r"\b(?:per|each|apiece)\b", re.I)
_BESIDE = re.compile(r"\s*(?:,|;|\(|\s[-–—]\s)\s*")


@dataclass(frozen=True)
class NoteIngredient:
    """One ingredient as noted. ``item`` are the words of the ingredient, ``note`` what is said beside it.

    ``amount`` is None where the line names no amount at all. ``filling`` is ``packed``, ``loose`` or nothing said.
    """

    number: int
    line: int
    words: str
    item: str
    amount: Read | None
    filling: str
    note: str
    group: int


def strip_bullet(text: str) -> str:
    """The line without its mark of a list."""
    return _BULLET.sub("", text, count=1).strip()


def read_ingredient(text: str, line: int, group: int, number: int) -> NoteIngredient | None:
    """The ingredient of one line that begins or ends with an amount, or None."""
    words = strip_bullet(text)
    found = amount_at(words, line)
    label = re.match(r"^[^\W\d_]+(?: [^\W\d_]+)?:\s+(?=[\d½⅓⅔¼¾⅛])", words)
    if label and (behind := amount_at(words[label.end() :], line)) and len(words_of(behind[1])) > 0:
        found = behind  # "Fish: 2 kg whitefish"
    if found is None and (last := _AMOUNT_LAST.match(words)):
        found = amount_at(last["amount"], line)
        if found is None or not (found[0].value or re.search(r"[^\W\d_]|%", found[0].words)):
            return None  # a bare count behind words is no amount
        amount, rest = found
        return _ingredient(number, line, words, last["item"], amount, rest.strip(" ,;-–()"), group)
    if found is None:
        return None
    amount, rest = found
    share = _SHARE_BASE.match(rest) if amount.words.endswith("%") and len(amount.choices) == 2 else None
    if share:
        amount = Read(amount.choices[share["base"].lower() == "water"], f"{amount.words} ... {share['of']}", line)
        rest = share["item"]
    item, beside = _item_and_note(rest)
    return _ingredient(number, line, words, item, amount, beside, group) if words_of(item) else None


def read_bare_ingredient(text: str, line: int, group: int, number: int) -> NoteIngredient | None:
    """A short line of a list of ingredients without a figure: ``salt and pepper to taste``; the amount is asked."""
    words = strip_bullet(text)
    if not words_of(words) or len(words) > 80:
        return None
    vague = _VAGUE.search(words)
    said = vague["words"] if vague else ""
    item, beside = _item_and_note(_VAGUE.sub("", words))
    amount = Read("", said or "no amount", line, f"{said or 'no amount'}: a mass or a volume is wanted")
    return _ingredient(number, line, words, item, amount, ", ".join(filter(None, (said, beside))), group)


def _ingredient(number: int, line: int, words: str, item: str, amount: Read, note: str, group: int) -> NoteIngredient:
    whole = f"{item}, {note}" if note else item
    filling = _FILLING.search(whole)
    said = ""
    if filling and (filling["how"] or "").lower() != "lightly":
        said = "packed" if filling["filling"].lower() == "packed" else "loose"
        item, note = _FILLING.sub("", item).strip(" ,"), _FILLING.sub("", note).strip(" ,()")
    if _EACH.search(words) and "(" not in amount.words:
        amount = Read("", amount.words, line, "an amount for each: write the whole amount")
    about = re.match(r"(?:about|around|approximately|approx\.?|roughly|ca\.?|~|≈)", amount.words, re.I)
    if about and amount.value:
        note = ", ".join(filter(None, ("about", note)))
    item = re.sub(r"^of\s+", "", " ".join(item.split()), flags=re.I).strip(" ,:;.")
    return NoteIngredient(number, line, words, item, amount, said, " ".join(note.split()), group)


def _item_and_note(text: str) -> tuple[str, str]:
    vague = _VAGUE.search(text)
    item, *rest = _BESIDE.split(_VAGUE.sub("", text).strip(), maxsplit=1)
    beside = rest[0].replace("(", "").replace(")", "").strip(" ,;.") if rest else ""
    return item.strip(), ", ".join(filter(None, (vague["words"] if vague else "", beside)))
