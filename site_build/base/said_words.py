"""The words of the site, in the language of the house.

A message is its English text: templates say ``_("Weight of food")``, Python ``say("Text of %(day)s.", day=day)``. Every
message is a format, so a percent sign is written ``%%``. A translated text is framed by two characters that never leave
the generator, so that ``languages.py`` can distinguish it from English text.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from jinja2 import Environment
from markupsafe import Markup, escape

from handbook.base.wording import PLACEHOLDER, PLAIN_ENGLISH, Wording
from handbook.page.salting import USUAL_NAMES

#: Begin and end of words in the house's language: noncharacters, which Unicode keeps for internal use.
BEGIN, END = "\ufdd0", "\ufdd1"
#: The same for English within the data of a script.
_ENGLISH, _ENGLISH_END = "\ufdd2", "\ufdd3"
_current: ContextVar[Wording] = ContextVar("wording", default=PLAIN_ENGLISH)


@contextmanager
def worded(wording: Wording) -> Iterator[None]:
    """Use the words of ``wording`` within the block."""
    token = _current.set(wording)
    try:
        yield
    finally:
        _current.reset(token)


def use_wording(wording: Wording) -> None:
    """Use the words of ``wording`` from now on."""
    _current.set(wording)


def wording_now() -> Wording:
    """The wording in use."""
    return _current.get()


def say(message: str, **values: object) -> str:
    """A message in the house's language, with its values."""
    return _gettext(message) % values


def later(message: str) -> str:
    """Mark a message that ``said`` in a template translates later, so that the catalogue lists it."""
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
    """The author's words, which are in the house's language."""
    return text if wording_now().is_english or not text else _framed(text)


def called(name: str) -> str:
    """A mixture's name: one that its author gave is in the house's language, the engine's own stays English untranslated."""
    text = said(name)
    return text if text != name or name.casefold() in USUAL_NAMES else own(name)


def for_script(text: str) -> str:
    """A text for a script, which says of what is neither translated nor the author's that it is English (say.js)."""
    is_known = wording_now().is_english or BEGIN in text or not any(each.isalpha() for each in text)
    return text if is_known else f"{_ENGLISH}{text}{_ENGLISH_END}"


def bare(text: str) -> str:
    """A text without the frames of its languages, for files other than pages."""
    return text.replace(BEGIN, "").replace(END, "")


def install_words(environment: Environment) -> None:
    """Give the templates of ``environment`` their words. Translations are escaped, since a catalogue is data."""
    environment.globals["_"] = say_html
    environment.filters |= {"said": said, "own": _own_html, "called": called}


def _gettext(message: str) -> str:
    found = _current.get().text(message)
    return message if found is None else _framed(found)


def _ngettext(one: str, many: str, count: int) -> str:
    found = _current.get().counted(one, count)
    return (one if count == 1 else many) if found is None else _framed(found)


def _framed(text: str) -> str:
    """A translation in its frame. Each placeholder is outside of it, since its value may be English."""
    if _current.get().is_english:
        return text
    return BEGIN + PLACEHOLDER.sub(lambda found: f"{END}{found[0]}{BEGIN}" if found["name"] else found[0], text) + END


def _own_html(text: str) -> str:
    return Markup(own(text)) if isinstance(text, Markup) else own(text)
