"""Every message of the site, collected from templates, Python and scripts, and the update of a team's catalogue."""

from __future__ import annotations

import ast
import io
import json
import re
from collections.abc import Iterable, Iterator
from functools import lru_cache
from importlib.resources import files
from importlib.resources.abc import Traversable

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_javascript
from babel.messages.pofile import read_po, write_po
from jinja2 import Environment, nodes
from jinja2.ext import babel_extract

from handbook import __version__
from handbook.base.wording import ENGLISH, Wording
from handbook.batches.batch_record import STATES, WENT
from handbook.batches.batch_state import DISCARDED, ENDED, MADE, RUNNING
from handbook.batches.inspection_plan import inspection_words
from handbook.batches.kitchen_lists import CHECKED_IN
from handbook.catalogue import foods, ingredients
from handbook.catalogue.tables import engine_tables
from handbook.page import finished_food, front_matter, pieces, salting, steps
from handbook.runs.run_record import TASTE_SCALE
from handbook.safety.findings import ADVICE, LEVELS, RULES
from handbook.safety.limits import AUDIENCES, PLACES, STANDINGS, limits
from handbook.safety.not_judged import not_judged
from site_build.base.local_forms import UNIT_WORDS, decimal_mark
from site_build.html.curves import HEAT_INPUTS
from site_build.html.overview import glossary, models
from site_build.html.render import TRUST_CLASSES
from site_build.review import signed

_ROOMS = ("base", "reading", "record", "charts", "html", "review", "outputs")
#: Functions that take a message, with the number of their texts.
_PYTHON = {"say": 1, "say_html": 1, "say_count": 2, "later": 1}
_SCRIPT = {"tell": None}
_ABOUT = (
    "# Words of the handbook's pages. Write each translation after msgstr; handbook words --update adds new messages."
)
#: Lines of a header that say nothing: Babel's own placeholders, and days that would make two equal catalogues differ.
_LEFT_OUT = re.compile(r'"(?:(?:POT-Creation|PO-Revision)-Date:|.*(?:EMAIL@ADDRESS|LL@li\.org))')


def all_messages() -> dict[str | tuple[str, str], list[tuple[str, int]]]:
    """Each message with its places, (file, line), in the order of the files; messages with a count are pairs."""
    found: dict[str | tuple[str, str], list[tuple[str, int]]] = {}
    for message, file, line in _found():
        found.setdefault(message, []).append((file, line))
    return found


def template(language: str = "") -> str:
    """The messages as a catalogue without translations (``.pot``), with the language of ``language`` where it is given."""
    return _written(_catalog(language))


def updated(old: str, language: str) -> str:
    """The catalogue ``old`` with every message of the site: translations stay, new ones are empty, removed ones become comments."""
    catalog = read_po(io.StringIO(old), locale=language.replace("-", "_"))
    catalog.update(_catalog(language), no_fuzzy_matching=True)
    catalog.version = __version__
    return _written(catalog)


def missing(wording: Wording) -> list[str]:
    """The messages that ``wording`` does not translate."""
    known = {*wording.messages, *wording.plurals}
    return [one for each in all_messages() if (one := each[0] if isinstance(each, tuple) else each) not in known]


def unknown(wording: Wording) -> list[str]:
    """The translated texts that no page uses."""
    known = {each[0] if isinstance(each, tuple) else each for each in all_messages()}
    return [each for each in (*wording.messages, *wording.plurals) if each not in known]


def script_words(wording: Wording) -> str:
    """The translations of the scripts' messages, as a line of script to put before them; none in plain English."""
    if wording.language == ENGLISH and not wording.messages:
        return ""
    said = {each: text for each in _script_messages() if (text := wording.text(each)) is not None}
    data = {"decimal": decimal_mark(), "messages": said}
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"))
    return f"window.handbookWords={text};\n".replace("\u2028", "").replace("\u2029", "")


def closed_words() -> Iterator[str]:
    """Words of the engine's closed lists that pages show alone, such as kinds of food."""
    yield from TRUST_CLASSES
    yield from (word for kind in front_matter.KINDS for word in (kind, kind.capitalize()))
    yield from (*foods.FOOD_CLASSES, *filter(None, foods.ALLERGENS), *ingredients.KINDS, *salting.SALTING_KINDS)
    yield from (*pieces.SHAPES, "in", "out", "typical", "stated", "measured", "To act on", *steps.PLACES)
    yield from (*finished_food.PACKS, *AUDIENCES, *UNIT_WORDS, *map(str.capitalize, LEVELS), *PLACES, *STANDINGS)
    yield from ("meets", "does not meet", "may not meet", "not known", "Meets the limit.", "Does not meet the limit.")
    yield from (signed.NEVER, signed.SIGNED, signed.WORDS, signed.CHANGED)
    for name in salting.USUAL_NAMES:
        yield from (name, name.capitalize())
    yield from dict.fromkeys(each.pack_state for each in engine_tables().ingredients.values() if each.pack_state)
    yield from TASTE_SCALE.values()
    yield from (RUNNING, MADE, ENDED, DISCARDED, *WENT, *STATES, *CHECKED_IN, *inspection_words(), *front_matter.EATEN)
    yield from (*HEAT_INPUTS, "outer 3 mm", "computed for this run")


