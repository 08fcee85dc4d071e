"""The words that changed in the prose of a page, and among them the most dangerous ones to lose: negations and numbers.

Paragraphs are matched, then their words. Each change is shown with some words around it; the changed words are between
« and ».
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from difflib import SequenceMatcher

from msgspec import Struct

#: Words that negate or oblige. Without one, a caution may become an invitation.
#: Shortened ones, such as "don't", are known by their end.
NEGATIONS = frozenset(
    {"no", "not", "never", "none", "nor", "neither", "nobody", "nothing", "without", "cannot", "unless", "except"}
    | {"avoid", "only", "must", "always", "before", "until", "least", "most"}
)
#: Limits: words around a change, changes of a page that are shown, words of a paragraph that are compared.
AROUND, MOST_CHANGES, MOST_WORDS = 5, 30, 1_500
_ALIKE = 0.35
_NUMBER = re.compile(r"\d[\d.,/–-]*|[½⅓⅔¼¾⅛⅜⅝⅞]")
_EDGES = re.compile(r"^[^\w½⅓⅔¼¾⅛⅜⅝⅞]+|[^\w½⅓⅔¼¾⅛⅜⅝⅞%°]+$")


class WordsChange(Struct, frozen=True, kw_only=True):
    """One changed passage: its words before and after, and its important changes, such as ``lost: never``."""

    before: str
    after: str
    marked: tuple[str, ...] = ()

    @property
    def turns(self) -> bool:
        """Whether a word that turns a sentence round, or binds it, was lost or added."""
        return any(not each.startswith("number") for each in self.marked)


def changed_words(before: Sequence[str], after: Sequence[str]) -> tuple[WordsChange, ...]:
    """The passages that differ between the paragraphs of two versions, the important ones first."""
    found: list[WordsChange] = []
    for kind, low, high, start, end in SequenceMatcher(None, before, after, autojunk=False).get_opcodes():
        if kind != "equal":
            for old, new in _pairs(before[low:high], after[start:end]):
                found += _passages(old.split()[:MOST_WORDS], new.split()[:MOST_WORDS])
    return tuple(sorted(found, key=lambda each: not each.marked))[:MOST_CHANGES]


def marked_words(changes: Iterable[WordsChange]) -> tuple[str, ...]:
    """The important words of all changes together, without duplicates."""
    return tuple(dict.fromkeys(mark for each in changes for mark in each.marked))


def _pairs(old: Sequence[str], new: Sequence[str]) -> Iterator[tuple[str, str]]:
    """Pairs of paragraphs that are versions of each other. A new or lost one is paired with an empty one."""
    if len(old) == len(new) == 1:
        yield old[0], new[0]
        return
    left = list(new)
    for each in old:
        words = each.split()
        scored = [(SequenceMatcher(None, words, one.split(), autojunk=False).ratio(), one) for one in left[:40]]
        best = max(scored, key=lambda one: one[0], default=(0.0, ""))
        if best[0] >= _ALIKE:
            left.remove(best[1])
        yield each, best[1] if best[0] >= _ALIKE else ""
    yield from (("", each) for each in left)


def _passages(old: list[str], new: list[str]) -> Iterator[WordsChange]:
    whole = [Counter(map(_bare, side)) for side in (old, new)]
    for group in SequenceMatcher(None, old, new, autojunk=False).get_grouped_opcodes(AROUND):
        gone = [word for kind, low, high, _, _ in group if kind != "equal" for word in old[low:high]]
        came = [word for kind, _, _, start, end in group if kind != "equal" for word in new[start:end]]
        yield WordsChange(
            before=_shown(old, [(kind, low, high) for kind, low, high, _, _ in group]),
            after=_shown(new, [(kind, start, end) for kind, _, _, start, end in group]),
            marked=_marks(gone, came, whole[0] - whole[1], whole[1] - whole[0]),
        )


def _shown(words: list[str], parts: list[tuple[str, int, int]]) -> str:
    said = []
    for kind, low, high in parts:
        text = " ".join(words[low:high])
        said.append(text if kind == "equal" or not text else f"«{text}»")
    lead = "… " if parts[0][1] > 0 else ""
    tail = " …" if parts[-1][2] < len(words) else ""
    shown = " ".join(filter(None, said))
    return f"{lead}{shown}{tail}" if shown else ""


def _marks(gone: list[str], came: list[str], lost: Counter[str], added: Counter[str]) -> tuple[str, ...]:
    """Negations and numbers among the removed and new words. ``lost`` and ``added`` are those of the paragraph, without
    words that only moved.
    """
    old = [word for word in dict.fromkeys(map(_bare, gone)) if word in lost]
    new = [word for word in dict.fromkeys(map(_bare, came)) if word in added]
    marks = [f"{what}: {word}" for what, words in (("lost", old), ("added", new)) for word in words if _turns(word)]
    before, after = ([word for word in words if _NUMBER.search(word)] for words in (old, new))
    if before or after:
        marks.append(f"number: {' '.join(before) or '–'} → {' '.join(after) or '–'}")
    return tuple(marks)


def _turns(word: str) -> bool:
    return word in NEGATIONS or word.endswith(("n't", "n’t"))


def _bare(word: str) -> str:
    return _EDGES.sub("", word).casefold()
