"""The search of the finished site: an inverted index in a script, so that it also works from a folder."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Iterator
from functools import cache
from pathlib import Path

from msgspec import Struct

from site_build.outputs.search_entries import HEADING_WEIGHT, PLACES, TEXT_WEIGHT, SearchEntry
from site_build.outputs.search_words import DOUBLED, ENDINGS, LETTERS, query_units, stem, words_of

INDEX = "assets/search_index.js"
FORMAT = 1
#: Sections of one page with their own entries; the words of further sections count for the last one.
MOST_SECTIONS = 60
_DIGITS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz-_"


class Indexed(Struct, frozen=True):
    """One page in the index: the content of its result; its stems with the best place of each; its words with their
    counts.

    Stems and words are one text each, because a thousand pages are in memory at once.
    """

    shown: list
    stems: str = ""
    words: str = ""

    @property
    def summary(self) -> str:
        """The page's summary."""
        return self.shown[4]


def indexed(entry: SearchEntry) -> Indexed:
    """The words of one page."""
    places: dict[str, int] = {}
    words: dict[str, int] = {}
    for place, text in _texts(entry):
        for word in words_of(text):
            words[word] = words.get(word, 0) + 1
            key = stem(word)
            if _WEIGHTS[place] > _WEIGHTS[places.setdefault(key, place)]:
                places[key] = place
    coded = {key: _digits(place) for key, place in places.items()}
    return Indexed(shown=_packed(entry), stems=_joined(coded), words=_joined(words))


def write_search(pages: Iterable[Indexed], site: Path) -> Path:
    """Write the index of a finished site and return its path."""
    target = site / INDEX
    target.parent.mkdir(parents=True, exist_ok=True)
    target.write_text(index_script(pages), "utf-8")
    return target


def index_script(pages: Iterable[Indexed]) -> str:
    """The script that passes the index to the search: one call with one JSON text."""
    data = json.dumps(index_data(list(pages)), ensure_ascii=False, separators=(",", ":"))
    # A browser parses a JSON text several times faster than a literal. Old browsers end a line at the two line
    # separators.
    text = json.dumps(data, ensure_ascii=False).replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")
    return f"window.handbookIndex=JSON.parse({text});\n"


def index_data(pages: list[Indexed]) -> dict:
    """The index as plain data.

    ``words`` has one spelling for each stem, in order; ``postings`` the entries that contain it: for each the distance
    from the previous entry and the place, as base-32 digits with the last one marked. A place below the number of
    ``places`` is one of those; above them, section i has the heading (2 i) and the text (2 i + 1).
    """
    counts: dict[str, int] = defaultdict(int)
    postings: dict[str, list[str]] = defaultdict(list)
    last: dict[str, int] = defaultdict(int)
    for number, page in enumerate(pages):
        for word, count in _pairs(page.words):
            counts[word] += int(count)
        for key, place in _pairs(page.stems):
            postings[key] += _digits(number - last[key]), place
            last[key] = number
    # The most frequent spelling, the shortest of equal ones, is set last and is the one shown.
    spellings = sorted(counts, key=lambda word: (-counts[word], len(word), word), reverse=True)
    shown = {stem(word): word for word in spellings}
    keys = sorted(postings, key=shown.__getitem__)
    return {
        "format": FORMAT,
        "letters": LETTERS,
        "endings": ENDINGS,
        "doubled": DOUBLED,
        "digits": _DIGITS,
        "units": query_units(),
        "places": PLACES,
        "weights": [HEADING_WEIGHT, TEXT_WEIGHT],
        "entries": [page.shown for page in pages],
        "words": " ".join(shown[key] for key in keys),
        "postings": " ".join("".join(postings[key]) for key in keys),
    }


def _texts(entry: SearchEntry) -> Iterator[tuple[int, str]]:
    yield from entry.words
    for number, section in enumerate(entry.sections):
        place = len(PLACES) + 2 * min(number, MOST_SECTIONS - 1)
        yield place, section.title
        yield place + 1, section.text


def _weight(place: int) -> float:
    if place < len(PLACES):
        return PLACES[place][1]
    return TEXT_WEIGHT if (place - len(PLACES)) % 2 else HEADING_WEIGHT


def _packed(entry: SearchEntry) -> list:
    sections = [[each.anchor, each.title] for each in entry.sections[:MOST_SECTIONS]]
    figures = [[each.unit, _short(each.low), _short(each.high), each.shown, each.anchor] for each in entry.figures]
    return [entry.url, entry.title, entry.kind, entry.food, entry.summary, sections, figures]


def _joined(values: dict) -> str:
    return " ".join(f"{key} {value}" for key, value in values.items())


def _pairs(text: str) -> Iterator[tuple[str, str]]:
    parts = iter(text.split())
    return zip(parts, parts, strict=True)


_WEIGHTS = [_weight(place) for place in range(len(PLACES) + 2 * MOST_SECTIONS)]


def _short(value: float) -> float:
    return float(f"{value:.4g}")


@cache
def _digits(value: int) -> str:
    digits = [_DIGITS[value % 32 + 32]]
    while value := value // 32:
        digits.append(_DIGITS[value % 32])
    return "".join(reversed(digits))
