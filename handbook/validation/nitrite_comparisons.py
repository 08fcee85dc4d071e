"""Loss of nitrite in cured food compared with published figures of sausage."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from handbook.base.ranges import Range
from handbook.brine.nitrite_loss import COOKED, HALF_LIFE_FACTOR, HEATED_LEFT, half_life, nitrite_left
from handbook.validation.published_findings import Comparison, compared

_DAY, _HOUR, _ZERO_CELSIUS = 86400.0, 3600.0, 273.15
_COLD, _USUAL, _SOUR = 4.0, 5.9, 5.3  # degC, pH: not printed
_TAKEN = "4 °C and pH 5.9 are taken; the law is from memory"
_RESTS = "the model's {} rests on this row, so it is no independent check"


def nitrite_standings() -> Iterator[Comparison]:
    """Nitrite left after days in the fridge, after heating, and at two pH, compared with published figures."""
    for key, days in (("nitrite_7", 7), ("nitrite_21", 21)):
        yield compared(key, _left(54.3, days * _DAY, _COLD, _USUAL), f"{_TAKEN}; {_RESTS.format('half-life')}")
    warm = _left(100.0, 1.5 * _HOUR, 70, _USUAL)
    heated = Range(*(end * left for end, left in zip(warm.ends, HEATED_LEFT.ends, strict=True)))
    share = _RESTS.format("share that heating leaves")
    yield compared("nitrite_heated", heated, f"1.5 h at 70 °C and pH 5.9 are taken; {share}")
    kept = _left(0.3 * 72, 60 * _DAY, _COLD, _USUAL, COOKED)
    yield compared("nitrite_60", kept, f"{_TAKEN}; {_RESTS.format('half-life in heated food')}")
    mild, sour = (_left(1.0, 12 * _DAY, _COLD, ph, COOKED) for ph in (_SOUR + 1, _SOUR))
    ratios = Range(*sorted(2 * one / other for one, other in zip(mild.ends, sour.ends, strict=True)))
    twice = Range(ratios.low, 2 * mild.typical / sour.typical, ratios.high)
    yield compared("nitrite_sour", twice, "twice as much on the first day, as printed; 4 °C is taken")


def _left(amount: float, seconds: float, celsius: float, ph: float, of_raw: float = 1.0) -> Range:
    # ``of_raw``: the half-life / that of raw food.
    half = half_life(np.array([_ZERO_CELSIUS + celsius]), ph) * of_raw
    present, entering, time = np.array([[amount], [0.0], [seconds]])
    found = (nitrite_left(present, entering, time, half * factor)[0] for factor in HALF_LIFE_FACTOR.ends)
    return Range(*(float(each) for each in found))
