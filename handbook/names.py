"""The name that was probably meant."""

from __future__ import annotations

import difflib
from collections.abc import Iterable


def nearest(name: str, names: Iterable[str]) -> str:
    """The one of ``names`` nearest to ``name``, or an empty text when none is near.

    >>> nearest("equilbrium", ["equilibrium", "dry cure"])
    'equilibrium'
    """
    by_folded = {each.casefold(): each for each in names}
    found = difflib.get_close_matches(name.casefold()[:80], by_folded, n=1, cutoff=0.6)
    return by_folded[found[0]] if found else ""
