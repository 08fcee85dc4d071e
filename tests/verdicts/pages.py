"""From the table's compact notation to the text of a method page."""

from __future__ import annotations

import functools
from pathlib import Path
from typing import Any

import yaml

FOLDER = Path(__file__).parent
LEFT_OUT = "left out"
#: Short names of ingredients in the table.
ITEMS = {
    "salt": "salt, fine sea",
    "type 1": "curing salt, 6.25 % sodium nitrite (type 1)",
    "type 2": "curing salt, 6.25 % nitrite + 4 % nitrate (type 2)",
    "continental": "curing salt, 0.6 % nitrite (continental type)",
    "ascorbate": "sodium erythorbate / ascorbate",
    "sugar": "sugar, white granulated",
    "water": "water, tap",
    "vinegar": "vinegar, distilled 5 %",
    "pepper": "pepper, black, ground",
    "garlic": "garlic, raw",
    "soy sauce": "soy sauce, shoyu",
}
_HEAD = {
    "kind": "cook",
    "summary": "A page of the verdict table.",
    "keeper": "Tamsin Rhee",
    "reviewed": "2026-10-04",
    "portions": "8",
}
_HEAD_KEYS = ("title", "food", *_HEAD, "tags", "equipment", "eaten")


def load(file: str) -> dict[str, Any]:
    """A file of the table; every scalar stays text, as a page's reader sees it."""
    return yaml.load((FOLDER / file).read_text("utf-8"), Loader=yaml.CBaseLoader)


def merged(base: dict[str, Any], changes: dict[str, Any]) -> dict[str, Any]:
    """``base`` with ``changes``, key by key; ``left out`` takes a key away, ``before`` says where a new one stands."""
    result = dict(base)
    for key, value in changes.items():
        if value == LEFT_OUT:
            if key not in result:
                raise KeyError(f"{key} is left out of a page that has none")
            del result[key]
        elif isinstance(value, dict):
            place = value.get("before")
            value = {name: each for name, each in value.items() if name != "before"}
            mine = result.get(key)
            result[key] = merged(mine if isinstance(mine, dict) else {}, value)
            if place:
                result = _moved(result, key, place)
        else:
            result[key] = value
    return result


def changed(page: dict[str, Any], changes: dict[str, Any]) -> dict[str, Any]:
    """A page of the table with what a case changes; steps that begin as a shared part are spelt out first."""
    page = merged(page, {key: value for key, value in changes.items() if key != "steps"})
    steps = dict(page.get("steps", {}))
    for name, step in changes.get("steps", {}).items():
        step = {"part": step} if isinstance(step, str) and step != LEFT_OUT else step
        if isinstance(step, dict) and "part" in step:
            steps[name] = _parts()[step["part"]]
            step = {key: value for key, value in step.items() if key != "part"}
        steps = merged(steps, {name: step})
    return page | {"steps": steps}


def page_text(page: dict[str, Any]) -> str:
    """The text of a method page: front matter and calculation blocks."""
    head = {**_HEAD, **{key: page[key] for key in _HEAD_KEYS if key in page}}
    blocks = [(key, page[key]) for key in ("formula", "pieces") if key in page]
    blocks += [("salting", _mixture(name, each)) for name, each in page.get("saltings", {}).items()]
    blocks += [("glaze", _mixture(name, each)) for name, each in page.get("glazes", {}).items()]
    blocks.append(("steps", list(page["steps"].values())))
    blocks.append(("batches", {"written_for": page.get("batch", "2 kg")}))
    blocks += [(key, page[key]) for key in ("measured", "keeping") if key in page]
    parts = [f"---\n{_yaml(head)}---\n"]
    parts += [f"\n```{kind}\n{_yaml(value)}```\n" for kind, value in blocks]
    return "".join(parts)


def _mixture(name: str, mixture: dict[str, Any]) -> dict[str, Any]:
    values = {"name": name, **{key: value for key, value in mixture.items() if key != "items"}}
    if "kind" in values:
        values = {"kind": values.pop("kind"), **values}
    values["ingredients"] = [
        {"item": ITEMS.get(item, item), "amount": amount} for item, amount in mixture["items"].items()
    ]
    return values


def _moved(mapping: dict[str, Any], key: str, place: str) -> dict[str, Any]:
    if place not in mapping:
        raise KeyError(f"{key} is to stand before {place}, which is not there")
    value = mapping.pop(key)
    result = {}
    for name, each in mapping.items():
        if name == place:
            result[key] = value
        result[name] = each
    return result


class _WrittenOut(yaml.CSafeDumper):
    """Every value written out: a page may hold no anchors."""

    def ignore_aliases(self, data: Any) -> bool:
        return True


def _yaml(value: Any) -> str:
    return yaml.dump(value, Dumper=_WrittenOut, allow_unicode=True, sort_keys=False, width=10_000)


@functools.cache
def _parts() -> dict[str, Any]:
    return load("parts.yml")
