"""The end of a step without a stated time: a core, a reduction of germs, a salt, a loss of weight, a pH, a water activity."""

from __future__ import annotations

import re
from typing import Any

from msgspec import Struct

from handbook.base.errors import UnitError
from handbook.base.forms import Form, Reading
from handbook.base.units import Quantity, kelvin, parse_quantity
from handbook.base.yaml_text import Text

CORE, LETHALITY, TARGET_SALT = "core", "lethality", "target salt"
WEIGHT_LOSS, PH, WATER_ACTIVITY = "weight loss", "pH", "aw"
#: Ends whose time is always computed. Such a step states no time.
COMPUTED = (CORE, LETHALITY, TARGET_SALT)
#: Ends that the cook measures. Their time comes from a model where one applies, else from the runs, else from the page.
MEASURED = (WEIGHT_LOSS, PH, WATER_ACTIVITY)
#: Each end that is written with a value: its dimension, lowest and highest.
_VALUES = {
    WEIGHT_LOSS: ("fraction", 0.01, 0.9),
    PH: ("", 2.0, 8.0),
    WATER_ACTIVITY: ("", 0.3, 0.995),
    CORE: ("temperature", kelvin(-60), kelvin(400)),
}
_WORDS = re.compile(rf"({'|'.join(_VALUES)})\s+(.+)")
_NUMBER = re.compile(r"\d{1,2}(?:\.\d{1,4})?")


class Until(Struct, frozen=True, kw_only=True):
    """The end of a step: ``what`` is CORE, LETHALITY, TARGET_SALT, WEIGHT_LOSS, PH or WATER_ACTIVITY.

    ``value`` is the fraction of the weight lost, the pH or the water activity; None for the other ends. ``core`` is a
    core temperature written here instead of in its own key. A loss of weight is relative to the filled weight for food
    with its cure mixed in, else to green weight.
    """

    what: str
    text: str
    value: float | None = None
    core: Quantity | None = None

    @property
    def is_measured(self) -> bool:
        """Whether the cook measures the end, so that its time may be unknown."""
        return self.what in MEASURED


class UntilForm(Form, frozen=True):
    """``core``, ``core 68 °C``, ``lethality``, ``target salt``, ``weight loss 35 %``, ``pH 4.6`` or ``aw 0.90``."""

    allowed = (
        'what ends the step: "core" beside a core, "core 68 °C", "lethality", "target salt", "weight loss 35 %" '
        '(1 to 90 %), "pH 4.6" (2 to 8) or "aw 0.90" (0.3 to 0.995)'
    )

    def read_text(self, node: Text, key: str, reading: Reading) -> Any:
        text = " ".join(node.value.split())
        if text in COMPUTED:
            return Until(what=text, text=text)
        match = _WORDS.fullmatch(text)
        if match is None:
            return self._fault(node, key, reading, suggestion=reading.suggestion(text, (*COMPUTED, *MEASURED)))
        return _read(text, match[1], match[2]) or self._fault(node, key, reading)

    def schema(self) -> dict[str, Any]:
        """JSON Schema of the form."""
        measured = f"^({WEIGHT_LOSS} [0-9.]+ ?%|({PH}|{WATER_ACTIVITY}) [0-9.]+|{CORE} [0-9.]+ ?(°|deg)[CF])$"
        return {"anyOf": [{"enum": list(COMPUTED)}, {"type": "string", "pattern": measured}]}


def _read(text: str, what: str, written: str) -> Until | None:
    dimension, low, high = _VALUES[what]
    core = None
    if dimension:
        try:
            quantity = parse_quantity(written, dimension)
        except UnitError:
            return None
        value = None if quantity.is_range else quantity.low
        core = quantity if what == CORE else None
    else:
        value = float(written) if _NUMBER.fullmatch(written) else None
    if value is None or not low <= value <= high:
        return None
    return Until(what=what, text=text, value=None if core else value, core=core)
