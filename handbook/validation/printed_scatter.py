"""Scatter of the printed roasting times: an upper limit for the accuracy of any model of their stated conditions."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from math import log

import numpy as np
from msgspec import Struct

from handbook.base.arrays import Floats
from handbook.catalogue.tables import engine_tables
from handbook.validation.cooking_comparisons import CookingTime, cooking_times

_START = 4.0  # degC, the start of every row
_ALIKE = ("shape", "bone", "skin", "fat", "form", "cover")
_MASS, _OVEN, _CORE = 1.15, 3.0, 1.5  # similar rows: masses within this factor, oven and core within these kelvin
_CLOSE = (0.8, 1.2)  # of the printed range: see Predicted.is_close


class PrintedScatter(Struct, frozen=True, kw_only=True):
    """Shares of the printed roasting times within 20 %, and pairs of rows for the same piece.

    fitted : by a curve fitted to these very times
    foretold : by that curve fitted without the source that it foretells
    alike, apart : pairs that state the same piece, oven and core; of these, no one time is within 20 % of both
    """

    count: int
    fitted: float
    foretold: float
    alike: int
    apart: tuple[tuple[CookingTime, CookingTime], ...]


def printed_scatter() -> PrintedScatter:
    """Agreement of the printed roasting times with a curve of all their stated conditions, and with each other.

    ln t = a + b ln m + c ln((T_oven - 4) / (T_oven - T_core)) + d ln(T_oven - 4) + shape + bone + fat + stuffing + food,
    by least squares

    Returns
    -------
    PrintedScatter

    Notes
    -----
    Source: the rows of data/cooking_times.csv. Valid for their roasts. The curve has one constant for each of ten inputs and
    one more; it is a measure of the rows, and no page uses it.

    Examples
    --------
    >>> found = printed_scatter()
    >>> found.foretold < found.fitted < 0.9
    True
    """
    rows = [each for each in cooking_times() if each.kind == "roast"]
    inputs = np.array([_inputs(each) for each in rows])
    times: Floats = np.log([each.printed.typical for each in rows])
    sources = np.array([each.source for each in rows])
    foretold = np.zeros(len(rows))
    for source in set(sources):
        others = sources != source
        foretold[~others] = inputs[~others] @ _fit(inputs[others], times[others])
    pairs = [pair for pair in combinations(rows, 2) if _is_alike(*pair)]
    return PrintedScatter(
        count=len(rows),
        fitted=_close(rows, inputs @ _fit(inputs, times)),
        foretold=_close(rows, foretold),
        alike=len(pairs),
        apart=tuple(pair for pair in pairs if _is_apart(*pair)),
    )


def _fit(inputs: Floats, times: Floats) -> Floats:
    return np.asarray(np.linalg.lstsq(inputs, times, rcond=None)[0], dtype=float)


def _close(rows: Sequence[CookingTime], found: Floats) -> float:
    # Share of the rows whose time exp(found) is within 20 % of the printed one.
    return float(
        np.mean([_reach(row)[0] <= np.exp(one) <= _reach(row)[1] for row, one in zip(rows, found, strict=True)])
    )


def _inputs(published: CookingTime) -> list[float]:
    row = published.row
    oven, core = float(row["chamber"]), float(row["core"])
    kinds = [row["shape"] == each for each in ("roll", "loin", "tenderloin", "bird")]
    kinds += [row["bone"] == "in", bool(row["fat"]), row["form"] == "stuffed"]
    kinds += [_food_class(row) == each for each in ("beef", "lamb")]
    heat = log((oven - _START) / (oven - core))
    return [1.0, log(_mass(row)), heat, log(oven - _START), *(float(each) for each in kinds)]


def _is_alike(one: CookingTime, other: CookingTime) -> bool:
    first, second = one.row, other.row
    return (
        all(first[key] == second[key] for key in _ALIKE)
        and _food_class(first) == _food_class(second)
        and abs(log(_mass(first) / _mass(second))) < log(_MASS)
        and abs(float(first["chamber"]) - float(second["chamber"])) < _OVEN
        and abs(float(first["core"]) - float(second["core"])) < _CORE
    )


def _is_apart(one: CookingTime, other: CookingTime) -> bool:
    return max(_reach(one)[0], _reach(other)[0]) > min(_reach(one)[1], _reach(other)[1])


def _reach(row: CookingTime) -> tuple[float, float]:
    return _CLOSE[0] * row.printed.low, _CLOSE[1] * row.printed.high


def _mass(row: dict[str, str]) -> float:
    return 0.5 * (float(row["mass_low"]) + float(row["mass_high"]))


def _food_class(row: dict[str, str]) -> str:
    return engine_tables().foods[row["food"]].food_class
