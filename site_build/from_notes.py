"""From a finished draft to a Markdown page: calculation blocks that say where each figure comes from, and the notes.

The page ends with the notes word for word. The amounts stay in the cook's own units where the handbook reads them.
"""

from __future__ import annotations

import json
import re
import textwrap
from dataclasses import dataclass
from pathlib import Path

from handbook.draft import Draft, Kitchen
from handbook.errors import FaultsError, PageError
from handbook.evaluate import Report
from handbook.questions import NONE, Settled
from handbook.yaml_text import Table, parse_yaml
from site_build.blocks import split_page
from site_build.book import GENERATED
from site_build.kitchen import HOUSE_FILE, HOUSE_FILES, read_kitchen
from site_build.read_page import decode_page, read_page
from site_build.starter import starter_house

_PLAIN = re.compile(r"[A-Za-z0-9½⅓⅔¼¾⅛⅜⅝⅞⅕⅙][A-Za-z0-9 .%/°½⅓⅔¼¾⅛⅜⅝⅞⅕⅙-]*")
_AS_WRITTEN = """
## As it was written

The page was taken down from notes, which stand here word for word. Under a line stands what the page took from it;
`answered` is what the notes did not settle and {keeper} answered; `?` marks a line that was kept as words alone.

"""


@dataclass(frozen=True)
class WrittenPage:
    """The text of a page, and for its lines the value that stands there."""

    text: str
    origins: dict[int, Settled]


def write_page(draft: Draft) -> WrittenPage:
    """The Markdown page of a draft without open questions."""
    out = _Lines()
    out.add("---")
    for name, value in draft.sheet.items():
        out.field("", name, value)
    out.add("---", "", _one_line(draft.sheet["summary"].value), "", "## The pieces", "", "```pieces")
    for name, value in draft.pieces.items():
        out.field("", name, value)
    out.add("```", "")
    for mixture in draft.mixtures:
        name = mixture.fields["name"].value
        out.add(
            f"## {'The glaze' if mixture.block == 'glaze' else 'The salt'}: {_escaped(name)}", "", f"```{mixture.block}"
        )
        for key, value in mixture.fields.items():
            out.field("", key, value)
        out.add("ingredients:")
        for part in mixture.ingredients:
            out.table("  ", part)
        out.add("```", "")
    out.add("## The work", "", "```steps")
    for step in draft.steps:
        _write_step(out, step)
    out.add("```", "", "```batches")
    for key, value in draft.batches.items():
        out.field("", key, value)
    out.add("```", "")
    if draft.keeping:
        out.add("```keeping")
        for key, value in draft.keeping.items():
            out.field("", key, value)
        out.add("```", "")
    out.add(*_AS_WRITTEN.format(keeper=_escaped(draft.sheet["keeper"].value)).strip("\n").split("\n"), "", "```text")
    out.add(*_as_written(draft), "```")
    return WrittenPage("\n".join(out.lines) + "\n", out.origins)


def open_kitchen(page: Path) -> tuple[Path, Kitchen, str]:
    """The folder of a page that is to be written, its kitchen, and the text of a house file to write where there is none.

    Raises FaultsError with every fault of the house file and the house's tables.
    """
    folder = next((each for each in page.resolve().parents if (each / HOUSE_FILE).is_file()), page.resolve().parent)
    contents = {name: (folder / name).read_bytes() for name in HOUSE_FILES if (folder / name).is_file()}
    missing = "" if HOUSE_FILE in contents else starter_house()
    if missing:
        contents[HOUSE_FILE] = missing.encode()
    kitchen, faults = read_kitchen(folder.name, contents)
    if kitchen is None:
        raise FaultsError(faults)
    return folder, Kitchen(kitchen.house, kitchen.tables), missing


def check_page(text: str, folder: Path, page: Path, kitchen: Kitchen) -> tuple[Report | None, list[PageError]]:
    """What ``handbook check`` finds in this page, were it in its folder: its report, and every fault."""
    path = page.resolve().relative_to(folder).as_posix()
    file = f"{folder.name}/{path}"
    others = [each for each in folder.rglob("*") if each.is_file() and each.resolve() != page.resolve()]
    known = {each.relative_to(folder).as_posix() for each in others} | set(GENERATED) | {path}
    if path in GENERATED:
        return None, [PageError(file, 1, "file", path, "another name: the generator makes this page")]
    found = read_page(text, file, path, known, kitchen.words, kitchen.house, kitchen.tables)
    faults = list(found.faults)
    if found.method is not None:
        titles = {title.casefold(): each for each in others if each.suffix == ".md" and (title := _title(each))}
        twin = titles.get(found.method.sheet.title.casefold())
        if twin is not None:
            faults.append(
                PageError(file, 2, "title", found.method.sheet.title, f"a title of its own ({twin.name} has it)")
            )
    return found.report, faults


