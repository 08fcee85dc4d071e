"""Marks the language of every text of a page: what is not in the house's language says so by ``lang``.

Translations and the author's words are framed (wording.py); everything else with letters is English. Units, symbols and
numbers are of no language.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from html import unescape

from site_build.base.wording import BEGIN, END, bare

_TOKEN = re.compile(r"(<!--.*?-->|<(script|style)\b.*?</\2>|<[a-zA-Z/!](?:[^<>\"']|\"[^\"]*\"|'[^']*')*>)", re.DOTALL)
_WORD = re.compile(r"[^\W\d_]+")
#: Units and symbols that are written alike in every language of the catalogue.
NEUTRAL = frozenset(
    "g kg mg lb oz mm cm m in h min s d L mL C F K pH ppm kcal kJ W J Pa SAL Brix Baumé aw D z x e a b".split()
)
#: Elements that hold text only, so that nothing can stand within them.
_TEXT_ONLY = frozenset(("title", "option", "textarea"))
_LANG = re.compile(r"\slang=")


def mark_languages(html: str, own_words: Collection[str] = ()) -> str:
    """The page with ``lang="en"`` on each English text and without frames. ``own_words`` are short texts of the author."""
    if BEGIN not in html and END not in html:
        return html if "<" not in html else _marked(html, frozenset(own_words))
    return _marked(html, frozenset(own_words))


def _marked(html: str, own_words: frozenset[str]) -> str:
    tokens = _tokens(html)
    made: list[str] = []
    depth = 0
    english = _EnglishParts()
    for number, token in enumerate(tokens):
        if token.startswith("<") and _TOKEN.fullmatch(token):
            english.enter(token)
            made.append(bare(token))
            continue
        if BEGIN not in token and END not in token and not _is_english(token, depth, own_words):
            made.append(token)
            continue
        runs, depth = _runs(token, depth)
        foreign = [_is_english(text, level, own_words) for text, level in runs]
        before = tokens[number - 1] if number else ""
        after = tokens[number + 1] if number + 1 < len(tokens) else ""
        if english.within or not any(foreign):
            made.append("".join(text for text, _ in runs))
        elif _is_alone(before, after) and (all(_spoken(text) <= is_english for (text, _), is_english in _pairs(runs, foreign))):
            made[-1] = f'{made[-1][:-1]} lang="en">'
            made.append("".join(text for text, _ in runs))
        elif english.name in _TEXT_ONLY:
            made.append("".join(text for text, _ in runs))
        else:
            tag = "tspan" if english.is_svg else "span"
            made.append("".join(_wrapped(text, tag) if is_english else text for (text, _), is_english in _pairs(runs, foreign)))
    return "".join(made)


def _pairs(runs: list[tuple[str, int]], foreign: list[bool]) -> list[tuple[tuple[str, int], bool]]:
    return list(zip(runs, foreign, strict=True))


class _EnglishParts:
    """Where in the page the next text stands: within which element, within an English or a drawn part."""

    _VOID = frozenset("area base br col embed hr img input link meta source track wbr path circle rect line".split())

    def __init__(self) -> None:
        self._open: list[tuple[str, bool]] = []

    @property
    def name(self) -> str:
        return self._open[-1][0] if self._open else ""

    @property
    def within(self) -> bool:
        """Whether an element around says its own language."""
        return any(says for _, says in self._open)

    @property
    def is_svg(self) -> bool:
        return any(name == "svg" for name, _ in self._open)

    def enter(self, tag: str) -> None:
        if tag.startswith(("<!", "<script", "<style")):
            return
        name = re.match(r"</?([\w-]+)", tag)[1].lower()  # type: ignore[index]
        if tag.startswith("</"):
            while self._open and self._open.pop()[0] != name:
                pass
        elif name not in self._VOID and not tag.endswith("/>"):
            self._open.append((name, name != "html" and bool(_LANG.search(tag))))


def _tokens(html: str) -> list[str]:
    found, at = [], 0
    for each in _TOKEN.finditer(html):
        if each.start() > at:
            found.append(html[at : each.start()])
        found.append(each[0])
        at = each.end()
    return [*found, html[at:]] if at < len(html) else found


def _runs(text: str, depth: int) -> tuple[list[tuple[str, int]], int]:
    """The text cut at its frames, each part with how many frames are open, and how many are at the end."""
    found = []
    for part in re.split(f"([{BEGIN}{END}])", text):
        if part == BEGIN:
            depth += 1
        elif part == END:
            depth = max(depth - 1, 0)
        elif part:
            found.append((part, depth))
    return found, depth


def _spoken(text: str) -> bool:
    """Whether a text has a word that belongs to a language."""
    return any(word not in NEUTRAL for word in _WORD.findall(unescape(text)))


def _is_english(text: str, depth: int, own_words: frozenset[str]) -> bool:
    return not depth and _spoken(text) and " ".join(unescape(text).split()).rstrip(" :,.") not in own_words


def _is_alone(before: str, after: str) -> bool:
    """Whether a text is all that its element holds."""
    return before.startswith("<") and not before.startswith(("</", "<!")) and not before.endswith("/>") and after.startswith("</")


def _wrapped(text: str, tag: str) -> str:
    inner = text.strip()
    lead, _, tail = text.partition(inner)
    return f'{lead}<{tag} lang="en">{inner}</{tag}>{tail}'
