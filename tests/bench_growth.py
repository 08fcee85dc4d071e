"""How the work of one page grows with it: ``python -m tests.bench_growth [--size 40]``.

Each shape of growing.py is read, computed and rendered at n, 2 n and 4 n. A ratio of about 2 is work in proportion, 4 a
square. A shape that passes a limit shows how long it takes until the line is told, and which limit that was. Seconds
are those of the processor, so that a busy machine changes little.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterator
from itertools import pairwise

from tests.growing import SHAPES
from tests.one_page import OnePage


def main() -> None:
    """Print one line for each shape."""
    options = argparse.ArgumentParser(description="growth of one page's work")
    options.add_argument("--size", type=int, default=40)
    options.add_argument("shapes", nargs="*")
    chosen = options.parse_args()
    page = OnePage()
    took(page, SHAPES["steps"](1))  # what the first page alone loads
    for name, shape in SHAPES.items():
        if chosen.shapes and name not in chosen.shapes:
            continue
        print(line(name, list(measured(page, shape, chosen.size))), flush=True)


def measured(page: OnePage, shape, size: int) -> Iterator[tuple[float, str]]:
    """Seconds and first fault at size, 2 size and 4 size."""
    for factor in (1, 2, 4):
        yield took(page, shape(size * factor))


def took(page: OnePage, text: str) -> tuple[float, str]:
    """Seconds of this thread for one page, and the limit that it passes, if any."""
    began = time.thread_time()
    content, method, faults = page.read(text.encode())
    stopped = [each for each in faults if each.key not in ("link", "picture")]
    if not stopped and method is not None:
        report, stopped = page.compute(method)
        if report is not None:
            page.html(content, report)
    elif not stopped:
        page.html(content, None)
    return time.thread_time() - began, stopped[0].allowed if stopped else ""


def line(name: str, found: list[tuple[float, str]]) -> str:
    """One line of the report: seconds, ratios of what is long enough to tell, the limit at the largest size."""
    seconds = [each for each, _ in found]
    ratios = [b / a for a, b in pairwise(seconds) if a > 0.005]
    said = "  ".join(f"{each:7.3f} s" for each in seconds)
    grows = "  ".join(f"x {each:4.1f}" for each in ratios)
    return f"{name:42} {said}  {grows:16} {found[-1][1][:70]}".rstrip()


if __name__ == "__main__":
    main()
