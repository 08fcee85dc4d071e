"""The name that was probably meant."""

from __future__ import annotations

import difflib
from collections import Counter
from collections.abc import Iterable
from functools import lru_cache
from heapq import nsmallest

#: More names than these are sifted by the pairs of letters that they share with what was written.
_FEW = 60
#: Names of a sifted list that are compared letter by letter.
_COMPARED = 12
#: Entries of the index that one look-up reads: those of the rarest pairs, which tell most.
_READ = 20_000
_LONGEST = 80


class Names(frozenset):
    """Many names among which whole runs look: the first ``most_suggestions`` mistakes get a suggestion.

    Whoever makes more has mostly made one that makes the rest, such as a folder renamed.
    """

    most_suggestions = 100
    _asked = 0

    def nearest(self, name: str) -> str:
        """As the function of that name; an empty text once enough was suggested."""
        self._asked += 1
        return _nearest(name, self) if self._asked <= self.most_suggestions else ""


def nearest(name: str, names: Iterable[str]) -> str:
    """The one of ``names`` nearest to ``name``, or an empty text when none is near.

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
    """Names by their pairs of letters, so that a look-up costs the same among sixty names and among twenty thousand."""

    def __init__(self, names: Iterable[str]):
        # Sorted: of equally near names the same one is told whatever order a set has.
        self.by_folded = {each.casefold()[:_LONGEST]: each for each in sorted(names, reverse=True)}
        self.holders: dict[str, list[str]] = {}
        if len(self.by_folded) > _FEW:
            for each in self.by_folded:
                for pair in _pairs(each):
                    self.holders.setdefault(pair, []).append(each)

    def likely(self, folded: str) -> list[str]:
        """The names that share most pairs with ``folded`` for their length."""
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
