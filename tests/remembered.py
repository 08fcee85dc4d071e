"""What tests have computed: the same figures from the same inputs are not computed again.

Three steps are kept: a page's whole report; the runs of the heat and uptake models, which pages that differ only in
their words, prices or batches share; and the stages of a heat run, which pages share as far as they are alike.
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
from weakref import WeakKeyDictionary

import pytest
from msgspec.structs import replace

from handbook.folder import read_page
from handbook.folder.kitchen import Kitchen
from handbook.folder.kitchen_reads import watched
from handbook.heat import heat_run
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
        patch.setattr(heat_course, "_strict_run", _by_shared_stages(heat_course._strict_run))
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
            _keep(known, key, computed(*inputs, **named))
        return known[key]

    return found_or_computed


def _by_shared_stages(computed: Callable[..., Any]) -> Callable[..., Any]:
    # Runs of reports alone: tests of the model itself also run it with other steps.
    shared = _remembered_stage(heat_run.run_stage)

    @wraps(computed)
    def strict_run(*inputs):
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(heat_run, "run_stage", shared)
            return computed(*inputs)

    return strict_run


def _remembered_stage(run_stage: Callable[..., Any]) -> Callable[..., Any]:
    """A stage goes on from the stepper as it was made and from the stages before: equal ones end in the same state."""
    known: dict[bytes, Any] = {}
    begun: WeakKeyDictionary[Any, bytes] = WeakKeyDictionary()

    @wraps(run_stage)
    def found_or_run(stepper, stage, record):
        key = _key((begun.get(stepper) or _key(vars(stepper)), replace(stage, line=0)))
        columns = (record.time, record.clock, record.rows)
        if key in known:
            result, after, added = known[key]
            for column, more in zip(columns, added, strict=True):
                column.extend(more)
            vars(stepper).update(pickle.loads(after))
        else:
            first = len(record.rows)
            result = run_stage(stepper, stage, record)
            _keep(known, key, (result, pickle.dumps(vars(stepper)), [column[first:] for column in columns]))
        begun[stepper] = key
        return result

    return found_or_run


def _keep(known: dict[bytes, Any], key: bytes, made: Any) -> None:
    if len(known) >= MOST:
        known.pop(next(iter(known)))
    known[key] = made


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
