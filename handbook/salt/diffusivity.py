"""Effective diffusivity of salt and sugar in foods: temperature dependence, 90 % band and source."""

from __future__ import annotations

from functools import lru_cache
from importlib.resources import files
from math import log

import numpy as np
from msgspec import Struct

from handbook.base.arrays import Floats
from handbook.base.did_you_mean import nearest
from handbook.base.errors import RangeError, SourceError, format_fault
from handbook.base.sources import TRUSTS
from handbook.base.yaml_nodes import as_table, as_text, texts_of
from handbook.base.yaml_text import List, Table, parse_yaml
from handbook.catalogue.foods import FOOD_CLASSES

GAS_CONSTANT = 8.314462618  # J/mol/K, exact by definition of the SI
#: Limits of extrapolation [K]: food neither frozen nor boiling.
LOWEST, HIGHEST = 268.15, 353.15
_ZERO_CELSIUS = 273.15
_KEYS = {"value", "temperature", "band", "energy", "energy band", "range", "trust", "sources", "note"}


class DiffusivityAt(Struct, frozen=True, kw_only=True):
    """Diffusivity at one temperature [m2/s], with its 90 % band."""

    value: float
    low: float
    high: float

    @property
    def factor(self) -> float:
        """Factor from the value to either end of its range, at least 1."""
        return self.high / self.value


class Diffusivity(Struct, frozen=True, kw_only=True):
    """Effective diffusivity of one solute in one food, by Arrhenius' law.

    D(T) = D_ref exp(-(E / R) u) with u = 1 / T - 1 / T_ref. The 90 % band is x or / exp(sqrt(ln^2 f + (dE / R)^2 u^2)), so
    it widens away from the reference temperature.

    reference : D_ref [m2/s] at reference_temperature [K]; activation_energy and its band [J/mol]; spread_factor f [-]
    temperature_low, temperature_high : range that the sources measured [K]
    sources : keys of the list of sources; trust : see sources.TRUSTS
    """

    name: str
    solute: str
    reference: float
    reference_temperature: float
    activation_energy: float
    activation_energy_band: float
    spread_factor: float
    temperature_low: float
    temperature_high: float
    sources: tuple[str, ...]
    trust: str
    note: str

    def at(self, temperature: float) -> DiffusivityAt:
        """Value and band at one temperature.

        D(T) = D_ref exp(-(E / R) (1 / T - 1 / T_ref))

        Parameters
        ----------
        temperature : float [K]

        Returns
        -------
        DiffusivityAt [m2/s]

        Raises
        ------
        RangeError  temperature outside -5 to 80 degC

        Notes
        -----
        Source: the keys in ``sources``. Valid for unfrozen food, -5 to 80 degC; extrapolated outside the measured range.
        Error: the 90 % band.

        Examples
        --------
        >>> pork = salt_diffusivity("pork").at(278.15)
        >>> f"{pork.value:.1e}", round(pork.factor, 3)
        ('2.0e-10', 2.0)
        """
        value, factor = self.values(np.array([temperature]))
        low, high = float(value[0] / factor[0]), float(value[0] * factor[0])
        return DiffusivityAt(value=float(value[0]), low=low, high=high)

    def values(self, temperatures: Floats) -> tuple[Floats, Floats]:
        """Values and 90 % band factors at several temperatures.

        D(T) = D_ref exp(-(E / R) u), f(T) = exp(sqrt(ln^2 f + (dE / R)^2 u^2)), u = 1 / T - 1 / T_ref

        Parameters
        ----------
        temperatures : array (n,) [K]

        Returns
        -------
        array (n,) [m2/s]
        array (n,) [-], at least 1

        Raises
        ------
        RangeError  a temperature outside -5 to 80 degC

        Notes
        -----
        Source: the keys in ``sources``. Valid as ``at``.

        Examples
        --------
        From 5 to 15 degC at 25 kJ/mol, exp(25000 / 8.314 x 1.248e-4) = 1.455:

        >>> values, _ = salt_diffusivity("pork").values(np.array([278.15, 288.15]))
        >>> round(float(values[1] / values[0]), 3)
        1.455
        """
        for each in (temperatures.min(), temperatures.max()):
            if not LOWEST <= each <= HIGHEST:
                raise RangeError("temperature", float(each), f"{LOWEST} to {HIGHEST} K (-5 to 80 °C), unfrozen food")
        apart = (1 / temperatures - 1 / self.reference_temperature) / GAS_CONSTANT
        spread = np.hypot(log(self.spread_factor), self.activation_energy_band * apart)
        return self.reference * np.exp(-self.activation_energy * apart), np.exp(spread)

    def is_extrapolated(self, temperature: float) -> bool:
        """Whether a temperature lies outside the range that the sources measured.

        extrapolated = T < T_low or T > T_high, with 0.01 K of tolerance

        Parameters
        ----------
        temperature : float [K]

        Returns
        -------
        bool

        Notes
        -----
        Source: the keys in ``sources``. Valid for any temperature.

        Examples
        --------
        >>> salt_diffusivity("pork").is_extrapolated(300.15)
        True
        """
        return not self.temperature_low - 0.01 <= temperature <= self.temperature_high + 0.01


