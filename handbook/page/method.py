"""The method model: frozen records read from a page's front matter and calculation blocks."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from handbook.base.forms import Choice, Count, Date, Field, ListOf, Measure, Name, Number, Reading, Record, Words, YesNo
from handbook.base.units import Quantity, kelvin
from handbook.page.amounts import Amount, AmountForm, Share, ShareForm

KINDS = ("hot smoke", "cold smoke", "cook", "dry cure", "brine", "ferment")
SALTING_KINDS = ("immersion", "equilibrium", "injection", "dry cure", "ferment brine", "dry-salted ferment")
#: Kinds of salting in which the food lies in a liquid that shares its salt with it: a bath.
BATHS = ("immersion", "equilibrium", "ferment brine")
#: Kinds of salting in which the salt is rubbed on or strewn, with no bath.
DRY = ("dry cure", "dry-salted ferment")
#: What the food is when the salting begins. Cut food is whole inside; minced food is mixed through; stuffed food holds
#: a filling, which counts as minced.
FORMS = ("whole", "cut", "minced", "stuffed")
SHAPES = ("slab", "block", "cylinder", "sphere")
STAGES = (
    "prepare",
    "salt",
    "rinse",
    "freshen",
    "rest",
    "glaze",
    "smoke",
    "cook",
    "cool",
    "freeze",
    "thaw",
    "ferment",
    "pack",
    "serve",
)
#: Stages of fire and smoke; whether a step heats the food is for handbook.heated to say.
HEATING = ("smoke", "cook")
PLACES = ("bench", "fridge", "freezer", "smoker", "oven", "stove", "cellar", "room")
AIRS = ("still", "draught", "forced", "steam", "water")
BLOCKS = ("pieces", "salting", "glaze", "steps", "batches", "keeping")
MAX_STEPS = 300
#: Blocks of which a page may hold several, told apart by their ``name``.
SEVERAL = ("salting", "glaze")


@dataclass(frozen=True)
class Ingredient:
    """One line of an ingredient list as written."""

    item: str
    amount: Amount
    note: str
    line: int


@dataclass(frozen=True)
class Salting:
    """How salt gets in: one brine or dry cure, its ingredients for the batch the page was written at."""

    kind: str
    name: str
    ingredients: tuple[Ingredient, ...]
    target_salt: Share | None
    pump: Quantity | None
    temperature: Quantity | None
    container: str | None
    line: int

    @property
    def is_bath(self) -> bool:
        """Whether the food lies in a liquid that shares its salt with it. The amounts must agree: see brine.mislabelled."""
        return self.kind in BATHS

    @property
    def is_dry(self) -> bool:
        """Whether the salt is rubbed on or strewn: neither a bath nor a pumped brine."""
        return self.kind in DRY


@dataclass(frozen=True)
class Glaze:
    """A mixture brushed or poured on; ``stays_on`` is the part that ends on the food, of green weight."""

    name: str
    ingredients: tuple[Ingredient, ...]
    stays_on: Share | None
    line: int


@dataclass(frozen=True)
class Size:
    """One stated size of piece."""

    name: str
    thickness: Quantity
    mass: Quantity | None
    line: int


@dataclass(frozen=True)
class Pieces:
    """What one piece looks like. ``thickness`` is the diameter for cylinders and spheres."""

    shape: str
    thickness: Quantity
    width: Quantity | None
    length: Quantity | None
    mass: Quantity | None
    skin: str
    origin: str
    form: str
    sizes: tuple[Size, ...]
    line: int


@dataclass(frozen=True)
class Repeat:
    """A repeated action inside a step, such as basting every 30 min."""

    every: Quantity
    do: str
    takes: Quantity | None
    line: int


@dataclass(frozen=True)
class Step:
    """One step as written; ``time`` is None when it is computed from ``until``."""

    do: str
    stage: str
    time: Quantity | None
    until: str | None
    hands_on: bool
    place: str
    temperature: Quantity | None
    chamber: Quantity | None
    humidity: Quantity | None
    air: str | None
    core: Quantity | None
    hold: Quantity | None
    use: str | None
    water: Share | None
    changes: int
    loss: Quantity | None
    gain: Quantity | None
    final_ph: float | None
    repeat: Repeat | None
    line: int


@dataclass(frozen=True)
class Batches:
    """The batch the page was written for and the batches it shows, by green weight of the food."""

    written_for: Quantity
    show: tuple[Quantity, ...]
    line: int


@dataclass(frozen=True)
class Keeping:
    """How the finished food is packed and kept."""

    pack: str
    temperature: Quantity | None
    time: Quantity | None
    frozen: Quantity | None
    line: int


@dataclass(frozen=True)
class Sheet:
    """The front matter: what the page says of itself."""

    title: str
    food: str
    kind: str
    summary: str
    keeper: str
    reviewed: datetime.date
    portions: int
    tags: tuple[str, ...]
    equipment: tuple[str, ...]
    line: int


@dataclass(frozen=True)
class Method:
    """One method page, read without a fault. ``file`` is its path as shown in errors, ``name`` its page name."""

    file: str
    name: str
    sheet: Sheet
    pieces: Pieces
    saltings: tuple[Salting, ...]
    glazes: tuple[Glaze, ...]
    steps: tuple[Step, ...]
    batches: Batches
    keeping: Keeping | None

    def salting(self, name: str | None) -> Salting | None:
        """The salting called ``name``, or the first one where no name is given."""
        return next((each for each in self.saltings if name is None or each.name == name), None)


@dataclass(frozen=True)
class Vocabulary:
    """The names that a page may use: foods, ingredients, containers (of the engine and of the house)."""

    foods: tuple[str, ...]
    ingredients: tuple[str, ...]
    containers: tuple[str, ...]


_COLD, _HOT = kelvin(-60), kelvin(400)


def _temperature(low: float = _COLD, high: float = _HOT, **more) -> Measure:
    return Measure(
        ("temperature",),
        low,
        high,
        f'a temperature, {low - 273.15:.0f} to {high - 273.15:.0f} °C, such as "77 °C" or "170 °F"',
        **more,
    )


def _time(**more) -> Measure:
    return Measure(
        ("time",), 0, 400 * 86400, 'a time above 0 and up to 400 days, such as "90 min" or "12-24 h"', **more
    )


def _fraction(low: float, high: float, **more) -> Measure:
    return Measure(
        ("fraction",),
        low,
        high,
        f'a share, {low * 100:.0f} % to {high * 100:.0f} %, such as "{(low + high) / 4 * 100:.0f} %"',
        may_be_zero=True,
        **more,
    )


def _length(**more) -> Measure:
    return Measure(("length",), 0.0005, 1.0, 'a length of 0.5 mm to 1 m, such as "20 mm" or "3/4 in"', **more)


_PIECE_MASS = Measure(("mass",), 0, 100, 'a mass above 0 and up to 100 kg, such as "180 g"', may_range=True)
_BATCH_MASS = Measure(("mass",), 0, 5000, 'a mass above 0 and up to 5000 kg, such as "2 kg"')


def sheet_record(words: Vocabulary) -> Record:
    """The front matter's form."""
    return Record(
        (
            Field("title", Words(100), "name of the method", True),
            Field("food", Name("a food", lambda: words.foods), "the food, as in the list of foods", True),
            Field("kind", Choice(KINDS), "kind of method", True),
            Field("summary", Words(300), "one line for the contents", True),
            Field("keeper", Words(80), "who keeps the page", True),
            Field("reviewed", Date(), "day of the last review", True),
            Field("portions", Count(1, 10_000), "portions from the batch the page was written for", True),
            Field("tags", ListOf(Words(40), 20), "words to find it by", default=()),
            Field("equipment", ListOf(Words(60), 30), "what it takes", default=()),
        ),
        Sheet,
    )


