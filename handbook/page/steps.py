"""The ``steps`` block: action, place, duration, and effect on the food."""

from __future__ import annotations

import re
from typing import Annotated, Any

from msgspec import Struct
from msgspec.structs import replace

from handbook.base.forms import Choice, Count, Form, ListOf, Number, Reading, Words, YesNo
from handbook.base.records import Key, Record, record_of
from handbook.base.units import Quantity, kelvin
from handbook.base.yaml_text import Node, Text
from handbook.page.amounts import Share, ShareForm
from handbook.page.measure_forms import fraction_form, measure, temperature_form, time_form
from handbook.page.until import Until, UntilForm

#: Media that surround the food in a step.
MEDIA = ("air", "brine", "water", "oil", "vacuum", "jar", "cased", "wrapped", "ice")
STAGES = (
    "prepare", "salt", "rinse", "freshen", "rest", "glaze", "smoke", "cook", "cool", "freeze", "thaw", "ferment", "dry",
    "hold", "reheat", "pack", "serve",
)  # fmt: skip
PLACES = ("bench", "fridge", "freezer", "smoker", "oven", "stove", "cellar", "room")
AIRS = ("still", "draught", "forced", "steam", "water")
#: Covers of the food in a step: a lid on its pan, foil around it, paper that lets vapour through, a sealed bag.
COVERS = ("none", "lid", "foil", "paper", "bag")
_SPEED = re.compile(r"(\d{1,2}(?:\.\d{1,3})?) ?m/s")


class AirForm(Form, frozen=True):
    """How the air or water moves: a word, or a speed such as "1.5 m/s". The value is the text."""

    allowed = f'{", ".join(AIRS)}, or the speed of the air, 0.05 to 20 m/s, such as "1.5 m/s"'

    def read_text(self, node: Text, key: str, reading: Reading) -> Any:
        """The word, or the speed as written."""
        speed = air_speed(node.value)
        if node.value in AIRS or (speed is not None and 0.05 <= speed <= 20.0):
            return node.value
        return self._fault(node, key, reading, suggestion=reading.suggestion(node.value, AIRS))


def air_speed(air: str | None) -> float | None:
    """Speed of the air in m/s where a step writes one, else None."""
    match = _SPEED.fullmatch(air or "")
    return float(match[1]) if match else None


class Repeat(Struct, frozen=True, kw_only=True):
    """A repeated action inside a step, such as basting every 30 min."""

    every: Annotated[Quantity, Key("time between two actions", time_form())]
    do: Annotated[str, Key("the action", Words(limit=120))]
    takes: Annotated[Quantity | None, Key("hands-on time of one action", time_form())] = None
    line: int


#: Materials of a box in which food or brine stands without heating or cooling.
BOX_WALLS = ("foam", "insulated plastic", "wood", "plastic", "steel", "towels")


class Box(Struct, frozen=True, kw_only=True):
    """A closed box that is neither heated nor cooled; the step's temperature is that of its contents at the start."""

    wall: Annotated[str, Key("what the box is made of", Choice(words=BOX_WALLS))]
    room: Annotated[Quantity, Key("temperature of the room around it", temperature_form(kelvin(-40), kelvin(60), True))]
    thickness: Annotated[
        Quantity | None,
        Key("thickness of its wall", measure("length", 0.0003, 0.5, 'a length of 0.3 mm to 50 cm, such as "30 mm"')),
    ] = None
    ice: Annotated[Quantity | None, Key("ice added to the box", measure("mass", 0, 5000, 'a mass, such as "2 kg"'))] = (
        None
    )
    line: int


