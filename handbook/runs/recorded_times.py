"""Times that a step took in the kitchen's own runs until its measured end."""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, hypot, log

from handbook.base.ranges import Range
from handbook.page.method import Method
from handbook.page.steps import Step
from handbook.page.until import PH, WATER_ACTIVITY, WEIGHT_LOSS
from handbook.page.until_times import RECORD, UntilTime
from handbook.runs.posterior import normal_posterior
from handbook.runs.run_record import Run, RunRecord
from handbook.uncertainty.sampling import BAND

#: ln of the usual factor between one run's time and the kitchen's own (estimate of the handbook).
TIME_DEVIATION = log(1.25) / BAND
#: Deviation of ln time before any run: almost nothing is known (estimate of the handbook).
PRIOR_DEVIATION = log(4.0) / BAND
#: Error of a run's time: over many days the food is checked about once a day (estimate of the handbook).
LOOKING = 0.03
#: Tolerance by which a measurement may fall short of the end and still count: error of the scale, meter and water
#: activity.
_SLACK = {WEIGHT_LOSS: 0.01, PH: 0.05, WATER_ACTIVITY: 0.005}


def recorded_times(method: Method, runs: Sequence[Run]) -> dict[int, UntilTime]:
    """The time of each step with a measured end by the runs that timed it, by number of the step.

    ln of the time is taken as normal: with few runs the range stays wide, and runs that differ widen it. A run whose
    measurement shows that the end was not reached does not count.
    """
    found = {}
    for number, step in enumerate(method.steps, 1):
        if step.until is None or not step.until.is_measured:
            continue
        times = [taken for each in runs if (taken := _taken(each.record, number, step)) is not None]
        if times:
            duration, deviation = _next(times)
            found[number] = UntilTime(duration=duration, basis=RECORD, runs=len(times), run_deviation=deviation)
    return found


def _next(times: list[float]) -> tuple[Range, float]:
    """The time predicted for one more run, in s, and the deviation of ln time of single runs."""
    logs = [log(each) for each in times]
    posterior = normal_posterior(
        sum(logs) / len(logs), PRIOR_DEVIATION, [(each, LOOKING) for each in logs], TIME_DEVIATION, 0.0
    )
    spread = BAND * hypot(posterior.deviation, posterior.run_deviation)
    return Range(
        exp(posterior.mean - spread), exp(posterior.mean), exp(posterior.mean + spread)
    ), posterior.run_deviation


def _taken(record: RunRecord, number: int, step: Step) -> float | None:
    """Time in s that the run's step took, or None where it is not recorded or the end was not reached."""
    reading = record.step(number)
    if reading is None or reading.time is None or step.until is None or step.until.value is None:
        return None
    what, aim = step.until.what, step.until.value
    if what == WEIGHT_LOSS:
        short = aim - (1 - reading.weight.low / record.filled) if reading.weight else 0.0
    else:
        measured = reading.ph if what == PH else reading.aw
        short = measured - aim if measured is not None else 0.0
    return reading.time.low if short <= _SLACK[what] else None
