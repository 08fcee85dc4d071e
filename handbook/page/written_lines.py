"""Ingredient lines as cooks write them: "90 g fine sea salt", "2 bay leaves", "fine sea salt: 90 g", "curing salt type 1, 150 ppm nitrite".

A line is parsed into the same table as ``{item: ..., amount: ..., note: ...}``, so both give the same faults. The fault
of a line that cannot be parsed asks for an amount and a name.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection
from typing import Any

from handbook.base.did_you_mean import Resolver
from handbook.base.errors import UnitError
from handbook.base.forms import Reading
from handbook.base.records import Record
from handbook.base.units import parse_quantity
from handbook.base.yaml_text import Node, Table, Text
from handbook.catalogue.name_resolver import FILLINGS
from handbook.page.amounts import BASE_WORDS, COUNTED, VAGUE, solved_amount

_NUMBER = r"(?:\d+ \d+/\d+|\d+/\d+|\d+(?:[.,]\d+)?\s?[½⅓⅔¼¾⅛⅜⅝⅞]?|[½⅓⅔¼¾⅛⅜⅝⅞])"
_AMOUNT_FIRST = re.compile(rf"(?P<number>{_NUMBER}(?:\s*[-–]\s*{_NUMBER})?)\s*(?P<rest>[^\d\s].*)")
_AMOUNT_LAST = re.compile(rf"(?P<item>[^\d\s].*?)[,:]?\s+(?P<amount>{_NUMBER}\s*[^\d\s]*(?: of [a-z ]+)?)")
_TO_TARGET = re.compile(r"to target,? (?P<first>.+)|(?P<last>.+?),? to target")
_FILLING = re.compile(rf"(?P<item>.+), ?(?P<filling>{'|'.join(FILLINGS)})")


class WrittenLine(Record, frozen=True, kw_only=True):
    """The form of an ingredient line: a table with item and amount, or one line of text. ``names`` are the ingredients.

    ``item`` is the key of the name in the table.
    """

    names: Callable[[], Collection[str]]
    item: str = "item"

    @property
    def allowed(self) -> str:
        such = "90 g fine sea salt" if self.item == "item" else "3.5 kg pork belly"
        return f'an amount and a name on one line, such as "{such}", or {", ".join(each.key for each in self.fields)}'

    def read(self, node: Node, key: str, reading: Reading) -> Any:
        if isinstance(node, Text):
            node = self._taken_apart(node) or node
        elif (
            isinstance(node, Table)
            and len(node.entries) == 1
            and node.entries[0][0] not in {each.key for each in self.fields}
        ):
            said, line, amount = node.entries[0]
            if isinstance(amount, Text):
                node = self._table(line, said, amount.value)
        return super().read(node, key, reading)

    def schema(self) -> dict[str, Any]:
        """JSON Schema of a table, of a line of text, and of a table of one name and its amount."""
        line = {"type": "string", "minLength": 3}
        pair = {"type": "object", "minProperties": 1, "maxProperties": 1, "additionalProperties": {"type": "string"}}
        return {"anyOf": [super().schema(), line, pair]}

    def _taken_apart(self, node: Text) -> Table | None:
        text = " ".join(node.value.split())
        if target := _TO_TARGET.fullmatch(text):
            return self._table(node.line, target["first"] or target["last"], "to target")
        if first := _AMOUNT_FIRST.fullmatch(text):
            amount, item = _split(first["number"], first["rest"])
            return self._table(node.line, item, amount) if item else None
        words = text.split()
        for count in range(1, len(words)):
            # "fine sea salt, SG 1.060": the target is split off whole, before its number looks like a weight.
            if solved_amount(" ".join(words[count:])):
                return self._table(node.line, " ".join(words[:count]).removesuffix(","), " ".join(words[count:]))
        if last := _AMOUNT_LAST.fullmatch(text):
            return self._table(node.line, last["item"], last["amount"])
        item, _, amount = text.rpartition(", ")
        if item and self._is_amount(amount):
            return self._table(node.line, item, amount)
        return None

    def _is_amount(self, text: str) -> bool:
        """Whether any form of an amount reads the text, such as "150 ppm nitrite" or "to 2.2 % in the meat"."""
        form = next(each.form for each in self.fields if each.key == "amount")
        reading = Reading(file="")
        return form.read(Text(value=text, line=1), "amount", reading) is not None and not reading.faults

    def _table(self, line: int, said: str, amount: str) -> Table:
        item, note = said.strip(), ""
        if filling := _FILLING.fullmatch(item):
            item, amount = filling["item"], f"{amount}, {filling['filling']}"
        names = self.names()
        if isinstance(names, Resolver) and not names.resolve(item, suggest=False).name:
            item, note = _without_note(item, names)
        values = {self.item: item, "amount": amount} | ({"note": note} if note else {})
        return Table(
            entries=tuple((key, line, Text(value=value, line=line)) for key, value in values.items()), line=line
        )


def _split(number: str, rest: str) -> tuple[str, str]:
    """The amount and the name of a line that begins with a number."""
    words = rest.split()
    for count in (2, 1):
        unit, left = " ".join(words[:count]).removesuffix(","), words[count:]
        if not left:
            continue
        if unit in ("%", "percent"):
            base, name = _base(left)
            return f"{number} %{base}", name
        if _is_unit(unit) or unit.casefold() in (*COUNTED, *VAGUE):
            filling = f", {left[0].removesuffix(',')}" if left[0].removesuffix(",") in FILLINGS and left[1:] else ""
            left = left[1:] if filling else left
            left = left[1:] if left[0] == "of" and left[1:] else left
            return f"{number} {unit}{filling}", " ".join(left)
    return f"{number} pieces", rest


def _base(words: list[str]) -> tuple[str, str]:
    """The base of a share, and the name after it."""
    if words[0] == "of":
        for count in (3, 2, 1):
            said = " ".join(words[1 : 1 + count]).rstrip(",:").casefold()
            if said in BASE_WORDS and words[1 + count :]:
                return f" of {said}", " ".join(words[1 + count :])
    return "", " ".join(words)


def _is_unit(unit: str) -> bool:
    try:
        parse_quantity(f"1 {unit}", "mass", "volume")
    except UnitError:
        return False
    return True


def _without_note(said: str, names: Resolver) -> tuple[str, str]:
    """The name before a comma where it is an ingredient, and the rest as a note: "thyme, chopped"."""
    parts = said.split(", ")
    for count in range(len(parts) - 1, 0, -1):
        item = ", ".join(parts[:count])
        if names.resolve(item, suggest=False).name:
            return item, ", ".join(parts[count:])
    return said, ""
