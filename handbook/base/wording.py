"""The words of a site in the language of its house: a catalogue of messages, each with its translation.

A message is its own English text. It may hold placeholders such as ``%(batch)s``; ``%%`` is a percent sign.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

from msgspec import Struct, field

ENGLISH = "en"
#: A placeholder of a message, or a percent sign.
PLACEHOLDER = re.compile(r"%(?:\((?P<name>\w+)\)s|%)")


def _two_forms(count: int) -> int:
    return int(count != 1)


class Wording(Struct, frozen=True, kw_only=True):
    """The translations of one house. A message without one stays English.

    ``messages`` holds single texts, ``plurals`` the forms of a message with a count, in the order of the language;
    ``plural_of`` is the number of the form for a count; ``mark`` identifies the content.
    """

    language: str = ENGLISH
    messages: Mapping[str, str] = field(default_factory=dict)
    plurals: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    plural_of: Callable[[int], int] = _two_forms
    mark: str = ""

    @property
    def is_english(self) -> bool:
        """Whether English words are in this language."""
        return self.language.split("-")[0] == ENGLISH

    def text(self, message: str) -> str | None:
        """The translation of ``message``, or None."""
        return self.messages.get(message)

    def counted(self, one: str, count: int) -> str | None:
        """The translation of the message with the singular ``one`` for ``count`` things, or None."""
        forms = self.plurals.get(one)
        if forms is None:
            return None
        number = self.plural_of(count)
        return forms[number] if 0 <= number < len(forms) else None


#: The generator's own words.
PLAIN_ENGLISH = Wording()


def placeholders(message: str) -> set[str]:
    """The names of the placeholders of a message."""
    return {found["name"] for found in PLACEHOLDER.finditer(message) if found["name"]}


def stray_percent(message: str) -> bool:
    """Whether a message has a percent sign that is neither part of a placeholder nor doubled."""
    return "%" in PLACEHOLDER.sub("", message)
