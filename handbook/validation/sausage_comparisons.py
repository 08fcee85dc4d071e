"""Souring of raw sausage compared with published figures: pH after days with a culture, and pH by amount of sugar."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from handbook.acid import meat_souring
from handbook.acid.charge_balance import ACIDS, Buffer, buffer_capacity, mixture_ph
from handbook.acid.souring import PER_SUGAR
from handbook.base.ranges import Range
from handbook.validation.published_findings import Comparison, compared

_HOUR = 3600.0
_START, _PROTEIN, _WATER = Range(5.6, 5.8, 6.0), 0.16, 0.60
_IONIC = 0.045 / 0.05844  # mol of salt per kg of water at 2.7 % salt
_FACTOR, _ERROR = {"low": 1 / 1.5, "typical": 1.0, "high": 1.5}, 0.15


def sausage_standings() -> tuple[Comparison, ...]:
    """Comparisons of raw sausage."""
    return tuple(_sausages())


def _sausages() -> Iterator[Comparison]:
    basis = "pork of pH 5.6 to 6.0 with a culture and 0.5 % sugar at 20 to 26 °C; neither sugar nor warmth was in what was read"
    for key, hours in (("souring_ph_day", 24), ("souring_ph_three", 72), ("souring_ph_week", 168)):
        yield compared(key, _ph(0.005, (20, 26), hours), basis)
    basis = "pork of pH 5.6 to 6.0 with a culture at 23.8 °C for three days"
    for key, sugar in (("souring_dextrose_25", 0.0025), ("souring_dextrose_7", 0.007)):
        yield compared(key, _ph(sugar, (23.8, 23.8), 72), basis)
    whole, none = _soured(0.01 * PER_SUGAR), _soured(0.0)
    drops = sorted(float(none[end] - whole[end]) for end in _FACTOR)
    yield compared("souring_drop", Range(*drops), "pork of pH 5.6 to 6.0, all of 1 % sugar soured")


def _ph(sugar: float, warmth: tuple[float, float], hours: float) -> Range:
    """pH after some hours with a culture: quick, typical and slow."""
    low, high = (each + 273.15 for each in warmth)
    paces = {
        "low": meat_souring.meat_souring_rate(high, True) * meat_souring.SPREAD,
        "typical": meat_souring.meat_souring_rate(0.5 * (low + high), True),
        "high": meat_souring.meat_souring_rate(low, True) / meat_souring.SPREAD,
    }
    most = min(PER_SUGAR * (sugar + meat_souring.OWN_SUGAR), meat_souring.MOST_ACID)
    acid = {
        end: most * -float(np.expm1(-max(rate * hours * _HOUR - meat_souring.LAG, 0.0))) for end, rate in paces.items()
    }
    found = {end: _soured(acid[end])[end] for end in paces}
    return Range(found["low"] - _ERROR, found["typical"], found["high"] + _ERROR)


def _soured(acid: float) -> dict[str, float]:
    """pH of the least, typical and most buffered pork with this lactic acid in kg/kg."""
    return {
        end: mixture_ph(
            {"lactic": acid / ACIDS["lactic"][0]},
            _WATER,
            [Buffer(mass=1.0, ph=getattr(_START, end), capacity=buffer_capacity(_PROTEIN) * factor)],
            _IONIC,
        )
        for end, factor in _FACTOR.items()
    }
