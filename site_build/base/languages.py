"""Marks the language of every text of a page. A text in another language than its surroundings gets ``lang``.

Translations and the author's words are framed (said_words.py) or known to be the author's; all other words are English.
Units, symbols and numbers belong to every language.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from html import unescape

from handbook.base.wording import ENGLISH
from site_build.base.said_words import BEGIN, END, bare, wording_now

_TAG = r"<(?:!--.*?--|(script|style)\b.*?</\1|[a-zA-Z/!](?:[^<>\"']|\"[^\"]*\"|'[^']*')*)>"
_TOKEN = re.compile(_TAG, re.DOTALL)
_NAME = re.compile(r"</?([\w-]+)")
_LANG = re.compile(r"\slang=")
#: Attributes that are displayed or read aloud.
_SPOKEN_ATTRIBUTES = re.compile(r'\s(?:aria-label|title|alt|placeholder)="([^"]*)"')
_WORD = re.compile(r"[^\W\d_]+")
_NUMBER_OF_STEP = re.compile(r"^[\d+]+\. ")
#: Units and symbols that are the same in every language.
NEUTRAL = frozenset(
    [
        "g",
        "kg",
        "mg",
        "lb",
        "oz",
        "mm",
        "cm",
        "m",
        "in",
        "h",
        "min",
        "s",
        "d",
        "L",
        "mL",
        "C",
        "F",
        "K",
        "pH",
        "ppm",
        "kcal",
        "kJ",
        "W",
        "J",
        "Pa",
        "SAL",
        "Brix",
        "Baumé",
        "aw",
        "D",
        "z",
        "x",
        "e",
        "a",
        "b",
    ]
)
_VOID = frozenset(
    [
        "area",
        "base",
        "br",
        "col",
        "embed",
        "hr",
        "img",
        "input",
        "link",
        "meta",
        "source",
        "track",
        "wbr",
        "path",
        "circle",
        "rect",
        "line",
        "polygon",
        "polyline",
        "use",
    ]
)
#: Elements that contain only text, so no other element can be inside.
_TEXT_ONLY = frozenset(("title", "option", "textarea", "desc"))


def mark_languages(html: str, own_words: Collection[str] = ()) -> str:
    """A page or part of one, without frames and with the language of every text. ``own_words`` are the author's texts."""
    return _Marking(html, own_words).marked()


class _Marking:
    def __init__(self, html: str, own_words: Collection[str]):
        self._tokens = list(_tokens(html))
        self._own_words = frozenset(_plain(each) for each in own_words)
        self._language = wording_now().language
        #: Elements around the next text: their names, and the language of their texts.
        self._open: list[tuple[str, str]] = []
        self._frames = 0
        self._made: list[str] = []

    def marked(self) -> str:
        for number, token in enumerate(self._tokens):
            if _TOKEN.fullmatch(token):
                self._made.append(self._tag(token))
            else:
                after = self._tokens[number + 1] if number + 1 < len(self._tokens) else ""
                self._text(token, after)
        return "".join(self._made)

    @property
    def _around(self) -> str:
        """The language of the element around, empty where the author states it."""
        return self._open[-1][1] if self._open else self._language

    def _tag(self, token: str) -> str:
        """A tag without frames, with its language where its spoken attributes are in another one."""
        tag = bare(token)
        if token.startswith(("<!", "<script", "<style")):
            return tag
        name = _NAME.match(tag)[1].lower()  # type: ignore[index]
        if tag.startswith("</"):
            while self._open and self._open.pop()[0] != name:
                pass
            return tag
        language = self._around
        if name != "html" and _LANG.search(tag):
            language = ""
        elif language and (said := self._said_by(token, language)) != language:
            tag, language = _with_language(tag, said), said
        if name not in _VOID and not tag.endswith("/>"):
            self._open.append((name, language))
        return tag

    def _said_by(self, token: str, around: str) -> str:
        """The language of a tag's spoken attributes; that around where they have none of their own."""
        said = [self._language_of(each[1], BEGIN in each[1]) for each in _SPOKEN_ATTRIBUTES.finditer(token)]
        return next(filter(None, said), around)

    def _text(self, token: str, after: str) -> None:
        runs = list(self._runs(token))
        around = self._around
        text = "".join(text for text, _ in runs)
        languages = {language for _, language in runs if language}
        if not around or languages <= {around}:
            self._made.append(text)
        elif len(languages) == 1 and self._stands_alone(after):
            self._made[-1] = _with_language(self._made[-1], *languages)
            self._made.append(text)
        elif self._open and self._open[-1][0] in _TEXT_ONLY:
            self._made.append(text)
        else:
            tag = "tspan" if any(name == "svg" for name, _ in self._open) else "span"
            self._made += [_wrapped(text, tag, said) if said and said != around else text for text, said in runs]

    def _stands_alone(self, after: str) -> bool:
        """Whether the next text is the whole content of the element around."""
        last = self._made[-1] if self._made else ""
        is_opened = last.startswith("<") and not last.startswith(("</", "<!")) and not last.endswith("/>")
        return is_opened and _NAME.match(last)[1].lower() not in _VOID and after.startswith("</")  # type: ignore[index]

    def _runs(self, text: str) -> Iterator[tuple[str, str]]:
        """The text split at its frames, each part with its language; none for a part without words."""
        for part in re.split(f"([{BEGIN}{END}])", text):
            if part in (BEGIN, END):
                self._frames = max(self._frames + (1 if part == BEGIN else -1), 0)
            elif part:
                yield part, self._language_of(part, bool(self._frames))

    def _language_of(self, text: str, is_framed: bool) -> str:
        said = unescape(bare(text))
        if not any(len(word) > 1 and word.isalpha() and word not in NEUTRAL for word in _WORD.findall(said)):
            return ""
        return self._language if is_framed or _plain(said) in self._own_words else ENGLISH


def _tokens(html: str) -> Iterator[str]:
    at = 0
    for each in _TOKEN.finditer(html):
        if each.start() > at:
            yield html[at : each.start()]
        yield each[0]
        at = each.end()
    if at < len(html):
        yield html[at:]


def _plain(text: str) -> str:
    """A text for comparison, without outer punctuation, capitals and differences of blanks."""
    return _NUMBER_OF_STEP.sub("", " ".join(text.split())).strip(" :;,.·()").casefold()


def _with_language(tag: str, language: str) -> str:
    end = "/>" if tag.endswith("/>") else ">"
    return f'{tag.removesuffix(end)} lang="{language}"{end}'


def _wrapped(text: str, tag: str, language: str) -> str:
    inner = text.strip()
    lead, _, tail = text.partition(inner)
    return f'{lead}<{tag} lang="{language}">{inner}</{tag}>{tail}'
