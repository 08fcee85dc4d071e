"""What tests have computed: the same figures from the same inputs are not computed again.

Two steps are kept: a page's whole report, and the runs of the heat and uptake models, which pages that differ only in
their words, prices or batches share.
"""

from __future__ import annotations

import io
import pickle
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import wraps
from hashlib import sha256
from types import ModuleType
from typing import Any

import pytest

from handbook.folder import read_page
from handbook.folder.kitchen import Kitchen
from handbook.folder.kitchen_reads import watched
from handbook.report import heat_course, salt_course

#: Results of one function kept at a time; a few hundred hold the demo and its changed copies.
MOST = 400
#: Where a report asks the models: what they read comes with the call.
COMPUTED: tuple[tuple[ModuleType, str], ...] = (
    (heat_course, "_strict_run"),
    (salt_course, "run"),
    (salt_course, "time_to_target"),
    (salt_course, "hours_to_target"),
    (salt_course, "salt_at_end"),
)
#: Reports, and what they read, by a hash of their inputs.
reports: dict[bytes, Any] = {}


@contextmanager
def reports_remembered() -> Iterator[None]:
    """While it lasts, reports and runs of the models come from earlier calls with equal inputs, where there are any.

    It holds in this process alone: builds in processes of their own compute as ever. Errors are not kept.
    """
    with pytest.MonkeyPatch.context() as patch:
        for module, name in COMPUTED:
            patch.setattr(module, name, _remembered(getattr(module, name)))
        patch.setattr(read_page, "house_report", _remembered_report(read_page.house_report))
        yield


def _remembered_report(computed: Callable[..., Any]) -> Callable[..., Any]:
    def with_reads(method, house, tables, runs):
        view = watched(Kitchen(house=house, tables=tables))
        return computed(method, view.kitchen.house, view.kitchen.tables, runs), frozenset(view.reads)

    with_reads = _remembered(with_reads, reports)

    @wraps(computed)
    def house_report(method, house, tables, runs):
        kitchen, note = _unwatched(house, tables)
        made, reads = with_reads(method, kitchen.house, kitchen.tables, runs)
        for each in reads:  # a build is told what the report rests on, computed now or earlier
            note(each)
        return made

    return house_report


def _remembered(computed: Callable[..., Any], known: dict[bytes, Any] | None = None) -> Callable[..., Any]:
    known = {} if known is None else known

    @wraps(computed)
    def found_or_computed(*inputs, **named):
        key = _key((inputs, named))
        if key not in known:
            made = computed(*inputs, **named)
            if len(known) >= MOST:
                known.pop(next(iter(known)))
            known[key] = made
        return known[key]

    return found_or_computed


def _key(inputs: Any) -> bytes:
    """A hash of values alone: equal records give one key, whatever they share in memory."""
    written = io.BytesIO()
    pickler = pickle.Pickler(written)
    pickler.fast = True
    pickler.dump(inputs)
    return sha256(written.getbuffer()).digest()


def _unwatched(house, tables) -> tuple[Kitchen, Callable[[str], object]]:
    """The kitchen behind a house and tables, and what notes its reads; nothing notes them where nobody watches."""
    whole = Kitchen(house=_added(house).get("_whole", house), tables=_added(tables).get("_whole", tables))
    return whole, _added(house).get("_note", lambda read: None)


def _added(view: Any) -> dict[str, Any]:
    """What a view of a record (handbook/folder/kitchen_reads.py) holds beside the record's own fields."""
    return getattr(view, "__dict__", {})
