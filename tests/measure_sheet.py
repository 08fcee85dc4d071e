"""Words, screens, bytes and paper of each method's pages, as a reader meets them.

Run: python -m tests.measure_sheet [methods folder or built site] [name ...]. A screen is 360 x 740, 768 x 1024 or
1280 x 900 CSS pixels; all sections are laid out. "amount" is the distance of the first weight from the top in screens,
"standing" that of the line that says how the method stands. Words are those shown, and with every fold open.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path

from pypdf import PdfReader

from site_build.build.build_site import Choices, build_site
from tests.site_build.browser import ALL_NEAR, chromium

SCREENS = ((360, 740), (768, 1024), (1280, 900))
PAPERS = ("sheet", "card")
_READ = """(height) => {
    const top = (name) => { const found = document.querySelector(name);
        return found ? (found.getBoundingClientRect().top + scrollY) / height : NaN; };
    const words = (text) => text.split(/\\s+/).filter(Boolean).length;
    const main = document.querySelector("main"), shown = words(main.innerText);
    document.querySelectorAll("details").forEach((each) => { each.open = !each.matches(".bar-tool"); });
    const all = words(main.innerText);
    document.querySelectorAll("details").forEach((each) => { each.open = false; });
    return { shown, all, screens: document.documentElement.scrollHeight / height,
        wide: document.documentElement.scrollWidth - innerWidth,
        amount: top(".need-table .mass"), standing: top("#standing") };
}"""


def main() -> None:
    """Measure every method of the folder or site that is named."""
    place, names = Path(sys.argv[1] if sys.argv[1:] else "methods"), sys.argv[2:]
    with _built(place) as site, chromium() as browser:
        found = names or sorted(path.name.removesuffix(".proof.html") for path in site.rglob("*.proof.html"))
        rows = [_measured(browser, site, name) for name in found]
    print(
        f"{'method':34}{'KB':>5}{'words':>7}{'open':>6}  screens at 360 / 768 / 1280, amount and standing at 360; paper"
    )
    for name, kilobytes, sizes, papers in rows:
        phone = sizes[0]
        screens = " / ".join(f"{each['screens']:.1f}{'!' if each['wide'] > 0 else ''}" for each in sizes)
        print(
            f"{name:34}{kilobytes:5.0f}{phone['shown']:7}{phone['all']:6}  {screens:20} {phone['amount']:.2f} "
            f"{phone['standing']:.2f}; sheet {papers[0]}, card {papers[1]}"
        )
    screens = [sizes[0]["screens"] for *_, sizes, _ in rows]
    words = [sizes[0]["all"] for *_, sizes, _ in rows]
    print(
        f"phone screens: median {statistics.median(screens):.1f}, most {max(screens):.1f}; "
        f"words with every fold open: median {statistics.median(words):.0f}, most {max(words)}"
    )


@contextmanager
def _built(place: Path) -> Iterator[Path]:
    if (place / "build.json").is_file():
        yield place
        return
    with tempfile.TemporaryDirectory() as work:
        site = Path(work) / "site"
        build_site(place, site, Choices(shows_progress=False))
        yield site


def _measured(browser, site: Path, name: str) -> tuple:
    file = site / f"{name}.html"
    sizes, papers = [], []
    for width, height in SCREENS:
        with browser.new_context(viewport={"width": width, "height": height}) as context:
            page = context.new_page()
            page.goto(file.as_uri())
            page.evaluate(ALL_NEAR)
            page.wait_for_timeout(100)
            sizes.append(page.evaluate(_READ, height))
            if not papers:
                for paper in PAPERS:
                    page.evaluate("paper => { document.documentElement.dataset.paper = paper; }", paper)
                    papers.append(len(PdfReader(BytesIO(page.pdf(format="A4"))).pages))
    return name, file.stat().st_size / 1000, sizes, papers


if __name__ == "__main__":
    main()
