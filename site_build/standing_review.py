"""Where each page stands in review: its version mark, who signed it, what its past changes moved."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from site_build.book import Book
from site_build.history import HistoryRow, histories
from site_build.recorded import recorded
from site_build.signed import SIGNED_FILE, SignState, read_signed, sign_states


@dataclass(frozen=True)
class ReviewStanding:
    """By page path: version mark, sign-off and history (empty unless asked for)."""

    marks: dict[str, str]
    signs: dict[str, SignState]
    rows: dict[str, tuple[HistoryRow, ...]]


def review_standing(book: Book, folder: Path, wants_history: bool) -> ReviewStanding:
    """Work out where every page of ``book`` stands.

    History computes each past change with today's engine; what it found is kept beside the folder. Raises FaultsError
    for a wrong signed.yml.
    """
    today = recorded(book)
    path = folder / SIGNED_FILE
    signed = ()
    if path.is_file():
        methods = {page.path.removesuffix(".md") for page in book.methods}
        signed = read_signed(path.read_text("utf-8"), f"{folder.name}/{SIGNED_FILE}", methods)
    rows = histories(folder, kept=folder.parent / ".handbook-cache" / "history.json") if wants_history else {}
    return ReviewStanding({path: each.mark for path, each in today.methods.items()}, sign_states(today, signed), rows)
