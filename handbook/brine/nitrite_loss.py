"""Loss of nitrite in cured food: a published rate law with its wide band. The rules use the ingoing figure."""

from __future__ import annotations

from math import log

import numpy as np

from handbook.base.arrays import Floats
from handbook.base.ranges import Range

#: Half-life of nitrite in ham, log10(h) = 0.65 - 0.025 t + 0.35 pH with t in degC [nordin-1969], from memory. The unit,
#: hours, is uncertain. Raw sausage batter at fridge temperature had a half-life of 34 to 45 days where the law gives 18
#: [nitrite-sausage-table], so the law's half-life is multiplied by 1.5, the geometric mean of the two. Ascorbate and
#: erythorbate make the loss faster. Uncertainty x or / 2.5.
INTERCEPT, PER_DEGREE, PER_PH = 0.65, -0.025, 0.35
HALF_LIFE_FACTOR = Range(1.5 / 2.5, 1.5, 1.5 * 2.5)
#: Half-life once the food has been heated through / before: of 72 mg/kg added to a sausage, about 22 were left after heating
#: and 0.5 after 60 days in the cold, a half-life of 11 days where the law with the factor above has 26 [nitrite-sausage-table].
COOKED = 0.43
#: Share of the nitrite that is left when raw cured food has been heated through, apart from the law: emulsion sausage
#: has about 0.3 of the added nitrite after heating, where the raw batter had 0.75 [nitrite-sausage-table].
HEATED_LEFT = Range(0.2, 0.4, 0.7)
#: Mean temperature [K] of a step from which it counts as heating raw food through: cold smoke stays below, and nitrite reacts
#: within the hour at 55 to 72 degC [nitrite-mortadella].
HEATED_THROUGH = 313.15
#: Usual pH of the raw food by class, plus or minus 0.2: from memory of handbooks of meat science.
USUAL_PH = {"pork": 5.8, "beef": 5.6, "lamb": 5.7, "game": 5.7, "poultry": 6.0, "fish": 6.3, "shellfish": 6.6}
PH_SPREAD = 0.2
_LEAST_PH, _MOST_PH = 5.0, 7.0


def half_life(temperature: Floats, ph: Floats | float) -> Floats:
    """Time in which half of the nitrite in cured meat is used up.

    log10(t_half / h) = 0.65 - 0.025 t + 0.35 pH

    Parameters
    ----------
    temperature : array (n,) [K]
    ph : array (n,) or float [-]
        Kept within 5 to 7.

    Returns
    -------
    array (n,) [s]

    Notes
    -----
    Source: [nordin-1969], a rate law of ham. Valid for 2 to 80 degC and pH 5.3 to 6.5; error x or / 2.5.

    Examples
    --------
    The three figures remembered with the law, 394, 178 and 10 h:

    >>> hours = half_life(np.array([275.15, 293.15, 343.15]), np.array([5.7, 6.0, 6.0])) / 3600
    >>> hours.round().tolist()
    [394.0, 178.0, 10.0]
    """
    exponent = INTERCEPT + PER_DEGREE * (temperature - 273.15) + PER_PH * np.clip(ph, _LEAST_PH, _MOST_PH)
    hours: Floats = np.power(10.0, exponent)
    return 3600.0 * hours


def nitrite_left(present: Floats, entering: Floats, time: Floats, half: Floats) -> Floats:
    """Nitrite after a step in which some enters evenly and all is used up at first order.

    n_end = n e^(-k t) + entering (1 - e^(-k t)) / (k t), k = ln 2 / t_half

    Parameters
    ----------
    present, entering : arrays (n,), any unit
    time, half : arrays (n,) [s]

    Returns
    -------
    array (n,), in the unit of ``present``

    Notes
    -----
    Source: first-order kinetics; no empirical constant. Valid for times and half-lives above 0.

    Examples
    --------
    >>> one = np.ones(1)
    >>> nitrite_left(80 * one, 0 * one, 2 * one, one).tolist()
    [20.0]
    """
    passed = log(2) * time / half
    left = np.exp(-passed)
    share = np.where(passed > 1e-9, -np.expm1(-passed) / np.maximum(passed, 1e-9), 1.0)
    return present * left + entering * share


def usual_ph(food_class: str) -> Range:
    """Usual pH of a raw food, as a range.

    pH = usual -+ 0.2

    Parameters
    ----------
    food_class : str

    Returns
    -------
    Range [-]

    Notes
    -----
    Source: from memory of handbooks of meat science; 6.0 for a class without a figure. Valid for raw food without acid.

    Examples
    --------
    >>> usual_ph("pork").typical
    5.8
    """
    middle = USUAL_PH.get(food_class, 6.0)
    return Range(middle - PH_SPREAD, middle, middle + PH_SPREAD)
