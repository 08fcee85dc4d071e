"""Source key -> full citation with its trust. An unknown key is an error, so no figure cites thin air."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

from handbook.base.did_you_mean import nearest
from handbook.base.errors import SourceError
from handbook.base.yaml_text import Table, parse_yaml

TRUSTS = ("read", "second-hand", "from memory", "computed", "common practice")


@dataclass(frozen=True, kw_only=True)
class CitedSource:
    """One source: ``trust`` says how its figures are known to this handbook."""

    key: str
    citation: str
    trust: str
    note: str


@lru_cache
def sources() -> dict[str, CitedSource]:
    """All sources by key. Raises SourceError when the list itself is wrong."""
    table = parse_yaml(files("handbook.data").joinpath("sources.yml").read_text("utf-8"), "sources.yml")
    found = {}
    for key, line, entry in table.entries:
        values = {name: node.value for name, _, node in entry.entries} if isinstance(entry, Table) else {}
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
    """The source called ``key``; raises SourceError when there is none."""
    try:
        return sources()[key]
    except KeyError:
        suggestion = nearest(key, sources())
        raise SourceError(
            f"source: read {key}; allowed: a key of sources.yml"
            + (f". Did you mean {suggestion}?" if suggestion else "")
        ) from None
