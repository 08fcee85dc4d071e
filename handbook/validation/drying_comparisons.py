"""Drying compared with printed losses and times: hanging beef, salted hams, sausages by diameter, dried whole meat."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

import numpy as np
from msgspec import Struct

from handbook.base.ranges import Range
from handbook.catalogue.thermal_properties import Composition
from handbook.heat.heat_run import HeatPiece, HeatResult, HeatSpread, HeatStage, run
from handbook.heat.heated_piece import CASING_OPEN, SKIN_OPEN
from handbook.uncertainty.sampling import range_of
from handbook.validation.published_findings import Comparison, all_printed, compared

_DAY, _SPREAD, _SIZE = 86400.0, HeatSpread(samples=32), 0.15  # relative spread of a size that no source prints
_BEEF = Composition(water=0.68, protein=0.20, fat=0.11, carbohydrate=0.0, ash=0.01)
_HAM = Composition(water=0.56, protein=0.16, fat=0.17, carbohydrate=0.0, ash=0.11)  # with the bone, 12 %, as ash
_LEAN = Composition(water=0.73, protein=0.21, fat=0.05, carbohydrate=0.0, ash=0.01)
_SAUSAGE = Composition(water=0.58, protein=0.16, fat=0.24, carbohydrate=0.0, ash=0.02)
_BELLY = Composition(water=0.71, protein=0.20, fat=0.08, carbohydrate=0.0, ash=0.01)
#: Width, thickness and length in m of beef primals (common practice, no source).
_PRIMALS = {"ribeye": (0.20, 0.13, 0.45), "strip": (0.20, 0.10, 0.45), "sirloin": (0.20, 0.12, 0.35)}
_HAM_DAYS = {"ham_resting": 100.0, "ham_prepared": 160.0, "ham_serrano": 210.0, "ham_year": 365.0}


class Room(Struct, frozen=True, kw_only=True):
    """One room: days, temperature in °C and relative humidity, each low and high."""

    days: float
    warmth: tuple[float, float]
    humidity: tuple[float, float]


def drying_standings() -> tuple[Comparison, ...]:
    """Comparisons of the drying model with published figures."""
    return (*_beef(), *_hams(), *_bellies(), *_sausages(), *_whole())


def _beef() -> Iterator[Comparison]:
    for cut in _PRIMALS:
        for day in (14, 21, 28, 35):
            basis = "a primal of a usual size with half of its surface under fat or bone, in a cooler of 0 to 4 °C and 75 to "
            basis += "80 % with still air, as the review's summary prints; the table prints no climate"
            yield compared(f"beef_{cut}_{day}", lost_on(_beef_run(cut), day), basis)


def _hams() -> Iterator[Comparison]:
    for key, day in _HAM_DAYS.items():
        basis = (
            "a ham of 11 kg with bone and skin: 25 days at 1 to 4 °C, 75 at 3 to 5 °C, 60 at 14 to 18 °C, then 16 to "
        )
        basis += f"22 °C, at 65 to 85 %; read on day {day:g}"
        yield compared(key, lost_on(_ham_run(), day), basis)


def _bellies() -> Iterator[Comparison]:
    for day in (6, 12):
        basis = "40 mm thick without rind, 14 to 16 °C and 65 to 75 % in moving air: the table prints neither size nor climate"
        yield compared(f"bacon_{day}", lost_on(_belly_run(), day), basis)


def _sausages() -> Iterator[Comparison]:
    for key in (each for each in all_printed() if each.startswith("sausage_")):
        middle = float(key.rpartition("_")[2]) / 1000
        basis = "until 30 % of the weight has left, in a natural casing at 9 to 13 °C, 75 to 85 %; the specification prints the "
        basis += "least days of ripening and no humidity"
        yield compared(key, _days_to_loss(middle), basis)


def _whole() -> Iterator[Comparison]:
    basis = "a whole muscle of 90 mm and 2 kg, 12 to 18 °C, 65 to 80 %, after 12 weeks"
    yield compared("grisons_loss", lost_on(_muscle_run(0.09), 84), basis)
    basis = "a piece of 130 mm and 7 kg, 8 to 14 °C, 65 to 80 %, after 200 days"
    yield compared("cecina_loss", lost_on(_muscle_run(0.13), 200), basis)


@lru_cache(maxsize=8)
def _beef_run(cut: str) -> HeatResult:
    width, thickness, length = _PRIMALS[cut]
    cooler = Room(days=35, warmth=(0, 4), humidity=(0.75, 0.80))
    return dried_run("block", thickness, _BEEF, (cooler,), 0.0, SKIN_OPEN["on"], width=width, length=length)


@lru_cache(maxsize=1)
def _ham_run() -> HeatResult:
    rooms = (
        Room(days=25, warmth=(1, 4), humidity=(0.75, 0.85)),
        Room(days=75, warmth=(3, 5), humidity=(0.70, 0.80)),
        Room(days=60, warmth=(14, 18), humidity=(0.65, 0.75)),
        Room(days=205, warmth=(16, 22), humidity=(0.65, 0.80)),
    )
    return dried_run("sphere", 0.23, _HAM, rooms, 0.05, SKIN_OPEN["on"])


@lru_cache(maxsize=1)
def _belly_run() -> HeatResult:
    room = Room(days=12, warmth=(14, 16), humidity=(0.65, 0.75))
    return dried_run("slab", 0.04, _BELLY, (room,), 0.04, 1.0, "draught")


@lru_cache(maxsize=2)
def _muscle_run(thickness: float) -> HeatResult:
    warmth = (12.0, 18.0) if thickness < 0.1 else (8.0, 14.0)
    room = Room(days=200, warmth=warmth, humidity=(0.65, 0.80))
    return dried_run("cylinder", thickness, _LEAN, (room,), 0.04, CASING_OPEN["natural"], length=2.5 * thickness)


def _days_to_loss(diameter: float) -> Range:
    room = Room(days=200, warmth=(9, 13), humidity=(0.75, 0.85))
    result = dried_run("cylinder", diameter, _SAUSAGE, (room,), 0.045, CASING_OPEN["natural"])
    reached = result.mass_loss_time(0.30, 0)
    ends = (reached.low, reached.typical, reached.high)
    return Range(*(200.0 if each is None else each / _DAY for each in ends))


def dried_run(
    shape: str, thickness: float, food: Composition, rooms: tuple[Room, ...], salt: float, open_part: float,
    air: str = "still", width: float | None = None, length: float | None = None, exudes: str = "none",
) -> HeatResult:  # fmt: skip
    """The run of a piece of ``thickness`` in m through rooms, with ``salt`` / water; ``open_part`` of its surface dries."""
    piece = HeatPiece(
        shape=shape,
        thickness=Range((1 - _SIZE) * thickness, thickness, (1 + _SIZE) * thickness),
        composition=food,
        temperature=Range.exact(277.15),
        open_fraction=open_part,
        salt_to_water_ratio=salt,
        exudes=exudes,
        width=width,
        length=length,
    )
    stages = [
        HeatStage(
            name="dry",
            medium="air",
            duration=room.days * _DAY,
            temperature=_even(*(each + 273.15 for each in room.warmth)),
            relative_humidity=_even(*room.humidity),
            air=air,
        )
        for room in rooms
    ]
    return run(piece, stages, _SPREAD)


def lost_on(result: HeatResult, day: float) -> Range:
    """Loss of weight on one day in percent."""
    mass = np.array([np.interp(day * _DAY, result.time, each) for each in result.samples.mass])
    return range_of(100.0 * (1.0 - mass))


def _even(low: float, high: float) -> Range:
    return Range(low, 0.5 * (low + high), high)
