"""Run the uptake model over one method: salt in the food, computed times, and tables by thickness and bath."""

from __future__ import annotations

from msgspec import Struct
from msgspec.structs import replace

from handbook.base.errors import PageError, RangeError
from handbook.base.ranges import Range
from handbook.brine.make_up import MakeUp
from handbook.catalogue.foods import Food
from handbook.page.house import House
from handbook.page.method import Method
from handbook.page.salting import Salting
from handbook.report.calibration import Calibration
from handbook.report.food_at_end import NitriteAfter, finished_activity, nitrite_course, nitrite_inputs
from handbook.report.heat_course import HeatCourse
from handbook.report.salt_stages import SaltInputs, salt_inputs
from handbook.salt.uptake import (
    Piece,
    Stage,
    ThicknessTime,
    UptakeResult,
    UptakeStageResult,
    hours_to_target,
    run,
    salt_at_end,
    time_to_target,
    with_bath_scaled,
)

_TIME_ROUNDS, _TIME_TOLERANCE = 4, 0.005
#: A target up to this multiple of the equilibrium counts as the equilibrium itself, because amounts are rounded.
_AT_EQUILIBRIUM = 1.02


class SaltCourse(Struct, frozen=True, kw_only=True):
    """The uptake run of a method with its target and tables; ``steps`` are the step numbers behind each stage.

    ``target`` is the target salt, ``reached`` the salt that counts as reaching it. ``is_to_equilibrium``: the times of
    other thicknesses are to 95 % of equilibrium. ``activity`` is the water activity of the finished
    food at its surface and centre, ``nitrite`` that after each stage.
    """

    result: UptakeResult
    steps: tuple[tuple[int, ...], ...]
    salting: Salting
    salting_index: int
    target: float | None
    reached: float | None
    durations: dict[int, Range]
    by_thickness: tuple[ThicknessTime, ...]
    thickness_aim: float | None
    is_to_equilibrium: bool
    half_bath: Range | None
    double_bath: Range | None
    activity: dict[str, Range]
    nitrite: tuple[NitriteAfter, ...]

    @property
    def sources(self) -> tuple[str, ...]:
        """Keys of the sources of the run and of the figures from it, without duplicates."""
        more = ["nordin-1969", "nitrite-sausage-table"] if self.nitrite else []
        return tuple(dict.fromkeys([*self.result.sources, "muscle-isotherm", "pitzer-mayorga-1973", *more]))

    @property
    def salted(self) -> UptakeStageResult:
        """The result of the (last) salting's own stage."""
        return self.result.stages[self.salting_index]


def salt_course(
    method: Method,
    food: Food,
    house: House,
    makes: dict[str, MakeUp],
    course: HeatCourse | None,
    calibration: Calibration | None,
) -> SaltCourse | None:
    """Run the uptake model over the method's steps; None for a page without a salting.

    ``makes`` are the make-ups of the saltings for the written batch, by name; ``calibration`` as in salt_inputs().

    Raises
    ------
    PageError   a step is outside the model, with its line
    """
    try:
        inputs = salt_inputs(method, food, house, makes, course, calibration)
        if inputs is None:
            return None
        piece, index = inputs.piece, inputs.salting_index
        target = _target(inputs.salting, food)
        stages, durations = _timed(inputs, target, method)
        reached = None if target is None else reachable(target, stages[index], piece)
        result = run(piece, stages, target=reached, others=nitrite_inputs(food, makes))
        aim = _thickness_aim(result.stages[index], target, inputs.salting)
        by_equilibrium = _is_by_equilibrium(target, reached, inputs.salting)
        times = None if by_equilibrium else aim
        half_bath, double_bath = _other_baths(piece, stages, index)
        return SaltCourse(
            result=result,
            steps=inputs.steps,
            salting=inputs.salting,
            salting_index=index,
            target=target,
            reached=reached,
            durations=durations,
            by_thickness=() if aim is None else _by_thickness(piece, stages[index], times, house, method),
            thickness_aim=aim,
            is_to_equilibrium=by_equilibrium,
            half_bath=half_bath,
            double_bath=double_bath,
            activity=finished_activity(result, food),
            nitrite=nitrite_course(result, makes),
        )
    except RangeError as error:
        line = next(step.line for step in method.steps if method.lies_in(step) is not None)
        raise method.step_fault(error, line) from None


