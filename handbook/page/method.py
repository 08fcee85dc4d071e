"""The method model: frozen records read from a page's front matter and calculation blocks."""

from __future__ import annotations

import datetime
import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from handbook.base.errors import UnitError
from handbook.base.forms import (
    Choice,
    Count,
    Date,
    Field,
    Form,
    ListOf,
    Measure,
    Name,
    Number,
    Reading,
    Record,
    Words,
    YesNo,
)
from handbook.base.units import Quantity, kelvin, parse_quantity
from handbook.base.yaml_text import Text
from handbook.page.amounts import Amount, AmountForm, Share, ShareForm

KINDS = ("hot smoke", "cold smoke", "cook", "dry cure", "brine", "ferment")
SALTING_KINDS = ("immersion", "equilibrium", "injection", "dry cure", "ferment brine", "dry-salted ferment")
#: Kinds of salting in which the food lies in a liquid that shares its salt with it: a bath.
BATHS = ("immersion", "equilibrium", "ferment brine")
#: Kinds of salting in which the salt is rubbed on or strewn, with no bath.
DRY = ("dry cure", "dry-salted ferment")
#: What the food is when the salting begins. Cut food is whole inside; minced food is mixed through; mixed food holds
#: several foods; stuffed food holds a filling, which counts as minced.
FORMS = ("whole", "cut", "minced", "mixed", "stuffed")
CASINGS = ("none", "natural", "fibrous")
#: How the food comes to the kitchen.
FOOD_STATES = ("raw", "partly cooked", "cooked")
#: Who makes the food safe to eat: the page, or the eater who cooks it.
EATEN = ("as it is", "cooked by the eater")
#: What surrounds the food in a step.
MEDIA = ("air", "brine", "water", "oil", "vacuum", "jar", "cased", "wrapped", "ice")
PACKS = ("air", "vacuum", "brine", "oil", "jar", "bottle", "can", "wrapped", "casing")
#: What a page may say was measured, where and how.
MEASURANDS = ("pH", "water activity", "weight loss", "water-phase salt", "core")
MEASURED_WHERE = ("through the piece", "brine", "surface", "thickest place", "whole piece")
MEASURED_HOW = ("meter", "strip", "lab", "scale", "probe")
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
    "dry",
    "hold",
    "reheat",
    "pack",
    "serve",
)
#: Stages of fire and smoke; whether a step heats the food is for handbook.heated to say.
HEATING = ("smoke", "cook")
PLACES = ("bench", "fridge", "freezer", "smoker", "oven", "stove", "cellar", "room")
AIRS = ("still", "draught", "forced", "steam", "water")
BLOCKS = ("pieces", "salting", "glaze", "steps", "batches", "measured", "keeping")
MAX_STEPS = 300
#: Blocks of which a page may hold several, told apart by their ``name``.
SEVERAL = ("salting", "glaze")


@dataclass(frozen=True, kw_only=True)
class IngredientLine:
    """One line of an ingredient list as written."""

    item: str
    amount: Amount
    note: str
    line: int


@dataclass(frozen=True, kw_only=True)
class Salting:
    """How salt gets in: one brine or dry cure, its ingredients for the batch the page was written at."""

    kind: str
    name: str
    ingredients: tuple[IngredientLine, ...]
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


@dataclass(frozen=True, kw_only=True)
class Glaze:
    """A mixture brushed or poured on; ``stays_on`` is the part that ends on the food, of green weight."""

    name: str
    ingredients: tuple[IngredientLine, ...]
    stays_on: Share | None
    line: int


@dataclass(frozen=True, kw_only=True)
class StatedSize:
    """One stated size of piece."""

    name: str
    thickness: Quantity
    mass: Quantity | None
    line: int


