"""The ``formula`` block: the several foods of one batch, each with its share, and its own fat and water where known."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Annotated

from msgspec import Struct

from handbook.base.forms import ListOf, Measure, Name, Reading, Words
from handbook.base.records import Key, record_of
from handbook.base.units import Quantity
from handbook.page.measure_forms import fraction_form
from handbook.page.vocabulary import Vocabulary
from handbook.page.written_lines import WrittenLine

_AMOUNT = Measure(
    dimensions=("mass", "fraction"),
    low=0,
    high=5000,
    limits='a mass above 0, such as "3.5 kg", or a share of the batch, such as "70 %"',
)
#: How far written parts may miss their sum: rounding to whole grams or whole percent.
_SLACK = 0.005


class FormulaPart(Struct, frozen=True, kw_only=True):
    """One food of a formula as written; ``fat`` and ``water`` replace those of the list of foods."""

    food: Annotated[str, Key("the food, as in the list of foods")]
    amount: Annotated[Quantity, Key("how much of it is in the batch the page was written for", _AMOUNT)]
    fat: Annotated[Quantity | None, Key("its own fat, where known", fraction_form(0.0, 0.95))] = None
    water: Annotated[Quantity | None, Key("its own water, where known", fraction_form(0.02, 0.98))] = None
    note: Annotated[str, Key("a note to the cook", Words(limit=120))] = ""
    line: int

    @property
    def item(self) -> str:
        """The food, as a line of any list of weights names it."""
        return self.food

    def share(self, batch: float) -> float:
        """Share of the batch of ``batch`` kg."""
        return self.amount.low if self.amount.dimension == "fraction" else self.amount.low / batch


class Formula(Struct, frozen=True, kw_only=True):
    """The formula of a page as a list of weights, named as saltings and glazes are."""

    ingredients: tuple[FormulaPart, ...]
    name: str = "formula"


def formula_form(words: Vocabulary) -> ListOf:
    """The form of a ``formula`` block in a house with these names."""
    written = partial(WrittenLine, names=lambda: words.foods, item="food")
    form = record_of(FormulaPart, written, food=Name(kind="a food", names=lambda: words.foods))
    return ListOf(form=form, limit=30, may_be_single=False)


def check_formula(parts: Sequence[FormulaPart], food: str, batch: Quantity, reading: Reading) -> None:
    """Record a formula whose parts do not make up the batch, that names a food twice, or that lacks the page's food."""
    if not parts:
        return
    first, names = parts[0], [each.food for each in parts]
    for number, each in enumerate(parts, 1):
        if each.amount.dimension != first.amount.dimension:
            allowed = "all parts by mass, or all as shares"
            reading.fault(each.line, f"formula.{number}.amount", each.amount.text, allowed)
            return
        if names.index(each.food) != number - 1:
            reading.fault(each.line, f"formula.{number}.food", f"{each.food} twice", "each food once")
        if each.fat is not None and each.water is not None and each.fat.low + each.water.low > 1:
            read = f"{each.fat.text} fat and {each.water.text} water"
            reading.fault(each.line, f"formula.{number}.water", read, "fat and water of at most 100 % together")
    if food not in names:
        allowed = f"the page's food, {food}, among its parts"
        reading.fault(first.line, "formula", ", ".join(names), allowed, reading.suggestion(food, names))
    total = sum(each.share(batch.low) for each in parts)
    if abs(total - 1) > _SLACK:
        wanted = "parts that add up to 100 %" if first.amount.dimension == "fraction" else f"parts of {batch.text}"
        read = f"{total:.4g} of the batch" if first.amount.dimension == "mass" else f"{100 * total:.4g} %"
        reading.fault(first.line, "formula", f"parts of {read}", f"{wanted} in all")