@lru_cache(maxsize=64)
def block_form(block: str, words: Vocabulary) -> Record | ListOf:
    """The form of one kind of block."""
    ingredients = ListOf(
        Record(
            (
                Field(
                    "item",
                    Name("an ingredient", lambda: words.ingredients),
                    "ingredient, as in the list of weights",
                    True,
                ),
                Field("amount", AmountForm(), "how much, for the batch the page was written for", True),
                Field("note", Words(120), "a word to the cook", default=""),
            ),
            Ingredient,
        ),
        60,
        may_be_single=False,
    )
    container = Name("a container", lambda: words.containers)
    forms = {
        "pieces": Record(
            (
                Field("shape", Choice(SHAPES), "slab, block, cylinder or sphere", True),
                Field(
                    "thickness",
                    _length(may_range=True),
                    "smallest dimension; the diameter of a cylinder or sphere",
                    True,
                ),
                Field("width", _length(may_range=True), "width of a block"),
                Field("length", _length(may_range=True), "length of a block or cylinder"),
                Field("mass", _PIECE_MASS, "mass of one piece"),
                Field("skin", Choice(("off", "on", "shell")), "skin or shell that salt does not pass", default="off"),
                Field("origin", Choice(("unknown", "farmed", "wild")), "for fish: how it lived", default="unknown"),
                Field(
                    "form",
                    Choice(FORMS),
                    "whole, cut in pieces, minced (sausage too) or stuffed with a filling",
                    default="cut",
                ),
                Field(
                    "sizes",
                    ListOf(
                        Record(
                            (
                                Field("name", Words(40), "what the kitchen calls this size", True),
                                Field("thickness", _length(may_range=True), "thickness of this size", True),
                                Field("mass", _PIECE_MASS, "mass of a piece of this size"),
                            ),
                            Size,
                        ),
                        12,
                        may_be_single=False,
                    ),
                    "stated sizes, each with its own times",
                    default=(),
                ),
            ),
            Pieces,
        ),
        "salting": Record(
            (
                Field("kind", Choice(SALTING_KINDS), "how the salt gets in", True),
                Field("name", Words(40), "a name, when a page has several", default=""),
                Field("ingredients", ingredients, "what goes in", True),
                Field(
                    "target_salt", ShareForm(("all", "food", "water phase"), 0.26), "salt aimed at when all is shared"
                ),
                Field("pump", _fraction(0.01, 0.6), "brine injected, of green weight"),
                Field("temperature", _temperature(kelvin(-5), kelvin(45), may_range=True), "temperature while salting"),
                Field("container", container, "container of the house; else the smallest that holds the batch"),
            ),
            Salting,
        ),
        "glaze": Record(
            (
                Field("name", Words(40), "a name, when a page has several", default="glaze"),
                Field("ingredients", ingredients, "what goes in", True),
                Field("stays_on", ShareForm(("food",), 0.5), "what ends on the food, of green weight"),
            ),
            Glaze,
        ),
        "steps": ListOf(
            Record(
                (
                    Field("do", Words(500), "what is done", True),
                    Field("stage", Choice(STAGES), "what it does to the food", True),
                    Field("time", _time(may_range=True), "how long; left out where `until` computes it"),
                    Field(
                        "until",
                        Choice(("core", "target salt")),
                        "compute the time: core temperature or target salt reached",
                    ),
                    Field("hands_on", YesNo(), "whether the cook is at it", default=False),
                    Field("place", Choice(PLACES), "where it happens", default="bench"),
                    Field("temperature", _temperature(may_range=True), "temperature of the surroundings"),
                    Field("chamber", _temperature(may_range=True), "set temperature of smoker or oven"),
                    Field("humidity", _fraction(0.0, 1.0, may_range=True), "relative humidity of the chamber"),
                    Field("air", Choice(AIRS), "how the air or water moves"),
                    Field("core", _temperature(may_range=False), "core temperature to reach"),
                    Field("hold", _time(), "time to hold the core there"),
                    Field("use", Words(40), "name of the salting or glaze used"),
                    Field("water", ShareForm(("food",), 50), "freshening water, of green weight"),
                    Field(
                        "changes",
                        Count(1, 20),
                        "how often freshening water is changed, first filling included",
                        default=1,
                    ),
                    Field("loss", _fraction(0.0, 0.9, may_range=True), "weight lost in this step, of its start"),
                    Field("gain", _fraction(0.0, 0.6, may_range=True), "weight gained in this step, of its start"),
                    Field("final_ph", Number(2.0, 8.0, "a pH"), "highest pH at which the step may end"),
                    Field(
                        "repeat",
                        Record(
                            (
                                Field("every", _time(), "time between two actions", True),
                                Field("do", Words(120), "the action", True),
                                Field("takes", _time(), "hands-on time of one action"),
                            ),
                            Repeat,
                        ),
                        "an action repeated during the step",
                    ),
                ),
                Step,
            ),
            MAX_STEPS,
            may_be_single=False,
        ),
        "batches": Record(
            (
                Field("written_for", _BATCH_MASS, "green weight of food the amounts are for", True),
                Field("show", ListOf(_BATCH_MASS, 12), "batches to show; default from the house file", default=()),
            ),
            Batches,
        ),
        "keeping": Record(
            (
                Field("pack", Choice(("air", "vacuum", "brine")), "how the finished food is packed", True),
                Field("temperature", _temperature(kelvin(-40), kelvin(40)), "temperature it is kept at"),
                Field("time", _time(), "how long it keeps cold"),
                Field("frozen", _time(), "how long it keeps frozen"),
            ),
            Keeping,
        ),
    }
    return forms[block]


