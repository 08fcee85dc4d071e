"""Words as the search compares them: small letters, no accents, plural and verb endings off.

The browser takes the same steps with the same data (``LETTERS``, ``ENDINGS``), which travel in the index.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

#: Letters that Unicode does not take apart into a plain letter and a mark.
LETTERS = {"ß": "ss", "æ": "ae", "œ": "oe", "ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th"}

#: Groups of (ending, what stands for it, letters that must be left, whether a doubled last letter becomes one).
#: In each group the first ending that fits is taken off; the groups follow one another.
ENDINGS = (
    (
        ("ies", "y", 2, False),
        ("sses", "ss", 1, False),
        ("shes", "sh", 1, False),
        ("ches", "ch", 1, False),
        ("xes", "x", 1, False),
        ("oes", "o", 2, False),
        ("ss", "ss", 0, False),
        ("us", "us", 1, False),
        ("is", "is", 1, False),
        ("s", "", 3, False),
    ),
    (("ied", "y", 2, False), ("ing", "", 3, True), ("ed", "", 3, True)),
    (("e", "", 3, False),),
)
_WORD = re.compile(r"[^\W\d_]+")


def words_of(text: str) -> list[str]:
    """The words of ``text`` in order, plain small letters; figures are left out."""
    return [word for word in _WORD.findall(plain(text)) if len(word) > 1]


def plain(text: str) -> str:
    """``text`` in small letters without accents."""
    apart = unicodedata.normalize("NFKD", text.lower())
    bare = "".join(each for each in apart if not unicodedata.combining(each))
    return "".join(LETTERS.get(each, each) for each in bare)


@lru_cache(maxsize=100_000)
def stem(word: str) -> str:
    """A plain word without its plural or verb ending, so that "brined" and "brines" meet "brine"."""
    for group in ENDINGS:
        for ending, instead, least, undouble in group:
            if word.endswith(ending) and len(word) - len(ending) >= least:
                word = word[: len(word) - len(ending)] + instead
                if undouble and len(word) > 3 and word[-1] == word[-2] and word[-1] not in "lrsz":
                    word = word[:-1]
                break
    return word
