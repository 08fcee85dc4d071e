"""Water activity at one place of a food, lowered by its solids, salt and sugar."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from handbook.base.arrays import Floats
from handbook.brine.solution import water_activity
from handbook.heat.evaporation import Isotherm

_STRONGEST = 0.264  # salt / (salt + water) of saturated brine; more salt is crystals


def food_water_activity(salt: Floats, sugar: Floats, water: Floats, solids: Floats, fat: float) -> Floats:
    """Water activity of food from its local contents.

    aw = aw_solids(W / solids) aw_salt(s / (s + W)) aw_sugar

    Parameters
    ----------
    salt, sugar, water, solids : arrays (n,) [kg / kg green food]
        ``solids`` without salt and sugar.
    fat : float [kg / kg green food]
        It binds no water and is part of ``solids``.

    Returns
    -------
    array (n,) [-]

    Raises
    ------
    RangeError  never, since the strengths are limited to saturation

    Notes
    -----
    Source: [muscle-isotherm] for the solids, [pitzer-mayorga-1973] for salt; the product is Ross's rule. Valid at room
    temperature for muscle; error about 0.01 above 0.9 and 0.03 below.

    Examples
    --------
    Raw fish, the same with 3.5 % salt in its water, and dried to half its water:

    >>> one = np.ones(3)
    >>> salt, water = np.array([0.002, 0.027, 0.027]), np.array([0.75, 0.75, 0.375])
    >>> food_water_activity(salt, 0 * one, water, 0.25 * one, 0.02).round(2).tolist()
    [0.99, 0.98, 0.95]
    """
    typical = float(solids[0])
    isotherm = Isotherm(typical, min(fat, typical))
    if sugar.any():
        isotherm = isotherm.with_sugar(sugar / solids)
    own, _ = isotherm.log_activity(np.maximum(water / solids, 1e-3))
    strengths, activities = _salt_table()
    lowered: Floats = np.interp(np.minimum(salt / (salt + water), _STRONGEST), strengths, activities)
    return np.exp(own) * lowered


@lru_cache(maxsize=1)
def _salt_table() -> tuple[Floats, Floats]:
    strengths = np.linspace(0.0, _STRONGEST, 67)
    return strengths, np.array([water_activity(float(each)) for each in strengths])
