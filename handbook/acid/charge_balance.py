"""pH of acids in water with food that buffers them, by a balance of charge."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from msgspec import Struct

from handbook.base.errors import RangeError

#: Molar mass in kg/mol and pK at 25 °C of each acid [acid-constants].
ACIDS: Mapping[str, tuple[float, tuple[float, ...]]] = {
    "acetic": (0.06005, (4.756,)),
    "lactic": (0.09008, (3.86,)),
    "citric": (0.19212, (3.128, 4.761, 6.396)),
}
_WATER_PK = 14.0
_LOWEST, _HIGHEST = 1.0, 12.0
#: Debye and Hückel's constant with Davies' term; beyond an ionic strength of 0.5 it counts as there [acid-constants].
_DEBYE, _DAVIES, _STRONGEST = 0.509, 0.3, 0.5


class Buffer(Struct, frozen=True, kw_only=True):
    """Buffering of a food: its mass in kg, its own pH, and mol of strong acid per kg that lowers it by 1."""

    mass: float
    ph: float
    capacity: float


def mixture_ph(acids: Mapping[str, float], water: float, foods: Sequence[Buffer], ionic: float = 0.0) -> float:
    """pH of acids, water and food at equilibrium.

    sum n_a z_a(pH) + V 10^(pH - 14) = V 10^-pH + sum m_f b_f (pH_f - pH)

    Parameters
    ----------
    acids : mapping of acid to amount [mol]
        Keys of ACIDS.
    water : float [kg]
        Total.
    foods : sequence of Buffer
    ionic : float [mol/kg]
        Ionic strength, in a kitchen that of the salt.

    Returns
    -------
    float [-]

    Raises
    ------
    RangeError  no water, or an acid whose constant is unknown

    Notes
    -----
    A food's titration curve is taken as linear from its own pH; its protein and salts of weak acids make it nearly so
    from 4 to 7. Source: [acid-constants], Davies' equation for the pK in brine.
    Valid for 2 to 8; error 0.2, more below 3.5.

    Examples
    --------
    Vinegar of 5 % is 0.83 mol/kg and has a pH of 2.4:

    >>> round(mixture_ph({"acetic": 0.83}, 0.95, []), 1)
    2.4
    """
    if water <= 0:
        raise RangeError("water of what is sour", water, "above 0 kg")
    for name in acids:
        if name not in ACIDS:
            raise RangeError("acid", len(name), ", ".join(ACIDS))
    strength = min(max(ionic, 0.0), _STRONGEST)
    root = strength**0.5
    shift = _DEBYE * (root / (1.0 + root) - _DAVIES * strength)
    low, high = _LOWEST, _HIGHEST
    for _ in range(50):
        ph = 0.5 * (low + high)
        if _excess(ph, acids, water, foods, shift) > 0:
            high = ph
        else:
            low = ph
    return 0.5 * (low + high)


def acid_for_ph(acid: str, target: float, water: float, foods: Sequence[Buffer], ionic: float = 0.0) -> float:
    """Amount of one acid that brings food and water to a pH.

    n = (V 10^-pH + sum m_f b_f (pH_f - pH)) / z(pH)

    Parameters
    ----------
    acid : key of ACIDS
    target : float [-]
    water : float [kg]
    foods : sequence of Buffer
    ionic : float [mol/kg]

    Returns
    -------
    float [mol]; 0 where the food is that sour by itself

    Raises
    ------
    RangeError  an acid of no known constant

    Notes
    -----
    Source: [acid-constants], as ``mixture_ph``. Valid for 2 to 8; error as there.

    Examples
    --------
    >>> egg = Buffer(mass=1.0, ph=7.5, capacity=0.045)
    >>> 0.1 < acid_for_ph("acetic", 4.6, 1.2, [egg]) < 0.4
    True
    """
    if acid not in ACIDS:
        raise RangeError("acid", len(acid), ", ".join(ACIDS))
    root = min(max(ionic, 0.0), _STRONGEST) ** 0.5
    shift = _DEBYE * (root / (1.0 + root) - _DAVIES * root**2)
    needed: float = water * (10.0**-target - 10.0 ** (target - _WATER_PK))
    needed += sum(each.mass * each.capacity * (each.ph - target) for each in foods)
    return max(needed / _charge(acid, target, shift), 0.0)


def buffer_capacity(protein: float, ash: float = 0.0) -> float:
    """Strong acid that lowers the pH of a raw or cooked food by 1.

    b = 0.28 w_protein + 3.0 w_ash of a plant, or 0.010 for other food, in mol/kg

    Parameters
    ----------
    protein : float [kg/kg]
    ash : float [kg/kg]
        Of a plant, whose ash represents the salts of its acids; 0 for other food.

    Returns
    -------
    float [mol/kg]

    Notes
    -----
    Source: [food-buffering], fitted to remembered values: muscle 0.05 to 0.06, cabbage 0.015 to 0.025, where
    a plant's potassium, calcium and magnesium less its mineral acids, about 8 mol per kg of ash, are used up over 2.5 units.
    Valid from 3.5 to 7; error x or / 1.5.

    Examples
    --------
    >>> round(buffer_capacity(0.126), 3), round(buffer_capacity(0.0128, 0.0064), 3)
    (0.045, 0.023)
    """
    return 0.28 * protein + (3.0 * ash if ash else 0.010)


def _excess(ph: float, acids: Mapping[str, float], water: float, foods: Sequence[Buffer], shift: float) -> float:
    """Negative less positive charge in mol: rises with the pH."""
    charge: float = sum(amount * _charge(name, ph, shift) for name, amount in acids.items())
    own: float = water * (10.0 ** (ph - _WATER_PK) - 10.0**-ph)
    return charge + own - sum(each.mass * each.capacity * (each.ph - ph) for each in foods)


def _charge(acid: str, ph: float, shift: float) -> float:
    """Mean negative charge of an acid's molecules at a pH. ``shift`` lowers its constants in brine."""
    constants = ACIDS[acid][1]
    steps = np.cumsum([ph - pk + (2 * number - 1) * shift for number, pk in enumerate(constants, 1)])
    weights = 10.0 ** np.concatenate(([0.0], steps))
    return float(np.arange(len(weights)) @ weights / weights.sum())
