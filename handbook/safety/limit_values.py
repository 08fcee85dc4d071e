"""The rules that a limit may belong to, and the names of the values that each rule reads from its limits.

The list is closed: a misspelt rule or value in data/limits/ is an error instead of a missing limit.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from msgspec import Struct


class LimitShape(Struct, frozen=True, kw_only=True):
    """The values that a limit of one rule states.

    ``needs`` are sets of value names, one of which must be complete; ``may`` are further names that are allowed.
    ``has_table``: the limit is a table of rows, alone or in place of the values.
    """

    needs: tuple[tuple[str, ...], ...] = ()
    may: tuple[str, ...] = ()
    has_table: bool = False

    @property
    def names(self) -> tuple[str, ...]:
        """Every value name that is allowed."""
        return tuple(dict.fromkeys(name for names in (*self.needs, self.may) for name in names))


_TEXT = LimitShape()
_TABLE = LimitShape(has_table=True)

#: Rule id -> the values of its limits.
LIMIT_SHAPES: Mapping[str, LimitShape] = MappingProxyType(
    {
        "core-temperature": LimitShape(may=("counts_rest",), has_table=True),
        "lethality": LimitShape(needs=(("log10",),)),
        "come-up-time": LimitShape(needs=(("from", "to", "time"),)),
        "cold-smoke-chamber": LimitShape(needs=(("chamber",),), may=("time",)),
        "drying-chamber": LimitShape(needs=(("low",),), may=("high",)),
        "oven-humidity": LimitShape(needs=(("humidity",), ("chamber",), ()), may=("core", "time", "mass")),
        "reheating": LimitShape(needs=(("temperature",),), may=("time", "within")),
        "hot-holding": LimitShape(needs=(("temperature",),), may=("roast",)),
        "interrupted-cooking": LimitShape(needs=(("time",),)),
        "smoker-chamber": LimitShape(needs=(("low",),)),
        "cold-work": LimitShape(needs=(("temperature",),)),
        "thawing": LimitShape(needs=(("temperature", "water"),)),
        "growth-range-time": LimitShape(
            needs=(("from", "to", "time"),), may=("hot_room", "hot_time", "warm", "warm_time", "cumulative")
        ),
        "cold-holding": LimitShape(needs=(("temperature",),), may=("water_phase_salt", "ph")),
        "unrefrigerated-keeping": LimitShape(
            needs=(("water_activity",), ("ph",), ("water_phase_salt",), ()), may=("time",)
        ),
        "cooling-stages": _TABLE,
        "cooling-from-room": LimitShape(needs=(("temperature", "time"),)),
        "cooling-law": _TEXT,
        "date-mark": _TEXT,
        "pack-salt": LimitShape(needs=(("water_phase_salt",),), may=("nitrite",)),
        "pack-barrier": LimitShape(needs=(("water_phase_salt", "ph", "water_activity"),), may=("temperature",)),
        "pack-time": LimitShape(needs=(("time", "low", "high"),)),
        "pack-pasteurising": _TABLE,
        "oil-pack": LimitShape(needs=(("time",), ())),
        "pack-retail": LimitShape(needs=(("time",),), may=("ph", "water_activity")),
        "nitrite-maximum": LimitShape(needs=(("ingoing",), ("finished",))),
        "nitrate-maximum": LimitShape(needs=(("ingoing",), ("finished",))),
        "nitrite-minimum": LimitShape(needs=(("ingoing",),)),
        "curing-salt-weighing": _TEXT,
        "curing-accelerator": LimitShape(needs=(("ingoing",),)),
        "dried-meat": LimitShape(
            needs=(("salt",), ("water_activity",), ("time",), ("temperature",), ("ph",), ()), may=("moisture_protein",)
        ),
        "sausage-souring": LimitShape(needs=(("degree_hours", "ph"),), may=("chamber",)),
        "vinegar-strength": LimitShape(needs=(("acid",),), may=("solution",)),
        "ferment-salt": LimitShape(needs=(("low",), ("brine",)), may=("high",)),
        "ferment-temperature": LimitShape(needs=(("low", "best", "high"),)),
        "ferment-time": _TABLE,
        "ferment-ph": LimitShape(needs=(("ph",),)),
        "ferment-care": _TEXT,
        "parasite-freezing": LimitShape(needs=(("temperature", "time"), ()), may=("first",), has_table=True),
        "parasite-heat": _TABLE,
        "trichinae-curing": LimitShape(needs=(("salt", "time", "total", "temperature"),), may=("thickness",)),
        "gutting": _TEXT,
        "histamine": _TABLE,
        "histamine-level": LimitShape(needs=(("level",),)),
        "keeping-time": LimitShape(needs=(("time",),), may=("latest", "temperature")),
        "keeping-frozen": LimitShape(needs=(("time",),)),
        "acid-food": LimitShape(needs=(("ph",),)),
        "cooked-plant-food": _TEXT,
        "bean-poison": _TEXT,
        "plant-food-not-judged": _TEXT,
        "cross-contact": _TEXT,
        "used-brine": _TEXT,
        "computed-core": _TEXT,
        "form-in-words": _TEXT,
        "sealed-food": _TEXT,
        "smoker-fire": _TEXT,
        "smoker-carbon-monoxide": _TEXT,
        "smoke-wood": _TEXT,
        "allergens": _TEXT,
        "susceptible-people": _TEXT,
        "infants": _TEXT,
        "permit": _TEXT,
        "standing-caution": _TEXT,
        "law": _TEXT,
    }
)
