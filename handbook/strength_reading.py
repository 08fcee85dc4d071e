"""A measured brine strength as written in a run, and the salt that it says.

``salt_from_reading`` is the one place that turns an instrument's reading into salt.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from handbook import solution
from handbook.errors import RangeError
from handbook.forms import Form

_READING = re.compile(r"(\d{1,3}(?:\.\d{1,4})?)\s*(°SAL|SG|%)")
_LIMITS = {"°SAL": (0.0, 100.0), "SG": (0.99, 1.21), "%": (0.0, 26.4)}


@dataclass(frozen=True)
class StrengthReading:
    """One reading: the number and its scale (°SAL, SG, or % salt by mass)."""

    value: float
    scale: str

    @property
    def text(self) -> str:
        """As written."""
        return f"{self.value:g} {self.scale}"


class StrengthForm(Form):
    """``78 °SAL``, ``1.162 SG`` or ``20.5 %``."""

    allowed = 'a reading of brine, such as "78 °SAL" (salometer), "1.162 SG" (hydrometer) or "20.5 %" (salt by mass)'

    def read_text(self, node, key, reading):
        match = _READING.fullmatch(node.value.strip())
        if match is None:
            return self._fault(node, key, reading)
        found = StrengthReading(float(match[1]), match[2])
        low, high = _LIMITS[found.scale]
        return found if low <= found.value <= high else self._fault(node, key, reading)

    def schema(self):
        return {"type": "string", "pattern": r"^[0-9.]+\s*(°SAL|SG|%)$"}


def salt_from_reading(reading: StrengthReading, temperature: float, sugar_per_salt: float = 0.0) -> float:
    """Salt / (salt + water + sugar) of a brine read at ``temperature`` (K, 0 to 40 °C).

    ``sugar_per_salt`` is the kg of sugar for each kg of salt in the brine as made: sugar lifts a hydrometer as salt
    does. A salometer is a hydrometer too: its degrees stand for the density that a plain brine has at 60 °F.

    Raises RangeError where no brine of that make-up gives the reading.
    """
    if reading.scale == "%":
        return reading.value / 100
    gravity = reading.value
    if reading.scale == "°SAL":
        gravity = solution.specific_gravity(solution.salt_from_salometer(reading.value))
    wanted = gravity * solution.water_density(solution.SIXTY_FAHRENHEIT)
    low, high = 0.0, solution.MAX_SALT * (1 - 1e-9) / (1 + solution.MAX_SALT * sugar_per_salt)

    def density(salt: float) -> float:
        return solution.brine_density(salt, sugar_per_salt * salt, temperature)

    if not density(low) * 0.998 <= wanted <= density(high) * 1.001:
        raise RangeError("strength", reading.value, "a reading between water and a saturated brine at its temperature")
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if density(middle) < wanted else (low, middle)
    return (low + high) / 2
