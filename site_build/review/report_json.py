"""The report as JSON for other programs, in the form of ``COMPARISON_SCHEMA``."""

from __future__ import annotations

import json
from dataclasses import asdict

from site_build.record.figures import Figure
from site_build.review.changes import Comparison, FigureChange, FindingChange, MethodChange, StepChange

FORMAT = 1


def json_text(comparison: Comparison) -> str:
    """The whole comparison, with keys in a fixed order."""
    return json.dumps(comparison_table(comparison), ensure_ascii=True, indent=1, allow_nan=False) + "\n"


def comparison_table(comparison: Comparison) -> dict:
    """The comparison as plain tables, lists and scalars."""
    house = comparison.house
    return {
        "format": FORMAT,
        "before": comparison.before,
        "after": comparison.after,
        "engine": {"before": comparison.engines[0], "after": comparison.engines[1]},
        "code": comparison.code,
        "unchanged": comparison.unchanged,
        "methods": [_method(each) for each in comparison.methods],
        "house": None
        if house is None
        else {
            "settings": [each._asdict() for each in house.stated],
            "methods": [_method(each) for each in house.methods],
            "faults_before": list(house.faults_before),
            "faults": list(house.faults),
        },
        "faults": list(comparison.faults),
        "other_pages": [{"path": each.key, "status": each.after} for each in comparison.other_pages],
        "other_files": [{"path": each.key, "status": each.after} for each in comparison.other_files],
    }


def _method(change: MethodChange) -> dict:
    prose = change.prose
    return {
        "path": change.path,
        "old_path": change.old_path,
        "title": change.title,
        "status": change.status,
        "code": change.code,
        "mark": {
            "before": change.before.mark if change.before else None,
            "after": change.after.mark if change.after else None,
        },
        "faults_before": list(change.faults_before),
        "faults": list(change.faults),
        "findings": [_finding(each) for each in change.findings],
        "figures": [_figure_change(each) for each in change.figures],
        "steps": [_step(each) for each in change.steps],
        "ingredients": [
            {
                "mixture": each.mixture,
                "item": each.item,
                "before": asdict(each.before) if each.before else None,
                "after": asdict(each.after) if each.after else None,
            }
            for each in change.ingredients
        ],
        "stated": [each._asdict() for each in change.stated],
        "prose": asdict(prose) if prose else None,
        "words": [asdict(each) for each in change.words],
        "below_rounding": change.below_rounding,
    }


def _finding(change: FindingChange) -> dict:
    return {
        "rule": change.key,
        "kind": change.kind,
        "severity": change.severity,
        "before": asdict(change.before) if change.before else None,
        "after": asdict(change.after) if change.after else None,
    }


def _figure_change(change: FigureChange) -> dict:
    return {
        "figure": change.key,
        "before": _figure(change.before),
        "after": _figure(change.after),
        "change": change.size,
    }


def _step(change: StepChange) -> dict:
    shown = change.after or change.before
    return {
        "kind": change.kind,
        "number_before": change.number_before,
        "number": change.number,
        "do": shown.do,
        "stated": [each._asdict() for each in change.stated],
        "figures": [_figure_change(each) for each in change.figures],
        "duration": _figure_change(change.duration) if change.duration else None,
        "reworded": change.is_reworded,
    }


def _figure(figure: Figure | None) -> dict | None:
    return asdict(figure) if figure else None


def _table(**properties) -> dict:
    return {
        "type": "object",
        "properties": properties,
        "required": list(properties),
        "additionalProperties": False,
    }


def _list(items: dict) -> dict:
    return {"type": "array", "items": items}


def _or_none(schema: dict) -> dict:
    return {"anyOf": [schema, {"type": "null"}]}


_TEXT, _COUNT, _NUMBER = {"type": "string"}, {"type": "integer", "minimum": 0}, {"type": ["number", "null"]}
_CODES = "0 no computed change, 1 changes, 2 a new stop or a page that no longer builds"
_CODE = {"enum": [0, 1, 2], "description": _CODES}
FIGURE_SCHEMA = {
    **_table(value=_NUMBER, low=_NUMBER, high=_NUMBER, unit=_TEXT, words=_TEXT),
    "description": "typical value with its range in unit; value null: not known or not reached, words say which",
}
_CHANGE = _table(figure=_TEXT, before=_or_none(FIGURE_SCHEMA), after=_or_none(FIGURE_SCHEMA), change=_TEXT)
_STATED = _table(key=_TEXT, before=_TEXT, after=_TEXT)
_FINDING = _table(
    level={"enum": ["stop", "act", "note", "met"]},
    title=_TEXT,
    verdict=_TEXT,
    figure=_TEXT,
    printed=_TEXT,
    message=_TEXT,
    signed=_TEXT,
)
_INGREDIENT = _table(written=_TEXT, mass={"type": "number", "description": "g in the batch as written"}, note=_TEXT)
_METHOD = _table(
    path=_TEXT,
    old_path=_TEXT,
    title=_TEXT,
    status={"enum": ["added", "removed", "renamed", "changed"]},
    code=_CODE,
    mark=_table(before=_or_none(_TEXT), after=_or_none(_TEXT)),
    faults_before=_list(_TEXT),
    faults=_list(_TEXT),
    findings=_list(
        _table(
            rule=_TEXT,
            kind={"enum": ["appeared", "vanished", "level", "figure"]},
            severity={**_COUNT, "description": "0 the most serious"},
            before=_or_none(_FINDING),
            after=_or_none(_FINDING),
        )
    ),
    figures=_list(_CHANGE),
    steps=_list(
        _table(
            kind={"enum": ["added", "removed", "moved", "changed"]},
            number_before=_or_none(_COUNT),
            number=_or_none(_COUNT),
            do=_TEXT,
            stated=_list(_STATED),
            figures=_list(_CHANGE),
            duration=_or_none(_CHANGE),
            reworded={"type": "boolean"},
        )
    ),
    ingredients=_list(_table(mixture=_TEXT, item=_TEXT, before=_or_none(_INGREDIENT), after=_or_none(_INGREDIENT))),
    stated=_list(_STATED),
    words=_list(_table(before=_TEXT, after=_TEXT, marked=_list(_TEXT))),
    prose=_or_none(_table(gone=_COUNT, new=_COUNT, words_before=_COUNT, words_after=_COUNT)),
    below_rounding={**_COUNT, "description": "figures that moved by less than half their last printed digit"},
)
COMPARISON_SCHEMA = {
    "$schema": "https://json-schema.org/draft/2020-12/schema",
    "title": "Comparison of two versions of a handbook",
    **_table(
        format={"const": FORMAT},
        before=_TEXT,
        after=_TEXT,
        engine=_table(before=_TEXT, after=_TEXT),
        code=_CODE,
        unchanged=_COUNT,
        methods=_list(_METHOD),
        house=_or_none(
            _table(
                settings=_list(_STATED),
                methods=_list(_METHOD),
                faults_before=_list(_TEXT),
                faults=_list(_TEXT),
            )
        ),
        faults=_list(_TEXT),
        other_pages=_list(_table(path=_TEXT, status=_TEXT)),
        other_files=_list(_table(path=_TEXT, status=_TEXT)),
    ),
}
