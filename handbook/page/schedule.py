"""Steps on one time axis, with ranges for start and end."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from handbook.base.errors import RangeError
from handbook.base.ranges import Range
from handbook.page.steps import Step
from handbook.page.until_times import COMPUTED, STATED, UntilTime

#: Repetitions of one step's action.
MAX_REPEATS = 500


class ScheduledStep(Struct, frozen=True, kw_only=True):
    """One step with duration and start in s. ``repeats`` are the starts of its repeated action, in s from the step's start.

    ``basis`` is COMPUTED, RECORD or STATED: the origin of the duration; ``runs`` is the number of runs of a RECORD.
    """

    step: Step
    number: int
    duration: Range
    start: Range
    repeats: tuple[float, ...]
    basis: str = STATED
    runs: int = 0

    @property
    def is_computed(self) -> bool:
        """Whether the page does not state the duration: a model or the record of the runs gives it."""
        return self.basis != STATED

    @property
    def end(self) -> Range:
        """End of the step, in s."""
        return self.start.plus(self.duration)

    @property
    def hands_on(self) -> Range:
        """Hands-on time in s: the whole step, or its repeated actions."""
        if self.step.hands_on:
            return self.duration
        if self.step.repeat is None or self.step.repeat.takes is None:
            return Range.exact(0.0)
        takes = self.step.repeat.takes.middle
        return Range(*(takes * len(repeat_starts(self.step, end)) for end in self.duration.ends))


class Schedule(Struct, frozen=True, kw_only=True):
    """All steps in order."""

    steps: tuple[ScheduledStep, ...]

    @property
    def ready(self) -> ScheduledStep:
        """The step at whose end the food is ready: the last that serves it, else the last step.

        Later steps are for leftovers.
        """
        return next((each for each in reversed(self.steps) if each.step.stage == "serve"), self.steps[-1])

    @property
    def total(self) -> Range:
        """Time from the start until the food is ready, in s."""
        return self.ready.end

    @property
    def hands_on(self) -> Range:
        """Sum of the hands-on times, in s."""
        total = Range.exact(0.0)
        for each in self.steps:
            total = total.plus(each.hands_on)
        return total


def schedule(
    steps: tuple[Step, ...], computed: Mapping[int, Range], until: Mapping[int, UntilTime] | None = None
) -> Schedule:
    """The steps in sequence. ``computed`` gives the durations in s of steps without a time, by number from 1.

    ``until`` gives the times of the steps with a measured end. The steps already contain these times.

    Raises KeyError for a step without a time that is missing from ``computed``, RangeError for an action repeated more
    than MAX_REPEATS times in a step.
    """
    timed, start = [], Range.exact(0.0)
    for number, step in enumerate(steps, 1):
        if wait := (until or {}).get(number):
            duration, basis, runs = wait.duration, wait.basis, wait.runs
        elif step.time is not None:
            duration, basis, runs = Range.of(step.time), STATED, 0
        else:
            duration, basis, runs = computed[number], COMPUTED, 0
        repeat_starts(step, duration.high)  # raises for the longest duration too
        timed.append(
            ScheduledStep(
                step=step,
                number=number,
                duration=duration,
                start=start,
                repeats=repeat_starts(step, duration.typical),
                basis=basis,
                runs=runs,
            )
        )
        start = start.plus(duration)
    return Schedule(steps=tuple(timed))


def repeat_starts(step: Step, duration: float) -> tuple[float, ...]:
    """Starts of the step's repeated action in s, at multiples of ``every`` before the step's end.

    Raises RangeError, with the line of the page, for more than MAX_REPEATS of them.
    """
    if step.repeat is None:
        return ()
    every = step.repeat.every.middle
    count = int((duration - 1e-6) / every)
    if count > MAX_REPEATS:
        raise RangeError("repeat", count, f"at most {MAX_REPEATS} times in one step", step.repeat.line)
    return tuple(every * number for number in range(1, count + 1))
