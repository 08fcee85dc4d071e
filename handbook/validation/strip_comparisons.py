"""Drying of fish and of strips of meat compared with printed losses, times and water activities."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

import numpy as np

from handbook.base.ranges import Range
from handbook.catalogue.thermal_properties import Composition
from handbook.drying.activity_course import activity_course
from handbook.heat.heat_results import HeatResult
from handbook.uncertainty.sampling import range_of
from handbook.validation.drying_comparisons import Room, dried_run, lost_on
from handbook.validation.published_findings import Comparison, compared

_DAY, _HOUR = 86400.0, 3600.0
_SALMON = Composition(water=0.66, protein=0.20, fat=0.12, carbohydrate=0.0, ash=0.02)
_COD = Composition(water=0.81, protein=0.178, fat=0.007, carbohydrate=0.0, ash=0.012)
_LEAN = Composition(water=0.73, protein=0.21, fat=0.04, carbohydrate=0.0, ash=0.02)
_MACKEREL = Composition(water=0.74, protein=0.21, fat=0.035, carbohydrate=0.0, ash=0.015)


def strip_standings() -> tuple[Comparison, ...]:
    """Comparisons of fish and strips of meat with published figures."""
    return (*_fish(), *_jerky(), *_hanging())


def _fish() -> Iterator[Comparison]:
    basis = "a salted side of 1.4 kg on 0.09 m², so 15 mm thick on the mean, on its skin; 6 h at 27 °C and 50 to 70 % in forced air; "
    basis += "the note prints neither size nor humidity"
    kiln = Room(days=0.25, warmth=(26, 28), humidity=(0.50, 0.70))
    side = dried_run("slab", 0.015, _SALMON, (kiln,), 0.05, 0.5, "forced")
    yield compared("salmon_kiln", lost_on(side, 0.25), basis)
    basis = "split 8 mm thick with skin on one face, 40 to 55 °C and 25 to 45 %, the inner half of what is printed; how the fish was cut is not"
    tunnel = Room(days=6.0, warmth=(40, 55), humidity=(0.25, 0.45))
    split = dried_run("slab", 0.008, _MACKEREL, (tunnel,), 0.0, 0.75, "draught", exudes="fish")
    # Moisture of 17 % is left when 1 - 0.26 / 0.83 of the weight is gone.
    yield compared("mackerel_tunnel", _hours_to_loss(split, 1 - (1 - _MACKEREL.water) / 0.83), basis)
    basis = "an unsalted cod until nothing more leaves it, 10 to 12 °C and 65 to 82 %: what of its weight is left"
    store = Room(days=360.0, warmth=(10, 12), humidity=(0.65, 0.82))
    left = lost_on(dried_run("slab", 0.02, _COD, (store,), 0.0, 1.0), 360.0)
    yield compared("stockfish_left", Range(*(100 - end for end in reversed(left.ends))), basis)


def _jerky() -> Iterator[Comparison]:
    basis = "strips of 5 mm; 2.25 h at 70 °C and 80 to 93 %, then 60 to 65 °C with 70 falling to 35 %; the thickness is not printed"
    chamber = dried_run("slab", 0.005, _LEAN, _CHAMBER, 0.04, 1.0, "forced", exudes="meat")
    left = lost_on(chamber, _CHAMBER_DAYS)
    yield compared("jerky_yield", Range(*(100 - end for end in reversed(left.ends))), basis)
    yield compared("jerky_activity", activity_course(chamber).at(_CHAMBER_DAYS * _DAY)["whole"], basis)
    basis = "strips of 6 mm at 62 to 71 °C and 15 to 35 % in moving air, until the whole has 0.70"
    yield compared("jerky_dryer", _hours_to_activity(_dryer(), 0.70), basis)
    basis = "strips of 6 mm at 55 to 70 °C and 15 to 35 % in moving air, until 58 % of the weight has left"
    yield compared("jerky_usual", _hours_to_loss(_dryer(), 0.58), basis)


def _hanging() -> Iterator[Comparison]:
    basis = "strips 20 mm thick and 40 mm wide at 25 to 35 °C and 30 to 50 % in moving air; the page prints no climate; read at {} h"
    cabinet = Room(days=3.0, warmth=(25, 35), humidity=(0.30, 0.50))
    strip = dried_run("block", 0.020, _LEAN, (cabinet,), 0.04, 1.0, "draught", width=0.04, length=0.2)
    for key, hours in (("strips_wet", 30), ("strips_middle", 42), ("strips_dry", 52)):
        yield compared(key, lost_on(strip, hours / 24), basis.format(hours))
    basis = "a steak of 20 by 80 by 140 mm at 19 to 20 °C and 30 to 50 % before a fan, read at 28 h"
    box = Room(days=1.5, warmth=(19, 20), humidity=(0.30, 0.50))
    steak = dried_run("block", 0.020, _LEAN, (box,), 0.04, 1.0, "draught", 0.08, 0.14)
    yield compared("strips_box", lost_on(steak, 28 / 24), basis)


_CHAMBER = (
    Room(days=2.25 / 24, warmth=(70, 70), humidity=(0.80, 0.93)),
    Room(days=2.125 / 24, warmth=(60, 63), humidity=(0.52, 0.70)),
    Room(days=2.125 / 24, warmth=(62, 65), humidity=(0.35, 0.53)),
)
_CHAMBER_DAYS = sum(each.days for each in _CHAMBER)


@lru_cache(maxsize=1)
def _dryer() -> HeatResult:
    dryer = Room(days=2.0, warmth=(60, 71), humidity=(0.15, 0.35))
    return dried_run("slab", 0.006, _LEAN, (dryer,), 0.04, 1.0, "draught", exudes="meat")


def _hours_to_loss(result: HeatResult, share: float) -> Range:
    reached = result.mass_loss_time(share, 0)
    ends = (reached.low, reached.typical, reached.high)
    return Range(*((result.time[-1] if each is None else each) / _HOUR for each in ends))


def _hours_to_activity(result: HeatResult, activity: float) -> Range:
    """Hours until the whole piece, at equilibrium, has a water activity."""
    course = activity_course(result)
    times = [float(np.interp(-activity, -each, course.time)) for each in course.whole]
    return range_of(np.array(times) / _HOUR)
