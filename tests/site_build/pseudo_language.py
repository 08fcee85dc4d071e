"""A language for tests: every message in brackets and with accents, so that a word that was left out shows.

The language tag is that of Esperanto, which the Unicode locale data (CLDR) write with a decimal comma; the words are no Esperanto.
"""

import re
import shutil
from pathlib import Path

from handbook.base.wording import PLACEHOLDER
from site_build.outputs.word_list import all_messages

LANGUAGE = "eo"
OPEN, CLOSE = "⟦", "⟧"
_ACCENTS = str.maketrans("aeiouyAEIOUYcnsz", "äéîöüÿÄÉÎÖÜÝçñšž")
_HEAD = f"""msgid ""
msgstr ""
"Language: {LANGUAGE}\\n"
"Content-Type: text/plain; charset=utf-8\\n"
"Plural-Forms: nplurals=2; plural=(n != 1);\\n"
"""


def pseudo(message: str) -> str:
    """A message as the pseudo-language has it: accents everywhere but in its placeholders."""
    made, at = "", 0
    for found in PLACEHOLDER.finditer(message):
        made += message[at : found.start()].translate(_ACCENTS) + found[0]
        at = found.end()
    return f"{OPEN}{made}{message[at:].translate(_ACCENTS)}{CLOSE}"


def catalogue(*left_out: str, language: str = LANGUAGE) -> str:
    """The whole catalogue, without the messages ``left_out``."""
    rows = [_HEAD.replace(f"Language: {LANGUAGE}", f"Language: {language}")]
    for message in all_messages():
        if isinstance(message, tuple):
            one, many = message
            rows.append(
                f"msgid {_quoted(one)}\nmsgid_plural {_quoted(many)}\n"
                f"msgstr[0] {_quoted(pseudo(one))}\nmsgstr[1] {_quoted(pseudo(many))}\n"
            )
        elif message not in left_out:
            rows.append(f"msgid {_quoted(message)}\nmsgstr {_quoted(pseudo(message))}\n")
    return "\n".join(rows)


def translate(folder: Path, *left_out: str, language: str = LANGUAGE) -> None:
    """Turn a copy of the demo's folder into the pseudo-language."""
    house = folder / "house.yml"
    house.write_text(house.read_text("utf-8") + f"\nlanguage: {language}\n", "utf-8")
    (folder / "words.po").write_text(catalogue(*left_out, language=language), "utf-8")


def copy_of(source: Path, target: Path, *pages: str) -> Path:
    """A handbook with the house data of ``source`` and only these pages of it, without their links to others."""
    target.mkdir()
    for name in ("house.yml", "foods.csv", *pages):
        if (source / name).exists():
            shutil.copy2(source / name, target / name)
    house = (target / "house.yml").read_text("utf-8")
    (target / "house.yml").write_text(re.sub(r"(?m)^inspected:.*\n", "", house), "utf-8")
    for name in pages:
        text = (target / name).read_text("utf-8")
        (target / name).write_text(re.sub(r"\[([^]]*)\]\([^)]*\.md[^)]*\)", r"\1", text), "utf-8")
    return target


def _quoted(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'
