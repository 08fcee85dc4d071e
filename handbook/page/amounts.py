"""The amounts of an ingredient list: a mass, a household volume, pieces, a share, or a target to reach."""

from __future__ import annotations

import re
from typing import Any

from msgspec import Struct

from handbook.base.errors import UnitError
from handbook.base.forms import Form, Reading
from handbook.base.units import Quantity, parse_quantity
from handbook.base.yaml_text import Text

BASES = ("food", "meat block", "water", "all", "water phase")
#: Bases of an ingredient's share: the whole food, its meat, or the water lines.
_INGREDIENT_BASES = ("food", "meat block", "water")
_PPM = re.compile(r"(?P<number>\d{1,4}(?:\.\d{1,2})?) ?ppm (?P<salt>nitrite|nitrate)")
_GAUGES = (
    (re.compile(r"(?:to )?(\d{1,3}(?:\.\d)?) ?°? ?(?:salometer|SAL)"), "salometer", 1.0, 100.0),
    (re.compile(r"(?:to )?(?:SG (\d\.\d{2,4})|(\d\.\d{2,4}) SG)"), "specific gravity", 1.002, 1.3),
    (re.compile(r"(?:to )?(?:Baum[ée] (\d{1,2}(?:\.\d)?)|(\d{1,2}(?:\.\d)?) ?°? ?Baum[ée])"), "Baumé", 0.3, 33.0),
)
_TO = re.compile(r"to (?P<number>.+?%) (?:in the [a-z]+(?: [a-z]+)?|of (?P<base>[a-z ]+))")
#: Highest target for salt: saturated brine.
_MOST_SALT = 0.26
#: Cooks' words for the base of a share.
BASE_WORDS = {
    **{each: each for each in BASES},
    "the food": "food", "meat": "food", "the meat": "food", "fish": "food", "the fish": "food", "green weight": "food",
    "vegetables": "food", "the vegetables": "food", "the water": "water", "everything": "all", "total": "all",
    "food and water": "all", "meat and water": "all", "food and brine": "all",
}  # fmt: skip
#: Words that count whole pieces of an ingredient.
COUNTED = (
    "piece", "pieces", "leaf", "leaves", "clove", "cloves", "sprig", "sprigs", "stick", "sticks", "pod", "pods",
    "berry", "berries", "whole",
)  # fmt: skip
#: Words for amounts of unknown weight.
VAGUE = ("bunch", "bunches", "pinch", "handful", "head", "heads", "dash", "splash", "knob", "glug")
#: Replaces a vague amount while a faulty page is read.
_PINCH = parse_quantity("10 g", "mass")
_SHARE = re.compile(r"(?P<number>.+?(?:%|percent|ppm))\s+of\s+(?P<base>[a-z ]+)")
_BARE_SHARE = re.compile(r"[\d. /½¼¾⅓⅔]+(?:%|percent)")
_PIECES = re.compile(rf"(?P<number>\d{{1,4}}) (?:{'|'.join(COUNTED)})")


class Share(Struct, frozen=True, kw_only=True):
    """A fraction of a stated base: food (green weight), meat block (the meat of a formula), water, all (food and brine) or
    water phase."""

    fraction: float
    base: str
    text: str


class PieceCount(Struct, frozen=True, kw_only=True):
    """A number of whole pieces of an ingredient."""

    count: int
    text: str


class Packed(Struct, frozen=True, kw_only=True):
    """A household volume. ``filling`` is packed, loose or empty."""

    quantity: Quantity
    filling: str
    text: str


class ToTarget(Struct, frozen=True, kw_only=True):
    """The mass that reaches a salt: the ``share`` written beside it, else the salting's target_salt."""

    text: str = "to target"
    share: Share | None = None


class Gauge(Struct, frozen=True, kw_only=True):
    """The mass of salt with which an instrument reads ``value`` in the finished brine at 60 °F; ``scale`` as in instruments."""

    scale: str
    value: float
    text: str


class CurePpm(Struct, frozen=True, kw_only=True):
    """The mass of curing salt that gives an ingoing ``ppm`` of ``salt``: nitrite or nitrate."""

    ppm: float
    salt: str
    text: str


