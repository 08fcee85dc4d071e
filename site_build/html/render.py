"""Renders computed figures as HTML: one autoescaping environment, formats as filters, no arithmetic."""

from __future__ import annotations

from base64 import b64encode
from contextlib import suppress
from functools import lru_cache
from hashlib import sha256
from pathlib import Path

from jinja2 import Environment, FileSystemBytecodeCache, PackageLoader, StrictUndefined, select_autoescape

from handbook.base.formats import add_other_scale
from handbook.base.sources import source
from site_build.base import local_formats as formats
from site_build.base.local_forms import local, local_alone, local_date, local_day, local_money
from site_build.base.said_words import BEGIN, install_words, say_count
from site_build.charts.standing_chart import together

TRUST_CLASSES = {
    "read": "trust-read",
    "second-hand": "trust-second-hand",
    "from memory": "trust-memory",
    "computed": "trust-computed",
    "common practice": "trust-practice",
}


class CompiledTemplates(FileSystemBytecodeCache):
    """Compiled templates, cached in the package like Python's own bytecode; compiled each time where that folder is not
    writable.
    """

    def __init__(self):
        folder = Path(__file__).parent.parent / "templates" / "__pycache__"
        with suppress(OSError):
            folder.mkdir(exist_ok=True)
        super().__init__(str(folder), "%s.compiled")

    def load_bytecode(self, bucket):
        with suppress(Exception):  # a damaged file does not matter: the template itself is there
            super().load_bytecode(bucket)

    def dump_bytecode(self, bucket):
        with suppress(OSError):
            super().dump_bytecode(bucket)


@lru_cache
def environment() -> Environment:
    """The environment of all computed parts. Everything is escaped; an unknown name is an error."""
    made = Environment(
        loader=PackageLoader("site_build", "templates"),
        autoescape=select_autoescape(default=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        bytecode_cache=CompiledTemplates(),
        auto_reload=False,  # otherwise it looks at a template's file each time the template is used
    )
    made.filters |= {
        "mass": formats.format_mass,
        "volume": formats.format_volume,
        "percent": formats.format_percent,
        "percent_range": formats.format_percent_range,
        "number_range": formats.format_number_range,
        "time": formats.format_time,
        "time_range": formats.format_time_range,
        "clock": formats.format_clock,
        "temperature": formats.format_temperature,
        "temperature_range": formats.format_temperature_range,
        "distance": formats.format_length,
        "number": formats.format_number,
        "money": local_money,
        "signed_percent": formats.format_signed_percent,
        "kinds": _plural,
        "word": _word,
        "up_first": lambda text: text[:1].upper() + text[1:],
        "low_first": _low_first,
        "local": local,
        "local_alone": local_alone,
        "day": local_day,
        "date": local_date,
        "both_scales": add_other_scale,
        "together": together,
        "policy_source": policy_source,
    }
    install_words(made)
    made.globals |= {"source": source, "trust_class": TRUST_CLASSES.__getitem__}
    return made


def render(template: str, **values) -> str:
    """One template with its values."""
    found = environment().get_template(template)
    context = found.new_context(values)
    text = environment().concat(found.root_render_func(context))
    context.vars.clear()  # a template's macros and its context refer to each other, which would keep the page's report in memory
    return text


def policy_source(text: str) -> str:
    """What a page's policy allows the inline style or script ``text`` by: its hash (CSP level 3, "hash-source")."""
    return f"'sha256-{b64encode(sha256(text.encode()).digest()).decode()}'"


def _word(text: str) -> str:
    return "-".join(text.casefold().split())


def _low_first(text: str) -> str:
    """An English title within a sentence; other languages keep their capitals."""
    return text if text.startswith(BEGIN) else text[:1].lower() + text[1:]


def _plural(count: int, one: str, many: str = "") -> str:
    return say_count(f"%(num)s {one}", f"%(num)s {many or one + 's'}", count)
