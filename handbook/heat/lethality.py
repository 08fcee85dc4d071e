"""Lethality of a temperature curve: log10 reductions from D and z."""

from __future__ import annotations

from functools import lru_cache
from importlib.resources import files

import numpy as np
import numpy.typing as npt
from msgspec import Struct

from handbook.base.arrays import Floats
from handbook.base.did_you_mean import nearest
from handbook.base.errors import SourceError, format_fault
from handbook.base.ranges import Range
from handbook.base.sources import TRUSTS
from handbook.base.yaml_nodes import as_list, as_table, as_text
from handbook.base.yaml_text import Table, Text, parse_yaml
from handbook.catalogue.foods import FOOD_CLASSES
from handbook.heat.heat_results import HeatResult
from handbook.heat.temperature_curve import share_between
from handbook.uncertainty.sampling import range_of


class Organism(Struct, frozen=True, kw_only=True):
    """Heat resistance of one organism in one kind of food.

    foods : food classes that it applies to
    decimal_time : D [s] at ``reference_temperature`` [K]
    segments : (from, to, z) [K], rising and joined
    log10_target : log10 reductions that the source asks for
    trust : how the figures are known to this handbook
    """

    key: str
    name: str
    food: str
    foods: tuple[str, ...]
    reference_temperature: float
    decimal_time: float
    segments: tuple[tuple[float, float, float], ...]
    log10_target: float
    source: str
    trust: str
    note: str

    @property
    def lowest(self) -> float:
        """Lowest temperature in K for which the figures hold."""
        return self.segments[0][0]

    @property
    def highest(self) -> float:
        """Highest temperature in K for which the figures hold."""
        return self.segments[-1][1]


@lru_cache
def organisms() -> dict[str, Organism]:
    """All organisms of the handbook by key.

    No equation: a table.

    Returns
    -------
    dict of Organism

    Raises
    ------
    SourceError  the data file names an unknown food class or trust

    Notes
    -----
    Source: each organism's own. Valid from the lowest to the highest temperature of its segments.

    Examples
    --------
    >>> listeria = organisms()["listeria-fish"]
    >>> round(listeria.decimal_time), listeria.log10_target
    (20, 6.0)
    """
    text = files("handbook.data").joinpath("lethality.yml").read_text("utf-8")
    root = as_table(parse_yaml(text, "lethality.yml"))
    return {key: _organism(key, as_table(entry)) for key, _, entry in root.entries}


def log10_reductions(time: npt.ArrayLike, temperature: npt.ArrayLike, organism: Organism) -> Floats:
    """Log10 reductions accumulated over a temperature curve, by the general method.

    N = integral of dt / D(T), with D(T) = D_ref 10^((T_ref - T) / z)

    Parameters
    ----------
    time : array (n,) or (..., n) [s]
        Rising.
    temperature : array (..., n) [K]
        Straight between the times.
    organism : Organism

    Returns
    -------
    array (...) [-]

    Notes
    -----
    Below the organism's range nothing is counted; above it the rate at its upper end is used. Both err on the safe side.
    Source: [general-method]; D and z from the organism's own source.
    Valid over the organism's segments; the integral is exact for straight lines between the points.

    Examples
    --------
    The table prints 2.0 min at 70 degC for 6 log10 reductions of Listeria in fish:

    >>> round(float(log10_reductions([0, 120], [343.15, 343.15], organisms()["listeria-fish"])), 2)
    6.0
    """
    time, temperature = np.asarray(time, dtype=float), np.asarray(temperature, dtype=float)
    if temperature.max(initial=0.0) < organism.lowest:
        return np.zeros(temperature.shape[:-1])
    above = share_between(temperature, organism.highest, np.inf)
    counted = above * 10.0 ** float(_log10_rate(organism, np.asarray(organism.highest)))
    for low, high, _ in organism.segments:
        # For a linear temperature the rate is exponential, so its mean over the part inside is the logarithmic mean.
        rate = 10.0 ** _log10_rate(organism, np.clip(temperature, low, high))
        counted = counted + _logarithmic_mean(rate[..., :-1], rate[..., 1:]) * share_between(temperature, low, high)
    reductions: Floats = (counted * np.diff(time)).sum(-1)
    return reductions


