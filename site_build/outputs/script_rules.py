"""Rules of the engine as data for the scripts, so that no script has a copy of its own."""

from __future__ import annotations

import json
from datetime import time

from handbook.advice.substitution import CORE_POWERS
from handbook.base.units import parse_quantity
from handbook.batches.batch_start import HEAD
from handbook.page.clock import FARTHEST, NIGHT, ROUND_STEP
from handbook.page.measures import ROUNDING_SHOWN
from handbook.page.method import MOST_BATCH
from site_build.html.calendar import LINE_OCTETS
from site_build.html.tools import MOST_TIMES

#: Units in which a reader gives the own batch and piece.
BATCH_UNITS, PIECE_UNITS = ("kg", "g", "lb", "oz"), ("mm", "cm", "in")


def script_rules() -> str:
    """The rules as a line of script to put before the others. Masses in kg, lengths in m, times in minutes."""
    rules = {
        "masses": {unit: _unit(unit, "mass") for unit in BATCH_UNITS},
        "lengths": {unit: _unit(unit, "length") for unit in PIECE_UNITS},
        "mostBatch": MOST_BATCH,
        "roundingShown": ROUNDING_SHOWN,
        "corePowers": CORE_POWERS,
        "night": [_minutes(each) for each in NIGHT],
        "farthest": FARTHEST,
        "roundStep": ROUND_STEP,
        "mostTimes": MOST_TIMES,
        "lineOctets": LINE_OCTETS,
        "batchHead": HEAD,
    }
    return f"window.handbookRules={json.dumps(rules)};\n"


def _minutes(at: time) -> int:
    return at.hour * 60 + at.minute


def _unit(name: str, dimension: str) -> float:
    # The ounce has twelve decimals; a conversion's last binary digit would move the edges between two forms of a mass.
    return round(parse_quantity(f"1 {name}", dimension).low, 12)
