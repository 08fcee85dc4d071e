"""More random days than the tests try: ``python -m tests.try_days FIRST LAST`` plans each and has the plan checked."""

from __future__ import annotations

import sys
from collections import Counter

from handbook.days.day_check import check_day
from handbook.days.day_solver import solve
from handbook.days.day_tasks import DayError, problem_of
from tests.handbook.day_cases import random_case


def main(first: int, last: int) -> int:
    """The number of days whose plan breaks a rule; each is named."""
    count: Counter = Counter()
    for seed in range(first, last):
        wish, methods, house = random_case(seed)
        try:
            answer = solve(problem_of(wish, methods, house))
        except DayError:
            count["no place or vessel"] += 1
            continue
        count[answer.status] += 1
        faults = check_day(answer.plan, wish, methods, house) if answer.plan else []
        if faults:
            count["broken"] += 1
            print(f"seed {seed}: {faults[0]}")
        if (seed - first) % 500 == 499:
            print(f"{seed - first + 1} days: {dict(count)}", flush=True)
    print(dict(count))
    return count["broken"]


if __name__ == "__main__":
    sys.exit(1 if main(int(sys.argv[1]), int(sys.argv[2])) else 0)