def check_method(method: Method, reading: Reading) -> None:
    """Record the faults that only show when a method's parts are seen together."""
    pieces = method.pieces
    for dimension in {"block": ("width", "length")}.get(pieces.shape, ()):
        if getattr(pieces, dimension) is None:
            reading.fault(pieces.line, f"pieces.{dimension}", "nothing", f"a length for a {pieces.shape}")
    if pieces.shape == "block":
        for dimension in ("width", "length"):
            size = getattr(pieces, dimension)
            if size is not None and size.high < pieces.thickness.low:
                allowed = f"at least the thickness, {pieces.thickness.text}: that is the smallest of a block"
                reading.fault(pieces.line, f"pieces.{dimension}", size.text, allowed)
    names = [each.name for each in (*method.saltings, *method.glazes)]
    for each in (*method.saltings, *method.glazes):
        if names.count(each.name) > 1:
            reading.fault(each.line, "name", each.name or "nothing", "a name of its own for each salting and glaze")
    for salting in method.saltings:
        _check_salting(salting, reading)
    for number, step in enumerate(method.steps, 1):
        _check_step(step, f"steps.{number}", names, method, reading)


def _check_salting(salting: Salting, reading: Reading) -> None:
    if salting.kind == "injection" and salting.pump is None:
        reading.fault(salting.line, "salting.pump", "nothing", 'the brine injected, such as "10 %", of green weight')
    if salting.kind != "injection" and salting.pump is not None:
        reading.fault(salting.line, "salting.pump", salting.pump.text, "only with kind injection")
    wants = [each for each in salting.ingredients if each.amount.text == "to target"]
    if len(wants) > 1:
        reading.fault(wants[1].line, "salting.ingredients.amount", "to target twice", "one ingredient to target")
    if wants and salting.target_salt is None:
        reading.fault(wants[0].line, "salting.target_salt", "nothing", 'a target, such as "1.8 % of all"')
    if salting.kind == "equilibrium" and salting.target_salt is None:
        reading.fault(
            salting.line, "salting.target_salt", "nothing", 'a target for an equilibrium brine, such as "1.8 % of all"'
        )


def _check_step(step: Step, key: str, names: Iterable[str], method: Method, reading: Reading) -> None:
    if (step.time is None) == (step.until is None):
        reading.fault(step.line, f"{key}.time", "both" if step.time else "nothing", "either time or until, not both")
    if step.use is not None and step.use not in names:
        reading.fault(
            step.line,
            f"{key}.use",
            step.use,
            ", ".join(filter(None, names)) or "the name of a salting or glaze",
            reading.suggestion(step.use, [name for name in names if name]),
        )
    if step.stage == "salt" and not method.saltings:
        reading.fault(step.line, f"{key}.stage", "salt", "a salting block on the page for a salt step")
    if step.until == "core" and (step.core is None or (step.chamber or step.temperature) is None):
        reading.fault(step.line, f"{key}.until", "core", "a core and a chamber temperature beside it")
    if step.until == "target salt" and (
        method.salting(step.use) is None or method.salting(step.use).target_salt is None
    ):
        reading.fault(step.line, f"{key}.until", "target salt", "a target_salt in the salting it uses")
