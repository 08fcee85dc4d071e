"""The ``salting`` and ``glaze`` blocks: mixtures, their kinds and their ingredients as written."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Annotated, Any

from msgspec import Struct
from msgspec.structs import replace

from handbook.base.cook_words import meanings
from handbook.base.forms import Choice, ListOf, Name, Reading, Words
from handbook.base.records import Key, Record, record_of
from handbook.base.units import Quantity, kelvin
from handbook.base.yaml_text import Node, Table, Text
from handbook.page.amounts import Amount, AmountForm, Gauge, Share, ShareForm, ToTarget
from handbook.page.measure_forms import fraction_form, temperature_form
from handbook.page.vocabulary import Vocabulary
from handbook.page.written_lines import WrittenLine

#: Salt mixed into minced or mixed food: it is even at once, and all of it stays in the food.
MIXED = "mixed in"
SALTING_KINDS = ("immersion", "equilibrium", "injection", "dry cure", MIXED, "ferment brine", "dry-salted ferment")
#: Names of the mixtures that a page does not name: a bath or pump, a dry cure, what is mixed in, a glaze.
BRINE, CURE, MIX, GLAZE = USUAL_NAMES = ("brine", "cure", "mix", "glaze")
#: Kinds of salting in which the food lies in a liquid that shares its salt with it: a bath.
BATHS = ("immersion", "equilibrium", "ferment brine")
#: Kinds of salting in which the salt is rubbed on, strewn or mixed in, with no bath.
DRY = ("dry cure", MIXED, "dry-salted ferment")


class IngredientLine(Struct, frozen=True, kw_only=True):
    """One line of an ingredient list as written."""

    item: Annotated[str, Key("ingredient, as in the list of weights")]
    amount: Annotated[Amount, Key("how much, for the batch the page was written for", AmountForm())]
    note: Annotated[str, Key("a note to the cook", Words(limit=120))] = ""
    temperature: Annotated[
        Quantity | None,
        Key("its temperature when it is added, for the temperature of the mixture", temperature_form(may_range=True)),
    ] = None
    line: int


class Salting(Struct, frozen=True, kw_only=True):
    """How salt gets in: one brine or dry cure, its ingredients for the batch the page was written at."""

    kind: Annotated[str, Key("how the salt gets in", Choice(words=SALTING_KINDS))]
    name: Annotated[str, Key("a name, when a page has several", Words(limit=40))] = ""
    ingredients: Annotated[tuple[IngredientLine, ...], Key("what goes in")]
    target_salt: Annotated[
        Share | None, Key("target salt at equilibrium", ShareForm(bases=("all", "food", "water phase"), high=0.26))
    ] = None
    pump: Annotated[Quantity | None, Key("brine injected, of green weight", fraction_form(0.01, 0.6))] = None
    temperature: Annotated[
        Quantity | None, Key("temperature while salting", temperature_form(kelvin(-5), kelvin(45), may_range=True))
    ] = None
    container: Annotated[str | None, Key("container of the house; else the smallest that holds the batch")] = None
    line: int

    @property
    def is_bath(self) -> bool:
        """Whether the food lies in a liquid that shares its salt with it. The amounts must agree: see brine.mislabelled."""
        return self.kind in BATHS

    @property
    def covers_food(self) -> bool:
        """Whether a liquid covers the food: a bath, or the juice that salted vegetables draw."""
        return self.is_bath or self.kind == "dry-salted ferment"

    @property
    def is_dry(self) -> bool:
        """Whether the salt is rubbed on, strewn or mixed in: neither a bath nor a pumped brine."""
        return self.kind in DRY


class Glaze(Struct, frozen=True, kw_only=True):
    """A mixture brushed or poured on; ``stays_on`` is the part that remains on the food, of green weight."""

    name: Annotated[str, Key("a name, when a page has several", Words(limit=40))] = GLAZE
    ingredients: Annotated[tuple[IngredientLine, ...], Key("what goes in")]
    stays_on: Annotated[
        Share | None, Key("the part that stays on the food, of green weight", ShareForm(bases=("food",), high=0.5))
    ] = None
    line: int


def salting_form(words: Vocabulary) -> Record:
    """The form of a ``salting`` block in a house with these names."""
    container = Name(kind="a container", names=lambda: words.containers)
    return record_of(Salting, _SaltingForm, ingredients=ingredients_form(words), container=container)


def glaze_form(words: Vocabulary) -> Record:
    """The form of a ``glaze`` block in a house with these names."""
    return record_of(Glaze, ingredients=ingredients_form(words))


def with_target(salting: Salting, reading: Reading) -> Salting:
    """The salting with the target that an ingredient's amount names. A second target is a fault."""
    named = [each for each in salting.ingredients if isinstance(each.amount, ToTarget) and each.amount.share]
    if not named:
        return salting
    if salting.target_salt is not None:
        allowed = "the target once: as target_salt or beside the salt"
        reading.fault(named[0].line, "salting.target_salt", salting.target_salt.text, allowed)
    share = named[0].amount.share if isinstance(named[0].amount, ToTarget) else None
    return replace(salting, target_salt=share)


