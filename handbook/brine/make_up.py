"""Brine and cure make-up: what goes in, how strong it is, and where it settles with the food."""

from __future__ import annotations

from dataclasses import dataclass
from functools import reduce
from operator import add

from handbook.base.errors import RangeError
from handbook.base.ranges import Range
from handbook.brine.nitrite import Process, comminuted_ppm, dry_cured_ppm, immersed_equilibrium_ppm, pumped_ppm
from handbook.catalogue.foods import Food
from handbook.catalogue.ingredients import Ingredient
from handbook.page.amounts import Amount, Packed, PieceCount, Share, ToTarget
from handbook.page.method import Salting

#: Water of green weight from which a liquid make-up is a bath, however the page calls it (common practice, no source).
_BATH_WATER = 0.10


@dataclass(frozen=True, kw_only=True)
class IngredientMass:
    """One ingredient of a make-up: its mass in kg with the spread of a household measure, and as written."""

    ingredient: Ingredient
    mass: Range
    written: str
    by_volume: bool
    note: str

    def scaled(self, factor: float) -> IngredientMass:
        """The part for a batch ``factor`` times as large."""
        return IngredientMass(
            ingredient=self.ingredient,
            mass=self.mass.times(factor),
            written=self.written,
            by_volume=self.by_volume,
            note=self.note,
        )


@dataclass(frozen=True, kw_only=True)
class MakeUp:
    """All parts of one brine, cure or glaze. Masses in kg; ``end`` picks low, typical or high amounts."""

    parts: tuple[IngredientMass, ...]

    def total(self, what: str = "", end: str = "typical") -> float:
        """Mass in kg of everything, or of ``what``: water, salt, sugars, sodium, nitrite or nitrate."""
        shares = (getattr(part.mass, end) * (getattr(part.ingredient, what) if what else 1.0) for part in self.parts)
        # Plain addition: from Python 3.12 on sum() keeps lost digits, and the script of the page adds plainly too.
        return reduce(add, shares, 0.0)

    @property
    def mass(self) -> float:
        """Mass in kg."""
        return self.total()

    @property
    def is_liquid(self) -> bool:
        """Whether it can be a brine: more water than salt. The moisture of honey or spices makes no brine."""
        return self.total("water") > self.total("salt")

    @property
    def has_cure(self) -> bool:
        """Whether it brings nitrite or nitrate, whatever its ingredients are called."""
        return self.total("nitrite") > 0 or self.total("nitrate") > 0

    @property
    def salt_mass_fraction(self) -> float:
        """Salt / everything."""
        return self.total("salt") / self.mass

    @property
    def sugar_mass_fraction(self) -> float:
        """Sugars / everything."""
        return self.total("sugars") / self.mass

    @property
    def solution_salt(self) -> float:
        """Salt / (water + salt + sugars): the strength of what is dissolved, spices left out."""
        return self.total("salt") / self.solution_mass

    @property
    def solution_sugar(self) -> float:
        """Sugars / (water + salt + sugars)."""
        return self.total("sugars") / self.solution_mass

    @property
    def solution_mass(self) -> float:
        """Mass in kg of water, salt and sugars."""
        return self.total("water") + self.total("salt") + self.total("sugars")

    @property
    def water_phase_salt(self) -> float:
        """Salt / (salt + water)."""
        return self.total("salt") / (self.total("salt") + self.total("water"))

    def scaled(self, factor: float) -> MakeUp:
        """The make-up for a batch ``factor`` times as large."""
        return MakeUp(parts=tuple(part.scaled(factor) for part in self.parts))


@dataclass(frozen=True, kw_only=True)
class Equilibrium:
    """What a piece holds once salt and sugar have come to rest everywhere. Fractions of the food's final mass."""

    salt_mass_fraction: Range
    water_phase_salt: Range
    sugar_mass_fraction: float
    ingoing_salt_on_green_weight: float
    ingoing_nitrite_ppm: float
    ingoing_nitrate_ppm: float
    food_mass_ratio: float
    bath_water_phase_salt: float | None


