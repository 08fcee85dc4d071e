"""From the words of an ingredient or a food to the names of the handbook: the one meant, or those that it may be."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable

#: What cooks write for one entry of the table and for no other.
SAME = {
    "water": "water, tap",
    "cold water": "water, tap",
    "table salt": "salt, fine table (cubic crystals)",
    "fine sea salt": "salt, fine sea",
    "pickling salt": "salt, pickling/canning (fine, no additives)",
    "canning salt": "salt, pickling/canning (fine, no additives)",
    "granulated sugar": "sugar, white granulated",
    "white sugar": "sugar, white granulated",
    "caster sugar": "sugar, white caster / superfine",
    "demerara sugar": "sugar, demerara / turbinado (coarse)",
    "ground black pepper": "pepper, black, ground",
    "black peppercorn": "peppercorn, whole black",
    "whole black peppercorn": "peppercorn, whole black",
    "juniper berry": "juniper berry, whole",
    "whole clove": "clove, whole",
    "ground clove": "clove, ground",
    "maple syrup": "syrup, maple",
    "msg": "monosodium glutamate",
    "lemon juice": "lemon juice, raw",
    "orange juice": "orange juice, raw",
    "whole milk": "milk, whole",
}
#: Words that say how it looks or what was done to it and not what it is.
_IDLE = frozenset(
    [
        "fresh",
        "freshly",
        "cold",
        "warm",
        "hot",
        "good",
        "quality",
        "fine-quality",
        "clean",
        "your",
        "favorite",
        "favourite",
        "of",
        "the",
        "some",
        "plain",
        "pure",
        "raw",
        "crushed",
        "minced",
        "chopped",
        "peeled",
        "sliced",
        "grated",
        "smashed",
        "optional",
        "extra",
        "more",
        "whole-side",
        "and",
        "for",
        "to",
        "into",
        "plus",
    ]
)
_CURES = re.compile(r"\b(?:cur(?:e|ing)\s+(?:salt|#?\s*\d)|cure\s*#|nitrite|nitrate|saltpet(?:er|re)|pink\s+cur)", re.I)
_PINK = re.compile(r"\bpink\s+salt\b", re.I)


def words_of(text: str) -> tuple[str, ...]:
    """Small-letter words of ``text`` in the singular, idle ones left out."""
    found = re.findall(r"[^\W\d_]+(?:-[^\W\d_]+)*", text.casefold()[:200])
    return tuple(_singular(word) for word in found if word not in _IDLE)


def exact_name(text: str, names: Iterable[str]) -> str:
    """The one name that ``text`` says in full, in any order of its words, or an empty text.

    >>> exact_name("brown mustard", ["mustard seed, whole"]), exact_name("Maple syrup", ["syrup, maple"])
    ('', 'syrup, maple')
    """
    names = tuple(names)
    wanted = words_of(text)
    alias = SAME.get(" ".join(wanted))
    if alias in names:
        return alias
    found = [name for name in names if sorted(words_of(name)) == sorted(wanted)]
    return found[0] if len(found) == 1 and wanted else ""


def near_names(text: str, names: Iterable[str], limit: int = 8) -> tuple[str, ...]:
    """The names that share most words with ``text``, best first; spelling decides where no word is shared."""
    wanted = set(words_of(text))
    ranked = []
    for name in names:
        have = set(words_of(name))
        shared = len(wanted & have)
        if shared:
            first = words_of(name)[:1]
            ranked.append((-shared, not (first and first[0] in wanted), len(have), name))
    if ranked:
        return tuple(name for *_, name in sorted(ranked)[:limit])
    folded = {name.casefold(): name for name in names}
    heads = {" ".join(words_of(name)[:1]): name for name in reversed(tuple(names))}
    close = difflib.get_close_matches(text.casefold()[:60], folded, n=3, cutoff=0.6)
    by_head = [heads[each] for word in wanted for each in difflib.get_close_matches(word, heads, n=2, cutoff=0.75)]
    return tuple(dict.fromkeys([*(folded[each] for each in close), *by_head]))[:limit]


def head_word(name: str) -> str:
    """What a food is, before what kind of it: ``trout`` of ``trout, rainbow, farmed``."""
    words = words_of(name.partition(",")[0].partition("(")[0])
    return words[-1] if words and words[-1] in ("bean", "chili", "pepper") else (words[0] if words else "")


def is_curing_salt(text: str) -> bool:
    """Whether the words mean a salt with nitrite or nitrate."""
    return bool(_CURES.search(text))


def may_be_curing_salt(text: str) -> bool:
    """Whether the words may mean one: ``pink salt`` is said of two things of which one is dosed by the gram."""
    return is_curing_salt(text) or bool(_PINK.search(text))


def is_salt(text: str) -> bool:
    """Whether the words mean salt of some kind."""
    return "salt" in words_of(text) or is_curing_salt(text)


def _singular(word: str) -> str:
    for ending, instead in (
        ("ies", "y"),
        ("leaves", "leaf"),
        ("oes", "o"),
        ("shes", "sh"),
        ("ches", "ch"),
        ("ss", "ss"),
        ("us", "us"),
        ("s", ""),
    ):
        if word.endswith(ending) and len(word) > len(ending) + (ending != "leaves"):
            return word[: -len(ending)] + instead
    return "leaf" if word == "leaves" else word
