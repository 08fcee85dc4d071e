"""The strictest of several verdicts on one method, finding by finding."""

from __future__ import annotations

from msgspec.structs import replace

from handbook.safety.findings import LEVELS, Finding


def strictest(first: tuple[Finding, ...], second: tuple[Finding, ...], why: str) -> tuple[Finding, ...]:
    """``first`` with worse findings of ``second`` in place of its own, and with stops and actions that only ``second``
    has.

    ``why`` is added to the message of each finding that comes from ``second``.
    """
    others = {(each.rule, each.limit, each.title): each for each in second}
    merged = []
    for each in first:
        other = others.pop((each.rule, each.limit, each.title), each)
        is_worse = LEVELS.index(other.level) < LEVELS.index(each.level)
        merged.append(replace(other, message=f"{other.message} {why}") if is_worse else each)
    added = [each for each in others.values() if each.level in ("stop", "act")]
    merged += [replace(each, message=f"{each.message} {why}") for each in added]
    return tuple(sorted(merged, key=lambda each: LEVELS.index(each.level)))
