"""A measured brine strength as written in a run, and the salt that it says."""

from __future__ import annotations

import re
from dataclasses import dataclass

from handbook.base.forms import Form
from handbook.brine import instruments

_READING = re.compile(r"(\d{1,3}(?:\.\d{1,4})?)\s*(°SAL|SG|°Bx|%)")
_LIMITS = {"°SAL": (0.0, 100.0), "SG": (0.99, 1.21), "°Bx": (0.0, 40.0), "%": (0.0, 26.4)}
_SCALES = {"°SAL": "salometer", "SG": "specific gravity", "°Bx": "refractometer"}


@dataclass(frozen=True, kw_only=True)
class StrengthReading:
    """One reading: the number and its scale (°SAL, SG, °Bx, or % salt by mass)."""

    value: float
    scale: str

    @property
    def text(self) -> str:
        """As written."""
        return f"{self.value:g} {self.scale}"


class StrengthForm(Form):
    """``78 °SAL``, ``1.162 SG``, ``16.2 °Bx`` or ``20.5 %``."""

    allowed = (
        'a reading of brine, such as "78 °SAL" (salometer), "1.162 SG" (hydrometer), "16.2 °Bx" (refractometer) or '
        '"20.5 %" (salt by mass)'
    )

    def read_text(self, node, key, reading):
        match = _READING.fullmatch(node.value.strip())
        if match is None:
            return self._fault(node, key, reading)
        found = StrengthReading(value=float(match[1]), scale=match[2])
        low, high = _LIMITS[found.scale]
        return found if low <= found.value <= high else self._fault(node, key, reading)

    def schema(self):
        return {"type": "string", "pattern": r"^[0-9.]+\s*(°SAL|SG|°Bx|%)$"}


def salt_from_reading(reading: StrengthReading, temperature: float, sugar_per_salt: float = 0.0) -> float:
    """Salt / (salt + water + sugar) of a brine read at ``temperature`` (K, 0 to 40 °C); see instruments.py.

    ``sugar_per_salt`` is the kg of sugar for each kg of salt in the brine as made: sugar lifts a hydrometer, and turns
    light, as salt does. A hydrometer's scale is taken to be for 60 °F, a refractometer to correct itself.

    Raises RangeError where no brine of that make-up gives the reading.
    """
    if reading.scale == "%":
        return reading.value / 100
    name = _SCALES[reading.scale]
    taken = instruments.InstrumentReading(
        scale=name,
        value=reading.value,
        temperature=temperature,
        step=instruments.SCALES[name][0],
        text=reading.text,
    )
    recipe = instruments.Proportion(salt=0.1, sugar=0.1 * sugar_per_salt)
    return instruments.salt_from_reading(taken, recipe, temperature, corrects_itself=True).typical
