"""The colours of a house's site, checked as they are read."""

from __future__ import annotations

import re
from typing import Annotated, Any

from msgspec import Struct

from handbook.base.forms import Form, Reading
from handbook.base.records import Key, record_of
from handbook.base.yaml_text import Text


class Colour(Form, frozen=True, kw_only=True):
    """A colour as ``#rrggbb``."""

    allowed = 'a colour as six hexadecimal digits, such as "#0f4453"'

    def read_text(self, node: Text, key: str, reading: Reading) -> Any:
        if re.fullmatch(r"#[0-9A-Fa-f]{6}", node.value):
            return node.value.lower()
        return self._fault(node, key, reading)

    def schema(self) -> dict[str, Any]:
        return {"type": "string", "pattern": "^#[0-9A-Fa-f]{6}$"}


class Colours(Struct, frozen=True, kw_only=True):
    """The site's colours by day. A house cannot set colours with a meaning, such as the red of a stop."""

    main: Annotated[str | None, Key("links, buttons, the edge of the sheet", Colour())] = None
    wall: Annotated[str | None, Key("background of the head and the foot of a page", Colour())] = None
    line: int


COLOURS_FORM = record_of(Colours)