def _target(salting: Salting, food: Food) -> float | None:
    """The stated target as salt / food; None without one, or for a target of food and brine together."""
    if salting.target_salt is None or salting.target_salt.base == "all":
        return None
    x = salting.target_salt.fraction
    if salting.target_salt.base == "food":
        return x
    salt = x / (1 - x) * food.water
    return salt / (1 - food.native_salt_fraction + salt)


def _timed(inputs: SaltInputs, target: float | None, method: Method) -> tuple[list[Stage], dict[int, Range]]:
    """The stages with the computed time of a salting step that waits for its target, and that time by step number."""
    stages, index = list(inputs.stages), inputs.salting_index
    number = inputs.steps[index][-1]
    step = method.steps[number - 1]
    if step.waits_for != "target salt":
        return stages, {}
    piece = inputs.piece
    aim = step_aim(stages[index], piece) if target is None else reachable(target, stages[index], piece)
    found = time_to_target(piece, stages[: index + 1], aim)
    for _ in range(_TIME_ROUNDS):
        # A stated change of weight is that at the end, and the search is for the end.
        took, has_gain = stages[index].duration.typical, stages[index].weight_gain is not None
        if found.typical is None or not has_gain or abs(found.typical / took - 1) < _TIME_TOLERANCE:
            break
        stages[index] = replace(stages[index], duration=Range.exact(found.typical))
        found = time_to_target(piece, stages[: index + 1], aim)
    if found.typical is None:
        allowed = "a target that this brine reaches: more salt, more brine, or a lower target"
        raise PageError(method.file, step.line, f"steps.{number}.until", "target salt", allowed)
    high = found.high if found.high is not None else 3 * found.typical
    duration = Range(found.low or 0.0, found.typical, high)
    # The cook stops at the typical time; the range of the time is that of the pieces.
    stages[index] = replace(stages[index], duration=Range.exact(found.typical))
    return stages, {number: duration}


def step_aim(stage: Stage, piece: Piece) -> float:
    """95 % of the food's salt at equilibrium with the bath: the target where the page states none of the food."""
    water, own = piece.water_fraction.typical, piece.native_salt_fraction.typical
    salt = (stage.bath_salt.typical + own) / (stage.bath_water.typical + water) * water
    return 0.95 * salt / (1 - own + salt)


def reachable(target: float, stage: Stage, piece: Piece) -> float:
    """The salt that counts as reaching ``target``: 95 % of it where it is the equilibrium, which is never reached."""
    if stage.kind not in ("soak", "dry cure"):
        return target
    nearly = step_aim(stage, piece)
    return min(target, nearly) if target <= _AT_EQUILIBRIUM * nearly / 0.95 else target


def _by_thickness(
    piece: Piece, stage: Stage, aim: float | None, house: House, method: Method
) -> tuple[ThicknessTime, ...]:
    sizes = {each.thickness.middle for each in method.pieces.sizes}
    thicknesses = tuple(sorted({each.low for each in house.thicknesses} | sizes))
    return hours_to_target(piece, stage, aim, thicknesses)


def _thickness_aim(salted: UptakeStageResult, target: float | None, salting: Salting) -> float | None:
    """The target salt of other thicknesses; None without a bath.

    It is the stated target; in a strong brine the salt of the page's own piece; else equilibrium.
    """
    if salted.stage.kind != "soak":
        return None
    if target is not None:
        return target
    if salting.kind == "immersion":
        return salted.salt_mass_fraction.typical
    equilibrium = salted.equilibrium_salt_mass_fraction
    return None if equilibrium is None else equilibrium.typical


def _is_by_equilibrium(target: float | None, reached: float | None, salting: Salting) -> bool:
    """Whether the times of other thicknesses are to 95 % of equilibrium, not to a lower salt."""
    return reached != target if target is not None else salting.kind != "immersion"


def _other_baths(piece: Piece, stages: list[Stage], index: int) -> tuple[Range | None, Range | None]:
    if stages[index].kind != "soak":
        return None, None
    before, own = stages[:index], stages[index]  # later stages have no effect here
    half, double = (salt_at_end(piece, [*before, with_bath_scaled(own, factor)]) for factor in (0.5, 2.0))
    return half, double
