"""The words that readers meet, in the language of the house.

A message is its English text: templates say ``_("Weight of food")``, Python ``say("Text of %(day)s.", day=day)``. Every
message is a format, so that a percent sign is written ``%%``. A translated text is framed by two characters that never
leave the generator, so that ```languages.py``` can tell it from the English beside it.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from jinja2 import Environment
from markupsafe import Markup, escape

from handbook.base.wording import PLACEHOLDER, PLAIN_ENGLISH, Wording

#: Begin and end of words in the house's language: noncharacters, which Unicode keeps for internal use.
BEGIN, END = "\ufdd0", "\ufdd1"
_current: ContextVar[Wording] = ContextVar("wording", default=PLAIN_ENGLISH)


@contextmanager
def worded(wording: Wording) -> Iterator[None]:
    """Within it, words are those of ``wording``."""
    token = _current.set(wording)
    try:
        yield
    finally:
        _current.reset(token)


def use_wording(wording: Wording) -> None:
    """Words are those of ``wording`` from here on."""
    _current.set(wording)


def wording_now() -> Wording:
    """The wording in use."""
    return _current.get()


def say(message: str, **values: object) -> str:
    """A message in the house's language, with its values."""
    return _gettext(message) % values


def later(message: str) -> str:
    """A message that is said later, by ``said`` in a template: marked here so that the catalogue lists it."""
    return message


def said(word: str) -> str:
    """A word of a closed list, such as a kind of salting, in the house's language."""
    return _gettext(word.replace("%", "%%")) % {}


def say_html(message: str, **values: object) -> Markup:
    """A message for HTML, with its values escaped."""
    found = _current.get().text(message)
    text = message if found is None else str(escape(_framed(found)))
    return Markup(text) % values if values else Markup(text % {})


def say_count(one: str, many: str, count: int, **values: object) -> str:
    """The message for ``count`` things; ``%(num)s`` stands for the count."""
    return _ngettext(one, many, count) % {"num": count, **values}


def own(text: str) -> str:
    """The author's words: they are in the house's language."""
    return text if wording_now().is_english or not text else _framed(text)


def bare(text: str) -> str:
    """A text without the frames of its languages, for files that are no page."""
    return text.replace(BEGIN, "").replace(END, "")


def install_words(environment: Environment) -> None:
    """Give the templates of ``environment`` their words. What is translated is escaped: a catalogue is data."""
    environment.globals["_"] = say_html
    environment.filters |= {"said": said, "own": _own_html}


def _gettext(message: str) -> str:
    found = _current.get().text(message)
    return message if found is None else _framed(found)


def _ngettext(one: str, many: str, count: int) -> str:
    found = _current.get().counted(one, count)
    return (one if count == 1 else many) if found is None else _framed(found)


def _framed(text: str) -> str:
    """A translation in its frame, each placeholder outside of it: its value may be English."""
    if _current.get().is_english:
        return text
    return BEGIN + PLACEHOLDER.sub(lambda found: f"{END}{found[0]}{BEGIN}" if found["name"] else found[0], text) + END


def _own_html(text: str) -> str:
    return Markup(own(text)) if isinstance(text, Markup) else own(text)