def lethality_range(result: HeatResult, organism: Organism) -> Range:
    """Range of the log10 reductions at the core of a heat run.

    N = integral of dt / D(T), T = min(T_core, T_core at the end of the heat) where the surroundings are cooler than the
    core

    Parameters
    ----------
    result : HeatResult
    organism : Organism

    Returns
    -------
    Range [-]

    Notes
    -----
    The core keeps rising after the heat. Published rises are smaller than the model's (rest_comparisons.py), so that
    rise is not counted.
    Source: [general-method]; D and z from the organism's own source. Valid as ``log10_reductions``.

    Examples
    --------
    >>> from handbook.heat.heat_results import Samples
    >>> from handbook.uncertainty.sampling import Draws
    >>> held = Samples(*[np.full((1, 2), 343.15)] * 8, Draws([], 0))
    >>> result = HeatResult(time=np.array([0.0, 120.0]), samples=held, stages=())
    >>> round(lethality_range(result, organisms()["listeria-fish"]).typical, 2)
    6.0
    """
    return range_of(log10_reductions(result.clock, _without_rise(result), organism))


def _without_rise(result: HeatResult) -> Floats:
    # Core temperatures, limited to their value at the start of each stage whose surroundings stay cooler than that.
    core = result.samples.core.copy()
    for stage in result.stages:
        first, last = np.searchsorted(result.time, (stage.start, stage.end))
        inside = slice(first, last + 1)
        begun = core[:, first, None]
        is_cooler = result.samples.chamber[:, first + 1 : last + 1].max(1, keepdims=True, initial=0.0) < begun
        core[:, inside] = np.where(is_cooler, np.minimum(core[:, inside], begun), core[:, inside])
    return core


def _logarithmic_mean(first: Floats, second: Floats) -> Floats:
    ratio = np.log(second / first)
    small = np.abs(ratio) < 1e-6
    return np.where(small, 0.5 * (first + second), (second - first) / np.where(small, 1.0, ratio))


def _log10_rate(organism: Organism, temperature: Floats) -> Floats:
    # log10(1 / D). Each segment adds the part between the reference and the temperature that lies inside it.
    exponent = np.zeros_like(temperature, dtype=float)
    for low, high, z in organism.segments:
        at, reference = np.clip(temperature, low, high), min(max(organism.reference_temperature, low), high)
        exponent = exponent + (at - reference) / z
    rate: Floats = exponent - np.log10(organism.decimal_time)
    return rate


def _organism(key: str, entry: Table) -> Organism:
    values = {name: node for name, _, node in entry.entries}
    segments = tuple(
        (_kelvin(as_text(low)), _kelvin(as_text(high)), float(as_text(z)))
        for low, high, z in map(as_list, as_list(values["segments"]))
    )
    text = {name: node.value for name, node in values.items() if isinstance(node, Text)}
    foods = tuple(as_text(each) for each in as_list(values["foods"]))
    _check_words(key, entry.line, foods, text["trust"])
    return Organism(
        key=key,
        name=text["name"],
        food=text["food"],
        foods=foods,
        reference_temperature=_kelvin(text["reference"]),
        decimal_time=60.0 * float(text["decimal"]),
        segments=segments,
        log10_target=float(text["target"]),
        source=text["source"],
        trust=text["trust"],
        note=text.get("note", ""),
    )


def _check_words(key: str, line: int, foods: tuple[str, ...], trust: str) -> None:
    for name, read, allowed in (*(("foods", each, FOOD_CLASSES) for each in foods), ("trust", trust, TRUSTS)):
        if read not in allowed:
            fault = format_fault(read, ", ".join(allowed), nearest(read, allowed))
            raise SourceError(f"lethality.yml:{line}: {key}.{name}: {fault}")


def _kelvin(text: str) -> float:
    return round(float(text) + 273.15, 6)
