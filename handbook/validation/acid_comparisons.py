"""Acid compared with published figures: eggs in vinegar, ferments of cabbage, cucumbers and peppers."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from handbook.acid.charge_balance import ACIDS, Buffer, acid_for_ph, buffer_capacity, mixture_ph
from handbook.acid.into_piece import time_to_share
from handbook.acid.souring import LAG, SPREAD, lactic_acid, souring_rate
from handbook.base.ranges import Range
from handbook.salt.diffusion import geometry
from handbook.validation.published_findings import Comparison, answered, compared

_HOUR, _DAY, _ENDS = 3600.0, 86400.0, ("low", "typical", "high")
_FACTOR = {"low": 1 / 1.5, "typical": 1.0, "high": 1.5}  # of the buffering
_EGG = (Range(7.1, 7.5, 7.9), 0.126, 0.0)  # pH, protein, ash of a plant
_NAPA = (Range(5.6, 5.95, 6.3), 0.0120, 0.0098)
_CUCUMBER = (Range(5.1, 5.4, 5.7), 0.0065, 0.0038)
_SUGARS = {"cabbage": 0.032, "napa": 0.0141, "cucumber": 0.0167, "chili": 0.053}
_EGG_WATER, _EGG_HALF = 0.76, 0.022


def acid_standings() -> tuple[Comparison, ...]:
    """Comparisons of predicted pH, acid and times with published ones."""
    return (*_eggs(), *_centres(), *_ferments())


def _eggs() -> Iterator[Comparison]:
    basis = "9 eggs of 50 g in a jar of 946 mL filled up with brine"
    for strength in (7.5, 4.9, 2.5):
        yield compared(f"eggs_jar_{strength:g}", _egg_ph(0.45, 0.51, strength / 100), basis)
    for strength in (5.0, 2.5):
        yield compared(f"eggs_60_{strength:g}", _egg_ph(0.60, 0.40, strength / 100), "60 parts of egg in 40 of brine")


def _centres() -> Iterator[Comparison]:
    basis = (
        "peeled eggs of 44 mm, 60 parts in 40 of brine, at 7 °C; the acid that the egg holds at equilibrium moves in"
    )
    for strength in (5.0, 2.5):
        key, time = f"eggs_centre_{strength:g}", _egg_time(0.60, 0.40, strength / 100)
        if time is not None:
            yield compared(key, time.times(1 / _HOUR), basis)
        else:
            said = "the typical egg ends above pH 4.6, so its centre never gets there"
            yield answered(key, said, basis, "Not met: the predicted pH of this weak brine is too high.")


def _ferments() -> Iterator[Comparison]:
    basis = "cabbage in 2.25 % salt, 18 to 24 °C for 30 days"
    yield compared("kraut_acid", _acid("cabbage", 1.0, (18, 24), 0.024, 30), basis)
    basis = "cucumbers in as much brine of 5 %, 22 to 28 °C, 15 days"
    yield compared("cucumber_ph", _ph(_CUCUMBER, "cucumber", 0.5, (22, 28), 0.025, 15), basis)
    yield compared("cucumber_acid", _acid("cucumber", 0.5, (22, 28), 0.025, 15), basis)
    basis = "cucumbers in as much brine of 7 %, 4 °C, 30 days"
    yield compared("cucumber_cold_ph", _ph(_CUCUMBER, "cucumber", 0.5, (4, 4), 0.035, 30), basis)
    yield compared("cucumber_cold_acid", _acid("cucumber", 0.5, (4, 4), 0.035, 30), basis)
    basis = "napa cabbage with 2.5 % salt, nothing else counted"
    yield compared("napa_25", _ph(_NAPA, "napa", 1.0, (25, 25), 0.026, 2), basis)
    yield compared("napa_10", _ph(_NAPA, "napa", 1.0, (10, 10), 0.026, 56), f"{basis}; after 8 weeks")
    yield compared("napa_4", _ph(_NAPA, "napa", 1.0, (4, 4), 0.026, 56), f"{basis}; after 8 weeks")
    for celsius in (15, 25):
        yield compared(f"napa_ripe_{celsius}", _days_to(_NAPA, "napa", celsius, 0.026, 4.25), f"{basis}; until pH 4.25")
    basis = "chilies in as much brine, its salt kept at 10 %, 20 to 26 °C, 5 weeks"
    yield compared("pepper_acid", _acid("chili", 0.5, (20, 26), 0.10, 35), basis)


def _buffers(food: tuple[Range, float, float], mass: float) -> dict[str, Buffer]:
    own, protein, ash = food
    return {
        end: Buffer(mass=mass, ph=getattr(own, end), capacity=buffer_capacity(protein, ash) * _FACTOR[end])
        for end in _ENDS
    }


def _egg_ph(eggs: float, brine: float, strength: float) -> Range:
    acid = {"acetic": brine * strength / ACIDS["acetic"][0]}
    water = _EGG_WATER * eggs + (1 - strength) * brine
    found = [mixture_ph(acid, water, [each]) for each in _buffers(_EGG, eggs).values()]
    return _with_error(found)


def _egg_time(eggs: float, brine: float, strength: float) -> Range | None:
    end = _egg_ph(eggs, brine, strength).typical
    egg = _buffers(_EGG, 1.0)["typical"]
    needed, held = (acid_for_ph("acetic", ph, _EGG_WATER, [egg]) for ph in (4.6, end))
    return time_to_share(geometry("sphere"), _EGG_HALF, needed / held, 280.15)


def _made(sugars: float, share: float, warmth: tuple[float, float], salt: float, days: float) -> list[float]:
    """Lactic acid in kg/kg of the slow, typical and quick ferment."""
    low, high = (each + 273.15 for each in warmth)
    rates = (
        souring_rate(low, salt) / SPREAD,
        souring_rate(0.5 * (low + high), salt),
        souring_rate(high, salt) * SPREAD,
    )
    return [float(lactic_acid(np.array([days * _DAY]), rate, sugars * share)[0]) for rate in rates]


def _acid(food: str, share: float, warmth: tuple[float, float], salt: float, days: float) -> Range:
    """Lactic acid in percent."""
    return Range(*(100 * each for each in _made(_SUGARS[food], share, warmth, salt, days)))


def _ph(
    food: tuple[Range, float, float], name: str, share: float, warmth: tuple[float, float], salt: float, days: float
) -> Range:
    made = _made(_SUGARS[name], share, warmth, salt, days)
    buffers = _buffers(food, share)
    ionic = salt / (1 - salt) / 0.05844
    found = [
        mixture_ph({"lactic": acid / ACIDS["lactic"][0]}, 0.95, [buffers[end]], ionic)
        for end, acid in zip(_ENDS, reversed(made), strict=True)
    ]
    return _with_error(found)


def _days_to(food: tuple[Range, float, float], name: str, celsius: float, salt: float, ph: float) -> Range:
    ionic, most = salt / (1 - salt) / 0.05844, min(0.9 * _SUGARS[name], 0.023)
    rate, buffers = souring_rate(celsius + 273.15, salt), _buffers(food, 1.0)
    found = []
    for end, pace in zip(_ENDS, (rate * SPREAD, rate, rate / SPREAD), strict=True):
        needed = acid_for_ph("lactic", ph, 0.95, [buffers[end]], ionic) * ACIDS["lactic"][0]
        found.append((LAG - float(np.log1p(-min(needed / most, 0.99)))) / pace / _DAY)
    return Range(*found)


def _with_error(found: list[float]) -> Range:
    low, typical, high = found
    return Range(min(low, typical) - 0.15, typical, max(high, typical) + 0.15)
