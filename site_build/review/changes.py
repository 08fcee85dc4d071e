"""The results of a comparison: plain records with their seriousness, without markup."""

from __future__ import annotations

import re
from typing import NamedTuple

from msgspec import Struct

from handbook.base.formats import format_number, format_signed_percent, format_time
from site_build.record.figures import (
    Figure,
    FindingFigures,
    IngredientFigures,
    MethodFigures,
    StepFigures,
    printed_step,
    show,
    show_range,
)
from site_build.review.changed_words import WordsChange

#: Exit codes of a comparison.
SAME, CHANGED, STOPPED = 0, 1, 2
_DETAILS = ("batch ", "other crystals: ", "other pieces: ")
_FIRST = (
    "ingoing nit",
    "food: ",
    "heat: ",
    "at equilibrium",
    "in the brine",
    "salt",
    "yield: ",
    "portion: ",
    "time: ",
    "allergens",
    "cost: ",
)


class StatedChange(NamedTuple):
    """A statement of a page or of the house file, before and after as written, "" where not stated."""

    key: str
    before: str
    after: str


class FigureChange(Struct, frozen=True, kw_only=True):
    """One figure that moved beyond its rounding, appeared or vanished."""

    key: str
    before: Figure | None
    after: Figure | None

    @property
    def texts(self) -> tuple[str, str]:
        """Before and after as printed, with one more digit where they would print the same; "–" for none."""
        if self.before and self.after and self.before.text == self.after.text:
            return tuple(_finer(each) for each in (self.before, self.after))
        return tuple("–" if each is None else each.text for each in (self.before, self.after))

    @property
    def size(self) -> str:
        """The size of the change with its sign, or "" where it cannot be a number."""
        old, new = self.before, self.after
        if not (old and new) or old.value is None or new.value is None or old.unit != new.unit:
            return ""
        moved = new.value - old.value
        if abs(moved) < printed_step(new.value, new.unit) / 2:
            return "range only"
        relative = _relative(moved / old.value) if old.value > 0 else ""
        if old.unit == "%":
            points = f"{_signed(moved, 1)} points"
            return f"{points}, {relative}" if relative and old.value >= 0.1 else points
        if old.unit == "°C":
            return f"{_signed(moved, 1)} °C"
        if old.unit == "min":
            return ("+" if moved > 0 else "−") + format_time(abs(moved) * 60)
        return relative or f"{'+' if moved > 0 else ''}{show(moved, old.unit)}"

    @property
    def is_detail(self) -> bool:
        """Whether it repeats a main figure for another batch, piece or crystal."""
        return any(f": {word}" in f": {self.key}" for word in _DETAILS)

    @property
    def order(self) -> tuple:
        """Sort key: what matters most to the eater comes first."""
        place = next((number for number, word in enumerate(_FIRST) if word in self.key), len(_FIRST))
        return self.is_detail, place, self.key


class FindingChange(Struct, frozen=True, kw_only=True):
    """One safety finding that appeared, vanished, changed its level, or keeps its level with another figure."""

    key: str
    before: FindingFigures | None
    after: FindingFigures | None

    @property
    def kind(self) -> str:
        """ "appeared", "vanished", "level" or "figure"."""
        if self.before is None:
            return "appeared"
        if self.after is None:
            return "vanished"
        return "figure" if self.before.level == self.after.level else "level"

    @property
    def is_new_stop(self) -> bool:
        """Whether it is a stop that did not exist before."""
        return bool(self.after and self.after.level == "stop" and not (self.before and self.before.level == "stop"))

    @property
    def is_better(self) -> bool:
        """Whether a stop or an act is now a limit that is met."""
        return bool(self.before and self.after and self.after.level == "met" and self.before.level in ("stop", "act"))

    @property
    def severity(self) -> int:
        """The seriousness: 0 a new stop; then new actions for the cook, limits that are no longer judged, the rest."""
        old, new = (each.level if each else "" for each in (self.before, self.after))
        if self.is_new_stop:
            return 0
        if new == "act" and old in ("", "met", "note"):
            return 1
        if new == "" and old in ("met", "act", "stop"):
            return 2
        if old != new:
            return 3 if old and new and "note" not in (old, new) else 5
        return 6 if new == "note" else 4

    @property
    def title(self) -> str:
        """The finding's title, now or before."""
        return (self.after or self.before).title


class StepChange(Struct, frozen=True, kw_only=True):
    """One step that was added, removed, moved or changed. Numbers count from 1; None where the step does not exist."""

    number_before: int | None = None
    number: int | None = None
    before: StepFigures | None = None
    after: StepFigures | None = None
    stated: tuple[StatedChange, ...] = ()
    figures: tuple[FigureChange, ...] = ()
    duration: FigureChange | None = None
    is_moved: bool = False
    is_reworded: bool = False

    @property
    def shown(self) -> StepFigures:
        """The step as it is, or as it was."""
        return self.after or self.before

    @property
    def kind(self) -> str:
        """ "added", "removed", "moved" or "changed"."""
        if self.before is None or self.after is None:
            return "added" if self.before is None else "removed"
        return "moved" if self.is_moved else "changed"


class IngredientChange(Struct, frozen=True, kw_only=True):
    """One ingredient that was added, removed or changed."""

    mixture: str
    item: str
    before: IngredientFigures | None
    after: IngredientFigures | None

    @property
    def texts(self) -> tuple[str, str]:
        """As written, with the mass where only the wording of the amount changed."""
        return tuple("–" if each is None else _written(each) for each in (self.before, self.after))

    @property
    def size(self) -> str:
        """Change of the mass."""
        if self.before and self.after and self.before.mass > 0:
            return _relative(self.after.mass / self.before.mass - 1)
        return ""


