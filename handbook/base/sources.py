"""Source keys and their citations. An unknown key is an error, so every figure has a source."""

from __future__ import annotations

from functools import lru_cache
from importlib.resources import files

from msgspec import Struct

from handbook.base.did_you_mean import nearest
from handbook.base.errors import SourceError
from handbook.base.yaml_text import Table, Text, parse_yaml

TRUSTS = ("read", "second-hand", "from memory", "computed", "common practice")


class CitedSource(Struct, frozen=True, kw_only=True):
    """One source. ``trust`` says how the handbook knows its figures, one of TRUSTS."""

    key: str
    citation: str
    trust: str
    note: str


@lru_cache
def sources() -> dict[str, CitedSource]:
    """All sources by key. Raises SourceError for a malformed list."""
    table = parse_yaml(files("handbook.data").joinpath("sources.yml").read_text("utf-8"), "sources.yml")
    if not isinstance(table, Table):
        raise SourceError(f"sources.yml:{table.line}: read no table; allowed: source keys with citation, trust, note")
    found = {}
    for key, line, entry in table.entries:
        entries = entry.entries if isinstance(entry, Table) else ()
        values = {name: node.value for name, _, node in entries if isinstance(node, Text)}
        if set(values) - {"citation", "trust", "note"} or values.get("trust") not in TRUSTS or "citation" not in values:
            raise SourceError(
                f"sources.yml:{line}: {key}: read {sorted(values)}; "
                f"allowed: citation, trust ({', '.join(TRUSTS)}), note"
            )
        found[key] = CitedSource(
            key=key, citation=values["citation"], trust=values["trust"], note=values.get("note", "")
        )
    return found


def source(key: str) -> CitedSource:
    """The source called ``key``. Raises SourceError for an unknown key."""
    try:
        return sources()[key]
    except KeyError:
        suggestion = nearest(key, sources())
        raise SourceError(
            f"source: read {key}; allowed: a key of sources.yml"
            + (f". Did you mean {suggestion}?" if suggestion else "")
        ) from None