def in_words_of_notes(fault: PageError, page: WrittenPage, draft: Draft) -> str:
    """A fault of the page as one line that names the key to answer differently and the line of the notes."""
    origin = page.origins.get(fault.line) if not fault.key.startswith("safety.") else None
    if origin is None:
        return str(fault)
    key = f"{fault.key} ({origin.key})"
    return str(PageError(draft.notes.file, origin.line or 1, key, fault.read, fault.allowed, fault.suggestion))


class _Lines:
    """Lines of a page, each remembering the value that stands there."""

    def __init__(self):
        self.lines: list[str] = []
        self.origins: dict[int, Settled] = {}

    def add(self, *lines: str) -> None:
        self.lines += lines

    def field(self, indent: str, key: str, value: Settled, text: str = "") -> None:
        """``key: value   # where it comes from``."""
        self.origins[len(self.lines) + 1] = value
        self.lines.append(f"{indent}{key}: {text or _scalar(value.value)}{_origin(value)}")

    def table(self, indent: str, values: dict[str, Settled]) -> None:
        """One item of a list, a key to a line."""
        for number, (key, value) in enumerate(values.items()):
            self.field(f"{indent}{'- ' if number == 0 else '  '}", key, value)


def _write_step(out: _Lines, step: dict[str, Settled]) -> None:
    values = {key: value for key, value in step.items() if key != "repeat"}
    out.table("", values)
    repeat = step.get("repeat")
    if repeat is not None:
        out.field("  ", "repeat", repeat, f"{{every: {_scalar(repeat.value)}, do: {_scalar(repeat.words)}}}")


def _origin(value: Settled) -> str:
    if value.source == "handbook":
        return f"   # {_comment(value.words or 'the handbook')}"
    if value.source == "answer":
        return (
            f"   # answered (line {value.line}: {_comment(value.words)})"
            if value.line and value.words
            else "   # answered"
        )
    if value.words and value.words != value.value:
        return f"   # line {value.line}: {_comment(value.words)}"
    return f"   # line {value.line}"


def _comment(words: str) -> str:
    words = _one_line(words)
    return words if len(words) <= 60 else words[:57] + "..."


def _scalar(value: str) -> str:
    """A YAML scalar: plain where nothing in it can be mistaken, else in double quotes (JSON, which YAML reads)."""
    return value if _PLAIN.fullmatch(value) and value == value.strip() else json.dumps(value, ensure_ascii=False)


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _escaped(text: str) -> str:
    """Text that Markdown shows as it is."""
    return re.sub(r"([\\`*_{}\[\]<>#|!&])", r"\\\1", _one_line(text))


def _as_written(draft: Draft) -> list[str]:
    """Each line of the notes with its number, and under it what was taken from it."""
    taken: dict[int, list[str]] = {}
    for value in draft.values.values():
        name = value.key.rpartition(".")[2]
        if value.line and name not in ("do", "is", "note") and value.source != "handbook" and value.value != NONE:
            taken.setdefault(value.line, []).append(
                f"{name} {value.value}{' (answered)' if value.source == 'answer' else ''}"
            )
    width, lines = len(str(len(draft.notes.lines))), []
    used = set(taken) | {each.line for each in draft.notes.groups} | draft.notes.heads
    for number, line in enumerate(draft.notes.lines, 1):
        mark = "?" if line.strip() and number not in used else " "
        lines.append(f"{number:>{width}} {mark} {line}".rstrip())
        if number in taken:
            lines += textwrap.wrap(
                "; ".join(taken[number]),
                72,
                initial_indent=f"{' ' * width}     = ",
                subsequent_indent=f"{' ' * width}       ",
                break_on_hyphens=False,
            )
    return lines


def _title(page: Path) -> str:
    text, fault = decode_page(page.read_bytes(), page.name)
    head = None if fault else split_page(text, page.name)[0].head
    if head is None:
        return ""
    try:
        node = parse_yaml(head.text, page.name, head.line)
    except PageError:
        return ""
    entries = node.entries if isinstance(node, Table) else ()
    return next((getattr(value, "value", "") for key, _, value in entries if key == "title"), "")
