"""The report as Markdown for a comment on a pull request: most serious first, details folded, limited in length."""

from __future__ import annotations

import re
from html import escape

from handbook.base.formats import shorten
from site_build.review.changes import Comparison
from site_build.review.report_parts import (
    BETTER,
    SERIOUS,
    Alert,
    HouseParts,
    MethodParts,
    ReportTable,
    report_parts,
)

#: Bytes of UTF-8 in a comment. Forges cut or refuse comments from 65 536 on (from memory).
LIMIT = 60_000
#: A comment that begins with this line is an earlier report, to be replaced by the new one.
MARKER = "<!-- handbook compare -->"
_ROWS, _MOST_ALERTS = 12, 8
_SPECIAL = re.compile(r"([\\`*_\[\]<>|~$!{}&#])")
# At the beginning of a line it is a command to some forges, such as to merge.
_SLASH = re.compile(r"^(\s*)(?=/)")

#: Where a forge's names, numbers and addresses are split: after the end of each match.
_REFERENCE = re.compile(
    r"""[@\#!~$%&^](?=[\w"'])                     # @name, #12, !12, ~label, %"milestone"
    |\b(?:[A-Z]{2,10}|[Gg][Hh])-(?=[0-9])         # GH-12
    |:(?=//)|\b[Ww]{3}(?=\.)|\b(?:mailto|xmpp):   # addresses
    """,
    re.X,
)
# Forges link commit ids from seven digits on.
_COMMIT = re.compile(r"(?<![0-9A-Za-z])[0-9A-Fa-f]{7,}(?![0-9A-Za-z])")


