"""Movement of acid from a brine into a piece, and the time until its centre is acid enough."""

from __future__ import annotations

import numpy as np

from handbook.base.arrays import Floats
from handbook.base.ranges import Range
from handbook.salt.diffusion import Geometry
from handbook.salt.evolution import open_modes

#: Acetic acid in water at 25 °C, m2/s, and the ratio of the rate in food to it, taken as that of salt
#: in muscle, 0.2 to 0.4 of its rate in water [acid-diffusion].
IN_WATER, THROUGH = 1.21e-9, Range(0.12, 0.3, 0.8)
_WARM, _ACTIVATION, _GAS = 298.15, 19e3, 8.314463
_FOURIER = np.concatenate(([0.0], np.geomspace(1e-3, 10.0, 200)))


def centre_course(shape: Geometry, fourier: Floats) -> Floats:
    """Acid at the centre of a piece as a share of that at equilibrium.

    c / c_end = 1 - sum(a_m e_m exp(-lambda_m F))

    Parameters
    ----------
    shape : Geometry
    fourier : array (n,) [-]
        D t / L^2.

    Returns
    -------
    array (n,) [-]

    Notes
    -----
    The brine is taken as large and stirred, so the first hours are slightly too fast.
    Source: [crank-1975]. Valid for constant D.

    Examples
    --------
    At D t / L^2 = 1 the centre of a sheet is at 0.892 (tests/published/crank_sheet.csv):

    >>> from handbook.salt.diffusion import geometry
    >>> round(float(centre_course(geometry("slab"), np.array([1.0]))[0]), 3)
    0.892
    """
    rates, modes = open_modes(shape)
    weights = modes[0] * (shape.centre @ modes)
    course: Floats = 1.0 - np.exp(-np.multiply.outer(np.asarray(fourier), rates)) @ weights
    return course


def time_to_share(shape: Geometry, half_thickness: float, share: float, temperature: float) -> Range | None:
    """Time until the centre has a share of its acid at equilibrium.

    t = F(share) L^2 / D,  D = through D_water exp(E / R (1 / 298.15 - 1 / T))

    Parameters
    ----------
    shape : Geometry
    half_thickness : float [m]
    share : float [-]
    temperature : float [K]

    Returns
    -------
    Range [s]; None for a share that equilibrium does not reach

    Notes
    -----
    Source: [crank-1975], [acid-diffusion]: the diffusivity of acetic acid in water from memory. No value in food was
    found, so its share is that of salt in muscle, with a wide range.
    Valid for cut or peeled food, 0 to 60 °C. A whole cucumber's skin lets a thousandth through [cucumber-stomata].

    Examples
    --------
    A peeled egg of 44 mm at 7 °C, to a third of its acid, in days:

    >>> from handbook.salt.diffusion import geometry
    >>> found = time_to_share(geometry("sphere"), 0.022, 0.33, 280.15)
    >>> round(found.typical / 86400, 1)
    2.7
    """
    if share >= 1.0:
        return None
    course = centre_course(shape, _FOURIER)
    fourier = float(np.interp(share, np.maximum.accumulate(course), _FOURIER))
    pace = float(np.exp(_ACTIVATION / _GAS * (1.0 / _WARM - 1.0 / temperature)))
    rate = THROUGH.times(IN_WATER * pace)
    return Range(*(fourier * half_thickness**2 / each for each in reversed(rate.ends)))
