"""Printed rises of the core after the oven compared with the heat model's, one row each (data/carry_over.csv).

The position of the thermometer in a leg was chosen with all seven rows in view. No page uses the rise: it does not
count as lethality (lethality.py).
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from msgspec.structs import replace

from handbook.base.csv_rows import number
from handbook.base.ranges import Range
from handbook.heat.heat_run import run
from handbook.heat.heated_piece import HeatSpread, HeatStage
from handbook.uncertainty.sampling import range_of
from handbook.validation.cooking_comparisons import PrintedRow, cooked_piece, cooking_stages, printed_rows

_ZERO = 273.15
_KITCHEN = Range(_ZERO + 18, _ZERO + 21, _ZERO + 25)
_RESTED = 7200.0  # s
#: A thermometer in a leg is beside the bone, a third of the way from the middle to the surface, not at the coldest
#: place (common practice, no source). In a sphere that heats evenly T - T_core = (T_mean - T_core) (r / R)^2 / 0.6.
_BESIDE_THE_BONE = (1 / 3) ** 2 / 0.6


@lru_cache
def carry_overs() -> tuple[PrintedRow, ...]:
    """Every printed rise of the core in K after the heat."""
    return printed_rows("carry_over.csv", "rise", 50.0)


def rise(published: PrintedRow, spread: HeatSpread | None) -> Range:
    """The model's rise of the thermometer's reading after the heat, for one published row.

    max(T_core) - T at the end of the heat, T = T_core + f (T_mean - T_core), f = 0.19 beside the bone of a leg, else 0;
    T = T_core where the core is at its highest, since near the middle T - T_core = r^2 / 6a dT_core/dt

    Parameters
    ----------
    published : PrintedRow
    spread : HeatSpread

    Returns
    -------
    Range [K]

    Notes
    -----
    Source: each row's own. Valid for the assumptions at the head of the table.

    Examples
    --------
    >>> 0.0 < rise(carry_overs()[0], HeatSpread(samples=0)).typical < 20.0
    True
    """
    row = published.row
    low, _, high = row["chamber"].partition(" to ")
    ends = [number({**row, "chamber": each}, "chamber", 0.0, 300.0) + _ZERO for each in (low, high)]
    oven = Range(ends[0], 0.5 * (ends[0] + ends[1]), ends[1])
    core = number(row, "core", 0.0, 110.0) + _ZERO
    piece, size = cooked_piece(row)
    heated = replace(cooking_stages({**row, "chamber": low}, size, core)[0], temperature=oven)
    rest = HeatStage(name="rest", medium="air", duration=_RESTED, temperature=_KITCHEN, air="still")
    result = run(piece, [heated, rest], spread)
    values = result.samples
    share = _BESIDE_THE_BONE if row["shape"] == "joint" and row["bone"] == "in" else 0.0
    out = int(np.searchsorted(result.time, result.stages[0].end))
    shown = values.core[:, out] + share * (values.mean[:, out] - values.core[:, out])
    return range_of(np.maximum(values.core[:, out:].max(axis=1) - shown, 0.0))
