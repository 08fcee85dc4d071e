"""The review state of each page: its version mark, its signature, and the effects of its past changes."""

from __future__ import annotations

from pathlib import Path

from msgspec import Struct

from handbook.folder.source import FolderSource
from site_build.base.progress import Tell
from site_build.review.history import HistoryRow, histories
from site_build.review.signed import Signature, SignState, sign_states


class ReviewStates(Struct, frozen=True, kw_only=True):
    """By page path: sign-off and history (empty unless asked for)."""

    signs: dict[str, SignState]
    rows: dict[str, tuple[HistoryRow, ...]]

    def of(self, path: str) -> tuple[SignState | None, tuple[HistoryRow, ...]]:
        """Sign-off and history of one page."""
        return self.signs.get(path), self.rows.get(path, ())


def review_states(
    marks: dict[str, str],
    signatures: tuple[Signature, ...],
    source: FolderSource,
    wants_history: bool,
    progress: Tell,
    kept: Path | None,
) -> ReviewStates:
    """The review state of every page, from its version mark.

    History computes each past change with today's engine and keeps the result in the folder ``kept``. Raises
    FaultsError for a wrong signed.yml.
    """
    file = kept and kept / "history.json"
    rows = histories(source.folder, kept=file, progress=progress) if wants_history else {}
    return ReviewStates(signs=sign_states(marks, signatures), rows=rows)
