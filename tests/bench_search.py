"""Size and speed of the search over a made-up handbook of 1,000 methods.

Run: python -m tests.bench_search [methods]. The texts are sentences of the real methods in new mixtures, with every
seventh word replaced by an invented one, so that the vocabulary grows as in a large book. Times are of a page in
Chromium, from the key press to the results in the page, also with the processor slowed four times.
"""

from __future__ import annotations

import gzip
import random
import re
import shutil
import statistics
import sys
import tempfile
from pathlib import Path

from msgspec.structs import replace

import site_build.theme
from site_build.outputs.search import index_script, indexed
from site_build.outputs.search_entries import SearchEntry, Section, method_entry
from tests.site_build.browser import chromium
from tests.whole_book import read_book

METHODS = 1000
QUERIES = ("brine 8%", "whitefsh", "smoked mussels", "juniper berries", "fridge", "72 °C", "hnoey glzae", "s", "salt")

_OPENING = """() => new Promise((done) => {
    const field = document.querySelector("#find-field"), started = performance.now();
    new MutationObserver((_, watch) => {
        if (document.querySelector(".find-result")) { watch.disconnect(); done(performance.now() - started); }
    }).observe(document.body, { childList: true, subtree: true });
    field.focus();
    field.value = "salt";
    field.dispatchEvent(new Event("input", { bubbles: true }));
})"""
_TYPING = """(query) => {
    const field = document.querySelector("#find-field"), times = [];
    for (let end = 1; end <= query.length; end += 1) {
        field.value = query.slice(0, end);
        const started = performance.now();
        field.dispatchEvent(new Event("input", { bubbles: true }));
        document.body.offsetHeight;
        times.push(performance.now() - started);
    }
    return times;
}"""


def main() -> None:
    """Print index size and times."""
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else "methods").resolve()
    script = index_script(
        map(
            indexed,
            invented_entries(
                [method_entry(page, page.author, further=()) for page in read_book(folder).methods], METHODS
            ),
        )
    )
    packed = len(gzip.compress(script.encode(), 9))
    print(f"{METHODS} methods: index {len(script.encode()) / 1e6:.2f} MB, compressed {packed / 1e6:.2f} MB")
    with tempfile.TemporaryDirectory() as site:
        write_site(Path(site), script)
        with chromium() as browser:
            for slowed in (1, 4):
                opening, times = measure(browser, Path(site), slowed)
                print(f"processor slowed {slowed} times: index opened in {opening:.0f} ms")
                for query, each in times.items():
                    print(f"  {query:18} median {statistics.median(each):6.1f} ms  worst key {max(each):6.1f} ms")


def invented_entries(real: list[SearchEntry], count: int, seed: int = 7) -> list[SearchEntry]:
    """``count`` entries of the size of the real ones."""
    chance = random.Random(seed)
    sentences = [line for entry in real for part in entry.sections for line in re.split(r"(?<=[.;])\s", part.text)]
    invented = [_invented_word(chance) for _ in range(12000)]
    weights = [1 / (rank + 20) for rank in range(len(invented))]

    def text(length: int) -> str:
        words = []
        while len(words) < length:
            words += chance.choice(sentences).split()
        fresh = iter(chance.choices(invented, weights, k=length))
        return " ".join(next(fresh) if chance.random() < 1 / 7 else word for word in words[:length])

    made = []
    for number in range(count):
        like = chance.choice(real)
        title = f"{' '.join(chance.choices(invented, k=2)).capitalize()} {like.title.split()[-1]}"
        sections = tuple(
            Section(
                anchor=f"{part.anchor}-{number}" if part.anchor else "",
                title=part.title,
                text=text(len(part.text.split())),
            )
            for part in like.sections
        )
        words = tuple(
            (place, title if place == 0 else text(len(said.split())) if place in (7, 9) else said)
            for place, said in like.words
        )
        made.append(replace(like, url=f"method-{number}.html", title=title, words=words, sections=sections))
    return made


def write_site(site: Path, script: str) -> None:
    """A page with the masthead's search, and the index beside it."""
    theme = Path(site_build.theme.__file__).parent
    header = (theme / "partials/header.html").read_text("utf-8")
    form = re.search(r'<form class="find".*?</form>', header, re.S)[0]
    slip = re.search(r'<section class="find-slip".*?</section>', header, re.S)[0]
    (site / "assets").mkdir()
    scripts = ("parts.js", "say.js", "search.js")
    for name in scripts:
        shutil.copy(theme / "assets" / name, site / "assets")
    (site / "assets/search_index.js").write_text(script, "utf-8")
    (site / "index.html").write_text(
        f'<!doctype html><meta charset="utf-8"><title>Bench</title>{form}{slip}'
        + "".join(f'<script src="assets/{name}"></script>' for name in scripts),
        "utf-8",
    )


def measure(browser, site: Path, slowed: int) -> tuple[float, dict[str, list[float]]]:
    """ms to open the index, and ms for each key press of each query, results in the page included."""
    page = browser.new_page()
    page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": slowed})
    page.goto((site / "index.html").as_uri())
    opening = page.evaluate(_OPENING)
    times = {query: page.evaluate(_TYPING, query) for query in QUERIES}
    page.close()
    return opening, times


def _invented_word(chance: random.Random) -> str:
    return "".join(chance.choice("bdfgklmnprstv") + chance.choice("aeiou") for _ in range(chance.randint(2, 4)))


if __name__ == "__main__":
    main()
