"""The model's time for every published row, stored with the rows so that builds need not compute them.

``python -m tests.bench_heat --keep`` computes and writes them; a test computes them again and compares.
"""

from __future__ import annotations

from functools import lru_cache

from handbook.base.csv_rows import number, read_table
from handbook.base.errors import RangeError
from handbook.heat.heat_results import TimeReached
from handbook.validation.cooking_comparisons import Predicted, cooking_times

_TABLE = "predicted_times.csv"
_HOUR = 3600.0


@lru_cache
def kept_times() -> tuple[Predicted, ...]:
    """The model's time in s for every published row, in the order of the rows. Raises RangeError for a row without one."""
    kept = {row["key"]: row for row in read_table(_TABLE)}
    published = cooking_times()
    missing = {each.key for each in published} ^ set(kept)
    if missing:
        raise RangeError(_TABLE, 0.0, f"one row for each published time; run --keep for {', '.join(sorted(missing))}")
    return tuple(Predicted(published=each, time=_time(kept[each.key])) for each in published)


def _time(row: dict[str, str]) -> TimeReached:
    named = {**row, "name": row["key"]}
    low, typical, high = (
        _HOUR * number(named, end, 0.001, 1000.0) if row[end] else None for end in ("low", "typical", "high")
    )
    return TimeReached(low, typical, high, number(named, "share", 0.0, 1.0))
