"""One method page as read: its front matter and its blocks."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import lru_cache
from typing import Annotated

from msgspec import Struct

from handbook.base.errors import PageError, RangeError
from handbook.base.forms import ListOf, Reading
from handbook.base.records import Key, Record, record_of
from handbook.base.units import Quantity, kelvin
from handbook.page.finished_food import KEEPING_FORM, MEASURED_FORM, Keeping, Measured, check_measured
from handbook.page.formula import FormulaPart, check_formula, formula_form
from handbook.page.front_matter import FrontMatter
from handbook.page.measure_forms import measure
from handbook.page.piece_size import PIECES_FORM
from handbook.page.pieces import PieceShape, check_pieces
from handbook.page.salting import MIXED, Glaze, Salting, check_mixtures, glaze_form, salting_form
from handbook.page.steps import STEPS_FORM, Step
from handbook.page.until import CORE, LETHALITY, TARGET_SALT
from handbook.page.vocabulary import Vocabulary

BLOCKS = ("pieces", "formula", "salting", "glaze", "steps", "batches", "measured", "keeping")
#: Blocks that may occur more than once on a page. Their ``name`` distinguishes them.
SEVERAL = ("salting", "glaze")

_BOIL = kelvin(105)  # K: a strong brine boils below this
MOST_BATCH = 5000  # kg
_BATCH = measure("mass", 0, MOST_BATCH, f'a mass above 0 and up to {MOST_BATCH} kg, such as "2 kg"')


class Batches(Struct, frozen=True, kw_only=True):
    """The batch the page was written for and the batches it shows, by green weight of the food."""

    written_for: Annotated[Quantity, Key("green weight of food the amounts are for", _BATCH)]
    show: Annotated[
        tuple[Quantity, ...], Key("batches to show; default from the house file", ListOf(form=_BATCH, limit=12))
    ] = ()
    line: int


class Method(Struct, frozen=True, kw_only=True):
    """One method page, read without a fault. ``file`` is its path as shown in errors, ``name`` its page name."""

    file: str
    name: str
    front_matter: FrontMatter
    pieces: PieceShape
    saltings: tuple[Salting, ...]
    glazes: tuple[Glaze, ...]
    steps: tuple[Step, ...]
    batches: Batches
    keeping: Keeping | None
    measured: tuple[Measured, ...] = ()
    formula: tuple[FormulaPart, ...] = ()

    def step_fault(self, error: RangeError, line: int) -> PageError:
        """What a model cannot do, as a fault at its step's line; ``line`` where the error knows none.

        A figure that a step states is named by its key and read as written.
        """
        line = error.line or line
        number = next((number for number, step in enumerate(self.steps, 1) if step.line == line), 0)
        if error.read and number:
            return PageError(self.file, line, f"steps.{number}.{error.name}", error.read, error.allowed)
        return PageError(self.file, line, f"steps: {error.name}", f"{error.value:.4g}", error.allowed)

    def salting(self, name: str | None) -> Salting | None:
        """The salting called ``name``, or the first one where no name is given."""
        return next((each for each in self.saltings if name is None or each.name == name), None)

    def salting_of(self, step: Step) -> Salting | None:
        """The salting that a step applies to the food: the one in ``use``, whatever the step is called.

        A salt or ferment step without ``use`` takes the page's first salting. A pan beside the food applies nothing to
        it. A salting that is mixed in applies from the first step, unless a step says when.
        """
        if step.use is None and step.stage not in ("salt", "ferment"):
            return self._mixed_untold if self._mixed_untold and step is self.steps[0] else None
        return None if step.is_beside_food else self.salting(step.use)

    @property
    def _mixed_untold(self) -> Salting | None:
        """The salting that is mixed in and that no step names."""
        if not self.saltings or self.saltings[0].kind != MIXED:
            return None
        is_told = any(
            not step.is_beside_food and (step.stage in ("salt", "ferment") or step.use == self.saltings[0].name)
            for step in self.steps
        )
        return None if is_told else self.saltings[0]

    def lies_in(self, step: Step) -> Salting | None:
        """The salting in which the food lies in a step. In an oven, in a smoker and in air above boiling point the
        salting is brushed on, unless the step says that the food is in brine.
        """
        around = step.chamber or step.temperature
        is_bare = step.place in ("oven", "smoker") or (around is not None and around.high > _BOIL)
        return None if is_bare and step.medium != "brine" else self.salting_of(step)


@lru_cache(maxsize=8)
def block_forms(words: Vocabulary) -> dict[str, Record | ListOf]:
    """The form of each kind of block in a house with these names."""
    return {
        "pieces": PIECES_FORM,
        "formula": formula_form(words),
        "salting": salting_form(words),
        "glaze": glaze_form(words),
        "steps": STEPS_FORM,
        "batches": record_of(Batches),
        "measured": MEASURED_FORM,
        "keeping": KEEPING_FORM,
    }


def check_method(method: Method, reading: Reading) -> None:
    """Record the faults that depend on several parts of a method."""
    check_pieces(method.pieces, reading)
    check_mixtures(method.saltings, method.glazes, reading)
    check_measured(method.measured, reading)
    check_formula(method.formula, method.front_matter.food, method.batches.written_for, reading)
    for salting in method.saltings:
        if salting.kind == MIXED and method.pieces.form not in ("minced", "mixed"):
            allowed = "form: minced or form: mixed in the pieces block; salt is not even at once in whole pieces"
            reading.fault(salting.line, "salting.kind", f"{MIXED} with form {method.pieces.form}", allowed)
    mixtures = [*(each.name for each in method.saltings), *(each.name for each in method.glazes)]
    for number, step in enumerate(method.steps, 1):
        _check_step(step, f"steps.{number}", mixtures, method, reading)


def _check_step(step: Step, key: str, names: Iterable[str], method: Method, reading: Reading) -> None:
    def fault(field: str, read: str, allowed: str, suggestion: str = "") -> None:
        reading.fault(step.line, f"{key}.{field}", read, allowed, suggestion)

    _check_time(step, fault)
    if step.box is not None and step.temperature is None:
        fault("temperature", "nothing", "the temperature of what goes into the box")
    if step.use is not None and step.use not in names:
        known = [name for name in names if name]
        allowed = ", ".join(known) or "the name of a salting or glaze"
        fault("use", step.use, allowed, reading.suggestion(step.use, known))
    if step.stage == "salt" and not method.saltings:
        fault("stage", "salt", "a salting block on the page for a salt step")
    has_air = (step.chamber or step.temperature) is not None
    if step.waits_for == LETHALITY and not has_air:
        fault("until", LETHALITY, "a chamber or a temperature beside it")
    if step.waits_for == CORE and (step.core is None or not has_air):
        fault("until", CORE, "a core and a chamber temperature beside it")
    salting = method.salting(step.use)
    if step.waits_for == TARGET_SALT and (salting is None or salting.target_salt is None):
        fault("until", TARGET_SALT, "a target_salt in the salting it uses")


def _check_time(step: Step, fault: Callable[[str, str, str], None]) -> None:
    """Record a fault for a step whose time is neither stated nor given by its end, or both stated and computed."""
    if step.until is None:
        if step.time is None:
            fault("time", "nothing", "a time, or what ends the step as until")
    elif not step.until.is_measured:
        if step.time is not None:
            fault("time", "both", f"either time or until, not both: until {step.until.what} is computed")
    elif step.hands_on:
        fault("hands_on", "yes", f"a step without hands: it waits until {step.until.text}")
