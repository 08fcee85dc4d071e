"""Hazards and laws that no rule judges (data/not_judged.yml). The site lists them."""

from __future__ import annotations

from functools import lru_cache
from importlib.resources import files

import yaml
from msgspec import Struct


class NotJudged(Struct, frozen=True, kw_only=True):
    """A hazard or law without a verdict, the reason, and the rules whose printed limits are shown instead."""

    what: str
    why: str
    rules: tuple[str, ...]


@lru_cache
def not_judged() -> tuple[NotJudged, ...]:
    """The whole list, as written."""
    found = yaml.safe_load(files("handbook.data").joinpath("not_judged.yml").read_text("utf-8"))
    return tuple(NotJudged(what=each["what"], why=each["why"], rules=tuple(each.get("rules", ()))) for each in found)