@dataclass(frozen=True, kw_only=True)
class PieceShape:
    """What one piece looks like. ``thickness`` is the diameter for cylinders and spheres."""

    shape: str
    thickness: Quantity
    width: Quantity | None
    length: Quantity | None
    mass: Quantity | None
    skin: str
    origin: str
    form: str
    sizes: tuple[StatedSize, ...]
    line: int
    casing: str = "none"
    state: str = "raw"
    gutted: bool | None = None


@dataclass(frozen=True, kw_only=True)
class Repeat:
    """A repeated action inside a step, such as basting every 30 min."""

    every: Quantity
    do: str
    takes: Quantity | None
    line: int


@dataclass(frozen=True, kw_only=True)
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
    medium: str | None = None


@dataclass(frozen=True, kw_only=True)
class Batches:
    """The batch the page was written for and the batches it shows, by green weight of the food."""

    written_for: Quantity
    show: tuple[Quantity, ...]
    line: int


@dataclass(frozen=True, kw_only=True)
class Keeping:
    """How the finished food is packed and kept."""

    pack: str
    temperature: Quantity | None
    time: Quantity | None
    frozen: Quantity | None
    line: int


@dataclass(frozen=True, kw_only=True)
class Measured:
    """One measurement of the finished food: what, where, how and its record. Without a record it is a claim.

    ``value`` is a plain number: a pH, a water activity or a core in K, or a share as a fraction.
    """

    what: str
    value: float
    where: str
    how: str
    record: str
    line: int


@dataclass(frozen=True, kw_only=True)
class FrontMatter:
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
    eaten: str = "as it is"


@dataclass(frozen=True, kw_only=True)
class Method:
    """One method page, read without a fault. ``file`` is its path as shown in errors, ``name`` its page name."""

    file: str
    name: str
    sheet: FrontMatter
    pieces: PieceShape
    saltings: tuple[Salting, ...]
    glazes: tuple[Glaze, ...]
    steps: tuple[Step, ...]
    batches: Batches
    keeping: Keeping | None
    measured: tuple[Measured, ...] = ()

    def salting(self, name: str | None) -> Salting | None:
        """The salting called ``name``, or the first one where no name is given."""
        return next((each for each in self.saltings if name is None or each.name == name), None)


@dataclass(frozen=True, kw_only=True)
class Vocabulary:
    """The names that a page may use: foods, ingredients, containers (of the engine and of the house)."""

    foods: Collection[str]
    ingredients: Collection[str]
    containers: Collection[str]


_COLD, _HOT = kelvin(-60), kelvin(400)
_PLAIN_NUMBER = re.compile(r"\d{1,2}(?:\.\d{1,4})?")


class MeasuredValue(Form):
    """A measured value: a plain number (pH, water activity), a share or a temperature."""

    allowed = 'a pH or water activity as a number, a share such as "3.6 %", or a temperature'

    def read_text(self, node: Text, key: str, reading: Reading) -> Any:
        """The number in SI; a share as a fraction."""
        if _PLAIN_NUMBER.fullmatch(node.value):
            return float(node.value)
        try:
            return parse_quantity(node.value, "fraction", "temperature").low
        except UnitError:
            return self._fault(node, key, reading)


def _temperature(low: float = _COLD, high: float = _HOT, **more: bool) -> Measure:
    return Measure(
        dimensions=("temperature",),
        low=low,
        high=high,
        limits=f'a temperature, {low - 273.15:.0f} to {high - 273.15:.0f} °C, such as "77 °C" or "170 °F"',
        **more,
    )


def _time(**more: bool) -> Measure:
    return Measure(
        dimensions=("time",),
        low=0,
        high=400 * 86400,
        limits='a time above 0 and up to 400 days, such as "90 min" or "12-24 h"',
        **more,
    )


def _fraction(low: float, high: float, **more: bool) -> Measure:
    return Measure(
        dimensions=("fraction",),
        low=low,
        high=high,
        limits=f'a share, {low * 100:.0f} % to {high * 100:.0f} %, such as "{(low + high) / 4 * 100:.0f} %"',
        may_be_zero=True,
        **more,
    )


