"""The report for a terminal: coloured, for narrow windows, and safe against escape sequences in pages."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator

import click

from handbook.base.errors import without_commands
from site_build.review.changes import Comparison
from site_build.review.report_parts import (
    ACT,
    BETTER,
    FAULT,
    LESS,
    STOP,
    WORDS,
    Alert,
    MethodParts,
    ReportTable,
    report_parts,
)

NARROWEST = 24
_COLOURS = {STOP: "red", FAULT: "red", ACT: "yellow", LESS: "yellow", WORDS: "yellow", BETTER: "green"}


def terminal_text(comparison: Comparison, width: int = 80, shows_details: bool = False) -> str:
    """The whole report; ``shows_details`` prints details that are otherwise only counted. Its only escape sequences are colours."""
    width = max(width, NARROWEST)
    report, lines = report_parts(comparison), list[str]()
    for number, text in enumerate(report.summary):
        lines += [click.style(each, bold=number == 0) for each in _wrapped(text, width)]
    for alert in report.faults:
        lines += _alert(alert, width)
    for parts in report.methods:
        lines += ["", *_method(parts, width, shows_details)]
    if report.house:
        lines += ["", *_title("House data", width)]
        for alert in report.house.alerts:
            lines += _alert(alert, width)
        for table in report.house.tables:
            lines += _table(table, width)
        if report.house.methods:
            lines += ["", *_title("What the house data alone moves", width)]
        for parts in report.house.methods:
            lines += ["", *_method(parts, width, shows_details)]
    for title, rows in report.others:
        lines += ["", *_title(title, width)]
        lines += [line for path, status in rows for line in _wrapped(f"{path}: {status}", width, "  ")]
    return "\n".join(lines) + "\n"


def _method(parts: MethodParts, width: int, shows_details: bool) -> Iterator[str]:
    yield from _title(f"{parts.title} ({parts.status})", width)
    marks = " → ".join(filter(None, dict.fromkeys(parts.marks)))
    yield from _wrapped(f"{parts.path}  {marks}".rstrip(), width, "  ")
    for table in parts.edited:
        yield from _table(table, width)
    for alert in parts.alerts:
        yield from _alert(alert, width)
    for table in parts.tables:
        if table.is_folded and not shows_details:
            yield from _wrapped(f"{table.title}: {len(table.rows)} (--details shows them)", width, "  ")
        else:
            yield from _table(table, width)
    for note in parts.notes:
        yield from _wrapped(note, width, "  ")


def _alert(alert: Alert, width: int) -> Iterator[str]:
    first, *rest = _wrapped(f"{alert.word}: {alert.title}", width, "  ", "    ")
    yield from (click.style(line, fg=_COLOURS.get(alert.word), bold=True) for line in (first, *rest))
    yield from _wrapped(alert.text, width, "    ")


def _table(table: ReportTable, width: int) -> Iterator[str]:
    yield from (click.style(line, bold=True) for line in _wrapped(table.title, width, "  "))
    for row in table.rows:
        name, before, after, size = (*row, "")[:4]
        change = f"{before} → {after}" + (f"  ({size})" if size else "")
        one = f"    {name}: {change}"
        if columns(one) <= width:
            yield without_commands(one)
        else:
            yield from _wrapped(name, width, "    ")
            yield from _wrapped(change, width, "      ")


def _title(text: str, width: int) -> list[str]:
    return [click.style(line, bold=True, underline=True) for line in _wrapped(text, width)]


def columns(text: str) -> int:
    """The number of columns of ``text`` on a terminal: wide characters take two, combining marks none."""
    widths = (0 if unicodedata.combining(each) else 1 + (unicodedata.east_asian_width(each) in "WF") for each in text)
    return sum(widths)


def _wrapped(text: str, width: int, indent: str = "", hanging: str | None = None) -> list[str]:
    """Lines of at most ``width`` columns, broken between words, or within a word that is wider than a line."""
    hanging = indent if hanging is None else hanging
    lines, line = [], indent
    for word in text.split():
        joined = f"{line} {word}" if line.strip() else line + word
        if columns(joined) <= width:
            line = joined
            continue
        if line.strip():
            lines.append(line)
            line = hanging
        for sign in word:
            if columns(line + sign) > width:
                lines.append(line)
                line = hanging
            line += sign
    return [without_commands(each) for each in (*lines, line)]