class Step(Struct, frozen=True, kw_only=True):
    """One step as written; ``time`` is None when it is computed from ``until``."""

    do: Annotated[str, Key("what is done", Words(limit=500))]
    stage: Annotated[str, Key("what it does to the food", Choice(words=STAGES))]
    time: Annotated[Quantity | None, Key("how long; left out where `until` gives it", time_form(may_range=True))] = None
    until: Annotated[
        Until | None,
        Key(
            "what ends the step: a core temperature, a reduction of germs at the core, the target salt, a loss of weight, "
            "a pH or a water activity. Its time is computed, or taken from the runs, or `time` is the time to plan with",
            UntilForm(),
        ),
    ] = None
    hands_on: Annotated[bool, Key("whether the cook works at it", YesNo())] = False
    place: Annotated[str, Key("where it happens", Choice(words=PLACES))] = "bench"
    temperature: Annotated[
        Quantity | None, Key("temperature of the surroundings", temperature_form(may_range=True))
    ] = None
    chamber: Annotated[Quantity | None, Key("set temperature of smoker or oven", temperature_form(may_range=True))] = (
        None
    )
    humidity: Annotated[
        Quantity | None, Key("relative humidity of the chamber", fraction_form(0.0, 1.0, may_range=True))
    ] = None
    air: Annotated[str | None, Key("how the air or water moves: a word, or the speed of the air", AirForm())] = None
    core: Annotated[Quantity | None, Key("core temperature to reach", temperature_form())] = None
    hold: Annotated[Quantity | None, Key("time to hold the core there", time_form())] = None
    use: Annotated[str | None, Key("name of the salting or glaze used", Words(limit=40))] = None
    wood: Annotated[str, Key("the smoking wood; of the smoke only wood and time are recorded", Words(limit=40))] = ""
    medium: Annotated[str | None, Key("what surrounds the food in this step", Choice(words=MEDIA))] = None
    cover: Annotated[
        str, Key("what covers the food: a lid on the pan, foil, paper, a sealed bag", Choice(words=COVERS))
    ] = "none"
    water: Annotated[Share | None, Key("freshening water, of green weight", ShareForm(bases=("food",), high=50))] = None
    changes: Annotated[
        int, Key("how often freshening water is changed, first filling included", Count(low=1, high=20))
    ] = 1
    loss: Annotated[
        Quantity | None,
        Key(
            "weight lost in this step, of its start; 0 % where the batch is weighed after it",
            fraction_form(0.0, 0.9, may_range=True),
        ),
    ] = None
    gain: Annotated[
        Quantity | None, Key("weight gained in this step, of its start", fraction_form(0.0, 0.6, may_range=True))
    ] = None
    final_ph: Annotated[
        float | None, Key("highest pH at which the step may end", Number(low=2.0, high=8.0, what="a pH"))
    ] = None
    box: Annotated[
        Box | None, Key("a box without heating or cooling around the food; its temperature is computed", record_of(Box))
    ] = None
    repeat: Annotated[Repeat | None, Key("an action repeated during the step", record_of(Repeat))] = None
    line: int

    @property
    def waits_for(self) -> str:
        """The measured or computed end of the step, as ``Until.what``; "" for a step that ends by the clock."""
        return self.until.what if self.until else ""

    @property
    def is_beside_food(self) -> bool:
        """Whether the step heats a brine or a glaze on the stove while the food is prepared: it has no core."""
        return self.stage == "prepare" and self.core is None and self.place == "stove"

    @property
    def is_in_plain_water(self) -> bool:
        """Whether the food lies in plain water, by its medium or an amount of water. Rinsing and freshening use water
        where the page states no medium.
        """
        if self.medium is not None:
            return self.medium == "water"
        return self.water is not None or self.stage in ("rinse", "freshen")


class StepForm(Record, frozen=True):
    """The form of one step. A core written in ``until`` becomes the step's core."""

    def read(self, node: Node, key: str, reading: Reading) -> Any:
        step: Step | None = super().read(node, key, reading)
        if step is None or step.until is None or step.until.core is None:
            return step
        if step.core is not None:
            reading.fault(step.line, f"{key}.core", "a core here and in until", "the core once: here or in until")
        return replace(step, core=step.until.core)


STEPS_FORM = ListOf(form=record_of(Step, StepForm), limit=300, may_be_single=False)
