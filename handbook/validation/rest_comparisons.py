"""Printed rises of the core after the oven beside the heat model's, one row each (data/carry_over.csv)."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

from handbook.base.csv_rows import number
from handbook.base.ranges import Range
from handbook.heat.heat_run import run
from handbook.heat.heated_piece import HeatSpread, HeatStage
from handbook.validation.cooking_comparisons import PrintedRow, cooked_piece, cooking_stages, printed_rows

_ZERO = 273.15
_KITCHEN = Range(_ZERO + 18, _ZERO + 21, _ZERO + 25)
_RESTED = 7200.0  # s


@lru_cache
def carry_overs() -> tuple[PrintedRow, ...]:
    """Every printed rise of the core in K after the heat."""
    return printed_rows("carry_over.csv", "rise", 50.0)


def rise(published: PrintedRow, spread: HeatSpread | None = None) -> Range:
    """The model's rise of the core after the heat, for one published row.

    max(T_core) - T_end

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
    return result.range_of(result.samples.core.max(axis=1) - core)
