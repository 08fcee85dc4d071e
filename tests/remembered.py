"""Reports that tests have computed: the same method in the same kitchen with the same runs is not computed again."""

from __future__ import annotations

import pickle
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import wraps
from hashlib import sha256

import pytest

from handbook.folder import read_page
from handbook.folder.kitchen import Kitchen
from handbook.folder.kitchen_reads import watched

#: Reports kept at a time; a few hold the demo.
MOST = 400


@contextmanager
def reports_remembered() -> Iterator[None]:
    """While it lasts, reading a page takes its report from an earlier reading with equal inputs, where there is one.

    It holds in this process alone: builds in processes of their own compute as ever.
    """
    known: dict[bytes, tuple] = {}
    computed = read_page.house_report

    @wraps(computed)
    def house_report(method, house, tables, runs):
        kitchen, note = _unwatched(house, tables)
        key = sha256(pickle.dumps((method, kitchen.house, kitchen.tables, runs))).digest()
        if key not in known:
            view = watched(kitchen)
            made = computed(method, view.kitchen.house, view.kitchen.tables, runs)
            if len(known) >= MOST:
                known.pop(next(iter(known)))
            known[key] = made, frozenset(view.reads)
        made, reads = known[key]
        for each in reads:  # a build is told what the report rests on, computed now or earlier
            note(each)
        return made

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(read_page, "house_report", house_report)
        yield


def _unwatched(house, tables) -> tuple[Kitchen, Callable[[str], object]]:
    """The kitchen behind a house and tables, and what notes its reads; nothing notes them where nobody watches."""
    whole = Kitchen(house=vars(house).get("_whole", house), tables=vars(tables).get("_whole", tables))
    return whole, vars(house).get("_note", lambda read: None)
