"""Figures calibrated by a kitchen's own runs: each with its published range and its range after the runs."""

from __future__ import annotations

from math import exp, hypot, log

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from handbook.base.ranges import Range
from handbook.salt.diffusivity import Diffusivity
from handbook.uncertainty.sampling import BAND


class CalibratedFigure(Struct, frozen=True, kw_only=True):
    """Prior and posterior of one figure: means and standard deviations of normal distributions.

    ``is_factor``: the distribution is of the logarithm of a factor on the published figure; else of a shift added to it.
    ``run_deviation`` is the deviation of single runs from the kitchen's own figure; more runs do not reduce it.
    """

    prior_mean: float
    prior_deviation: float
    mean: float
    deviation: float
    run_deviation: float
    runs: int
    is_factor: bool = True

    @property
    def before(self) -> Range:
        """The published figure with its range for this kitchen."""
        return self._range(self.prior_mean, self.prior_deviation)

    @property
    def after(self) -> Range:
        """The kitchen's figure with its range."""
        return self._range(self.mean, self.deviation)

    @property
    def next_run(self) -> Range:
        """The range predicted for one more run: the kitchen's figure with the deviation of single runs."""
        return self._range(self.mean, hypot(self.deviation, self.run_deviation))

    def shifted(self, published: Range) -> Range:
        """``published`` shifted to the kitchen's figure, with the kitchen's band."""
        shift = self.next_run
        return Range(*(published.typical + end for end in shift.ends))

    def _range(self, mean: float, deviation: float) -> Range:
        ends = (mean - BAND * deviation, mean, mean + BAND * deviation)
        return Range(*(exp(end) if self.is_factor else end for end in ends))


class Calibration(Struct, frozen=True, kw_only=True):
    """The calibrated figures of one method in one kitchen; None where no run measured them.

    salt : factor on the effective diffusivity of salt, calibrated at ``salt_temperature`` (K)
    gain : shift of the change of weight in the bath, of green weight
    loss : factor on the loss of weight that the heat model computes
    come_up : factor on the time to the core that the heat model computes
    """

    runs: int
    salt: CalibratedFigure | None = None
    salt_temperature: float = 276.15
    gain: CalibratedFigure | None = None
    loss: CalibratedFigure | None = None
    come_up: CalibratedFigure | None = None

    @property
    def is_empty(self) -> bool:
        """Whether no figure is calibrated."""
        return all(each is None for each in (self.salt, self.gain, self.loss, self.come_up))

    def diffusivity(self, published: Diffusivity) -> Diffusivity:
        """``published`` with the kitchen's factor, if any; its range is narrowest at the temperature of the runs."""
        if self.salt is None:
            return published
        value, _ = published.values(np.array([self.salt_temperature]))
        factor = self.salt.next_run
        return replace(
            published,
            reference=float(value[0]) * factor.typical,
            reference_temperature=self.salt_temperature,
            spread_factor=exp(0.5 * log(factor.high / factor.low)),
        )
