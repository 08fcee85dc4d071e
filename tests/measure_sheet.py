"""Words, screens, bytes and paper of each method's pages, as a reader meets them, beside the sheet's own budgets.

Run: python -m tests.measure_sheet [--book] [methods folder or built site] [name ...]. A screen is 360 x 740, 768 x 1024 or
1280 x 900 CSS pixels, by day and by night; all sections are laid out. "amount" and "standing" are the distances of the
first weight and of the line of standing from the top, in screens, and on paper the page that holds them. Words are those
shown, and with every fold open. ``--book`` prints the whole handbook too and counts each method's pages in it.
Ends with 1 where a page is over a budget.
"""

from __future__ import annotations

import shutil
import statistics
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path

from msgspec import Struct
from playwright.sync_api import Page
from pypdf import PdfReader

from site_build.build.build_site import Choices, build_site
from site_build.cli.paper_command import chapter_pages, find_browser, print_site
from site_build.outputs.paper import chapters
from tests.site_build.browser import ALL_NEAR, chromium

SCREENS = ((360, 740), (768, 1024), (1280, 900))
SCHEMES = ("light", "dark")
PATIENCE = 120_000  # milliseconds: a busy machine is no fault of the page
MOST_WORDS, MEDIAN_SCREENS, MOST_SCREENS, MOST_KILOBYTES = 1200, 4, 6, 60
MOST_PAPER = {"sheet": 2, "card": 1, "book": 3}
_READ = """(height) => {
    const top = (name) => { const found = document.querySelector(name);
        return found ? (found.getBoundingClientRect().top + scrollY) / height : 99; };
    const words = (text) => text.split(/\\s+/).filter(Boolean).length;
    const main = document.querySelector("main"), shown = words(main.innerText);
    const folds = [...document.querySelectorAll("details:not([open])")].filter((each) => !each.matches(".bar-tool"));
    folds.forEach((each) => { each.open = true; });
    const all = words(main.innerText);
    folds.forEach((each) => { each.open = false; });
    return { shown, all, screens: document.documentElement.scrollHeight / height,
        wide: document.documentElement.scrollWidth - innerWidth,
        amount: top(".need-table .mass"), standing: top("#standing") };
}"""
_FIRSTS = (
    """() => [".need-table .mass", "#standing"].map((name) => document.querySelector(name).innerText.slice(0, 24))"""
)


class Measured(Struct, frozen=True, kw_only=True):
    """One method's first page: on each screen by day, where the night differs, and on paper."""

    name: str
    kilobytes: float
    screens: tuple[dict, ...]
    differs: bool
    paper: dict[str, int]
    paper_words: int
    firsts: tuple[int, ...]

    def over(self) -> list[str]:
        """The budgets that the page breaks."""
        phone = self.screens[0]
        held = {
            f"{phone['all']} words": phone["all"] <= MOST_WORDS,
            f"{phone['screens']:.1f} screens": phone["screens"] <= MOST_SCREENS,
            f"amount on screen {phone['amount'] + 1:.1f}": phone["amount"] < 1,
            f"standing on screen {phone['standing'] + 1:.1f}": phone["standing"] < 1,
            f"{self.kilobytes:.0f} KB": self.kilobytes <= MOST_KILOBYTES,
            "scrolls sideways": all(each["wide"] <= 0 for each in self.screens),
            "another layout by night": not self.differs,
            f"amount and standing on pages {self.firsts} of the paper": self.firsts == (1, 1),
        }
        held |= {f"{paper}: {pages} pages": pages <= MOST_PAPER[paper] for paper, pages in self.paper.items()}
        return [text for text, holds in held.items() if not holds]

    def line(self) -> str:
        """A row of the table."""
        phone = self.screens[0]
        screens = " / ".join(f"{each['screens']:.1f}" for each in self.screens)
        papers = ", ".join(f"{paper} {pages}" for paper, pages in self.paper.items())
        return (
            f"{self.name:34}{self.kilobytes:5.0f}{phone['shown']:7}{phone['all']:6}  {screens:18} "
            f"{phone['amount']:5.2f}{phone['standing']:6.2f}  {papers}, {self.paper_words} words"
        )