def _length(**more: bool) -> Measure:
    return Measure(
        dimensions=("length",),
        low=0.0005,
        high=1.0,
        limits='a length of 0.5 mm to 1 m, such as "20 mm" or "3/4 in"',
        **more,
    )


_PIECE_MASS = Measure(
    dimensions=("mass",), low=0, high=100, limits='a mass above 0 and up to 100 kg, such as "180 g"', may_range=True
)
_BATCH_MASS = Measure(dimensions=("mass",), low=0, high=5000, limits='a mass above 0 and up to 5000 kg, such as "2 kg"')


def sheet_record(words: Vocabulary) -> Record:
    """The front matter's form."""
    return Record(
        fields=(
            Field(key="title", form=Words(limit=100), help="name of the method", required=True),
            Field(
                key="food",
                form=Name(kind="a food", names=lambda: words.foods),
                help="the food, as in the list of foods",
                required=True,
            ),
            Field(key="kind", form=Choice(words=KINDS), help="kind of method", required=True),
            Field(key="summary", form=Words(limit=300), help="one line for the contents", required=True),
            Field(key="keeper", form=Words(limit=80), help="who keeps the page", required=True),
            Field(key="reviewed", form=Date(), help="day of the last review", required=True),
            Field(
                key="portions",
                form=Count(low=1, high=10_000),
                help="portions from the batch the page was written for",
                required=True,
            ),
            Field(key="tags", form=ListOf(form=Words(limit=40), limit=20), help="words to find it by", default=()),
            Field(key="equipment", form=ListOf(form=Words(limit=60), limit=30), help="what it takes", default=()),
            Field(
                key="eaten",
                form=Choice(words=EATEN),
                help="eaten as the page leaves it, or cooked by the eater",
                default="as it is",
            ),
        ),
        build=FrontMatter,
    )


