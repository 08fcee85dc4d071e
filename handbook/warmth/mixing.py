"""Temperature of a mixture of hot and cold water, ice, dry salt and cold food, by a balance of energy."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from msgspec import Struct

from handbook.base.errors import RangeError

#: Specific heats in J/(kg K) at kitchen temperatures, and the heat of fusion of ice, J/kg [water-heat].
WATER_HEAT, ICE_HEAT, SALT_HEAT, SUGAR_HEAT = 4186.0, 2100.0, 860.0, 1250.0
MELTING = 333.6e3
#: Heat absorbed by dissolving salt, J/kg: 3.88 kJ/mol in much water, about half in a strong brine [salt-solution-heat].
DISSOLVING = 66e3
ICE_POINT = 273.15
_LOWEST, _HIGHEST = 223.15, 383.15


class Portion(Struct, frozen=True, kw_only=True):
    """One part of a mixture: its mass in kg, temperature in K and specific heat in J/(kg K).

    ``ice`` is the mass of ice in it, ``salt`` that of salt that dissolves, both in kg.
    """

    mass: float
    temperature: float
    heat: float
    ice: float = 0.0
    salt: float = 0.0


class Mixed(Struct, frozen=True, kw_only=True):
    """The final state of a mixture: temperature in K, and the remaining ice in kg."""

    temperature: float
    ice: float


def mixed(portions: Sequence[Portion], freezing: Callable[[float], float] | None = None) -> Mixed:
    """Final temperature of a mixture.

    sum m c (T - T_i) + sum m_ice L + sum m_salt h_salt = 0

    Parameters
    ----------
    portions : sequence of Portion
    freezing : function of melted ice [kg] -> [K]
        Freezing point of the mixture with that much of the ice melted; that of water where left out.

    Returns
    -------
    Mixed

    Raises
    ------
    RangeError  a temperature outside -50 to 110 °C, or nothing to mix

    Notes
    -----
    Ice melts as long as the rest is warmer than the freezing point of the mixture. Heat from the room and of the vessel
    is left out.
    Source: balance of energy; [water-heat], [salt-solution-heat]. Valid for mixtures that do not boil; the specific heat of
    a strong brine is 5 % less than that of its parts.

    Examples
    --------
    A litre of boiling water and a kilogram of ice come to about 10 °C:

    >>> hot = Portion(mass=1.0, temperature=373.15, heat=WATER_HEAT)
    >>> ice = Portion(mass=1.0, temperature=273.15, heat=WATER_HEAT, ice=1.0)
    >>> round(mixed([hot, ice]).temperature - 273.15, 1)
    10.2
    """
    for each in portions:
        if not _LOWEST <= each.temperature <= _HIGHEST:
            raise RangeError("temperature of what is mixed", each.temperature, f"{_LOWEST:g} to {_HIGHEST:g} K")
    capacity = sum(each.mass * each.heat for each in portions)
    if capacity <= 0:
        raise RangeError("mass of what is mixed", capacity, "above 0")
    point = freezing or (lambda melted: ICE_POINT)
    ice = sum(each.ice for each in portions)
    # Enthalpy against liquid at ICE_POINT; colder ice is warmed to it first.
    energy = sum(_energy(each) for each in portions)
    all_melted = ICE_POINT + (energy - ice * MELTING) / capacity
    if ice == 0 or all_melted >= point(ice):
        return Mixed(temperature=all_melted, ice=0.0)
    low, high = 0.0, ice
    for _ in range(60):
        melted = 0.5 * (low + high)
        at = ICE_POINT + (energy - melted * MELTING) / capacity
        low, high = (melted, high) if at > point(melted) else (low, melted)
    melted = 0.5 * (low + high)
    return Mixed(temperature=point(melted), ice=ice - melted)


def ice_for(portions: Sequence[Portion], target: float) -> float:
    """Ice that cools a mixture to a temperature at or above the ice point.

    m_ice = (sum m c (T_i - T) - sum m_salt h_salt) / (L + c (T - 273.15))

    Parameters
    ----------
    portions : sequence of Portion
        Without the ice.
    target : float [K]

    Returns
    -------
    float [kg]; 0 where the mixture is cold enough

    Raises
    ------
    RangeError  a target below the ice point

    Notes
    -----
    Source: balance of energy, [water-heat]. Valid for ice at 0 °C that melts away.

    Examples
    --------
    >>> water = Portion(mass=5.0, temperature=293.15, heat=WATER_HEAT)
    >>> round(ice_for([water], 277.15), 2)
    0.96
    """
    if target < ICE_POINT:
        raise RangeError("temperature to reach by ice", target, "273.15 K or more")
    spare = sum(_energy(each) - each.mass * each.heat * (target - ICE_POINT) for each in portions)
    return max(spare / (MELTING + WATER_HEAT * (target - ICE_POINT)), 0.0)


def _energy(each: Portion) -> float:
    """Energy in J relative to liquid at the ice point, without the melting of its ice."""
    cold = min(each.temperature - ICE_POINT, 0.0)
    ice = each.ice * ICE_HEAT * cold
    rest = (each.mass - each.ice) * each.heat * (each.temperature - ICE_POINT)
    melted = each.ice * each.heat * max(each.temperature - ICE_POINT, 0.0)
    return ice + rest + melted - each.salt * DISSOLVING
