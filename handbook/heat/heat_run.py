"""Core, surface and mean temperature, water loss and yield of one piece through its stages.

The public entry of the heat engine. Inputs: ``heated_piece``. Results: ``heat_results``. Numerics: ``time_stepping``,
``conduction`` and ``evaporation``.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from handbook.base.errors import RangeError
from handbook.base.ranges import Range
from handbook.catalogue.thermal_properties import Composition
from handbook.heat.heat_record import Record
from handbook.heat.heat_results import HeatCurve, HeatResult, HeatStageResult, Samples, TimeReached, crossing
from handbook.heat.heated_piece import AIR_CLASSES, AirClass, Coating, HeatPiece, HeatSpread, HeatStage
from handbook.heat.humid_air import STANDARD_PRESSURE
from handbook.heat.stage_stepping import run_stage
from handbook.heat.time_stepping import INPUTS, TimeStepper

__all__ = [
    "AIR_CLASSES",
    "INPUTS",
    "AirClass",
    "Coating",
    "Composition",
    "HeatCurve",
    "HeatPiece",
    "HeatResult",
    "HeatSpread",
    "HeatStage",
    "HeatStageResult",
    "Range",
    "Samples",
    "TimeReached",
    "crossing",
    "run",
]


def run(
    piece: HeatPiece,
    stages: Sequence[HeatStage],
    spread: HeatSpread | None = None,
    pressure: float = STANDARD_PRESSURE,
) -> HeatResult:
    """Heat, dry or cool a piece through its stages in order.

    rho c dT/dt = div(k grad T), with -k dT/dn = h (T_surface - T_chamber) + e sigma (T_surface^4 - T_chamber^4) + m h_fg

    Parameters
    ----------
    piece, stages, spread
        See ``heated_piece``. Lengths [m], times [s], temperatures [K], fractions 0 to 1.
    pressure : float [Pa]
        Of the air, 40 kPa to 120 kPa.

    Returns
    -------
    HeatResult, with ranges over ``spread.samples`` runs (see handbook/uncertainty/sampling.py)

    Raises
    ------
    ValueError  no stages
    RangeError  the piece would freeze or burn (mean temperature outside -3 to 150 degC), its surface would dry out
                completely, or the chamber air would be more than saturated at this pressure

    Notes
    -----
    Conduction: exact modes (see conduction.py), with properties from composition at the mean temperature and moisture,
    shrinking as the piece dries. Surface: convection and radiation from walls at chamber temperature, less evaporation
    by the analogy of heat and mass transfer. A wet surface therefore approaches the wet-bulb temperature (slightly
    above it, because of radiation). Later it approaches the chamber temperature, as moisture transport from the inside
    falls behind.
    Radiation is linearised about the mean of surface and chamber. Wet food gets no hotter than boiling water: more heat
    turns its water to steam under the crust. The temperature of the crust is not modelled.
    Source: [carslaw-jaeger-1959], [choi-okos-1986], [lewis-number], [muscle-isotherm].
    Valid for a mean temperature of -3 to 150 degC. Not modelled: opening the door, heat of smoke or fat rendering,
    melting or freezing, edges of a slab, bone, dripping dew.
    Error of the time steps: core 0.3 K (1.5 K where juice leaves fast), mass 0.2 % (0.8 %).
    This is no safety limit: a calibrated thermometer decides.

    Examples
    --------
    A closed 20 mm fillet in a bath at 60 degC approaches the bath's temperature:

    >>> muscle = Composition(water=0.75, protein=0.2, fat=0.04, ash=0.01)
    >>> fillet = HeatPiece(shape="slab", thickness=Range.exact(0.02), composition=muscle,
    ...                    temperature=Range.exact(277.15), open_fraction=0.0)
    >>> bath = HeatStage(name="bath", medium="water", duration=7200.0, temperature=Range.exact(333.15), air="still")
    >>> round(float(run(fillet, [bath], HeatSpread(samples=0)).core.typical[-1]) - 273.15, 1)
    60.0
    """
    if not stages:
        raise ValueError("stages: read none; allowed: at least one")
    if not 4e4 <= pressure <= 1.2e5:
        raise RangeError("pressure", pressure, "40000 to 120000 Pa")
    stepper = TimeStepper(piece, stages, spread or HeatSpread(), pressure)
    record = Record(stepper)
    results = [run_stage(stepper, stage, record) for stage in stages]
    return HeatResult(time=np.array(record.time), samples=record.samples(), stages=tuple(results))
