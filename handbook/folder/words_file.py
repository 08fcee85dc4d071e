"""The catalogue of translations of a house, words.po in the methods folder. Its content is untrusted data."""

from __future__ import annotations

import io
import re
import unicodedata
from collections import Counter
from collections.abc import Iterator, Sequence
from gettext import c2py
from hashlib import sha256

from babel.messages.catalog import Catalog, Message
from babel.messages.pofile import PoFileError, PoFileParser

from handbook.base.errors import CONTROLS, PageError
from handbook.base.forms import MAX_FAULTS
from handbook.base.wording import PLACEHOLDER, Wording, placeholders, stray_percent
from handbook.folder.read_text import decode_page

WORDS_FILE = "words.po"
MAX_MESSAGES = 4000
MAX_TEXT = 2000
#: Maximum number of plural forms of a language.
MAX_PLURALS = 9
#: Maximum repetitions of one placeholder in a translation, since its value may be long.
MAX_REPEATS = 3
#: Counts at which a plural rule is tested.
_TRIED_COUNTS = range(1001)
#: Characters of markup, which a translation may not contain, and those with which the generator marks languages.
_MARKUP = re.compile("[<>&\ufdd0\ufdd1]")
#: The language in a header, wherever its lines are broken.
_LANGUAGE = re.compile(r'(?:^|["\n])Language: *([^"\\\n]*)(?:\\n)?"', re.MULTILINE)
#: Invisible letters and signs: fillers of Hangul, the empty pattern of Braille.
_EMPTY = "\u115f\u1160\u3164\uffa0\u2800"
_PLURALS = re.compile(r"nplurals\s*=\s*(\d)\s*;\s*plural\s*=\s*([^;]{1,300})")


def read_wording(data: bytes | None, file: str, language: str) -> tuple[Wording, list[PageError]]:
    """The translations in the bytes of a catalogue, and its faults; without bytes every message stays English."""
    if data is None:
        return Wording(language=language), []
    text, fault = decode_page(data, file)
    if fault:
        return Wording(language=language), [fault]
    try:
        catalog = _Catalog()
        PoFileParser(catalog, ignore_obsolete=True, abort_invalid=True).parse(io.StringIO(text))
    except (PoFileError, ValueError, LookupError, ArithmeticError, RecursionError) as error:
        line = getattr(error, "lineno", 0) + 1
        return Wording(language=language), [PageError(file, line, "catalogue", _said(error), "a catalogue as .po")]
    faults = list(_catalogue_faults(catalog, text, file, language))
    for message in catalog:
        if message.id and not message.fuzzy and len(faults) <= MAX_FAULTS:
            faults += _message_faults(message, file)
    if faults:
        return Wording(language=language), faults
    return _wording(catalog, text, language, data), []


class _Catalog(Catalog):
    """A catalogue that records what gettext's own tools refuse: a duplicate message, and one with a context."""

    def __init__(self) -> None:
        super().__init__()
        self.wrong: list[tuple[int, str, str, str]] = []

    def __setitem__(self, key: str | tuple[str, ...] | list[str], message: Message) -> None:
        line = message.lineno or 1
        if message.context is not None:
            self.wrong.append((line, "msgctxt", message.context, "no context: the site's messages have none"))
        elif message.id and message.id in self:
            self.wrong.append((line, "msgid", _texts(message.id)[0], "each message once"))
        super().__setitem__(key, message)

    @property
    def num_plurals(self) -> int:
        """The number of plural forms, limited: each message gets that many."""
        return min(super().num_plurals, MAX_PLURALS)


def _texts(said: str | Sequence[str] | None) -> tuple[str, ...]:
    """One text for a message, several for one with a count; none as an empty text."""
    if said is None or isinstance(said, str):
        return (said or "",)
    return tuple(said)