Amount = Quantity | Packed | PieceCount | Share | ToTarget | Gauge | CurePpm
#: Amounts that depend on all other ingredients.
Solved = ToTarget | Gauge | CurePpm


class ShareForm(Form, frozen=True, kw_only=True):
    """A share such as ``2.5 % of food``, of one of ``bases``, above 0 and up to ``high``."""

    bases: tuple[str, ...]
    high: float = 1.0

    @property
    def allowed(self) -> str:
        bases = ", ".join(self.bases)
        return f'a share above 0 and up to {self.high:.0%}, such as "2.5 % of {self.bases[0]}" (of {bases})'

    def read_text(self, node: Text, key: str, reading: Reading) -> Any:
        share = _share(node.value)
        if share and share.base in self.bases and 0 < share.fraction <= self.high:
            return share
        meant = _share(f"{node.value} of {self.bases[0]}")
        return self._fault(node, key, reading, instead=meant if meant and meant.fraction <= self.high else None)

    def schema(self) -> dict[str, Any]:
        return {"type": "string", "pattern": f"^[0-9].*% of ({'|'.join(self.bases)})$"}


class AmountForm(Form, frozen=True):
    """Any amount of an ingredient list."""

    allowed = (
        'a mass ("160 g"), a household volume ("2 cup, packed"), a share ("2.5 % of food", "2 % of meat block", '
        '"5 % of water"), pieces ("4 leaves"), salt "to target", "to 2.2 % in the meat", "60 salometer" or "SG 1.060", '
        'curing salt "150 ppm nitrite"'
    )

    def read_text(self, node: Text, key: str, reading: Reading) -> Any:
        text = " ".join(node.value.split())
        if text == "to target":
            return ToTarget()
        if found := solved_amount(text):
            return found
        if pieces := _PIECES.fullmatch(text):
            count = int(pieces["number"])
            return PieceCount(count=count, text=text) if count else self._fault(node, key, reading)
        if _BARE_SHARE.fullmatch(text) and reading.share_of:
            text = f"{text} of {reading.share_of}"
        if share := _share(text):
            is_allowed = share.base in _INGREDIENT_BASES and 0 < share.fraction <= 3
            return share if is_allowed else self._fault(node, key, reading)
        bare, _, filling = (part.strip() for part in text.partition(","))
        try:
            quantity = parse_quantity(bare, "mass", "volume", measures=reading.measures)
        except UnitError as error:
            if text.split()[-1:] and text.split()[-1] in VAGUE:
                return self._fault(node, key, reading, instead=_PINCH)
            return self._fault(node, key, reading, suggestion=error.suggestion)
        wrong_filling = filling and (filling not in ("packed", "loose") or quantity.dimension != "volume")
        if wrong_filling or quantity.is_range or not 0 < quantity.low < 1e4:
            return self._fault(node, key, reading)
        return quantity if quantity.dimension == "mass" else Packed(quantity=quantity, filling=filling, text=text)


def solved_amount(text: str) -> ToTarget | Gauge | CurePpm | None:
    """An amount that is computed from its target; None for any other text, or for a target outside the limits."""
    if match := _PPM.fullmatch(text):
        ppm = float(match["number"])
        return CurePpm(ppm=ppm, salt=match["salt"], text=text) if 0 < ppm <= 5000 else None
    for pattern, scale, low, high in _GAUGES:
        if match := pattern.fullmatch(text):
            value = float(next(each for each in match.groups() if each))
            return Gauge(scale=scale, value=value, text=text) if low <= value <= high else None
    if match := _TO.fullmatch(text):
        share = _share(f"{match['number']} of {match['base'] or 'food'}")
        is_salt = (
            share is not None and share.base in ("food", "all", "water phase") and 0 < share.fraction <= _MOST_SALT
        )
        return ToTarget(text=text, share=share) if is_salt else None
    return None


def _share(text: str) -> Share | None:
    match = _SHARE.fullmatch(" ".join(text.split()))
    if match is None or match["base"] not in BASE_WORDS:
        return None
    base = BASE_WORDS[match["base"]]
    try:
        quantity = parse_quantity(match["number"], "fraction")
    except UnitError:
        return None
    return None if quantity.is_range else Share(fraction=quantity.low, base=base, text=f"{match['number']} of {base}")