def make_up(lines, find, food: Food, food_mass: float, target: Share | None = None) -> MakeUp:
    """Masses of all ingredient lines for ``food_mass`` kg of food.

    Parameters
    ----------
    lines : ingredient lines of a page (item, amount, note)
    find : function, line -> Ingredient
    target : salt aimed at when all is shared, for the line whose amount is "to target"

    Raises
    ------
    RangeError   the target cannot be met by adding salt

    Notes
    -----
    Shares "of water" are of the water lines of the list, "of food" of green weight.
    Source: mass balance (no empirical constant); household volumes by the ingredient's g per cup.
    """
    water_lines = [line for line in lines if find(line).name.startswith("water")]
    water = sum(
        _mass(line.amount, find(line), food_mass, 0.0).typical
        for line in water_lines
        if not isinstance(line.amount, Share) or line.amount.base == "food"
    )
    parts = {
        index: _part(line, find(line), _mass(line.amount, find(line), food_mass, water))
        for index, line in enumerate(lines)
        if not isinstance(line.amount, ToTarget)
    }
    for index, line in enumerate(lines):
        if isinstance(line.amount, ToTarget):
            others = MakeUp(parts=tuple(parts.values()))
            mass = salt_to_target(others, food, food_mass, target, find(line))
            parts[index] = _part(line, find(line), Range.exact(mass))
    return MakeUp(parts=tuple(parts[index] for index in sorted(parts)))


def salt_to_target(others: MakeUp, food: Food, food_mass: float, target: Share, salt: Ingredient) -> float:
    """Mass in kg of ``salt`` that brings food and brine to ``target`` once all is shared.

    base "all":         x = (S + p m) / (M + m)
    base "water phase": x = (S + p m) / (S + p m + W + w m)
    base "food":        x = c W_f / (M_f - S_f + c W_f),  c = (S + p m) / (W + w m)

    with S, W, M the salt, water and mass of food and other parts, S_f, W_f, M_f of the food alone (its own
    salt counts), p and w the salt's purity and water.

    Raises
    ------
    RangeError   the other parts alone already reach the target, or the salt is too weak for it

    Notes
    -----
    Source: mass balance (no empirical constant). Valid for a closed vessel at rest; fat holds no salt.
    """
    x, p, w = target.fraction, salt.salt, salt.water
    own_salt, own_water = food.native_salt_fraction * food_mass, food.water * food_mass
    total_salt = others.total("salt") + own_salt
    total_water = others.total("water") + own_water
    if target.base == "all":
        above, below = x * (others.total() + food_mass) - total_salt, p - x
    elif target.base == "water phase":
        above, below = x * total_water - (1 - x) * total_salt, p * (1 - x) - x * w
    else:
        per_water = x / (1 - x) * (food_mass - own_salt) / own_water
        above, below = per_water * total_water - total_salt, p - per_water * w
    if above <= 0 or below <= 0:
        raise RangeError(
            "target_salt", x, "more than the food and the other ingredients bring, less than the salt's own strength"
        )
    return above / below


def mislabelled(salting: Salting, made: MakeUp, food_mass: float) -> str:
    """What the page may write in place of a kind of salting that its amounts deny; empty where they agree.

    A bath needs a liquid. A liquid of more than a tenth of the food's weight in water is no dry cure.
    """
    if salting.is_bath and not made.is_liquid:
        return "more water than salt in a bath, or the kind dry cure"
    if salting.is_dry and made.is_liquid and made.total("water") > _BATH_WATER * food_mass:
        other = "ferment brine" if salting.kind == "dry-salted ferment" else "immersion or equilibrium"
        return f"water of at most 10 % of the food in a {salting.kind}, or the kind {other}"
    return ""


