"""Reads the YAML texts of one page into a Method and collects all its faults in one run."""

from __future__ import annotations

from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from handbook.base.errors import PageError
from handbook.base.forms import Reading, read_yaml
from handbook.catalogue.tables import Tables
from handbook.page.front_matter import FrontMatter, front_matter_form
from handbook.page.ingredient_lines import check_lines
from handbook.page.method import BLOCKS, SEVERAL, Method, block_forms, check_method
from handbook.page.piece_size import with_sizes
from handbook.page.salting import BRINE, CURE, MIX, MIXED, Salting, with_target
from handbook.page.vocabulary import Vocabulary

MAX_BLOCKS = 20


class BlockText(Struct, frozen=True, kw_only=True):
    """One YAML text of a page: its kind of block (``front matter`` for the head) and its first line."""

    kind: str
    text: str
    line: int


def read_method(
    file: str,
    name: str,
    head: BlockText | None,
    blocks: list[BlockText],
    words: Vocabulary,
    measures: str,
    tables: Tables,
) -> tuple[Method | None, list[PageError]]:
    """The method of one page and its faults.

    A faulty value is read as its fault line suggests. The method is None where a faulty value has no replacement.

    ``file`` is the path in error texts, ``name`` the page's own name, ``measures`` the house's kitchen measures (us,
    metric, imperial), ``tables`` those of its foods and ingredients.
    """
    reading = Reading(file=file, measures=measures, stands_in=True)
    values: dict[str, list[Any]] = {kind: [] for kind in BLOCKS}
    if head is None:
        reading.fault(1, "front matter", "nothing", "a front matter between two lines of three dashes")
    if len(blocks) > MAX_BLOCKS:
        allowed = f"at most {MAX_BLOCKS} blocks on a page"
        reading.fault(blocks[MAX_BLOCKS].line, "block", f"{len(blocks)} blocks", allowed)
        blocks = blocks[:MAX_BLOCKS]
    front_matter = read_yaml(front_matter_form(words), head.text, reading, head.kind, head.line) if head else None
    forms = block_forms(words)
    for block in blocks:
        if values[block.kind] and block.kind not in SEVERAL:
            reading.fault(block.line - 1, block.kind, f"{block.kind} twice", f"one {block.kind} block on a page")
            continue
        values[block.kind].append(read_yaml(forms[block.kind], block.text, reading, block.kind, block.line, block.kind))
    missing = [kind for kind in ("pieces", "steps", "batches") if not values[kind]]
    for kind in missing:
        reading.fault(1, kind, "nothing", f"one {kind} block on the page, from a line ```{kind} to a line ```")
    said = {(fault.line, fault.key) for fault in reading.faults}
    # Whatever else is wrong, the lines of what could be read are checked in the same run.
    lines = check_lines(filter(None, (*values["salting"], *values["glaze"])), file, tables)
    is_whole = all(each is not None for found in values.values() for each in found)
    if front_matter is None or missing or not is_whole:
        return None, [*reading.faults, *lines]
    method = _method(file, name, front_matter, values, reading)
    check_method(method, reading)
    # The fault of a replaced value is already recorded.
    keys = {key for _, key in said}
    reading.faults = [each for each in reading.faults if (each.line, each.key) in said or each.key not in keys]
    has_new = any((each.line, each.key) not in said for each in reading.faults)
    return (None if has_new else method), [*reading.faults, *lines]


def _method(file: str, name: str, front_matter: FrontMatter, values: dict[str, list[Any]], reading: Reading) -> Method:
    saltings = tuple(
        with_target(each if each.name else replace(each, name=_usual_name(each)), reading) for each in values["salting"]
    )
    return Method(
        file=file,
        name=name,
        front_matter=front_matter,
        pieces=with_sizes(values["pieces"][0]),
        saltings=saltings,
        glazes=tuple(values["glaze"]),
        steps=values["steps"][0],
        batches=values["batches"][0],
        keeping=values["keeping"][0] if values["keeping"] else None,
        measured=values["measured"][0] if values["measured"] else (),
        formula=values["formula"][0] if values["formula"] else (),
    )


def _usual_name(salting: Salting) -> str:
    """The name of a salting that the page does not name."""
    if salting.kind == MIXED:
        return MIX
    return CURE if salting.is_dry else BRINE
