"""Chamber, bath or room of one stage, sample by sample."""

from __future__ import annotations

from functools import cached_property

import numpy as np
from msgspec import Struct

from handbook.base.arrays import Floats
from handbook.base.errors import RangeError
from handbook.base.units import celsius
from handbook.heat.evaporation import mass_conductance
from handbook.heat.heated_piece import COVER_EFFECTS, HEATED, HeatStage
from handbook.heat.humid_air import saturation
from handbook.uncertainty.sampling import Draws

_MOST_VAPOUR = 0.98  # of the total pressure


class Surroundings(Struct, frozen=True, kw_only=True, dict=True):
    """Surroundings of one stage, sample by sample, arrays (n,).

    start, end : chamber temperature [K]
    coefficient : of convection [W/(m2 K)]
    humidity : relative humidity [-]; or ``vapour_pressure`` [Pa]
    most_vapour : highest vapour pressure allowed [Pa]
    open_fraction, emissivity, gap : of the cover, see Cover; ``gap`` (n,) in W/(m2 K)
    """

    start: Floats
    end: Floats
    duration: float
    coefficient: Floats
    humidity: Floats | None
    vapour_pressure: Floats | None
    is_air: bool
    most_vapour: float
    open_fraction: float = 1.0
    emissivity: float | None = None
    gap: Floats | None = None
    is_drying: bool = False

    def temperature(self, elapsed: float) -> Floats:
        """Chamber temperature at a time of the stage.

        T = T_start + (T_end - T_start) min(t / t_stage, 1)

        Parameters
        ----------
        elapsed : float [s]
            From the start of the stage.

        Returns
        -------
        array (n,) [K]

        Notes
        -----
        Source: linear ramp; no empirical constant. Valid for any time of the stage.

        Examples
        --------
        >>> from handbook.base.ranges import Range
        >>> ramp = HeatStage(name="smoke", medium="water", duration=3600.0, temperature=Range.exact(300.15),
        ...                  end_temperature=Range.exact(340.15), heat_transfer_coefficient=Range.exact(200.0))
        >>> surroundings(ramp, Draws([], 0), 101325.0).temperature(1800.0).tolist()
        [320.15]
        """
        if self.end is self.start:
            return self.start
        return self.start + (self.end - self.start) * min(elapsed / self.duration, 1.0)

    def vapour(self, temperature: Floats) -> Floats:
        """Vapour pressure of the chamber air.

        p_v = min(RH p_sat(T), p_most), or min(p_dew, p_sat(T))

        Parameters
        ----------
        temperature : array (n,) [K]
            Chamber temperature.

        Returns
        -------
        array (n,) [Pa]

        Notes
        -----
        Source: [hyland-wexler-1983]. Valid for air from 250 to 473 K; see ``saturation``.

        Examples
        --------
        >>> from handbook.base.ranges import Range
        >>> air = HeatStage(name="smoke", medium="air", duration=3600.0, temperature=Range.exact(313.15),
        ...                 relative_humidity=Range.exact(0.5), heat_transfer_coefficient=Range.exact(10.0))
        >>> around = surroundings(air, Draws([], 0), 101325.0)
        >>> round(float(around.vapour(np.array([313.15]))[0])), round(float(saturation(np.array([313.15]))[0] / 2))
        (3692, 3692)
        """
        if temperature is self.start:
            return self._vapour_at_start
        return self._vapour(temperature)

    def film(self, temperature: Floats, pressure: float) -> tuple[Floats, Floats]:
        """Mole fraction of vapour in the air and conductance of its film.

        y = p_v / p, g = h M_water / (C_molar Le^(2/3))

        Parameters
        ----------
        temperature : array (n,) [K]
            Chamber temperature.
        pressure : float [Pa]

        Returns
        -------
        array (n,) [-]
        array (n,) [kg/(m2 s)]

        Notes
        -----
        Source: [lewis-number]. Valid as ``mass_conductance``.

        Examples
        --------
        >>> from handbook.base.ranges import Range
        >>> air = HeatStage(name="smoke", medium="air", duration=3600.0, temperature=Range.exact(313.15),
        ...                 relative_humidity=Range.exact(0.5), heat_transfer_coefficient=Range.exact(10.0))
        >>> share, conductance = surroundings(air, Draws([], 0), 101325.0).film(np.array([313.15]), 101325.0)
        >>> round(float(share[0]), 4), round(float(conductance[0]), 4)
        (0.0364, 0.0067)
        """
        if temperature is self.start:
            return self._film_at_start(pressure)
        share = self.vapour(temperature) / pressure
        return share, mass_conductance(self.coefficient, share)

    @cached_property
    def _vapour_at_start(self) -> Floats:
        return self._vapour(self.start)

    def _film_at_start(self, pressure: float) -> tuple[Floats, Floats]:
        if pressure not in self._film_store:
            share = self._vapour_at_start / pressure
            self._film_store[pressure] = (share, mass_conductance(self.coefficient, share))
        return self._film_store[pressure]

    @cached_property
    def _film_store(self) -> dict[float, tuple[Floats, Floats]]:
        return {}

    def _vapour(self, temperature: Floats) -> Floats:
        saturated = saturation(temperature)
        held: Floats | float = self.most_vapour if self.vapour_pressure is None else self.vapour_pressure
        vapour: Floats = np.minimum(saturated if self.humidity is None else self.humidity * saturated, held)
        return vapour