def markdown_text(comparison: Comparison, limit: int = LIMIT) -> str:
    """The report of at most ``limit`` bytes. Methods that do not fit are shown in one line, then only counted."""
    report = report_parts(comparison)
    first, *rest = report.summary
    head = [
        MARKER,
        f"### Handbook: {escape_markdown(first)}",
        "",
        *(f"{escape_markdown(each)}  " for each in rest),
    ]
    head += _faults(report.faults)
    blocks = [_Block(each) for each in report.methods]
    house = _house(report.house) if report.house else []
    others = [line for title, rows in report.others for line in _others(title, rows, limit // 8)]
    if report.house:
        blocks += [_Block(each, "by the house data alone, ") for each in report.house.methods]
    blocks.sort(key=lambda each: (not each.parts.is_serious, each.is_short))
    if _size(house) > limit // 4:
        house = ["", "House data: too long for this report."]
    tail = [*house, *others]
    return "\n".join([*head, *_fitted(blocks, limit - _size(head) - _size(tail) - 200), *tail]) + "\n"


class _Block:
    """One method in three lengths."""

    def __init__(self, parts: MethodParts, cause: str = ""):
        self.parts = parts
        #: Beside a serious change, effects of house data take one line each, because they move many methods a little.
        self.is_short = bool(cause) and not parts.is_serious
        self.title = f"#### {escape_markdown(parts.title)}"
        self.status = f"*{cause}{escape_markdown(parts.status)}* · {code(parts.path)}{self._marks()}"

    def _marks(self) -> str:
        marks = list(filter(None, dict.fromkeys(self.parts.marks)))
        return f" · {' → '.join(code(each) for each in marks)}" if marks else ""

    def full(self, rows: int = _ROWS) -> list[str]:
        """What was edited, serious lines, what follows, folded details."""
        lines = ["", self.title, "", self.status]
        for table in self.parts.edited:
            lines += _table(table, rows)
        lines += _faults(self.parts.alerts)
        for table in self.parts.tables:
            lines += _folded(table) if table.is_folded and rows else _table(table, rows) if not table.is_folded else []
        return lines + [line for note in self.parts.notes for line in ("", escape_markdown(note))]

    def line(self) -> list[str]:
        """One line."""
        headline = escape_markdown(shorten(self.parts.headline, 300))
        return [f"- **{escape_markdown(self.parts.title)}** ({code(self.parts.path)}): {headline}"]


def escape_markdown(text: str) -> str:
    """``text`` as words of a paragraph, heading or table cell, without markup, links, mentions or references."""
    # A forge finds names, numbers and addresses after parsing Markdown; an invisible joiner splits them.
    text = _REFERENCE.sub("\\g<0>\u2060", _SLASH.sub(r"\1\\", _SPECIAL.sub(r"\\\1", text)))
    return _COMMIT.sub(lambda found: "\u2060".join(re.findall(".{1,6}", found[0])), text)


def code(text: str) -> str:
    """``text`` as a code span that no backtick in it can end."""
    longest = max((len(each) for each in re.findall("`+", text)), default=0)
    fence = "`" * (longest + 1)
    blank = " " if longest else ""
    return f"{fence}{blank}{text.replace('|', chr(0x2758))}{blank}{fence}"


def _fitted(blocks: list[_Block], room: int) -> list[str]:
    lines, short, left_out = [], [], 0
    for block in blocks:
        for form in (block.full(), block.full(4), block.full(0)):
            # A sixth of the length remains for one line each of the following methods.
            if not block.is_short and not short and _size(lines) + _size(form) <= room * 5 // 6:
                lines += form
                break
        else:
            line = block.line()
            if _size(lines) + _size(short) + _size(line) <= room:
                short += line
            else:
                left_out += 1
    if short:
        lines += ["", "#### In one line each", "", *short]
    if left_out:
        word = "method" if left_out == 1 else "methods"
        lines += ["", f"**{left_out} more** {word}, not shown: the whole report holds them."]
    return lines


def _house(house: HouseParts) -> list[str]:
    lines = ["", "#### House data", *_faults(house.alerts)]
    for table in house.tables:
        lines += _table(table, 2 * _ROWS)
    names = [escape_markdown(each.title) for each in house.methods]
    if names:
        more = f" and {len(names) - 40} more" if len(names) > 40 else ""
        lines += ["", f"Moved by it alone ({len(names)}): {', '.join(names[:40])}{more}."]
    return lines


def _others(title: str, rows: tuple[tuple[str, str], ...], room: int) -> list[str]:
    """Each path with its change, as many as fit into ``room`` bytes."""
    lines = ["", f"#### {title}", ""]
    for number, (path, status) in enumerate(rows):
        line = f"- {code(path)}: {escape_markdown(status)}"
        if _size([*lines, line]) > room:
            return [*lines, f"- **{len(rows) - number} more**, not shown: the whole report names them."]
        lines.append(line)
    return lines


def _faults(alerts: tuple[Alert, ...]) -> list[str]:
    lines = [_alert(each) for each in alerts[:_MOST_ALERTS]]
    if len(alerts) > _MOST_ALERTS:
        lines.append(f"- {len(alerts) - _MOST_ALERTS} more")
    return ["", *lines] if lines else []


def _alert(alert: Alert) -> str:
    mark = "⛔" if alert.word in SERIOUS else "✔" if alert.word == BETTER else "⚠"
    return f"- {mark} **{escape_markdown(alert.word)}: {escape_markdown(alert.title)}** {escape_markdown(alert.text)}"


def _table(table: ReportTable, rows: int) -> list[str]:
    if not rows:
        return ["", f"{escape_markdown(table.title)}: {len(table.rows)} changed"]
    shown = [_row(each) for each in table.rows[:rows]]
    if len(table.rows) > rows:
        shown.append(_row((f"{len(table.rows) - rows} more", *[""] * (len(table.head) - 1))))
    head = (table.title, *table.head[1:])
    return ["", _row(head), "|" + " --- |" * len(head), *shown]


def _folded(table: ReportTable) -> list[str]:
    summary_line = f"<details><summary>{escape(table.title)} ({len(table.rows)})</summary>"
    return ["", summary_line, *_table(table, 3 * _ROWS), "", "</details>"]


def _row(cells: tuple[str, ...]) -> str:
    return "| " + " | ".join(escape_markdown(each) for each in cells) + " |"


def _size(lines: list[str]) -> int:
    return sum(len(each.encode("utf-8", "replace")) + 1 for each in lines)
