"""The inputs of each written page besides its own job: its sign-off, its history, its pictures, its cost."""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import Struct

from handbook.page.house import House
from handbook.report.cost import Bill, cost
from site_build.base.fingerprint import key_of
from site_build.base.languages import mark_languages
from site_build.base.said_words import wording_now
from site_build.build.assembly import Assembly
from site_build.build.gather import Gathered
from site_build.html.priced import LAYER, cost_html, with_cost
from site_build.reading.book import layer_path, url_of
from site_build.review.review_states import ReviewStates


class PageKeys(Struct, frozen=True, kw_only=True):
    """The keys of the files of one page in the site: ``whole`` with its cost, ``bare`` without."""

    path: str
    bill: Bill | None
    house: House
    bare: str
    whole: str

    @property
    def cost(self) -> str:
        """The cost as the page shows it. It is rendered only for a page that is written."""
        return cost_html(self.bill, self.house) if self.bill else ""

    def take_over(self, assembly: Assembly) -> bool:
        """Take the files from the published site; False where the page must be made."""
        return assembly.take_over(self.whole)

    def reprice(self, assembly: Assembly) -> bool:
        """Take the files with only the cost changed; False where the page must be made."""
        older = assembly.noted(self.bare)
        taken = older is not None and assembly.take_over(older, url_of(layer_path(self.path, LAYER)), self._priced)
        if taken:
            self.note(assembly, assembly.group(older))
        return taken

    def note(self, assembly: Assembly, paths: list[str]) -> None:
        """Note the files of the page, for ``assembly`` to save."""
        assembly.note(self.whole, paths)
        assembly.note_other(self.bare, self.whole)

    def _priced(self, html: str) -> str:
        return with_cost(html, self.cost if wording_now().is_english else mark_languages(self.cost))


def page_keys(gathered: Gathered, standing: ReviewStates, is_preview: bool) -> dict[str, PageKeys]:
    """The keys of every page, by path."""
    digests, house, frame, found = gathered.source.digests, gathered.house, _frame(gathered, is_preview), {}
    for path, page in gathered.pages.items():
        pictures = [digests.get(target, "") for target in gathered.targets(path)]
        review = f"{standing.signs.get(path)} {standing.rows.get(path, ())}"
        bare = key_of("written", gathered.keys[path], frame, review, *pictures)
        bill = page.method.bill if page.method else None
        figures = repr(cost(bill, house)) if bill and house.prices else ""
        whole = key_of("priced", bare, house.currency, figures)
        found[path] = PageKeys(path=path, bill=bill, house=house, bare=bare, whole=whole)
    return found


def generated_keys(
    gathered: Gathered, contents: dict[str, str], is_preview: bool, words: Iterable[str]
) -> dict[str, str]:
    """The key of each generated page, from its content by path; ``words`` are those of the house's own language."""
    frame, titles = key_of(_frame(gathered, is_preview), *sorted(words)), gathered.generated
    return {path: key_of("generated", frame, path, titles[path], html) for path, html in contents.items()}


def _frame(gathered: Gathered, is_preview: bool) -> str:
    """The key of everything that each page's frame shows."""
    house = gathered.house
    return key_of(
        "frame",
        house.kitchen,
        house.address,
        house.repository,
        str(is_preview),
        house.language,
        house.degrees,
        gathered.kitchen.wording.mark,
        house.mark,
        gathered.source.digests.get(house.mark, ""),
        house.footer,
    )
