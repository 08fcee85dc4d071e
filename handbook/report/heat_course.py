"""Run the heat model over one method: core curves, yield, and the times of steps that wait for a core."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from handbook.base.errors import BeyondModelError, PageError, RangeError, UnfollowedError
from handbook.base.ranges import Range
from handbook.brine.make_up import MakeUp
from handbook.catalogue.foods import Food
from handbook.heat.heat_run import HeatResult, HeatSpread, HeatStage, HeatStageResult, TimeReached, run
from handbook.heat.heated_piece import HeatPiece
from handbook.page.heated import has_curve
from handbook.page.house import House
from handbook.page.method import Method
from handbook.page.steps import Step
from handbook.page.until_times import RECORD, UntilTime
from handbook.report.heat_stages import first_heat_step, heat_piece, heat_stages, is_followed
from handbook.warmth.box import BoxCourse


class CoreTime(Struct, frozen=True, kw_only=True):
    """When the core reaches a step's target. Times in s from the step's start; ``tested`` is the computed time span.

    ``target`` is a core temperature in K; None for a step that waits for a reduction of germs.
    """

    number: int
    target: float | None
    hold: float
    reached: TimeReached
    tested: float
    stated: Range | None

    @property
    def duration(self) -> Range:
        """Time in s from the step's start to the end of the hold. A target not reached counts as ``tested``, and the range
        is open.
        """
        ends = [
            self.tested if end is None else end for end in (self.reached.low, self.reached.typical, self.reached.high)
        ]
        return Range(*(end + self.hold for end in sorted(ends)), is_open=self.reached.high is None)

    @property
    def verdict(self) -> str:
        """The stated time compared with the computed one: "inside", "short", "long", or "none stated"."""
        if self.stated is None:
            return "none stated"
        if self.stated.high < self.duration.low:
            return "short"
        return "long" if self.stated.low > self.duration.high else "inside"


class HeatCourse(Struct, frozen=True, kw_only=True):
    """The heat run of a method. ``first`` is the number (from 1) of the first step of the curve.

    ``drying`` are the numbers of the steps that end when the food is dry enough.
    """

    first: int
    result: HeatResult
    core_times: tuple[CoreTime, ...]
    has_spread: bool
    drying: tuple[int, ...] = ()

    def stage(self, number: int) -> HeatStageResult | None:
        """The result of step ``number``; None for a step before or after the curve."""
        index = number - self.first
        return self.result.stages[index] if 0 <= index < len(self.result.stages) else None


def heat_course(
    method: Method,
    food: Food,
    house: House,
    salt_to_water: float,
    glazes: dict[str, MakeUp],
    boxes: Mapping[int, BoxCourse] | None = None,
    pace: Range | None = None,
) -> HeatCourse | None:
    """Run the heat model over the method's steps; None where nothing is smoked or cooked.

    ``salt_to_water`` in kg/kg lowers the surface's water activity; ``boxes`` are the courses of steps in a box, by
    number. ``pace`` is the factor on the diffusivity of water from the kitchen's own runs, in place of the published
    spread.

    Raises
    ------
    PageError         a step is outside the model, such as air above saturation UnfollowedError the piece leaves the
    range of the model: it dries out or chars
    """
    if not is_followed(method, food):
        return None
    first = first_heat_step(method)
    try:
        piece = heat_piece(method, food, house, salt_to_water)
        stages = heat_stages(method, food, house, glazes, boxes)
        result, has_spread = _run(piece, stages, HeatSpread(moisture_diffusivity=pace) if pace else None)
        times = tuple(
            _core_time(result, index, step, first + index + 1)
            for index, step in enumerate(method.steps[first : first + len(stages)])
            if (step.core is not None or step.waits_for == "lethality") and has_curve(step)
        )
    except BeyondModelError as error:
        raise UnfollowedError(method.file, error.line or method.steps[first].line, error) from None
    except RangeError as error:
        raise method.step_fault(error, method.steps[first].line) from None
    waiting = tuple(first + index + 1 for index, stage in enumerate(stages) if stage.dries)
    _check_dried(method, result, first, waiting)
    return HeatCourse(first=first + 1, result=result, core_times=times, has_spread=has_spread, drying=waiting)


def _check_dried(method: Method, result: HeatResult, first: int, waiting: tuple[int, ...]) -> None:
    """Raise PageError for a step whose dryness the typical piece never reaches in its air."""
    for number in waiting:
        finish, step = result.stages[number - first - 1].finish, method.steps[number - 1]
        if finish is None or np.isfinite(finish.reached[0]) or step.until is None:
            continue
        allowed = "what this air reaches within 400 days: less humid or warmer air, a thinner piece, or an earlier end"
        raise PageError(method.file, step.line, f"steps.{number}.until", step.until.text, allowed)


def _run(piece: HeatPiece, stages: Sequence[HeatStage], spread: HeatSpread | None) -> tuple[HeatResult, bool]:
    """The run with its spread, or the typical piece alone where other samples leave the model's range."""
    try:
        return _strict_run(piece, stages, spread), True
    except RangeError:
        return _strict_run(piece, stages, replace(spread or HeatSpread(), samples=0)), False


