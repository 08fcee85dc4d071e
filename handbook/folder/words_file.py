"""The catalogue of translations of a house, words.po in the methods folder: read as data, whoever wrote it."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from gettext import c2py
from hashlib import sha256

from babel.messages.catalog import Catalog, Message
from babel.messages.pofile import PoFileError, read_po

from handbook.base.errors import CONTROLS, PageError
from handbook.base.forms import MAX_FAULTS
from handbook.base.wording import Wording, placeholders, stray_percent
from handbook.folder.read_text import decode_page

WORDS_FILE = "words.po"
MAX_MESSAGES = 4000
MAX_TEXT = 2000
#: Characters that begin markup, which no translation may bring, and those that the generator marks languages with.
_MARKUP = re.compile("[<>&\ufdd0\ufdd1]")
_PLURALS = re.compile(r"nplurals\s*=\s*(\d)\s*;\s*plural\s*=\s*([^;]{1,300})")


def read_wording(data: bytes | None, file: str, language: str) -> tuple[Wording, list[PageError]]:
    """The translations in the bytes of a catalogue, and its faults; without bytes every message stays English."""
    if data is None:
        return Wording(language=language), []
    text, fault = decode_page(data, file)
    if fault:
        return Wording(language=language), [fault]
    try:
        catalog = read_po(io.StringIO(text), abort_invalid=True)
    except (PoFileError, ValueError, LookupError, IndexError, RecursionError) as error:
        line = getattr(error, "lineno", 0) + 1
        return Wording(language=language), [PageError(file, line, "catalogue", _said(error), "a catalogue as .po")]
    faults = list(_catalogue_faults(catalog, text, file, language))
    for message in catalog:
        if message.id and not message.fuzzy and len(faults) <= MAX_FAULTS:
            faults += _message_faults(message, file)
    if faults:
        return Wording(language=language), faults
    return _wording(catalog, text, language, data), []


def _wording(catalog: Catalog, text: str, language: str, data: bytes) -> Wording:
    messages, plurals = {}, {}
    for message in catalog:
        if not message.id or message.fuzzy:
            continue
        if isinstance(message.id, tuple):
            if all(message.string):
                plurals[message.id[0]] = tuple(message.string)
        elif message.string:
            messages[message.id] = message.string
    rule = _plural_rule(text)
    more = {"plural_of": c2py(rule[1])} if rule else {}
    return Wording(language=language, messages=messages, plurals=plurals, mark=sha256(data).hexdigest()[:24], **more)


def _catalogue_faults(catalog: Catalog, text: str, file: str, language: str) -> Iterator[PageError]:
    said = re.search(r'^"Language: *([^"\\]*)\\n"', text, re.MULTILINE)
    if said and said[1].strip().replace("_", "-").casefold() != language.casefold():
        line = text[: said.start()].count("\n") + 1
        yield PageError(file, line, "Language", said[1], f"{language}, the language of the house file")
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
        c2py(rule)
    except (ValueError, RecursionError):
        return None
    return int(found[1]), rule


def _message_faults(message: Message, file: str) -> Iterator[PageError]:
    ids = message.id if isinstance(message.id, tuple) else (message.id,)
    texts = message.string if isinstance(message.string, tuple) else (message.string,)
    wanted = placeholders(ids[-1])
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
    if stray_percent(text):
        return text, "%% for a percent sign"
    if not least <= placeholders(text) <= wanted:
        names = ", ".join(f"%({name})s" for name in sorted(wanted)) or "no placeholder"
        return text, f"the placeholders of its message: {names}"
    return None


def _said(error: Exception) -> str:
    return re.sub(r" on \d+$", "", " ".join(str(error).split()))[:120] or "no catalogue"
