"""The food from raw to plate, in spans: duration, temperature around it, core temperature, medium.

Rules read this timeline and the state of the food. They do not read the name of a stage, a page's kind or its title.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

import numpy as np
from msgspec import Struct

from handbook.base.ranges import Range
from handbook.page.heated import heating_numbers
from handbook.page.steps import Step
from handbook.safety.case import SafetyCase, once
from handbook.safety.notions import notion
from handbook.safety.step_times import surroundings

#: K: food in surroundings up to this is frozen, up to COLD it is in the cold, and up to COOLS hot food cools.
FROZEN, COLD, COOLS = notion("frozen"), notion("cold"), notion("cools")
MINUTE, HOUR, DAY = 60.0, 3600.0, 86400.0
_ALONE = notion("left-alone")


class Span(Struct, frozen=True, kw_only=True):
    """One step on the timeline. ``duration`` in s and ``around`` in K are None where the page states none.

    ``core`` is the coldest and the typical computed core in K over the span, arrays (2, n), or None without a curve.
    """

    step: Step
    number: int
    line: int
    duration: Range | None
    around: Range | None
    is_heat: bool
    is_frozen: bool
    medium: str
    core: np.ndarray | None = None
    core_time: np.ndarray | None = None

    @property
    def longest(self) -> float:
        """The longest duration in s; infinite where the page states none."""
        return float("inf") if self.duration is None else self.duration.high

    @property
    def is_cold(self) -> bool:
        """Whether the food is frozen or certainly in cold surroundings."""
        return self.is_frozen or (self.around is not None and self.around.high <= COLD)

    @property
    def is_alone(self) -> bool:
        """Whether the food is unattended: a step without hands, or one longer than anyone attends it."""
        return not self.step.hands_on or self.longest > _ALONE

    def time_below(self, hot: float) -> float:
        """Time in s of the span in which the typical computed core is below ``hot``; the whole span without a curve."""
        if self.core is None or self.core_time is None or self.core_time.size < 2:
            return self.longest
        below = self.core[1] < hot
        share = float(np.sum(np.diff(self.core_time)[below[1:]])) / max(float(np.ptp(self.core_time)), 1.0)
        return self.longest * share


@once
def timeline(case: SafetyCase) -> tuple[Span, ...]:
    """All spans of the page's steps in order."""
    timed = {each.number: each.duration for each in case.schedule.steps} if case.schedule else {}
    heating = heating_numbers(case.method)
    return tuple(
        Span(
            step=step,
            number=number,
            line=step.line,
            duration=timed.get(number) or (Range.of(step.time) if step.time else None),
            around=(around := surroundings(case, step)),
            is_heat=number in heating,
            is_frozen=_is_frozen(step, around),
            medium=_medium(case, step),
            **_core(case, number),
        )
        for number, step in enumerate(case.method.steps, 1)
    )


def heat_spans(case: SafetyCase) -> tuple[Span, ...]:
    """The spans that heat the food."""
    return tuple(each for each in timeline(case) if each.is_heat)


def stated_core(case: SafetyCase) -> tuple[tuple[Span, float, float], ...]:
    """(span, core in K, hold in s) of every heated span whose step states a core."""
    return tuple(
        (each, each.step.core.low, each.step.hold.low if each.step.hold else 0.0)
        for each in heat_spans(case)
        if each.step.core is not None
    )


def before_heat(case: SafetyCase) -> tuple[Span, ...]:
    """The spans before the first heat; all spans where no step heats."""
    spans = timeline(case)
    first = next((index for index, each in enumerate(spans) if each.is_heat), len(spans))
    return spans[:first]


def after_heat(case: SafetyCase) -> tuple[Span, ...]:
    """The spans after the last heat; none where no step heats."""
    spans = timeline(case)
    last = max((index for index, each in enumerate(spans) if each.is_heat), default=len(spans))
    return spans[last + 1 :]


def frozen_spans(case: SafetyCase) -> tuple[Span, ...]:
    """The spans in which the food is frozen, by temperature or by statement."""
    return tuple(each for each in timeline(case) if each.is_frozen)


def thawing_spans(case: SafetyCase) -> tuple[Span, ...]:
    """The spans in which frozen food thaws: unattended spans after the freezing."""
    return tuple(
        later
        for earlier, later in pairwise(timeline(case))
        if earlier.is_frozen and not later.is_frozen and not later.is_heat and later.is_alone
    )


def with_heat_and_time(spans: Iterable[Span]) -> list[tuple[Span, Range, Range]]:
    """The spans whose temperature and time are both known, each as (span, temperature around it in K, time in s)."""
    return [
        (each, each.around, each.duration) for each in spans if each.around is not None and each.duration is not None
    ]


def _is_frozen(step: Step, around: Range | None) -> bool:
    if around is not None:
        return around.high <= FROZEN
    return step.place == "freezer"


def _medium(case: SafetyCase, step: Step) -> str:
    if step.medium is not None:
        return step.medium
    salting = case.method.lies_in(step)
    if salting is not None and salting.is_bath:
        return "brine"
    return "water" if step.air == "water" else "air"


def _core(case: SafetyCase, number: int) -> dict[str, np.ndarray]:
    ends = case.stage_times.get(number)
    if ends is None or case.core is None:
        return {}
    inside = (case.core.time >= ends[0] - 1e-6) & (case.core.time <= ends[1] + 1e-6)
    if inside.sum() < 2:
        return {}
    return {"core": np.stack([case.core.low, case.core.typical])[:, inside], "core_time": case.core.time[inside]}