def _strict_run(piece: HeatPiece, stages: Sequence[HeatStage], spread: HeatSpread | None) -> HeatResult:
    """Run the model; raise RangeError for a piece that dries or chars past the model's range, never return NaN."""
    with np.errstate(invalid="raise", divide="raise", over="raise"):
        try:
            return run(piece, stages, spread)
        except FloatingPointError:
            raise BeyondModelError("moisture of the piece", 0.0, "above 0: a shorter or cooler step") from None


def core_durations(course: HeatCourse | None, come_up: Range | None) -> dict[int, Range]:
    """Duration in s by step number, of the steps without a stated time that wait for a core.

    ``come_up`` is the kitchen's own factor on the typical time to the core, in place of the model's spread.
    """
    if course is None:
        return {}
    return {each.number: _duration(each, come_up) for each in course.core_times if each.stated is None}


def drying_durations(course: HeatCourse | None) -> dict[int, Range]:
    """Duration in s by step number, of the steps that wait until the food is dry enough."""
    found = {}
    for index, stage in enumerate(course.result.stages if course else ()):
        if course is None or course.first + index not in course.drying or stage.finish is None:
            continue
        reached = course.result.reached(stage.finish.reached)
        ends = [stage.finish.tested if end is None else end for end in (reached.low, reached.typical, reached.high)]
        found[course.first + index] = Range(*(float(end) for end in sorted(ends)), is_open=reached.high is None)
    return found


def taught_pace(modelled: Mapping[int, Range], until: Mapping[int, UntilTime]) -> Range | None:
    """Rate at which water leaves in this kitchen / the published rate, by the runs of the longest drying step that they timed."""
    timed = [number for number in modelled if number in until and until[number].basis == RECORD]
    if not timed:
        return None
    number = max(timed, key=lambda each: modelled[each].typical)
    model, own = modelled[number].typical, until[number].duration
    return Range(model / own.high, model / own.typical, model / own.low) if own.low > 0 else None


def _duration(core_time: CoreTime, come_up: Range | None) -> Range:
    if come_up is None or core_time.reached.typical is None:
        return core_time.duration
    return come_up.times(core_time.reached.typical).plus(Range.exact(core_time.hold))


def _core_time(result: HeatResult, index: int, step: Step, number: int) -> CoreTime:
    stage = result.stages[index]
    if stage.finish is not None:
        reached, tested = result.reached(stage.finish.reached), stage.finish.tested
    else:
        target = step.core.low if step.core else 0.0
        reached, tested = result.core_time(target, start=stage.start), stage.end - stage.start
    return CoreTime(
        number=number,
        target=step.core.low if step.core else None,
        hold=step.hold.middle if step.hold and step.waits_for != "lethality" else 0.0,
        reached=reached,
        tested=tested,
        stated=Range.of(step.time) if step.time else None,
    )
