"""Limits on the computing work of one page, far above what any method needs."""

from __future__ import annotations

from handbook.base.errors import PageError
from handbook.base.forms import Reading
from handbook.page.heated import DRYNESS, has_curve
from handbook.page.method import Method
from handbook.page.salting import Glaze, Salting
from handbook.page.schedule import MAX_REPEATS
from handbook.page.steps import Repeat, Step
from handbook.report.heat_stages import LONGEST
from handbook.report.salt_stages import moves_salt

#: Steps in which salt moves.
MAX_SALT_STEPS = 100
#: Repeated actions of all steps together.
MAX_REPEATS_ON_PAGE = 1500
#: Steps that wait for the core: each is computed past the typical piece's time, until slow pieces reach it.
MAX_WAITS = 40
#: Amounts in the tables of the page: ingredients of all salting and glaze blocks times batches.
MAX_AMOUNTS = 3_000
_COMPUTED = ("core", "lethality", *DRYNESS)


def budget_faults(method: Method) -> list[PageError]:
    """Faults of a page above a limit of work: one for each limit, at the first line above it."""
    reading = Reading(file=method.file)
    _check_work(method, reading)
    return reading.faults


def _check_work(method: Method, reading: Reading) -> None:
    _check_salt_steps(method, reading)
    _check_waits(method, reading)
    _check_amounts(method, reading)
    total = 0.0
    for number, step in enumerate(method.steps, 1):
        if step.repeat is None:
            continue
        repeats = _repeats(step, step.repeat)
        key, every = f"steps.{number}.repeat.every", step.repeat.every.text
        if repeats > MAX_REPEATS:
            allowed = f"at most {MAX_REPEATS} times in the step" + ("" if step.time else ", which may take 24 h")
            reading.fault(step.repeat.line, key, every, allowed)
        total += min(repeats, MAX_REPEATS)
        if total > MAX_REPEATS_ON_PAGE:
            reading.fault(step.repeat.line, key, every, f"at most {MAX_REPEATS_ON_PAGE} repeated actions on the page")
            return


def _repeats(step: Step, repeat: Repeat) -> float:
    """Upper bound of the repeats computed before the step's time is known: all, or those of a glaze."""
    if step.time is None:
        return LONGEST / repeat.every.middle if step.use else 0.0
    return step.time.high / repeat.every.middle


def _check_salt_steps(method: Method, reading: Reading) -> None:
    hot = next((number for number, step in enumerate(method.steps) if has_curve(step)), len(method.steps))
    salt_steps = [
        step
        for number, step in enumerate(method.steps if method.saltings else ())
        if method.lies_in(step) or moves_salt(step, follows_heat=number >= hot)
    ]
    if len(salt_steps) > MAX_SALT_STEPS:
        allowed = f"at most {MAX_SALT_STEPS} steps in which salt moves"
        reading.fault(salt_steps[MAX_SALT_STEPS].line, "steps", f"{len(salt_steps)} steps", allowed)


def _check_amounts(method: Method, reading: Reading) -> None:
    batches, total = 1 + len(method.batches.show), 0
    mixtures: tuple[Salting | Glaze, ...] = (*method.saltings, *method.glazes)
    for mixture in mixtures:
        total += len(mixture.ingredients) * batches
        if total > MAX_AMOUNTS:
            read = f"{total} amounts of {batches} batches"
            allowed = f"at most {MAX_AMOUNTS} amounts (ingredients × batches) on a page"
            reading.fault(mixture.line, "ingredients", read, allowed)
            return


def _check_waits(method: Method, reading: Reading) -> None:
    waiting = [(number, step) for number, step in enumerate(method.steps, 1) if step.waits_for in _COMPUTED]
    if len(waiting) > MAX_WAITS:
        number, step = waiting[MAX_WAITS]
        allowed = f"at most {MAX_WAITS} steps until core, lethality, weight loss or aw"
        reading.fault(step.line, f"steps.{number}.until", step.waits_for, allowed)
