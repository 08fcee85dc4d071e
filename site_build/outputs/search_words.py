"""Normal form of words in the search: lower case, without accents and without plural and verb endings.

The browser applies the same steps with the same data (``LETTERS``, ``ENDINGS``, ``DOUBLED``, ``query_units``), which the index contains.
"""

from __future__ import annotations

import re
import unicodedata
from functools import cache, lru_cache

from handbook.base.units import parse_quantity, spellings

#: Letters that Unicode does not decompose into a plain letter and a mark.
LETTERS = {"ß": "ss", "æ": "ae", "œ": "oe", "ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th"}

#: Groups of (ending, replacement, letters that must remain, whether a doubled last letter becomes single). Each group
#: removes the first ending that fits; the groups apply in sequence.
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
#: Unit of the index's figures for each dimension.
_FIGURE_UNITS = {"fraction": "%", "temperature": "°C", "length": "mm", "time": "h"}
_FOREIGN = re.compile(r"[^\x00-\x7f]+")
#: Letters that stay doubled at a word's end.
DOUBLED = "lrsz"
_WORD = re.compile(r"[^\W\d_]+")


def words_of(text: str) -> list[str]:
    """The words of ``text`` in order, in lower case without accents; figures are left out."""
    return [word for word in _WORD.findall(plain(text)) if len(word) > 1]


def plain(text: str) -> str:
    """``text`` in lower case without accents."""
    return _FOREIGN.sub(lambda found: _bare(found[0]), text.lower())


@lru_cache(maxsize=100_000)
def stem(word: str) -> str:
    """A plain word without its plural or verb ending, so that "brined" and "brines" match "brine"."""
    for group in ENDINGS:
        for ending, instead, least, undouble in group:
            if word.endswith(ending) and len(word) - len(ending) >= least:
                word = word[: len(word) - len(ending)] + instead
                if undouble and len(word) > 3 and word[-1] == word[-2] and word[-1] not in DOUBLED:
                    word = word[:-1]
                break
    return word


@cache
def query_units() -> dict[str, tuple[str, float, float]]:
    """Units as a query may write them, in lower case: the unit of the index's figures, the factor and the offset to it."""
    found = {}
    for dimension, shown in _FIGURE_UNITS.items():
        zero, one = (parse_quantity(f"{number} {shown}", dimension).low for number in (0, 1))
        for written in (each for each in spellings(dimension) if each != "ppm"):  # no figure of the index is in ppm
            low, high = (parse_quantity(f"{number} {written}", dimension).low for number in (0, 1))
            factor, offset = (high - low) / (one - zero), (low - zero) / (one - zero)
            found[written.lower().replace(" ", "")] = shown, round(factor, 9), round(offset, 9)
    return found


@lru_cache
def _bare(letters: str) -> str:
    """Letters beyond ASCII without their accents."""
    apart = unicodedata.normalize("NFKD", letters)
    return "".join(LETTERS.get(each, each) for each in apart if not unicodedata.combining(each))