class ProseChange(Struct, frozen=True, kw_only=True):
    """Numbers of new or changed paragraphs and of removed ones, and of the page's words before and after."""

    gone: int
    new: int
    words_before: int
    words_after: int


class MethodChange(Struct, frozen=True, kw_only=True):
    """Everything that changed in one method.

    ``faults`` are the lines of faults that stop the page from being built,
    ``words`` the passages of its prose that changed.
    """

    path: str
    old_path: str
    before: MethodFigures | None
    after: MethodFigures | None
    faults_before: tuple[str, ...]
    faults: tuple[str, ...]
    was_there: bool
    is_there: bool
    findings: tuple[FindingChange, ...] = ()
    figures: tuple[FigureChange, ...] = ()
    steps: tuple[StepChange, ...] = ()
    ingredients: tuple[IngredientChange, ...] = ()
    stated: tuple[StatedChange, ...] = ()
    prose: ProseChange | None = None
    below_rounding: int = 0
    words: tuple[WordsChange, ...] = ()

    @property
    def title(self) -> str:
        """The method's title, or its path where the title cannot be read."""
        found = self.after or self.before
        return found.title if found else self.path

    @property
    def marks(self) -> tuple[str | None, str | None]:
        """The version mark before and after."""
        return self.before and self.before.mark, self.after and self.after.mark

    @property
    def status(self) -> str:
        """ "added", "removed", "renamed" or "changed"."""
        if not self.was_there:
            return "added"
        if not self.is_there:
            return "removed"
        return "renamed" if self.path != self.old_path else "changed"

    @property
    def no_longer_builds(self) -> bool:
        """Whether faults other than stops newly prevent the page from being computed."""
        return self.is_there and self.after is None and not self.still_broken

    @property
    def still_broken(self) -> bool:
        """Whether the page could be computed neither before nor after."""
        return self.is_there and self.was_there and self.before is None and self.after is None

    @property
    def has_new_stop(self) -> bool:
        """Whether a rule newly stops the page."""
        return any(each.is_new_stop for each in self.findings)

    @property
    def has_new_fault(self) -> bool:
        """Whether the page has a new fault, such as a dead link."""
        return self.after is not None and bool(_without_places(self.faults) - _without_places(self.faults_before))

    @property
    def is_computed(self) -> bool:
        """Whether anything but prose changed."""
        parts = self.findings, self.figures, self.steps, self.ingredients, self.stated
        faults = _without_places(self.faults) != _without_places(self.faults_before)
        return any(parts) or faults or self.status in ("added", "removed")

    @property
    def is_empty(self) -> bool:
        """Whether nothing changed."""
        same_title = not (self.before and self.after) or self.before.title == self.after.title
        told = self.is_computed or self.prose is not None or not same_title or self.status != "changed"
        return not told and not self.still_broken

    @property
    def code(self) -> int:
        """The exit code for this method alone."""
        if self.has_new_stop or self.no_longer_builds or self.has_new_fault:
            return STOPPED
        return CHANGED if self.is_computed else SAME

    @property
    def order(self) -> tuple:
        """Sort key: the most serious comes first."""
        most_severe = min((each.severity for each in self.findings), default=9)
        return -self.code, most_severe, not self.is_computed, self.title.casefold(), self.path


class HouseChange(Struct, frozen=True, kw_only=True):
    """Changes of the house file, and their effect alone on each method."""

    stated: tuple[StatedChange, ...] = ()
    methods: tuple[MethodChange, ...] = ()
    faults_before: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()


class Comparison(Struct, frozen=True, kw_only=True):
    """Two versions of a handbook.

    ``other_pages`` are changed pages without calculations, ``other_files`` changed files that are not pages. ``faults``
    are those of files that no build reads, and new ones of pages whose methods did not change, such as a link to a
    removed page. ``absent`` says which version has no such folder.
    """

    before: str
    after: str
    methods: tuple[MethodChange, ...]
    house: HouseChange | None
    unchanged: int
    engines: tuple[str, str]
    other_pages: tuple[StatedChange, ...] = ()
    faults: tuple[str, ...] = ()
    other_files: tuple[StatedChange, ...] = ()
    absent: tuple[str, ...] = ()

    @property
    def code(self) -> int:
        """0 no computed change, 1 changes, 2 a new stop or a method that no longer builds."""
        found = [each.code for each in self.methods]
        if self.house:
            found += [STOPPED] if self.house.faults else [each.code for each in self.house.methods]
            found += [CHANGED] if self.house.stated else []
        found += [STOPPED] if self.faults else []
        return max(found, default=SAME)


def _relative(change: float) -> str:
    """A relative change with its sign; empty where it is too small for one."""
    if abs(change) > 1e6:  # relative to almost zero
        return ""
    digits = 0 if abs(change) >= 0.02 else 1
    return format_signed_percent(change, digits) if abs(change) >= 0.0005 else ""


def _finer(figure: Figure) -> str:
    if figure.value is None:
        return figure.text
    shown = show_range(figure.low, figure.value, figure.high, figure.unit, True)
    return f"{shown}, {figure.words}" if figure.words else shown


def _written(each: IngredientFigures) -> str:
    is_mass = re.fullmatch(r"[\d., ]+k?g", each.written)
    text = each.written if is_mass else f"{each.written} = {show(each.mass, 'g')}"
    return f"{text} ({each.note})" if each.note else text


def _signed(value: float, digits: int) -> str:
    text = format_number(value, digits)
    return text if text.startswith("−") else f"+{text}"


def _without_places(faults: tuple[str, ...]) -> set[str]:
    # The same fault on another line or in another file is not new.
    return {each.split(": ", 1)[-1] for each in faults}