def equilibrium(
    brine: MakeUp, food: Food, food_mass: float, process: Process = Process.IMMERSED, pump: float | None = None
) -> Equilibrium:
    """Where salt and sugar settle in the food if it stays in ``brine`` for ever.

    c = (S_b + S_f) / (W_b + W_f), the same in the water of brine and food; the food keeps its own water.
    Pumped (``pump`` = brine mass per green weight) or mixed in: the brine stays in the food, nothing leaves.

    Notes
    -----
    Source: mass balance (no empirical constant). Valid for one closed vessel at rest; fat and protein hold no
    salt; swelling is left out. Range: the household measures' spread. Not a safety limit.
    """
    own_salt, own_water = food.native_salt_fraction * food_mass, food.water * food_mass
    if process is Process.MIXED_IN and pump is None:
        pump = brine.mass / food_mass

    def shared(what: str, own: float, end: str = "typical") -> float:
        if pump is not None:
            return own + pump * food_mass * brine.total(what, end) / brine.total("", end)
        return (brine.total(what, end) + own) / (brine.total("water", end) + own_water) * own_water

    def fractions(end: str) -> tuple[float, float, float]:
        salt, sugar = shared("salt", own_salt, end), shared("sugars", 0.0, end)
        water = shared("water", own_water, end) if pump is not None else own_water
        mass = food_mass - own_salt + salt + sugar + (water - own_water)
        return salt / mass, salt / (salt + water), mass

    ends = {end: fractions(end) for end in ("low", "typical", "high")}
    # Household measures of salt and water may be off in opposite directions; take the wider order.
    rows = [sorted(values) for values in zip(*ends.values(), strict=True)]
    sugar = shared("sugars", 0.0)
    nitrite, nitrate = (_ingoing_ppm(brine, what, food_mass, process, pump) for what in ("nitrite", "nitrate"))
    bath = None
    if pump is None and process is Process.IMMERSED:
        per_water = (brine.total("salt") + own_salt) / (brine.total("water") + own_water)
        bath = per_water / (1 + per_water)
    return Equilibrium(
        salt_mass_fraction=_range(rows[0], ends["typical"][0]),
        water_phase_salt=_range(rows[1], ends["typical"][1]),
        sugar_mass_fraction=sugar / ends["typical"][2],
        ingoing_salt_on_green_weight=(shared("salt", own_salt) - own_salt) / food_mass,
        ingoing_nitrite_ppm=nitrite,
        ingoing_nitrate_ppm=nitrate,
        food_mass_ratio=ends["typical"][2] / food_mass,
        bath_water_phase_salt=bath,
    )


def _ingoing_ppm(brine: MakeUp, what: str, food_mass: float, process: Process, pump: float | None) -> float:
    amount = brine.total(what)
    if process is Process.MIXED_IN:
        return comminuted_ppm(amount * pump * food_mass / brine.mass, food_mass)
    if pump is not None:
        return pumped_ppm(amount, pump, brine.mass)
    if process is Process.IMMERSED:
        return immersed_equilibrium_ppm(amount, food_mass, brine.mass)
    return dry_cured_ppm(amount, food_mass)


def _range(values: list[float], typical: float) -> Range:
    return Range(min(values[0], typical), typical, max(values[-1], typical))


def _part(line, ingredient: Ingredient, mass: Range) -> IngredientMass:
    return IngredientMass(
        ingredient=ingredient,
        mass=mass,
        written=line.amount.text,
        by_volume=isinstance(line.amount, Packed),
        note=line.note,
    )


def _mass(amount: Amount, ingredient: Ingredient, food_mass: float, water: float) -> Range:
    if isinstance(amount, Share):
        return Range.exact(amount.fraction * (food_mass if amount.base == "food" else water))
    if isinstance(amount, PieceCount):
        return Range(*(amount.count * each for each in ingredient.piece_mass))
    if isinstance(amount, Packed):
        return Range(*ingredient.mass_of_volume(amount.quantity.low))
    return Range.exact(amount.low)
