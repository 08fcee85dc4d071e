"""The report as JSON for other programs. Each part states its schema and where its value comes from in one place."""

from __future__ import annotations

import json
from collections.abc import Callable
from operator import attrgetter, itemgetter
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from site_build.review.changes import Comparison

FORMAT = 1


def json_text(comparison: Comparison) -> str:
    """The whole comparison, with keys in a fixed order, in the form of ``COMPARISON_SCHEMA``."""
    return json.dumps(_COMPARISON.write(comparison), ensure_ascii=True, indent=1, allow_nan=False) + "\n"


class _Part(Struct, frozen=True):
    """One part of the report: its schema, how its value is written, and how that is read from the record around it.

    Without ``read``, the value is the record's attribute of the same name.
    """

    schema: dict
    write: Callable[[Any], Any] = lambda value: value
    read: Callable[[Any], Any] | None = None

    def of(self, attribute: str) -> _Part:
        """The same part from an attribute of another name."""
        return replace(self, read=attrgetter(attribute))


def _table(**parts: _Part) -> _Part:
    read = {key: each.read or attrgetter(key) for key, each in parts.items()}
    schema = {
        "type": "object",
        "properties": {key: each.schema for key, each in parts.items()},
        "required": list(parts),
        "additionalProperties": False,
    }
    return _Part(schema, lambda record: {key: each.write(read[key](record)) for key, each in parts.items()})


def _pair(part: _Part) -> _Part:
    return _table(before=replace(part, read=itemgetter(0)), after=replace(part, read=itemgetter(1)))


def _list(part: _Part) -> _Part:
    return _Part({"type": "array", "items": part.schema}, lambda values: [part.write(each) for each in values])


def _or_none(part: _Part) -> _Part:
    schema = {"anyOf": [part.schema, {"type": "null"}]}
    return _Part(schema, lambda value: None if value is None else part.write(value))


def _one_of(*allowed: Any, **more: str) -> _Part:
    return _Part({"enum": list(allowed), **more})


def _described(part: _Part, words: str) -> _Part:
    return replace(part, schema={**part.schema, "description": words})


_TEXT, _COUNT = _Part({"type": "string"}), _Part({"type": "integer", "minimum": 0})
_TEXTS, _NUMBER = _list(_TEXT), _Part({"type": ["number", "null"]})
_CODE = _one_of(0, 1, 2, description="0 no computed change, 1 changes, 2 a new stop or a page that no longer builds")
_FIGURE = _described(
    _table(value=_NUMBER, low=_NUMBER, high=_NUMBER, unit=_TEXT, words=_TEXT),
    "typical value with its range in unit; value null: not known or not reached, words say which",
)
_CHANGE = _table(figure=_TEXT.of("key"), before=_or_none(_FIGURE), after=_or_none(_FIGURE), change=_TEXT.of("size"))
_CHANGES, _STATED = _list(_CHANGE), _list(_table(key=_TEXT, before=_TEXT, after=_TEXT))
_FINDING = _table(
    level=_one_of("stop", "act", "note", "met"),
    title=_TEXT,
    verdict=_TEXT,
    figure=_TEXT,
    printed=_TEXT,
    message=_TEXT,
    signed=_TEXT,
)
_FINDING_CHANGE = _table(
    rule=_TEXT.of("key"),
    kind=_one_of("appeared", "vanished", "level", "figure"),
    severity=_described(_COUNT, "0 the most serious"),
    before=_or_none(_FINDING),
    after=_or_none(_FINDING),
)
_STEP = _table(
    kind=_one_of("added", "removed", "moved", "changed"),
    number_before=_or_none(_COUNT),
    number=_or_none(_COUNT),
    do=_TEXT.of("shown.do"),
    stated=_STATED,
    figures=_CHANGES,
    duration=_or_none(_CHANGE),
    reworded=_Part({"type": "boolean"}).of("is_reworded"),
)
_INGREDIENT = _table(
    written=_TEXT, mass=_Part({"type": "number", "description": "g in the batch as written"}), note=_TEXT
)
_METHODS = _list(
    _table(
        path=_TEXT,
        old_path=_TEXT,
        title=_TEXT,
        status=_one_of("added", "removed", "renamed", "changed"),
        code=_CODE,
        mark=_pair(_or_none(_TEXT)).of("marks"),
        faults_before=_TEXTS,
        faults=_TEXTS,
        findings=_list(_FINDING_CHANGE),
        figures=_CHANGES,
        steps=_list(_STEP),
        ingredients=_list(_table(mixture=_TEXT, item=_TEXT, before=_or_none(_INGREDIENT), after=_or_none(_INGREDIENT))),
        stated=_STATED,
        prose=_or_none(_table(gone=_COUNT, new=_COUNT, words_before=_COUNT, words_after=_COUNT)),
        words=_list(_table(before=_TEXT, after=_TEXT, marked=_TEXTS)),
        below_rounding=_described(_COUNT, "figures that moved by less than half their last printed digit"),
    )
)
_FILES = _list(_table(path=_TEXT.of("key"), status=_TEXT.of("after")))
_COMPARISON = _table(
    format=_Part({"const": FORMAT}, read=lambda _: FORMAT),
    before=_TEXT,
    after=_TEXT,
    engine=_pair(_TEXT).of("engines"),
    code=_CODE,
    unchanged=_COUNT,
    methods=_METHODS,
    house=_or_none(
        _table(settings=_STATED.of("stated"), methods=_METHODS, faults_before=_TEXTS, faults=_TEXTS),
    ),
    faults=_TEXTS,
    other_pages=_FILES,
    other_files=_FILES,
)
COMPARISON_SCHEMA = {
    "$schema": "https://json-schema.org/draft/2020-12/schema",
    "title": "Comparison of two versions of a handbook",
    **_COMPARISON.schema,
}