def surroundings(stage: HeatStage, draws: Draws, pressure: float) -> Surroundings:
    """Surroundings of a stage in each of the samples.

    p_v = RH p_sat(T) <= 0.98 p

    Parameters
    ----------
    stage : HeatStage
    draws : Draws
    pressure : float [Pa]

    Returns
    -------
    Surroundings

    Raises
    ------
    RangeError  air as stated would hold more vapour than the total pressure

    Notes
    -----
    Samples beyond the stated limit are set to it.
    Source: [hyland-wexler-1983] for the limit of vapour; [heat-estimates] for unstated humidity.
    Valid for air, water and steam as HeatStage allows them.

    Examples
    --------
    >>> from handbook.base.ranges import Range
    >>> bath = HeatStage(name="bath", medium="water", duration=60.0, temperature=Range.exact(333.15),
    ...                  heat_transfer_coefficient=Range.exact(200.0))
    >>> surroundings(bath, Draws([], 0), 101325.0).coefficient.tolist()
    [200.0]
    """
    start = draws.of(stage.chamber_input(stage.temperature))
    end = draws.of(stage.chamber_input(stage.end_temperature)) if stage.end_temperature else start
    coefficient = draws.of(stage.airflow_input)
    is_air = stage.medium == "air"
    most_vapour = _MOST_VAPOUR * pressure
    humidity = vapour = None
    if is_air and (stage.relative_humidity is not None or max(start[0], end[0]) < HEATED):
        humidity = draws.of(stage.humidity_input)
        _check_vapour(stage, pressure)
    elif is_air:
        vapour = saturation(draws.of(stage.dew_point_input))
    cover, gap = COVER_EFFECTS[stage.cover], stage.gap_input
    return Surroundings(
        start=start,
        end=end,
        duration=stage.duration,
        coefficient=coefficient,
        humidity=humidity,
        vapour_pressure=vapour,
        is_air=is_air,
        most_vapour=most_vapour,
        open_fraction=cover.open_fraction,
        emissivity=cover.emissivity,
        gap=None if gap is None else draws.of(gap),
        is_drying=stage.is_drying,
    )


def _check_vapour(stage: HeatStage, pressure: float) -> None:
    # The typical air. Samples beyond the limit are set to it.
    humidity = stage.humidity_input.range.typical
    hottest = max(each.typical for each in (stage.temperature, stage.end_temperature or stage.temperature))
    most = pressure / float(saturation(np.array([hottest]))[0])
    if humidity > most:
        allowed = f"at most {most:.0%} at {celsius(hottest):.0f} °C: air hotter than boiling water holds no more"
        raise RangeError("humidity", humidity, allowed, stage.line, f"{humidity:.0%}")