def _wording(catalog: Catalog, text: str, language: str, data: bytes) -> Wording:
    messages, plurals = {}, {}
    for message in catalog:
        ids, texts = _texts(message.id), _texts(message.string)
        if not ids[0] or message.fuzzy or not all(texts):
            continue
        if len(ids) > 1:
            plurals[ids[0]] = texts
        else:
            messages[ids[0]] = texts[0]
    rule = _plural_rule(text)
    more = {"plural_of": c2py(rule[1])} if rule else {}
    return Wording(language=language, messages=messages, plurals=plurals, mark=sha256(data).hexdigest()[:24], **more)


def _catalogue_faults(catalog: _Catalog, text: str, file: str, language: str) -> Iterator[PageError]:
    for found in _LANGUAGE.finditer(text):
        said = found[1].strip()
        if said.replace("_", "-").casefold() != language.casefold():
            line = text[: found.start(1)].count("\n") + 1
            yield PageError(file, line, "Language", said or "nothing", f"{language}, the language of the house file")
    yield from (PageError(file, *each) for each in catalog.wrong[:MAX_FAULTS])
    if len(catalog) > MAX_MESSAGES:
        yield PageError(file, 1, "catalogue", f"{len(catalog)} messages", f"at most {MAX_MESSAGES}")
    if "Plural-Forms:" in text and _plural_rule(text) is None:
        line = text[: text.index("Plural-Forms:")].count("\n") + 1
        allowed = 'a count and a rule, such as "nplurals=2; plural=(n != 1);"'
        yield PageError(file, line, "Plural-Forms", text.splitlines()[line - 1].strip(), allowed)


def _plural_rule(text: str) -> tuple[int, str] | None:
    """The count of forms and the rule in a catalogue's header, or None."""
    joined = re.sub(r'"\n"', "", text)
    found = _PLURALS.search(joined)
    if found is None:
        return None
    rule = found[2].replace("\\n", "").strip()
    try:
        plural_of = c2py(rule)
        for count in _TRIED_COUNTS:
            plural_of(count)
    except (ValueError, ArithmeticError, RecursionError, SyntaxError):
        return None
    return int(found[1]), rule


def _message_faults(message: Message, file: str) -> Iterator[PageError]:
    ids, texts = _texts(message.id), _texts(message.string)
    # Every form knows the count's value. The other placeholders of a message are those of its first form.
    wanted = placeholders(ids[0]) | ({"num"} if len(ids) > 1 else set())
    for text in filter(None, texts):
        wrong = _wrong(text, wanted, placeholders(ids[0]))
        if wrong:
            yield PageError(file, message.lineno or 1, "msgstr", *wrong)


def _wrong(text: str, wanted: set[str], least: set[str]) -> tuple[str, str] | None:
    if len(text) > MAX_TEXT:
        return f"{len(text)} characters", f"at most {MAX_TEXT}"
    if CONTROLS.search(text) or "\n" in text or "\t" in text:
        return text, "one line without control characters"
    if _MARKUP.search(text):
        return text, "plain words without <, > and &"
    if not any(_is_visible(sign) for sign in text):
        return "nothing that can be seen", "words that can be read"
    if stray_percent(text):
        return text, "%% for a percent sign"
    if not least <= placeholders(text) <= wanted:
        names = ", ".join(f"%({name})s" for name in sorted(wanted)) or "no placeholder"
        return text, f"the placeholders of its message: {names}"
    named = Counter(each["name"] for each in PLACEHOLDER.finditer(text) if each["name"])
    if named and max(named.values()) > MAX_REPEATS:
        return text, f"each placeholder at most {MAX_REPEATS} times"
    return None


def _is_visible(sign: str) -> bool:
    """Whether a character is visible by itself: not a blank, a joiner, a tag, or a mark without its letter."""
    return unicodedata.category(sign)[0] in "LNPS" and sign not in _EMPTY


def _said(error: Exception) -> str:
    return re.sub(r" on \d+$", "", " ".join(str(error).split()))[:120] or "no catalogue"