def salt_diffusivity(food_class: str, food_name: str = "") -> Diffusivity:
    """Diffusivity of salt in a food. A food without a row of its own takes that of its class.

    D(T) = D_ref exp(-(E / R) (1 / T - 1 / T_ref))

    Parameters
    ----------
    food_class : str
    food_name : str
        A food with a row of its own; any other name falls back to the class.

    Returns
    -------
    Diffusivity

    Raises
    ------
    SourceError  unknown food class

    Notes
    -----
    There is no factor for fat. Fat slows uptake per kg of fish but not in its water [gallart-jornet-2007], and the water
    fraction accounts for that.
    Source: each row's own. Valid as Diffusivity.

    Examples
    --------
    >>> salt_diffusivity("pork").reference
    2e-10
    """
    rows = _rows()
    if food_name in rows["salt foods"]:
        return rows["salt foods"][food_name]
    return _of_class(rows["salt classes"], food_class)


def sugar_diffusivity(food_class: str) -> Diffusivity:
    """Diffusivity of sucrose in a class of foods. No food has a row of its own.

    D(T) = D_ref exp(-(E / R) (1 / T - 1 / T_ref))

    Parameters
    ----------
    food_class : str

    Returns
    -------
    Diffusivity

    Raises
    ------
    SourceError  unknown food class

    Notes
    -----
    Source: each row's own. Valid as Diffusivity.

    Examples
    --------
    >>> sugar_diffusivity("pork").reference
    1e-10
    """
    return _of_class(_rows()["sugar groups"], food_class)


def all_diffusivities() -> tuple[Diffusivity, ...]:
    """Every row, for the page that lists them: salt by class, salt by food, sugar by group.

    No equation: a table.

    Returns
    -------
    tuple of Diffusivity

    Notes
    -----
    Source: each row's own. Valid as Diffusivity.

    Examples
    --------
    >>> solutes = {row.solute for row in all_diffusivities()}
    >>> sorted(solutes)
    ['salt', 'sugar']
    """
    return tuple(dict.fromkeys(row for table in _rows().values() for row in table.values()))


def _of_class(rows: dict[str, Diffusivity], food_class: str) -> Diffusivity:
    if food_class not in rows:
        suggestion = nearest(food_class, FOOD_CLASSES)
        raise SourceError(
            f"food class: read {food_class}; allowed: {', '.join(FOOD_CLASSES)}"
            + (f". Did you mean {suggestion}?" if suggestion else "")
        )
    return rows[food_class]


@lru_cache
def _rows() -> dict[str, dict[str, Diffusivity]]:
    root = parse_yaml(files("handbook.data").joinpath("diffusivity.yml").read_text("utf-8"), "diffusivity.yml")
    found: dict[str, dict[str, Diffusivity]] = {}
    for part, _, table in as_table(root).entries:
        found[part] = {}
        for name, line, node in as_table(table).entries:
            entry = as_table(node)
            groups = texts_of(entry, "for")
            row = _row(name, "sugar" if part.startswith("sugar") else "salt", line, entry)
            found[part] |= dict.fromkeys(groups or [name], row)
    return found


def _row(name: str, solute: str, line: int, entry: Table) -> Diffusivity:
    texts = {key: as_text(node) for key, _, node in entry.entries if not isinstance(node, List)}
    keys = texts_of(entry, "sources")
    if {*texts, "sources"} != _KEYS or not keys:
        raise SourceError(f"diffusivity.yml:{line}: {name}: read {sorted(texts)}; allowed: {sorted(_KEYS)}")
    if texts["trust"] not in TRUSTS:
        fault = format_fault(texts["trust"], ", ".join(TRUSTS), nearest(texts["trust"], TRUSTS))
        raise SourceError(f"diffusivity.yml:{line}: {name}.trust: {fault}")
    low, high = (float(part) + _ZERO_CELSIUS for part in texts["range"].split("-"))
    return Diffusivity(
        name=name,
        solute=solute,
        reference=float(texts["value"]),
        reference_temperature=float(texts["temperature"]) + _ZERO_CELSIUS,
        activation_energy=float(texts["energy"]) * 1e3,
        activation_energy_band=float(texts["energy band"]) * 1e3,
        spread_factor=float(texts["band"]),
        temperature_low=low,
        temperature_high=high,
        sources=keys,
        trust=texts["trust"],
        note=texts["note"],
    )