def main() -> None:
    """Measure every method of the folder or site that is named."""
    words = [each for each in sys.argv[1:] if each != "--book"]
    place, names = Path(words[0] if words else "methods"), words[1:]
    with _built(place) as site, chromium() as browser:
        found = names or sorted(path.relative_to(site).as_posix()[:-11] for path in site.rglob("*.proof.html"))
        context = browser.new_context()
        context.set_default_timeout(PATIENCE)
        page = context.new_page()
        book = _book_pages(site) if "--book" in sys.argv else {}
        rows = [_measured(page, site, name, book) for name in found]
    print(f"{'method':36}KB  words  open  {'screens':18} amount standing  paper")
    for row in rows:
        print(row.line())
    over = _summary(rows)
    print("\n".join(over) or "every page keeps to its budgets")
    sys.exit(bool(over))


def _summary(rows: list[Measured]) -> list[str]:
    """Print medians and longest of each screen; the lines of what is over a budget."""
    for number, (width, height) in enumerate(SCREENS):
        screens = [row.screens[number]["screens"] for row in rows]
        print(f"{width} x {height}: median {statistics.median(screens):.1f} screens, most {max(screens):.1f}")
    words, kilobytes = [row.screens[0]["all"] for row in rows], [row.kilobytes for row in rows]
    print(f"words with every fold open: median {statistics.median(words):.0f}, most {max(words)}")
    print(f"KB of HTML: median {statistics.median(kilobytes):.0f}, most {max(kilobytes):.0f}")
    median = statistics.median(row.screens[0]["screens"] for row in rows)
    over = [f"median: {median:.1f} phone screens"] if median > MEDIAN_SCREENS else []
    return over + [f"over: {row.name}: {text}" for row in rows for text in row.over()]


@contextmanager
def _built(place: Path) -> Iterator[Path]:
    if (place / "build.json").is_file():
        yield place.resolve()
        return
    with tempfile.TemporaryDirectory() as work:
        site = Path(work) / "site"
        build_site(place, site, Choices(shows_progress=False))
        yield site


def _book_pages(site: Path) -> dict[str, int]:
    """Pages of each method in the printed book, by its name."""
    with tempfile.TemporaryDirectory() as work:
        copy = shutil.copytree(site, Path(work) / "site")
        total = print_site(copy, Path(work) / "book.pdf", "A4", find_browser())
        starts = chapter_pages(Path(work) / "book.pdf")
        parts = chapters(copy)
    first = [starts[f"c{number}"] for number in range(1, len(parts) + 1)] + [total + 1]
    print(f"the book: {total} pages, contents and what stands before the first method {first[0] - 1}")
    return {
        part.url.removesuffix(".html"): after - here
        for part, here, after in zip(parts, first, first[1:], strict=False)
        if part.is_method
    }


def _measured(page: Page, site: Path, name: str, book: dict[str, int]) -> Measured:
    file, screens, differs = site / f"{name}.html", [], False
    for width, height in reversed(SCREENS):  # the phone last: what follows is measured on it
        # Loaded at its own size: a wide screen opens folds that stand beside the steps.
        page.set_viewport_size({"width": width, "height": height})
        page.goto(file.as_uri())
        page.evaluate(ALL_NEAR)
        page.evaluate("document.fonts.ready.then(() => true)")
        by_scheme = []
        for scheme in SCHEMES:
            page.emulate_media(color_scheme=scheme)
            by_scheme.append(page.evaluate(_READ, height))
        screens.insert(0, by_scheme[0])
        differs |= by_scheme[0] != by_scheme[1]
    page.emulate_media(color_scheme="light")
    firsts = page.evaluate(_FIRSTS)
    paper, texts = {}, []
    for kind in ("sheet", "card"):
        page.evaluate("paper => { document.documentElement.dataset.paper = paper; }", kind)
        sheets = PdfReader(BytesIO(page.pdf(format="A4"))).pages
        paper[kind] = len(sheets)
        texts = texts or [" ".join(sheet.extract_text().split()) for sheet in sheets]
    if name in book:
        paper["book"] = book[name]
    return Measured(
        name=name,
        kilobytes=file.stat().st_size / 1000,
        screens=tuple(screens),
        differs=differs,
        paper=paper,
        paper_words=sum(len(text.split()) for text in texts),
        firsts=tuple(
            next((number for number, text in enumerate(texts, 1) if " ".join(first.split()) in text), 0)
            for first in firsts
        ),
    )


if __name__ == "__main__":
    main()