@lru_cache(maxsize=64)
def block_form(block: str, words: Vocabulary) -> Record | ListOf:
    """The form of one kind of block."""
    ingredients = ListOf(
        form=Record(
            fields=(
                Field(
                    key="item",
                    form=Name(kind="an ingredient", names=lambda: words.ingredients),
                    help="ingredient, as in the list of weights",
                    required=True,
                ),
                Field(
                    key="amount",
                    form=AmountForm(),
                    help="how much, for the batch the page was written for",
                    required=True,
                ),
                Field(key="note", form=Words(limit=120), help="a word to the cook", default=""),
            ),
            build=IngredientLine,
        ),
        limit=60,
        may_be_single=False,
    )
    container = Name(kind="a container", names=lambda: words.containers)
    forms: dict[str, Record | ListOf] = {
        "pieces": Record(
            fields=(
                Field(key="shape", form=Choice(words=SHAPES), help="slab, block, cylinder or sphere", required=True),
                Field(
                    key="thickness",
                    form=_length(may_range=True),
                    help="smallest dimension; the diameter of a cylinder or sphere",
                    required=True,
                ),
                Field(key="width", form=_length(may_range=True), help="width of a block"),
                Field(key="length", form=_length(may_range=True), help="length of a block or cylinder"),
                Field(key="mass", form=_PIECE_MASS, help="mass of one piece"),
                Field(
                    key="skin",
                    form=Choice(words=("off", "on", "shell")),
                    help="skin or shell that salt does not pass",
                    default="off",
                ),
                Field(
                    key="origin",
                    form=Choice(words=("unknown", "farmed", "wild")),
                    help="for fish: how it lived",
                    default="unknown",
                ),
                Field(
                    key="form",
                    form=Choice(words=FORMS),
                    help="whole, cut in pieces, minced (sausage too), mixed with other foods, or stuffed with a filling",
                    default="cut",
                ),
                Field(key="casing", form=Choice(words=CASINGS), help="the casing it is filled in", default="none"),
                Field(
                    key="state",
                    form=Choice(words=FOOD_STATES),
                    help="how the food comes to the kitchen",
                    default="raw",
                ),
                Field(key="gutted", form=YesNo(), help="for whole fish: whether the guts are out"),
                Field(
                    key="sizes",
                    form=ListOf(
                        form=Record(
                            fields=(
                                Field(
                                    key="name",
                                    form=Words(limit=40),
                                    help="what the kitchen calls this size",
                                    required=True,
                                ),
                                Field(
                                    key="thickness",
                                    form=_length(may_range=True),
                                    help="thickness of this size",
                                    required=True,
                                ),
                                Field(key="mass", form=_PIECE_MASS, help="mass of a piece of this size"),
                            ),
                            build=StatedSize,
                        ),
                        limit=12,
                        may_be_single=False,
                    ),
                    help="stated sizes, each with its own times",
                    default=(),
                ),
            ),
            build=PieceShape,
        ),
        "salting": Record(
            fields=(
                Field(key="kind", form=Choice(words=SALTING_KINDS), help="how the salt gets in", required=True),
                Field(key="name", form=Words(limit=40), help="a name, when a page has several", default=""),
                Field(key="ingredients", form=ingredients, help="what goes in", required=True),
                Field(
                    key="target_salt",
                    form=ShareForm(bases=("all", "food", "water phase"), high=0.26),
                    help="salt aimed at when all is shared",
                ),
                Field(key="pump", form=_fraction(0.01, 0.6), help="brine injected, of green weight"),
                Field(
                    key="temperature",
                    form=_temperature(kelvin(-5), kelvin(45), may_range=True),
                    help="temperature while salting",
                ),
                Field(
                    key="container",
                    form=container,
                    help="container of the house; else the smallest that holds the batch",
                ),
            ),
            build=Salting,
        ),
        "glaze": Record(
            fields=(
                Field(key="name", form=Words(limit=40), help="a name, when a page has several", default="glaze"),
                Field(key="ingredients", form=ingredients, help="what goes in", required=True),
                Field(
                    key="stays_on",
                    form=ShareForm(bases=("food",), high=0.5),
                    help="what ends on the food, of green weight",
                ),
            ),
            build=Glaze,
        ),
        "steps": ListOf(
            form=Record(
                fields=(
                    Field(key="do", form=Words(limit=500), help="what is done", required=True),
                    Field(key="stage", form=Choice(words=STAGES), help="what it does to the food", required=True),
                    Field(key="time", form=_time(may_range=True), help="how long; left out where `until` computes it"),
                    Field(
                        key="until",
                        form=Choice(words=("core", "target salt")),
                        help="compute the time: core temperature or target salt reached",
                    ),
                    Field(key="hands_on", form=YesNo(), help="whether the cook is at it", default=False),
                    Field(key="place", form=Choice(words=PLACES), help="where it happens", default="bench"),
                    Field(key="temperature", form=_temperature(may_range=True), help="temperature of the surroundings"),
                    Field(key="chamber", form=_temperature(may_range=True), help="set temperature of smoker or oven"),
                    Field(
                        key="humidity",
                        form=_fraction(0.0, 1.0, may_range=True),
                        help="relative humidity of the chamber",
                    ),
                    Field(key="air", form=Choice(words=AIRS), help="how the air or water moves"),
                    Field(key="core", form=_temperature(may_range=False), help="core temperature to reach"),
                    Field(key="hold", form=_time(), help="time to hold the core there"),
                    Field(key="use", form=Words(limit=40), help="name of the salting or glaze used"),
                    Field(key="medium", form=Choice(words=MEDIA), help="what surrounds the food in this step"),
                    Field(
                        key="water", form=ShareForm(bases=("food",), high=50), help="freshening water, of green weight"
                    ),
                    Field(
                        key="changes",
                        form=Count(low=1, high=20),
                        help="how often freshening water is changed, first filling included",
                        default=1,
                    ),
                    Field(
                        key="loss",
                        form=_fraction(0.0, 0.9, may_range=True),
                        help="weight lost in this step, of its start",
                    ),
                    Field(
                        key="gain",
                        form=_fraction(0.0, 0.6, may_range=True),
                        help="weight gained in this step, of its start",
                    ),
                    Field(
                        key="final_ph",
                        form=Number(low=2.0, high=8.0, what="a pH"),
                        help="highest pH at which the step may end",
                    ),
                    Field(
                        key="repeat",
                        form=Record(
                            fields=(
                                Field(key="every", form=_time(), help="time between two actions", required=True),
                                Field(key="do", form=Words(limit=120), help="the action", required=True),
                                Field(key="takes", form=_time(), help="hands-on time of one action"),
                            ),
                            build=Repeat,
                        ),
                        help="an action repeated during the step",
                    ),
                ),
                build=Step,
            ),
            limit=MAX_STEPS,
            may_be_single=False,
        ),
        "batches": Record(
            fields=(
                Field(
                    key="written_for", form=_BATCH_MASS, help="green weight of food the amounts are for", required=True
                ),
                Field(
                    key="show",
                    form=ListOf(form=_BATCH_MASS, limit=12),
                    help="batches to show; default from the house file",
                    default=(),
                ),
            ),
            build=Batches,
        ),
        "measured": ListOf(
            form=Record(
                fields=(
                    Field(key="what", form=Choice(words=MEASURANDS), help="what was measured", required=True),
                    Field(key="value", form=MeasuredValue(), help="the value read", required=True),
                    Field(key="where", form=Choice(words=MEASURED_WHERE), help="where in the food", required=True),
                    Field(key="how", form=Choice(words=MEASURED_HOW), help="with what", required=True),
                    Field(
                        key="record", form=Words(limit=120), help="run, report or date; without it, a claim", default=""
                    ),
                ),
                build=Measured,
            ),
            limit=20,
            may_be_single=False,
        ),
        "keeping": Record(
            fields=(
                Field(
                    key="pack",
                    form=Choice(words=PACKS),
                    help="how the finished food is packed; jar, bottle and can are closed",
                    required=True,
                ),
                Field(key="temperature", form=_temperature(kelvin(-40), kelvin(40)), help="temperature it is kept at"),
                Field(key="time", form=_time(), help="how long it keeps cold"),
                Field(key="frozen", form=_time(), help="how long it keeps frozen"),
            ),
            build=Keeping,
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
    mixtures: tuple[Salting | Glaze, ...] = (*method.saltings, *method.glazes)
    names = [each.name for each in mixtures]
    for each in mixtures:
        if names.count(each.name) > 1:
            reading.fault(each.line, "name", each.name or "nothing", "a name of its own for each salting and glaze")
    for salting in method.saltings:
        _check_salting(salting, reading)
    for measured in method.measured:
        _check_measured(measured, reading)
    for number, step in enumerate(method.steps, 1):
        _check_step(step, f"steps.{number}", names, method, reading)


#: What a measurement may read, in SI.
_MEASURED_RANGES = {
    "pH": (2.0, 9.0, "a pH of 2 to 9"),
    "water activity": (0.3, 1.0, "a water activity of 0.3 to 1"),
    "weight loss": (0.0, 0.9, 'a share up to 90 %, such as "38 %"'),
    "water-phase salt": (0.0, 0.27, 'a share up to 27 %, such as "3.6 %"'),
    "core": (kelvin(-40), kelvin(130), 'a temperature, such as "72 °C"'),
}


def _check_measured(each: Measured, reading: Reading) -> None:
    low, high, allowed = _MEASURED_RANGES[each.what]
    if not low <= each.value <= high:
        reading.fault(each.line, "measured.value", f"{each.value:g}", f"{allowed} for {each.what}")


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
    salting = method.salting(step.use)
    if step.until == "target salt" and (salting is None or salting.target_salt is None):
        reading.fault(step.line, f"{key}.until", "target salt", "a target_salt in the salting it uses")
