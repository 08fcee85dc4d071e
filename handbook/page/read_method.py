"""Reads the YAML texts of one page into a Method and collects all its faults in one run."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from handbook.base.did_you_mean import nearest
from handbook.base.errors import PageError
from handbook.base.forms import Form, Reading
from handbook.base.yaml_text import Table, parse_yaml
from handbook.page.method import BLOCKS, SEVERAL, Method, Vocabulary, block_form, check_method, sheet_record
from handbook.page.piece_size import check_sizes, with_sizes

MAX_BLOCKS = 20


@dataclass(frozen=True, kw_only=True)
class BlockText:
    """One YAML text of a page: its kind of block (``front matter`` for the head) and its first line."""

    kind: str
    text: str
    line: int


def read_method(
    file: str, name: str, head: BlockText | None, blocks: list[BlockText], words: Vocabulary, measures: str
) -> tuple[Method | None, list[PageError]]:
    """The method of one page, or None and its faults.

    ``file`` is the path in error texts, ``name`` the page's own name, ``measures`` the house's kitchen measures (us,
    metric, imperial).
    """
    reading = Reading(file=file, measures=measures)
    parts: dict[str, list[tuple[BlockText, Any]]] = {kind: [] for kind in BLOCKS}
    if head is None:
        reading.fault(1, "front matter", "nothing", "a front matter between two lines of three dashes")
    if len(blocks) > MAX_BLOCKS:
        reading.fault(
            blocks[MAX_BLOCKS].line, "block", f"{len(blocks)} blocks", f"at most {MAX_BLOCKS} blocks on a page"
        )
        blocks = blocks[:MAX_BLOCKS]
    sheet = _read(head, sheet_record(words), "", reading) if head else None
    for block in blocks:
        if parts[block.kind] and block.kind not in SEVERAL:
            reading.fault(block.line - 1, block.kind, f"{block.kind} twice", f"one {block.kind} block on a page")
            continue
        parts[block.kind].append((block, _read(block, block_form(block.kind, words), block.kind, reading)))
    for kind in ("pieces", "steps", "batches"):
        if not parts[kind]:
            reading.fault(1, kind, "nothing", f"one {kind} block on the page")
    if reading.faults or sheet is None:
        return None, reading.faults
    values = {kind: [value for _, value in found] for kind, found in parts.items()}
    saltings = tuple(
        each if each.name else replace(each, name="cure" if each.is_dry else "brine") for each in values["salting"]
    )
    method = Method(
        file=file,
        name=name,
        sheet=sheet,
        pieces=with_sizes(values["pieces"][0]),
        saltings=saltings,
        glazes=tuple(values["glaze"]),
        steps=values["steps"][0],
        batches=values["batches"][0],
        keeping=values["keeping"][0] if values["keeping"] else None,
        measured=values["measured"][0] if values["measured"] else (),
    )
    check_method(method, reading)
    return (None if reading.faults else method), reading.faults


def suggest_block(word: str) -> str:
    """The kind of block that is nearest to a misspelt one, or an empty text."""
    return nearest(word, BLOCKS)


def _read(block: BlockText, form: Form, key: str, reading: Reading) -> Any:
    try:
        node = parse_yaml(block.text, reading.file, block.line, block.kind)
    except PageError as fault:
        reading.faults.append(fault)
        return None
    if block.kind == "pieces" and isinstance(node, Table):
        check_sizes(node, reading)
    return form.read(node, key, reading)
