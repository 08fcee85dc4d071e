"""The times of steps that wait for a loss of weight, a pH or a water activity, and the origin of each time."""

from __future__ import annotations

from collections.abc import Mapping
from math import exp, hypot, log, sqrt

from msgspec import Struct
from msgspec.structs import replace

from handbook.base.ranges import Range
from handbook.base.units import Quantity
from handbook.page.method import Method
from handbook.uncertainty.sampling import BAND

#: Origins of a step's time: a model, this kitchen's own runs of the method, or the page.
COMPUTED, RECORD, STATED = "computed", "record", "stated"


class UntilTime(Struct, frozen=True, kw_only=True):
    """Time of a step until its measured end, in s. ``runs`` is the number of runs from which a recorded time is taken.

    ``run_deviation`` is the deviation of ln time of single runs around the kitchen's own.
    """

    duration: Range
    basis: str
    runs: int = 0
    run_deviation: float = 0.0

    @property
    def as_written(self) -> Quantity:
        """The time as a quantity, for the models that read a step's time."""
        duration = self.duration
        return Quantity(low=duration.low, high=duration.high, dimension="time", is_estimated=True)


def until_times(
    method: Method, modelled: Mapping[int, Range], recorded: Mapping[int, UntilTime]
) -> tuple[dict[int, UntilTime], tuple[int, ...]]:
    """The time of each step with a measured end, by number from 1, and the numbers of those whose time is unknown.

    A model comes first, corrected by the runs; then the recorded runs; then the time that the page states for planning.
    """
    found, unknown = {}, []
    for number, step in enumerate(method.steps, 1):
        if step.until is None or not step.until.is_measured:
            continue
        if number in modelled and number in recorded:
            found[number] = learned(modelled[number], recorded[number])
        elif number in modelled:
            found[number] = UntilTime(duration=modelled[number], basis=COMPUTED)
        elif number in recorded:
            found[number] = recorded[number]
        elif step.time is not None:
            found[number] = UntilTime(duration=Range.of(step.time), basis=STATED)
        else:
            unknown.append(number)
    return found, tuple(unknown)


def learned(model: Range, record: UntilTime) -> UntilTime:
    """The time of the next run from a model and the runs: ln of both is normal, and each is weighted by its precision."""
    own = record.duration
    if min(model.low, own.low) <= 0:
        return record
    spread = log(model.high / model.low) / (2 * BAND)
    known = sqrt(max((log(own.high / own.typical) / BAND) ** 2 - record.run_deviation**2, 1e-6))
    weights = 1 / max(spread, 0.05) ** 2, 1 / known**2
    mean = (weights[0] * log(model.typical) + weights[1] * log(own.typical)) / sum(weights)
    deviation = BAND * hypot(1 / sqrt(sum(weights)), record.run_deviation)
    return replace(record, duration=Range(exp(mean - deviation), exp(mean), exp(mean + deviation)))


def with_times(method: Method, times: Mapping[int, UntilTime]) -> Method:
    """The method with these times in its steps, as models, clock and safety rules read them."""
    steps = tuple(
        replace(step, time=times[number].as_written) if number in times and times[number].basis != STATED else step
        for number, step in enumerate(method.steps, 1)
    )
    return replace(method, steps=steps)
