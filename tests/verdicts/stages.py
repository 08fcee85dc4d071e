"""Every page of the verdict table with the steps called by another stage's name, where the work stays the same.

Salt, freshen, rinse and ferment say what is done to the food's salt, and what is prepared on the stove is a brine;
these keep their names. All other names are words for the reader.

``python -m tests.verdicts.stages`` tries every name on every page; the tests try one name on each.
"""

from __future__ import annotations

import sys
import zlib
from collections.abc import Iterator

from msgspec.structs import replace

from handbook.page.steps import STAGES
from tests.verdicts.cases import Case, cases
from tests.verdicts.engine import judge
from tests.verdicts.judge_table import compared

KEPT = ("salt", "freshen", "rinse", "ferment")
NAMES = tuple(each for each in STAGES if each not in KEPT)


def renamed(case: Case, name: str) -> Case | None:
    """The case with every step called ``name`` whose work is the same by any name; None where nothing changes."""
    steps = {
        key: {**step, "stage": name} if _may_change(step, name) else step for key, step in case.page["steps"].items()
    }
    if steps == case.page["steps"]:
        return None
    return replace(case, page={**case.page, "steps": steps}, rewritten=f"all {name}")


def chosen(count: int = 1) -> Iterator[Case]:
    """Each page under a name, drawn by its id, so that every run tries the same ones."""
    for case in cases():
        first = zlib.crc32(case.id.encode())
        found = (renamed(case, NAMES[(first + 5 * number) % len(NAMES)]) for number in range(count))
        yield from filter(None, found)


def main() -> int:
    """Print every name that changes a verdict; 1 where one does."""
    wrong = total = 0
    for case in cases():
        for each in filter(None, (renamed(case, name) for name in NAMES)):
            total += 1
            if said := compared(each, judge(each)):
                wrong += 1
                print(f"WRONG {each.name}: expected {each.verdict}, got {said[:240]}")
    print(f"{total - wrong} of {total} right")
    return int(wrong > 0)


def _may_change(step: dict[str, str], name: str) -> bool:
    is_brine = step.get("place") == "stove" and "core" not in step
    return step["stage"] not in KEPT and not (is_brine and "prepare" in (step["stage"], name))


if __name__ == "__main__":
    sys.exit(main())