class _SaltingForm(Record, frozen=True):
    """The form of a ``salting`` block. The shares of a dry cure are of the food, since there is no water."""

    def read(self, node: Node, key: str, reading: Reading) -> Any:
        kinds = [value for name, _, value in node.entries if name == "kind"] if isinstance(node, Table) else []
        is_dry = any(isinstance(each, Text) and set(meanings(each.value, SALTING_KINDS)) <= {*DRY} for each in kinds)
        reading.share_of = "food" if kinds and is_dry else ""
        try:
            return super().read(node, key, reading)
        finally:
            reading.share_of = ""


def check_mixtures(saltings: Sequence[Salting], glazes: Sequence[Glaze], reading: Reading) -> None:
    """Record names used twice, and keys that do not fit the kind of a salting."""
    mixtures: tuple[Salting | Glaze, ...] = (*saltings, *glazes)
    names = [each.name for each in mixtures]
    for each in mixtures:
        if names.count(each.name) > 1:
            reading.fault(each.line, "name", each.name or "nothing", "a name of its own for each salting and glaze")
    for salting in saltings:
        _check_salting(salting, reading)


def ingredients_form(words: Vocabulary) -> ListOf:
    """The form of a list of ingredients in a house with these names."""
    item = Name(
        kind="an ingredient",
        names=lambda: words.ingredients,
        adding="a new one is a row of the house's ingredients.csv: `handbook names --columns ingredients` writes its head",
    )
    written = partial(WrittenLine, names=lambda: words.ingredients)
    return ListOf(form=record_of(IngredientLine, written, item=item), limit=60, may_be_single=False)


def _check_salting(salting: Salting, reading: Reading) -> None:
    if salting.kind == "injection" and salting.pump is None:
        reading.fault(salting.line, "salting.pump", "nothing", 'the brine injected, such as "10 %", of green weight')
    if salting.kind != "injection" and salting.pump is not None:
        reading.fault(salting.line, "salting.pump", salting.pump.text, "only with kind injection")
    wants = [each for each in salting.ingredients if isinstance(each.amount, ToTarget | Gauge)]
    if len(wants) > 1:
        read = f"{wants[0].amount.text} and {wants[1].amount.text}"
        allowed = "one ingredient to be worked out from the salt"
        reading.fault(wants[1].line, "salting.ingredients.amount", read, allowed)
    for each in wants:
        if isinstance(each.amount, Gauge) and salting.is_dry:
            allowed = f"a reading only of a brine, not in the kind {salting.kind}"
            reading.fault(each.line, "salting.ingredients.amount", each.amount.text, allowed)
        if isinstance(each.amount, ToTarget) and salting.target_salt is None:
            reading.fault(each.line, "salting.target_salt", "nothing", 'a target, such as "1.8 % of all"')
    if salting.kind == "equilibrium" and salting.target_salt is None:
        allowed = 'a target for an equilibrium brine, such as "1.8 % of all"'
        reading.fault(salting.line, "salting.target_salt", "nothing", allowed)
