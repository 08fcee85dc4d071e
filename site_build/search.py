"""The search of the finished site: an inverted index that travels as a script, so that it opens from a folder."""

from __future__ import annotations

import json
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from pathlib import Path

from site_build.book import GENERATED, Book
from site_build.day_pages import day_sources
from site_build.search_entries import HEADING_WEIGHT, PLACES, TEXT_WEIGHT, Entry, entries
from site_build.search_words import ENDINGS, LETTERS, stem, words_of

INDEX = "assets/search_index.js"
FORMAT = 1
#: Sections of one page that are told apart; the words of further ones count for the last.
MOST_SECTIONS = 60
_DIGITS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz-_"


def write_search(book: Book, site: Path) -> Path:
    """Write the index of a finished site; call it after the pages are written. Returns the index's path."""
    target = site / INDEX
    target.parent.mkdir(parents=True, exist_ok=True)
    target.write_text(index_script(entries(book, _generated(site, book))), "utf-8")
    return target


def index_script(all_entries: Iterable[Entry]) -> str:
    """The script that hands the index to the search: one call with one JSON text."""
    data = json.dumps(index_data(list(all_entries)), ensure_ascii=False, separators=(",", ":"))
    # As a text the browser reads it several times faster than as a literal; the two line signs end a line in old ones.
    text = json.dumps(data, ensure_ascii=False).replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")
    return f"window.handbookIndex=JSON.parse({text});\n"


def index_data(all_entries: list[Entry]) -> dict:
    """The index as plain data.

    ``words`` holds one spelling for each stem, in order; ``postings`` the entries that hold it: for each the distance
    from the entry before and the place, as digits of base 32 with the last one marked. A place below the number of
    ``places`` is one of those; above stand, for section i, the heading (2 i) and the text (2 i + 1).
    """
    spellings: dict[str, Counter] = defaultdict(Counter)
    found: dict[str, dict[int, int]] = defaultdict(dict)
    for number, entry in enumerate(all_entries):
        for place, text in _texts(entry):
            for word in words_of(text):
                key = stem(word)
                spellings[key][word] += 1
                best = found[key].get(number)
                if best is None or _weight(place) > _weight(best):
                    found[key][number] = place
    # The commonest spelling, the shortest of equals: it is what the reader is shown.
    shown = {key: min(counts, key=lambda word: (-counts[word], len(word), word)) for key, counts in spellings.items()}
    keys = sorted(found, key=lambda key: shown[key])
    return {
        "format": FORMAT,
        "letters": LETTERS,
        "endings": ENDINGS,
        "places": PLACES,
        "weights": [HEADING_WEIGHT, TEXT_WEIGHT],
        "entries": [_packed(entry) for entry in all_entries],
        "words": " ".join(shown[key] for key in keys),
        "postings": " ".join(_postings(found[key]) for key in keys),
    }


def _generated(site: Path, book: Book) -> Iterator[tuple[str, str, str]]:
    for path, title in {**GENERATED, **day_sources(book)}.items():
        url = path.removesuffix(".md") + ".html"
        if path != "index.md":
            yield url, title, (site / url).read_text("utf-8")


def _texts(entry: Entry) -> Iterator[tuple[int, str]]:
    yield from entry.words
    for number, section in enumerate(entry.sections):
        place = len(PLACES) + 2 * min(number, MOST_SECTIONS - 1)
        yield place, section.title
        yield place + 1, section.text


def _weight(place: int) -> float:
    if place < len(PLACES):
        return PLACES[place][1]
    return TEXT_WEIGHT if (place - len(PLACES)) % 2 else HEADING_WEIGHT


def _packed(entry: Entry) -> list:
    sections = [[each.anchor, each.title] for each in entry.sections[:MOST_SECTIONS]]
    figures = [[each.unit, _short(each.low), _short(each.high), each.shown, each.anchor] for each in entry.figures]
    return [entry.url, entry.title, entry.kind, entry.food, entry.summary, sections, figures]


def _short(value: float) -> float:
    return float(f"{value:.4g}")


def _postings(found: dict[int, int]) -> str:
    text, before = [], 0
    for number in sorted(found):
        text += [_digits(number - before), _digits(found[number])]
        before = number
    return "".join(text)


def _digits(value: int) -> str:
    digits = [_DIGITS[value % 32 + 32]]
    while value := value // 32:
        digits.append(_DIGITS[value % 32])
    return "".join(reversed(digits))
