"""Caches results by the house data that they read. A changed value means a new result.

The key of a result has two parts: its other inputs, and the values of its reads of the house data. The names of the
reads are noted under the first part alone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from handbook.folder.kitchen import Kitchen
from handbook.folder.kitchen_reads import ReadValues, watched
from site_build.base.fingerprint import key_of
from site_build.build.cache import Cache


class KeptReads:
    """Finds cached results for the present values of ``kitchen``."""

    def __init__(self, kitchen: Kitchen, cache: Cache):
        self._kitchen, self._cache = kitchen, cache
        self._values = ReadValues(kitchen)

    def keys(self, bases: Iterable[str]) -> dict[str, str]:
        """The whole key of each of ``bases`` whose reads are known."""
        found = {base: self._key(base, reads) for base, reads in self._cache.notes(bases).items()}
        return {base: key for base, key in found.items() if key is not None}

    def note(self, base: str, reads: Iterable[str]) -> str:
        """Note the reads of ``base``. Returns the whole key."""
        reads = sorted(reads)
        self._cache.note(base, reads)
        return key_of(base, self._values.marks(reads))

    def made(self, base: str, make: Callable[[Kitchen], object]):
        """The result of ``make``, which must survive JSON unchanged: from the cache, or made now."""
        key = self.keys([base]).get(base)
        found = None if key is None else self._cache.notes([key]).get(key)
        if found is None:
            view = watched(self._kitchen)
            found = make(view.kitchen)
            self._cache.note(self.note(base, view.reads), found)
        return found

    def _key(self, base: str, reads: object) -> str | None:
        """The whole key, or None where a note contains no names of reads, since a row may contain anything."""
        try:
            return key_of(base, self._values.marks(reads)) if isinstance(reads, list) else None
        except (KeyError, AttributeError, TypeError):
            return None
