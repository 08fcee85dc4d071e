"""Suggestions for misspelt names: "Did you mean ...?"."""

from __future__ import annotations

import difflib
from collections import Counter
from collections.abc import Iterable
from functools import lru_cache
from heapq import nsmallest
from typing import Protocol, runtime_checkable

from msgspec import Struct

#: Longer lists are filtered first, by the letter pairs that a name shares with the written text.
_FEW = 60
#: Number of filtered names that are compared letter by letter.
_COMPARED = 12
#: Most index entries that one look-up reads. Rare pairs come first because they distinguish names best.
_READ = 20_000
#: Characters of a name that are compared.
_LONGEST = 80


class Resolution(Struct, frozen=True, kw_only=True):
    """The meaning of a written name: ``name`` if certain, else ``candidates``, best first. Both empty: unknown."""

    name: str = ""
    candidates: tuple[str, ...] = ()

    @property
    def question(self) -> str:
        """The candidates as a fault suggests them."""
        if len(self.candidates) < 2:
            return "".join(self.candidates)
        *most, last = (f'"{each}"' for each in self.candidates)
        return f"{', '.join(most)} or {last}"


@runtime_checkable
class Resolver(Protocol):
    """Names that are also found by other names."""

    def resolve(self, said: str, suggest: bool = True) -> Resolution:
        """The meaning of ``said``; without candidates where ``suggest`` is false."""
        ...


class Names(frozenset[str]):
    """A large set of names. Only the first ``most_suggestions`` look-ups return a suggestion.

    Many mistakes in one run mostly have one cause, such as a renamed folder.
    """

    most_suggestions = 100
    _asked = 0

    def nearest(self, name: str) -> str:
        """As the function ``nearest``; an empty text after ``most_suggestions`` look-ups."""
        self._asked += 1
        return _nearest(name, self) if self._asked <= self.most_suggestions else ""


def nearest(name: str, names: Iterable[str]) -> str:
    """The one of ``names`` that is nearest to ``name``, or an empty text when none is near.

    >>> nearest("equilbrium", ["equilibrium", "dry cure"])
    'equilibrium'
    """
    return names.nearest(name) if isinstance(names, Names) else _nearest(name, tuple(names))


def _nearest(name: str, names: tuple[str, ...] | Names) -> str:
    index, folded = _index(names), name.casefold()[:_LONGEST]
    among = index.by_folded if len(index.by_folded) <= _FEW else index.likely(folded)
    found = difflib.get_close_matches(folded, among, n=1, cutoff=0.6)
    return index.by_folded[found[0]] if found else ""


class _Index:
    """Index of names by letter pairs. A look-up among 20,000 names costs about as much as one among 60."""

    def __init__(self, names: Iterable[str]):
        # Sorted, so that ties give the same suggestion whatever the order of a set.
        self.by_folded = {each.casefold()[:_LONGEST]: each for each in sorted(names, reverse=True)}
        self.holders: dict[str, list[str]] = {}
        if len(self.by_folded) > _FEW:
            for each in self.by_folded:
                for pair in _pairs(each):
                    self.holders.setdefault(pair, []).append(each)

    def likely(self, folded: str) -> list[str]:
        """The names that share the most letter pairs with ``folded``, relative to their length."""
        shared: Counter[str] = Counter()
        read = 0
        for holders in sorted((self.holders.get(each, []) for each in _pairs(folded)), key=len):
            read += len(holders)
            if read > _READ:
                break
            shared.update(holders)
        return nsmallest(_COMPARED, shared, key=lambda each: (-shared[each] / (len(each) + len(folded)), each))


def _pairs(folded: str) -> set[str]:
    padded = f"\n{folded}\n"
    return {padded[at : at + 2] for at in range(len(padded) - 1)}


@lru_cache(maxsize=8)
def _index(names: tuple[str, ...] | Names) -> _Index:
    return _Index(names)
