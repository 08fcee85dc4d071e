"""Salt of a brine of limited time for a stated salt in the food at its end."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from msgspec.structs import replace

from handbook.base.errors import PageError, RangeError
from handbook.brine.make_up import MakeUp
from handbook.catalogue.foods import Food
from handbook.page.amounts import ToTarget
from handbook.page.house import House
from handbook.page.method import Method
from handbook.page.salting import Salting
from handbook.page.until import TARGET_SALT
from handbook.report.salt_stages import salt_inputs
from handbook.salt.uptake import Spread, salt_at_end

_WIDER, _MOST, _ROUNDS, _CLOSE = 1.6, 12, 40, 1e-5
_ALONE = Spread(samples=0)


def is_for_end(salting: Salting, method: Method) -> bool:
    """Whether an amount names a salt in the food of a brine whose time is limited and stated."""
    named = any(isinstance(each.amount, ToTarget) and each.amount.share for each in salting.ingredients)
    waits = any(step.waits_for == TARGET_SALT for step in method.steps)
    target = salting.target_salt
    return salting.kind == "immersion" and named and not waits and target is not None and target.base == "food"


def made_for_end(
    salting: Salting,
    method: Method,
    food: Food,
    house: House,
    others: Mapping[str, MakeUp],
    make: Callable[[Salting], MakeUp],
) -> MakeUp:
    """The brine with which the typical piece reaches the target at the end of its time in this brine.

    The brine's equilibrium is raised until the uptake model ends at the target. ``others`` are the
    make-ups of the other saltings, ``make`` computes this one.

    Raises
    ------
    PageError   no brine reaches the target in the stated time
    """
    target = salting.target_salt
    if target is None:
        return make(salting)
    lines = tuple(
        replace(line, amount=ToTarget(text=line.amount.text)) if isinstance(line.amount, ToTarget) else line
        for line in salting.ingredients
    )

    def at(fraction: float) -> tuple[MakeUp, float]:
        share = replace(target, fraction=fraction)
        made = make(replace(salting, ingredients=lines, target_salt=share))
        inputs = salt_inputs(method, food, house, {**others, salting.name: made}, None)
        if inputs is None:
            return made, target.fraction
        first = next(index for index, each in enumerate(inputs.stages) if each.name == salting.name)
        return made, salt_at_end(inputs.piece, inputs.stages[: first + 1], _ALONE).typical

    low = high = target.fraction
    try:
        for _ in range(_MOST):
            made, reached = at(high)
            if reached >= target.fraction:
                break
            low, high = high, high * _WIDER
        else:
            raise RangeError("target", target.fraction, "")
        for _ in range(_ROUNDS):
            if abs(reached - target.fraction) <= _CLOSE * target.fraction:
                break
            middle = (low + high) / 2
            made, reached = at(middle)
            low, high = (middle, high) if reached < target.fraction else (low, middle)
    except (PageError, RangeError):
        allowed = "a salt that a brine reaches in the stated time: less salt, more time, or thinner pieces"
        raise PageError(method.file, salting.line, "salting.target_salt", target.text, allowed) from None
    return made
