"""The ``keeping`` and ``measured`` blocks: how the finished food is packed and kept, and what was measured of it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Annotated, Any

from msgspec import Struct

from handbook.base.errors import UnitError
from handbook.base.forms import Choice, Form, Reading, Words
from handbook.base.records import Key, record_of, rows_of
from handbook.base.units import Quantity, kelvin, parse_quantity
from handbook.base.yaml_text import Text
from handbook.page.measure_forms import temperature_form, time_form

PACKS = ("air", "vacuum", "brine", "oil", "jar", "bottle", "can", "wrapped", "casing")
#: What a page may say was measured, and what it may read in SI: lowest, highest, and that in words.
_MEASURED_RANGES = {
    "pH": (2.0, 9.0, "a pH of 2 to 9"),
    "water activity": (0.3, 1.0, "a water activity of 0.3 to 1"),
    "weight loss": (0.0, 0.9, 'a share up to 90 %, such as "38 %"'),
    "water-phase salt": (0.0, 0.27, 'a share up to 27 %, such as "3.6 %"'),
    "core": (kelvin(-40), kelvin(130), 'a temperature, such as "72 °C"'),
}
MEASURED_WHERE = ("through the piece", "brine", "surface", "thickest place", "whole piece")
MEASURED_HOW = ("meter", "strip", "lab", "scale", "probe")
_PLAIN_NUMBER = re.compile(r"\d{1,2}(?:\.\d{1,4})?")


class MeasuredValue(Form, frozen=True):
    """A measured value: a plain number (pH, water activity), a share or a temperature."""

    allowed = 'a pH or water activity as a number, a share such as "3.6 %", or a temperature'

    def read_text(self, node: Text, key: str, reading: Reading) -> Any:
        """The number in SI; a share as a fraction."""
        if _PLAIN_NUMBER.fullmatch(node.value):
            return float(node.value)
        try:
            return parse_quantity(node.value, "fraction", "temperature").low
        except UnitError:
            return self._fault(node, key, reading)


class Keeping(Struct, frozen=True, kw_only=True):
    """How the finished food is packed and kept."""

    pack: Annotated[str, Key("how the finished food is packed; jar, bottle and can are closed", Choice(words=PACKS))]
    temperature: Annotated[
        Quantity | None, Key("temperature it is kept at", temperature_form(kelvin(-40), kelvin(40)))
    ] = None
    time: Annotated[Quantity | None, Key("how long it keeps cold", time_form())] = None
    frozen: Annotated[Quantity | None, Key("how long it keeps frozen", time_form())] = None
    line: int


class Measured(Struct, frozen=True, kw_only=True):
    """One measurement of the finished food: what, where, how and its record. Without a record it is a claim.

    ``value`` is a plain number: a pH, a water activity or a core in K, or a share as a fraction.
    """

    what: Annotated[str, Key("what was measured", Choice(words=tuple(_MEASURED_RANGES)))]
    value: Annotated[float, Key("the value read", MeasuredValue())]
    where: Annotated[str, Key("where in the food", Choice(words=MEASURED_WHERE))]
    how: Annotated[str, Key("with what", Choice(words=MEASURED_HOW))]
    record: Annotated[
        str, Key("run, report or date of the measurement; without it the value does not count", Words(limit=120))
    ] = ""
    line: int


KEEPING_FORM = record_of(Keeping)
MEASURED_FORM = rows_of(Measured, 20)


def check_measured(measured: Iterable[Measured], reading: Reading) -> None:
    """Record values that lie outside what can be measured."""
    for each in measured:
        low, high, allowed = _MEASURED_RANGES[each.what]
        if not low <= each.value <= high:
            reading.fault(each.line, "measured.value", f"{each.value:g}", f"{allowed} for {each.what}")
