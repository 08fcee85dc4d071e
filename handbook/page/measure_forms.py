"""The forms of the quantities in a page's blocks: each dimension with its limits."""

from __future__ import annotations

from handbook.base.forms import Measure
from handbook.base.units import kelvin

_COLD, _HOT = kelvin(-60), kelvin(400)


def measure(
    dimension: str, low: float, high: float, limits: str, may_range: bool = False, may_be_zero: bool = False
) -> Measure:
    """A quantity of one dimension, ``low`` to ``high`` in SI, with the ``limits`` in words."""
    return Measure(
        dimensions=(dimension,), low=low, high=high, limits=limits, may_range=may_range, may_be_zero=may_be_zero
    )


def temperature_form(low: float = _COLD, high: float = _HOT, may_range: bool = False) -> Measure:
    """A temperature of ``low`` to ``high`` in K."""
    limits = f'a temperature, {low - 273.15:.0f} to {high - 273.15:.0f} °C, such as "77 °C" or "170 °F"'
    return measure("temperature", low, high, limits, may_range)


def time_form(may_range: bool = False) -> Measure:
    """A time of up to 400 days."""
    limits = 'a time above 0 and up to 400 days, such as "90 min" or "12-24 h"'
    return measure("time", 0, 400 * 86400, limits, may_range)


def fraction_form(low: float, high: float, may_range: bool = False) -> Measure:
    """A share of ``low`` to ``high``, 0 included."""
    limits = f'a share, {low * 100:.0f} % to {high * 100:.0f} %, such as "{(low + high) / 4 * 100:.0f} %"'
    return measure("fraction", low, high, limits, may_range, may_be_zero=True)
