"""General cautions for every kitchen, on a page of their own."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from msgspec import Struct

from handbook.safety.findings import Finding
from site_build.html.standing import is_caution


class Caution(Struct, frozen=True, kw_only=True):
    """One general caution: its rule, title and advice, the text of a document, and the document's key or ""."""

    rule: str
    title: str
    message: str
    printed: str
    source: str


def cautions_of(findings: Sequence[Finding]) -> list[Caution]:
    """The general cautions among a method's findings."""
    return [
        Caution(rule=each.rule, title=each.title, message=each.message, printed=each.printed, source=each.source)
        for each in findings
        if is_caution(each)
    ]


def together(found: Iterable[tuple[str, str, Sequence[Caution]]]) -> list[tuple[Caution, list[tuple[str, str]]]]:
    """Each caution once with the methods (address, title) to which it applies, the most common first."""
    held: dict[Caution, list[tuple[str, str]]] = {}
    for url, title, cautions in found:
        for each in cautions:
            held.setdefault(each, []).append((url, title))
    return sorted(held.items(), key=lambda item: (-len(item[1]), item[0].title))
