"""Every case of the verdict table through the engine: right or wrong, and counts by family.

``python -m tests.verdicts.judge_table`` prints the wrong ones and the counts; ``--all`` prints the right ones too;
further words keep to cases whose id, family or hazard holds one of them.
"""

from __future__ import annotations

import sys
from collections import Counter

from msgspec import Struct

from tests.verdicts.cases import Case, cases, rewritten
from tests.verdicts.engine import Judged, heading, judge


class Row(Struct, frozen=True):
    """One case as judged; ``wrong`` is empty where the verdict is the right one."""

    case: Case
    wrong: str
    got: str


def compared(case: Case, judged: Judged) -> str:
    """What is wrong with the verdict that a case got; empty where it is right."""
    if judged.verdict == "fault":
        told = case.fault and any(_holds(each.partition("; allowed:")[0], case.finds) for each in judged.faults)
        return "" if told and case.verdict == "stop" else f"fault: {judged.faults[0]}"
    if case.verdict == "clear":
        return _not_clear(case, judged)
    if case.verdict != judged.verdict:
        first = (judged.decisive(judged.verdict) or ("nothing found",))[0]
        return f"{judged.verdict}: {first}"
    if not any(_holds(each, case.finds) for each in judged.decisive(case.verdict)):
        return f"{case.verdict} without {' or '.join(case.finds)}: {judged.decisive(case.verdict)[0]}"
    return ""


def rows(chosen: tuple[str, ...] = ()) -> list[Row]:
    """Every case and rewriting that holds one of the chosen words, judged."""
    found = []
    for case in (*cases(), *rewritten()):
        if not chosen or any(word in (case.id, case.family, case.hazard, case.name) for word in chosen):
            judged = judge(case)
            found.append(Row(case, compared(case, judged), judged.verdict))
    return found


def main(arguments: list[str]) -> int:
    """Print the table; 1 where a verdict is wrong."""
    found = rows(tuple(each for each in arguments if each != "--all"))
    for row in found:
        if row.wrong:
            print(f"WRONG {row.case.name}: expected {row.case.verdict}, got {row.wrong[:300]}")
        elif "--all" in arguments:
            print(f"right {row.case.name}: {row.got}")
    _counts(found)
    return int(any(row.wrong for row in found))


def _counts(found: list[Row]) -> None:
    right, total = Counter(), Counter()
    for row in found:
        kind = row.case.rewritten or row.case.verdict
        for key in (row.case.family, f"as {kind}" if not row.case.rewritten else f"rewritten: {kind}", "all"):
            total[key] += 1
            right[key] += not row.wrong
    for key in sorted(total, key=lambda each: (each == "all", each)):
        print(f"{key:24} {right[key]:4} of {total[key]:4} right")


def _not_clear(case: Case, judged: Judged) -> str:
    if judged.verdict == "stop":
        return f"stop: {judged.decisive('stop')[0]}"
    acts = [heading(each) for each in judged.findings if each.level == "act"]
    return next((f"act: {each}" for each in acts if case.about and _holds(each, case.about)), "")


def _holds(text: str, words: tuple[str, ...]) -> bool:
    return any(word.casefold() in text.casefold() for word in words)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
