"""What a kitchen's own runs have taught: figures with the published band before and the kitchen's band after."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp, hypot, log

import numpy as np

from handbook.base.ranges import Range
from handbook.salt.diffusivity import Diffusivity
from handbook.uncertainty.sampling import BAND


@dataclass(frozen=True, kw_only=True)
class CalibratedFigure:
    """One figure before and after: means and standard deviations of a normal belief.

    ``is_factor``: the belief is on the logarithm of a factor on the published figure; else on a shift added to it.
    ``run_deviation`` is how far single runs stray from the kitchen's own figure: no number of runs removes it.
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
        """The same for one more run: the kitchen's figure and what single runs stray from it."""
        return self._range(self.mean, hypot(self.deviation, self.run_deviation))

    def shifted(self, published: Range) -> Range:
        """``published`` with the kitchen's shift and band in place of its own."""
        shift = self.next_run
        return Range(*(published.typical + end for end in (shift.low, shift.typical, shift.high)))

    def _range(self, mean: float, deviation: float) -> Range:
        ends = (mean - BAND * deviation, mean, mean + BAND * deviation)
        return Range(*(exp(end) if self.is_factor else end for end in ends))


@dataclass(frozen=True, kw_only=True)
class Calibration:
    """The figures of one method in one kitchen; None where no run tells.

    salt : factor on the effective diffusivity of salt, learned at ``salt_temperature`` (K)
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
        """Whether no figure was learned."""
        return all(each is None for each in (self.salt, self.gain, self.loss, self.come_up))

    def diffusivity(self, published: Diffusivity) -> Diffusivity:
        """``published`` with the kitchen's factor, its band narrowest at the temperature of the runs."""
        value, _ = published.values(np.array([self.salt_temperature]))
        factor = self.salt.next_run
        return replace(
            published,
            reference=float(value[0]) * factor.typical,
            reference_temperature=self.salt_temperature,
            spread_factor=exp(0.5 * log(factor.high / factor.low)),
        )
