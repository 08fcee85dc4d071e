"""The ``pieces`` block: shape, sizes and state of the food before any step."""

from __future__ import annotations

from typing import Annotated

from msgspec import Struct

from handbook.base.forms import Choice, Reading, Words, YesNo
from handbook.base.records import Key, rows_of
from handbook.base.units import Quantity, kelvin
from handbook.page.measure_forms import measure, temperature_form

SHAPES = ("slab", "block", "cylinder", "sphere", "oval", "joint", "roll", "loin", "tenderloin", "bird")
#: The form of the food when the salting begins. Cut food is whole inside; tenderised food is pierced by blades or
#: needles; minced food is mixed throughout; mixed food contains several foods; stuffed food contains a filling, which
#: counts as minced.
FORMS = ("whole", "cut", "tenderised", "minced", "mixed", "stuffed")
CASINGS = ("none", "natural", "collagen", "fibrous", "plastic")
#: State of the food when it comes to the kitchen.
FOOD_STATES = ("raw", "partly cooked", "cooked")

LENGTHS = 'a length of 0.5 mm to 1 m, such as "20 mm" or "3/4 in"'
_LENGTH = measure("length", 0.0005, 1.0, LENGTHS, may_range=True)
_MASS = measure("mass", 0, 100, 'a mass above 0 and up to 100 kg, such as "180 g"', may_range=True)


class StatedSize(Struct, frozen=True, kw_only=True):
    """One stated size of piece."""

    name: Annotated[str, Key("what the kitchen calls this size", Words(limit=40))]
    thickness: Annotated[
        Quantity, Key("thickness of this size; left out, its mass gives it", _LENGTH, is_filled_later=True)
    ]
    mass: Annotated[Quantity | None, Key("mass of a piece of this size", _MASS)] = None
    line: int


class PieceShape(Struct, frozen=True, kw_only=True):
    """What one piece looks like. ``thickness`` is the diameter for cylinders and spheres."""

    shape: Annotated[
        str,
        Key(
            "slab, block, cylinder, sphere or oval; or a joint, a boned roll, a long loin, a tenderloin, a whole bird",
            Choice(words=SHAPES),
        ),
    ]
    thickness: Annotated[
        Quantity,
        Key(
            "smallest dimension; the diameter of a cylinder or sphere; through one side of a bird. "
            "Left out, the mass gives it, but for a slab and a block",
            _LENGTH,
            is_filled_later=True,
        ),
    ]
    width: Annotated[Quantity | None, Key("width of a block or an oval", _LENGTH)] = None
    length: Annotated[Quantity | None, Key("length of a block, cylinder or oval", _LENGTH)] = None
    mass: Annotated[Quantity | None, Key("mass of one piece", _MASS)] = None
    fat_cap: Annotated[Quantity | None, Key("thickness of the fat left on one face", _LENGTH)] = None
    bone: Annotated[str | None, Key("whether the bone is in; in a bird it is", Choice(words=("out", "in")))] = None
    temperature: Annotated[
        Quantity | None,
        Key(
            "temperature at the start of the first step; below 0 °C the piece is frozen",
            temperature_form(kelvin(-40), kelvin(60), may_range=True),
        ),
    ] = None
    skin: Annotated[str, Key("skin or shell that salt does not pass", Choice(words=("off", "on", "shell")))] = "off"
    origin: Annotated[str, Key("for fish: how it lived", Choice(words=("unknown", "farmed", "wild")))] = "unknown"
    form: Annotated[
        str,
        Key(
            "whole, cut in pieces, tenderised by blades or needles, minced (sausage too), mixed with other foods, or stuffed with a filling",
            Choice(words=FORMS),
        ),
    ] = "cut"
    casing: Annotated[
        str,
        Key(
            "the casing it is filled in; cut pieces in a casing count as minced, one muscle is whole",
            Choice(words=CASINGS),
        ),
    ] = "none"
    state: Annotated[str, Key("how the food comes to the kitchen", Choice(words=FOOD_STATES))] = "raw"
    gutted: Annotated[bool | None, Key("for whole fish: whether the guts are out", YesNo())] = None
    sizes: Annotated[tuple[StatedSize, ...], Key("stated sizes, each with its own times", rows_of(StatedSize, 12))] = ()
    line: int

    @property
    def worked_form(self) -> str:
        """The form by which the food is judged: cut pieces in a casing count as minced, since their surfaces are inside."""
        return "minced" if self.form == "cut" and self.casing != "none" else self.form


def check_pieces(pieces: PieceShape, reading: Reading) -> None:
    """Record a block's missing sides, and sides below its thickness."""
    if pieces.shape != "block":
        return
    sides = {"pieces.width": pieces.width, "pieces.length": pieces.length}
    for key, side in sides.items():
        if side is None:
            reading.fault(pieces.line, key, "nothing", "a length for a block")
    for key, side in sides.items():
        if side is not None and pieces.thickness is not None and side.high < pieces.thickness.low:
            allowed = f"at least the thickness, {pieces.thickness.text}: that is the smallest of a block"
            reading.fault(pieces.line, key, side.text, allowed)
