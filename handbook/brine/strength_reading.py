"""A measured brine strength as written in a run, and its salt fraction."""

from __future__ import annotations

import re
from typing import Any

from msgspec import Struct

from handbook.base.forms import Form, Reading
from handbook.base.yaml_text import Text
from handbook.brine import measured_salt
from handbook.brine.instruments import SCALES, InstrumentReading
from handbook.brine.measured_salt import Proportion

_READING = re.compile(r"(\d{1,3}(?:\.\d{1,4})?)\s*(°SAL|SG|°Bx|%)")
_LIMITS = {"°SAL": (0.0, 100.0), "SG": (0.99, 1.21), "°Bx": (0.0, 40.0), "%": (0.0, 26.4)}
_SCALES = {"°SAL": "salometer", "SG": "specific gravity", "°Bx": "refractometer"}


class StrengthReading(Struct, frozen=True, kw_only=True):
    """One reading: the number and its scale (°SAL, SG, °Bx, or % salt by mass)."""

    value: float
    scale: str

    @property
    def text(self) -> str:
        """Value and scale."""
        return f"{self.value:g} {self.scale}"


class StrengthForm(Form, frozen=True):
    """``78 °SAL``, ``1.162 SG``, ``16.2 °Bx`` or ``20.5 %``."""

    allowed = (
        'a reading of brine, such as "78 °SAL" (salometer), "1.162 SG" (hydrometer), "16.2 °Bx" (refractometer) or '
        '"20.5 %" (salt by mass)'
    )

    def read_text(self, node: Text, key: str, reading: Reading) -> Any:
        """The reading, within the limits of its scale."""
        match = _READING.fullmatch(node.value.strip())
        if match is None:
            return self._fault(node, key, reading)
        found = StrengthReading(value=float(match[1]), scale=match[2])
        low, high = _LIMITS[found.scale]
        return found if low <= found.value <= high else self._fault(node, key, reading)

    def schema(self) -> dict[str, Any]:
        """JSON Schema of the form."""
        return {"type": "string", "pattern": r"^[0-9.]+\s*(°SAL|SG|°Bx|%)$"}


def salt_from_reading(reading: StrengthReading, temperature: float, sugar_per_salt: float = 0.0) -> float:
    """Salt fraction of a brine from a reading in a run.

        salt = value / 100 for %,  else as ``measured_salt.salt_from_reading``

    Parameters
    ----------
    reading : StrengthReading
        A hydrometer's scale is taken to be for 60 degF; a refractometer is assumed to correct itself.
    temperature : float [K]
        Temperature of the brine, 273.15 to 313.15.
    sugar_per_salt : float [-]
        kg of sugar per kg of salt in the brine as made. Sugar raises both density and refractive index.

    Returns
    -------
    float [-]
        Salt / (salt + water + sugar).

    Raises
    ------
    RangeError
        No brine of this make-up gives the reading.

    Notes
    -----
    Source: as in measured_salt.py. Valid for 0 to 40 degC.

    Examples
    --------
    >>> round(salt_from_reading(StrengthReading(value=37.9, scale="°SAL"), 288.7056), 3)
    0.1
    """
    if reading.scale == "%":
        return reading.value / 100
    scale = _SCALES[reading.scale]
    instrument_reading = InstrumentReading(
        scale=scale, value=reading.value, temperature=temperature, step=SCALES[scale][0], text=reading.text
    )
    recipe = Proportion(salt=0.1, sugar=0.1 * sugar_per_salt)
    return measured_salt.salt_from_reading(instrument_reading, recipe, temperature, corrects_itself=True).typical