def standing_texts() -> Iterator[str]:
    """Whole texts that are the same on every site: titles of rules and limits, cautions, models, words of the trade."""
    yield from RULES.values()
    yield from ADVICE.values()
    yield from dict.fromkeys(each.title for each in limits().values())
    for each in not_judged():
        yield from (each.what, each.why)
    for word, meaning in glossary().items():
        yield from (word, meaning)
    for model in models():
        yield from (model.title, model.text, model.limits)


def _catalog(language: str) -> Catalog:
    catalog = Catalog(
        language.replace("-", "_") or None,
        header_comment=_ABOUT,
        project="cook-method-handbook",
        version=__version__,
        charset="utf-8",
        fuzzy=False,
    )
    for message, places in all_messages().items():
        catalog.add(message, locations=places[:3], flags=["python-format"])
    return catalog


def _written(catalog: Catalog) -> str:
    written = io.BytesIO()
    write_po(written, catalog, width=0, omit_header=False, sort_output=False)
    text = written.getvalue().decode("utf-8")
    return "".join(line for line in text.splitlines(keepends=True) if not _LEFT_OUT.match(line))


def _found() -> Iterator[tuple[str | tuple[str, str], str, int]]:
    package = files("site_build")
    for folder, ending in (("theme", ".html"), ("templates", ".html")):
        for name, file in _files(package / folder, folder, ending):
            yield from _of_template(name, file)
    for room in _ROOMS:
        for name, file in _files(package / room, room, ".py"):
            yield from _of_python(name, file.read_text("utf-8"))
    yield from _of_scripts()
    for words, place in ((closed_words(), "engine-words"), (standing_texts(), "standing-texts")):
        for word in words:
            yield word.replace("%", "%%"), place, 1


def _of_scripts() -> Iterator[tuple[str | tuple[str, str], str, int]]:
    for name, file in _files(files("site_build") / "theme", "theme", ".js"):
        with file.open("rb") as opened:
            for line, _, message, _ in extract_javascript(opened, _SCRIPT, [], {}):
                text = message[0] if isinstance(message, tuple) else message  # the others are texts within its values
                yield from _messages(text, name, line, False)


@lru_cache
def _script_messages() -> tuple[str, ...]:
    return tuple(dict.fromkeys(message for message, *_ in _of_scripts() if isinstance(message, str)))


def _files(place: Traversable, name: str, ending: str) -> Iterator[tuple[str, Traversable]]:
    for each in sorted(place.iterdir(), key=lambda one: one.name):
        if each.is_dir():
            yield from _files(each, f"{name}/{each.name}", ending)
        elif each.name.endswith(ending):
            yield f"site_build/{name}/{each.name}", each


def _of_python(name: str, text: str) -> Iterator[tuple[str | tuple[str, str], str, int]]:
    for each in ast.walk(ast.parse(text)):
        if isinstance(each, ast.Call) and isinstance(each.func, ast.Name) and each.func.id in _PYTHON:
            said = [arg.value for arg in each.args[: _PYTHON[each.func.id]] if isinstance(arg, ast.Constant)]
            yield from _messages(tuple(said), name, each.lineno, each.func.id == "later")


def _of_template(name: str, file: Traversable) -> Iterator[tuple[str | tuple[str, str], str, int]]:
    data = file.read_bytes()
    for line, _, message, _ in babel_extract(io.BytesIO(data), ("_", "gettext", "ngettext"), [], {"silent": "false"}):
        yield from _messages(message, name, line, False)
    for each in _environment().parse(data.decode("utf-8")).find_all(nodes.Filter):
        if each.name == "kinds" and each.args and isinstance(each.args[0], nodes.Const):
            words = [arg.value for arg in each.args if isinstance(arg, nodes.Const)]
            many = words[1] if len(words) > 1 else f"{words[0]}s"
            yield (f"%(num)s {words[0]}", f"%(num)s {many}"), name, each.lineno


@lru_cache
def _environment() -> Environment:
    return Environment(extensions=["jinja2.ext.i18n"])


def _messages(
    message: str | tuple | None, name: str, line: int, is_word: bool
) -> Iterable[tuple[str | tuple[str, str], str, int]]:
    """The message of one call. A message of ``later`` is written as it is read, with single percent signs."""
    if isinstance(message, tuple):
        texts = [each for each in message if isinstance(each, str)]
        if len(texts) > 1:
            return [((texts[0], texts[1]), name, line)]
        message = texts[0] if texts else None
    if not message:
        return []
    return [(message.replace("%", "%%") if is_word else message, name, line)]
