"""Pages of batches: those in progress, a list for each year, the inspectors' folders of methods."""

from __future__ import annotations

from msgspec import Struct

from handbook.folder.batch_files import BATCHES
from handbook.folder.file_names import INSPECTION
from handbook.folder.handbook import Handbook
from handbook.folder.kitchen import Kitchen
from site_build.base.fingerprint import key_of
from site_build.base.said_words import bare, say
from site_build.build.kept_reads import KeptReads
from site_build.build.made_batches import MadeBatches
from site_build.build.made_page import unpack
from site_build.html.batch_pages import Pinned, in_progress_html, year_html
from site_build.html.inspection_page import records_html, with_records
from site_build.reading.book import GENERATED, url_of

IN_PROGRESS = "in-progress.md"


class FurtherPage(Struct, frozen=True, kw_only=True):
    """One page: its path within the methods folder, its title and its content."""

    path: str
    title: str
    html: str


def further_pages(
    handbook: Handbook,
    methods: dict[str, tuple[str, str]],
    inspections: dict[str, str],
    batches: MadeBatches,
    reads: KeptReads,
) -> tuple[FurtherPage, ...]:
    """The pages; ``methods`` are titles and version marks of the methods' pages, ``inspections`` their inspectors' folders,
    compressed, where they have one, by path."""
    pages = {path.removesuffix(".md"): Pinned(url=url_of(path), mark=mark) for path, (_, mark) in methods.items()}
    made = [_in_progress(handbook, batches, pages, reads)]
    made += [_year(handbook, year, batches, pages, reads) for year in batches.years]
    for path, packed in inspections.items():
        name = path.removesuffix(".md")
        records = records_html(name, batches.summaries, batches.checks, handbook.house.people_on_site)
        title = f"{methods[path][0]}: " + bare(say("inspector's folder"))
        made.append(FurtherPage(path=f"{INSPECTION}{path}", title=title, html=with_records(unpack(packed), records)))
    return tuple(made)


def year_path(year: int) -> str:
    """The path of the list of a year's batches."""
    return f"{BATCHES}{year}.md"


def _in_progress(handbook: Handbook, batches: MadeBatches, pages: dict[str, Pinned], reads: KeptReads) -> FurtherPage:
    digests = [handbook.source.digests[each.path] for each in batches.summaries if each.is_open]
    years = [(url_of(year_path(year)), year) for year in batches.years]
    known = [f"{each.method} {pages.get(each.method)}" for each in batches.open_records]

    def make(kitchen: Kitchen) -> str:
        return in_progress_html(batches.open_records, years, pages, kitchen.house.people_on_site)

    html = reads.made(key_of("in progress", *_words(handbook), *digests, *known, str(years)), make)
    return FurtherPage(path=IN_PROGRESS, title=GENERATED[IN_PROGRESS], html=html)


def _year(
    handbook: Handbook, year: int, batches: MadeBatches, pages: dict[str, Pinned], reads: KeptReads
) -> FurtherPage:
    own = [each for each in batches.summaries if each.year == year]
    digests = [f"{each.lot} {handbook.source.digests[each.path]}" for each in own]
    known = sorted({f"{each.method} {pages.get(each.method)}" for each in own})

    def make(kitchen: Kitchen) -> str:
        return year_html(year, own, pages, kitchen.house.people_on_site)

    html = reads.made(key_of("year of batches", *_words(handbook), str(year), *digests, *known), make)
    return FurtherPage(path=year_path(year), title=bare(say("Batches of %(year)s", year=year)), html=html)


def _words(handbook: Handbook) -> tuple[str, str]:
    """The language of a page, and the hash of its words."""
    return handbook.house.language, handbook.kitchen.wording.mark
