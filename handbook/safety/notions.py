"""Figures by which the rules classify food and steps (data/notions.yml). They are not limits."""

from __future__ import annotations

from functools import lru_cache
from importlib.resources import files

from msgspec import Struct

from handbook.base.errors import SourceError
from handbook.base.sources import source
from handbook.base.units import parse_quantity
from handbook.base.yaml_text import Table, Text, parse_yaml

_FILE = "notions.yml"
_DIMENSIONS = ("temperature", "time", "fraction", "length", "mass")


class Notion(Struct, frozen=True, kw_only=True):
    """One figure in SI with its use and the key of its source."""

    value: float
    says: str
    source: str


@lru_cache
def notions() -> dict[str, Notion]:
    """All notions by name. Raises SourceError for an entry without figure, words or a known source."""
    table = parse_yaml(files("handbook.data").joinpath(_FILE).read_text("utf-8"), _FILE)
    entries = table.entries if isinstance(table, Table) else ()
    found = {}
    for key, line, entry in entries:
        inside = entry.entries if isinstance(entry, Table) else ()
        values = {name: node.value for name, _, node in inside if isinstance(node, Text)}
        if set(values) != {"is", "says", "source"}:
            raise SourceError(f"{_FILE}:{line}: {key}: read {sorted(values)}; allowed: is, says, source")
        found[key] = Notion(value=_number(values["is"]), says=values["says"], source=source(values["source"]).key)
    return found


def notion(name: str) -> float:
    """The figure called ``name`` in SI."""
    return notions()[name].value


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return parse_quantity(text, *_DIMENSIONS).low
