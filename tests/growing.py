"""Small pages that ask for much: one shape for each way in which work can grow faster than the page.

``SHAPES`` gives a page of about size ``n``; bench_growth.py measures them at n and 2 n, the fuzz target begins with
them, and test_growth.py asks that each is a page or a line.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from tests.hostile_pages import SMALL

GOOD = SMALL.format(kind="cook", shape="slab", salting="immersion", more="name: brine", stage="cook")
_BAKE = "- {do: Bake, stage: cook, until: core, place: oven, chamber: 120 °C, core: %d °C}\n"
_GLAZE = "```glaze\nname: glaze %d\ningredients:\n%s```\n"
_OVEN = "- {do: Bake, stage: cook, time: %s, place: oven, chamber: 120 °C}\n"


def table(columns: int, rows: int, before: str = "", row: str = "|") -> str:
    """A Markdown table whose rows are short: each is filled up to ``columns`` cells."""
    return f"{before}{'|a' * columns}\n{before}{'|-' * columns}\n" + f"{before}{row}\n" * rows


def prose(words: str) -> str:
    """A page of plain reading."""
    return f"# A page\n\n{words}\n"


def with_steps(lines: str) -> str:
    """The good page with other steps."""
    return re.sub(r"```steps\n.*?```", lambda _: f"```steps\n{lines}```", GOOD, flags=re.S)


def with_batches(page: str, batches: int) -> str:
    """``page`` with so many batches shown."""
    shown = ", ".join(f"{each + 1} kg" for each in range(batches))
    return page.replace("written_for: 2 kg", f"written_for: 2 kg\nshow: [{shown}]")


def with_glazes(ingredients: int, item: str, blocks: int = 12) -> str:
    """The good page with ``blocks`` more glazes; ``item`` has a place for the ingredient's number."""
    lines = [f'  - {{item: "{item.format(each)}", amount: 10 g}}\n' for each in range(ingredients)]
    return GOOD + "".join(_GLAZE % (number, "".join(lines)) for number in range(blocks))


def with_sizes(sizes: int) -> str:
    """The good page with so many sizes of the piece, salted to a target."""
    lines = "".join(f"  - {{name: size {each}, thickness: {20 + each} mm}}\n" for each in range(sizes))
    page = GOOD.replace("thickness: 20-25 mm\n", f"thickness: 20-25 mm\nsizes:\n{lines}")
    return page.replace("time: 60-75 min", "until: target salt").replace(
        "name: brine", "name: brine\ntarget_salt: 2 % of all"
    )


SHAPES: dict[str, Callable[[int], str]] = {
    "table": lambda n: prose(table(n, n)),
    "table in a quote": lambda n: prose(table(n, n, "> ")),
    "table in a list": lambda n: prose("- " + table(n, n, "  ")[2:]),
    "table whose delimiter has no dash": lambda n: prose(f"{'|a' * n}\n{'|' * n}\n" + "a\n" * n),
    "table of rows that only look blank": lambda n: prose(table(n, n, row="\u00a0")),
    "table across a comment": lambda n: prose(table(n, 1) + "a <!--\n\n-->\n" + "a\n" * n),
    "table behind a fence that ends elsewhere": lambda n: prose(f"```\n{table(n, n)}````"),
    "many tables": lambda n: prose((table(2, 1) + "\n") * (4 * n)),
    "emphasis": lambda n: prose(("*a" * 30 + "\n\n") * n),
    "strong within emphasis": lambda n: prose("***a **b " * (8 * n)),
    "quotes within quotes": lambda n: prose("".join(f"{'>' * (each % 8 + 1)} a\n" for each in range(20 * n))),
    "lists within lists": lambda n: prose("".join(f"{'    ' * (each % 8)}- a\n" for each in range(20 * n))),
    "items of one list": lambda n: prose("- a\n" * (100 * n)),
    "line breaks": lambda n: prose("a  \n" * (100 * n)),
    "fences": lambda n: prose("```\na\n```\n" * (20 * n)),
    "footnotes": lambda n: prose("".join(f"[^{each}]: a\n\n" for each in range(20 * n)) + "a[^1] " * n),
    "abbreviations": lambda n: prose("".join(f"*[A{each}]: a\n" for each in range(20 * n)) + "A1 " * n),
    "reference links": lambda n: prose("".join(f"[a{each}]: b.md\n" for each in range(10 * n)) + "[a1]\n" * (10 * n)),
    "dead links": lambda n: prose("".join(f"[a](abuot-{each}.md)\n\n" for each in range(10 * n))),
    "headings of one name": lambda n: prose("## a\n\n" * n),
    "raw elements": lambda n: prose("<div><b>a</b>\n" * (5 * n)),
    "marks that join": lambda n: prose("a" + "\u0300\u0316" * (20 * n)),
    "block markers": lambda n: GOOD + "\nhandbook-block-3-here\n" * n,
    "keys of YAML": lambda n: GOOD.replace("summary: Short.", "".join(f"k{each}: v\n" for each in range(50 * n))),
    "lists of YAML": lambda n: GOOD.replace("summary: Short.", "summary: " + "[" * n),
    "digits": lambda n: GOOD.replace("amount: 90 g", f"amount: {'9' * (20 * n)} g"),
    "fractions": lambda n: GOOD.replace("amount: 90 g", f"amount: {'1/2 ' * (10 * n)}g"),
    "ends of a range": lambda n: GOOD.replace("amount: 90 g", f'amount: "{"1-" * (10 * n)}x"'),
    "misspelt names": lambda n: with_glazes(min(n, 55), "prsely {}"),
    "ingredients and batches": lambda n: with_batches(with_glazes(min(n, 55), "pepper, black, ground"), 11),
    "sizes": lambda n: with_sizes(min(n, 12)),
    "steps": lambda n: with_steps("- {do: Wait, stage: prepare, time: 5 min}\n" * (5 * n)),
    "steps in the oven": lambda n: GOOD.replace("- {do: Chill", _OVEN % "1 min" * (5 * n) + "- {do: Chill"),
    "long steps in the oven": lambda n: GOOD.replace("- {do: Chill", (_OVEN % "400 days") * n + "- {do: Chill"),
    "steps until the core": lambda n: GOOD.replace("- {do: Bake", "".join(_BAKE % (40 + each) for each in range(n)) + "- {do: Bake"),
    "salt steps": lambda n: with_steps("- {do: Salt, stage: salt, time: 1 h}\n" + "- {do: Rest, stage: rest, time: 9 h}\n" * n),
    "coats": lambda n: GOOD.replace("every: 10 min", f"every: {35 * 60 // (10 * n) or 1} s"),
}  # fmt: skip
