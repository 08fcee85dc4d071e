"""Every key that people write, from the records that read them, so that the manual's reference always agrees with them."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from handbook.base.forms import Form, ListOf
from handbook.base.records import Record
from handbook.batches.batch_record import BATCH_FORM
from handbook.batches.kitchen_lists import CHECKS_FORM, STOCK_FORM
from handbook.catalogue.own_columns import COLUMNS
from handbook.catalogue.tables import engine_tables
from handbook.days.read_day import wish_form
from handbook.page.front_matter import front_matter_form
from handbook.page.house import house_form
from handbook.page.method import block_forms
from handbook.page.vocabulary import Vocabulary
from handbook.runs.run_record import RUN_FORM
from handbook.safety.limits import rules_and_limits
from site_build.review.signed import SIGNED_FORM

MOST_ALLOWED = 600


class KeyRow(Struct, frozen=True, kw_only=True):
    """One key: its path in its table, whether it is required, its purpose and its allowed values."""

    key: str
    required: bool
    help: str
    allowed: str


class KeyTable(Struct, frozen=True, kw_only=True):
    """The keys of one block or file."""

    name: str
    about: str
    rows: tuple[KeyRow, ...]


def key_tables() -> tuple[KeyTable, ...]:
    """Every block and file with its keys, in the order of the manual."""
    tables = engine_tables()
    words = Vocabulary(foods=tuple(tables.foods), ingredients=tuple(tables.ingredients), containers=())
    forms: list[tuple[str, str, Form]] = [
        ("front matter", "between two lines of three dashes at the head of a method page", front_matter_form(words)),
        *(
            (f"block {name}", f"between ```{name} and ``` on a method page", form)
            for name, form in block_forms(words).items()
        ),
        ("house.yml", "settings of the kitchen, for all its methods", house_form(rules_and_limits())),
        ("days/NAME.yml", "the wish for a day plan", wish_form((), ())),
        ("runs/METHOD/DAY.yml", "what one run of a method measured", RUN_FORM),
        ("batches", "the record of one batch", BATCH_FORM),
        ("stock", "the stock", STOCK_FORM),
        ("thermometer checks", "readings of thermometers and the right values", CHECKS_FORM),
        ("signed.yml", "who reviewed which version", SIGNED_FORM),
    ]
    found = [KeyTable(name=name, about=about, rows=tuple(_rows(form))) for name, about, form in forms]
    for table, columns in COLUMNS.items():
        rows = tuple(
            KeyRow(key=key, required=text.startswith("needed"), help=text, allowed="") for key, text in columns.items()
        )
        found.append(
            KeyTable(name=f"{table}.csv", about=f"the house's own {table.replace('_', ' ')}, one row each", rows=rows)
        )
    return tuple(found)


def _rows(form: Form, prefix: str = "") -> Iterator[KeyRow]:
    record = _record_in(form)
    for each in record.fields if record else ():
        inner = _record_in(each.form)
        allowed = (
            "a table" if inner is each.form else each.form.allowed.split(", each: ")[0] if inner else each.form.allowed
        )
        yield KeyRow(key=prefix + each.key, required=each.required, help=each.help, allowed=_short(allowed))
        if inner:
            yield from _rows(inner, f"{prefix}{each.key}.")


def _record_in(form: Form) -> Record | None:
    """The table that a form reads, by itself, in a list or inside another form."""
    if isinstance(form, Record):
        return form
    if isinstance(form, ListOf):
        return _record_in(form.form)
    inner = (getattr(form, name) for name in form.__struct_fields__)
    return next((found for each in inner if isinstance(each, Form) and (found := _record_in(each))), None)


def _short(text: str) -> str:
    return text if len(text) <= MOST_ALLOWED else f"{text[:MOST_ALLOWED].rsplit(', ', 1)[0]} …"
