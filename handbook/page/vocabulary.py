"""The names that the pages of one house may use."""

from __future__ import annotations

from collections.abc import Collection

from msgspec import Struct


class Vocabulary(Struct, frozen=True, kw_only=True):
    """The names that a page may use: foods, ingredients, containers (of the engine and of the house)."""

    foods: Collection[str]
    ingredients: Collection[str]
    containers: Collection[str]
