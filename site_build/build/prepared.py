"""Results that a build has before MkDocs begins, and the overviews made from them."""

from __future__ import annotations

import msgspec
from msgspec import Struct
from msgspec.structs import replace

from handbook.folder.file_names import INSPECTION
from site_build.base.fingerprint import key_of
from site_build.base.progress import Tell, silent
from site_build.build.assembly import Assembly
from site_build.build.gather import Gathered
from site_build.html.overview import MethodRow, Overviews, overview_html, rests_on_methods, shown_of
from site_build.reading.book import url_of
from site_build.review.review_states import ReviewStates


class Prepared(Struct, frozen=True, kw_only=True):
    """Results that a build has before MkDocs begins."""

    gathered: Gathered
    standing: ReviewStates
    assembly: Assembly
    is_preview: bool = False
    progress: Tell = silent


def overview(path: str, gathered: Gathered) -> str:
    """The content of one generated page, cached by what it shows. The contents show all of each method."""
    book = _overviews(gathered) if rests_on_methods(path) else Overviews(kitchen=gathered.kitchen, methods=())
    if path == "index.md":
        return overview_html(path, book)
    shown = msgspec.json.encode([shown_of(path, row) for row in book.methods])
    return gathered.reads.made(
        key_of("overview", path, gathered.house.language, gathered.kitchen.wording.mark, shown),
        lambda kitchen: overview_html(path, replace(book, kitchen=kitchen)),
    )


def _overviews(gathered: Gathered) -> Overviews:
    rows = [
        MethodRow(
            card=page.method.card,
            brines=page.method.brines,
            sources=page.method.sources,
            cautions=page.method.cautions,
        )
        for page in gathered.methods
    ]
    plain = [(url_of(page.path), page.title) for page in gathered.pages.values() if page.method is None]
    days = [(url_of(day.path), day.title) for day in gathered.days]
    folders = [(url_of(each.path), each.title) for each in gathered.further if each.path.startswith(INSPECTION)]
    return Overviews(
        kitchen=gathered.kitchen,
        methods=rows,
        plain=plain,
        days=days,
        folders=folders,
        in_progress=len(gathered.batches.open_records),
        has_batches=bool(gathered.batches.summaries),
    )
