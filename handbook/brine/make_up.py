"""Make-up of brines, cures and glazes: masses and fractions of their ingredients."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import reduce
from operator import add

from handbook.base.errors import RangeError, UnitError
from handbook.base.ranges import Range
from handbook.base.units import Quantity
from handbook.catalogue.foods import Food
from handbook.catalogue.ingredients import Ingredient
from handbook.page.amounts import Packed, PieceCount, Share, ToTarget
from handbook.page.salting import IngredientLine, Salting

#: Water on green weight above which a liquid make-up is a bath, whatever the page calls it (common practice, no source).
_BATH_WATER = 0.10


@dataclass(frozen=True, kw_only=True)
class IngredientMass:
    """One ingredient of a make-up. ``mass`` in kg with the spread of a household measure; ``written`` is its amount as written."""

    ingredient: Ingredient
    mass: Range
    written: str
    by_volume: bool
    note: str

    def scaled(self, factor: float) -> IngredientMass:
        """The ingredient for a batch ``factor`` times as large."""
        return IngredientMass(
            ingredient=self.ingredient,
            mass=self.mass.times(factor),
            written=self.written,
            by_volume=self.by_volume,
            note=self.note,
        )


@dataclass(frozen=True, kw_only=True)
class MakeUp:
    """All ingredients of one brine, cure or glaze. Masses in kg."""

    parts: tuple[IngredientMass, ...]

    def total(self, what: str = "", end: str = "typical") -> float:
        """Mass in kg of everything, or of ``what``: water, salt, sugars, sodium, nitrite or nitrate.

        ``end`` is low, typical or high, for the low, typical or high amount of every ingredient.
        """
        shares = (getattr(part.mass, end) * (getattr(part.ingredient, what) if what else 1.0) for part in self.parts)
        # Not sum(): from Python 3.12 on it compensates rounding, which the page's script does not.
        return reduce(add, shares, 0.0)

    @property
    def mass(self) -> float:
        """Mass in kg."""
        return self.total()

    @property
    def is_liquid(self) -> bool:
        """Whether it can be a brine: more water than salt."""
        return self.total("water") > self.total("salt")

    @property
    def has_cure(self) -> bool:
        """Whether it contains nitrite or nitrate."""
        return self.total("nitrite") > 0 or self.total("nitrate") > 0

    @property
    def brine_mass(self) -> float:
        """Mass in kg without the solids of spices, which stay in them."""
        return self.total() - sum(_solids(part) for part in self.parts if part.ingredient.kind == "spice")

    @property
    def brine_salt(self) -> float:
        """Salt / (everything but the solids of spices)."""
        return self.total("salt") / self.brine_mass

    @property
    def brine_sugar(self) -> float:
        """Sugars / (everything but the solids of spices)."""
        return self.total("sugars") / self.brine_mass

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
        """Salt / (water + salt + sugars), without spices and other solids."""
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


def make_up(
    lines: Sequence[IngredientLine],
    find: Callable[[IngredientLine], Ingredient],
    food: Food,
    food_mass: float,
    target: Share | None = None,
) -> MakeUp:
    """Masses of all ingredients of a brine, cure or glaze.

        m = share x green weight,  m = share x water,  m = density x volume,  or m = pieces x mass of a piece

    Parameters
    ----------
    lines : sequence of IngredientLine
        Ingredient list of a page.
    find : callable
        Function from a line to its Ingredient.
    food : Food
    food_mass : float [kg]
        Green weight.
    target : Share [-]
        Salt at equilibrium, for the line whose amount is "to target".

    Returns
    -------
    MakeUp [kg]

    Raises
    ------
    RangeError
        Adding salt cannot meet the target.
    UnitError
        The weight of a cup or of a piece is unknown.
    ValueError
        An amount is "to target", and there is no target.

    Notes
    -----
    Source: mass balance (no empirical constant); household volumes by the ingredient's mass per cup. Valid for any
    batch. A share of water is of the water lines, a share of food of green weight.

    Examples
    --------
    >>> from handbook.base.units import parse_quantity
    >>> from handbook.catalogue.tables import engine_tables
    >>> tables = engine_tables()
    >>> lines = [
    ...     IngredientLine(item="water, tap", amount=parse_quantity("1 kg", "mass"), note="", line=1),
    ...     IngredientLine(item="salt, fine sea", amount=Share(fraction=0.05, base="water", text="5 %"), note="", line=2),
    ... ]
    >>> cod = tables.foods["cod, Atlantic"]
    >>> round(make_up(lines, lambda line: tables.ingredients[line.item], cod, 1.0).mass, 3)
    1.05
    """
    water_lines = [line for line in lines if find(line).name.startswith("water")]
    water = sum(
        _mass(line.amount, find(line), food_mass, 0.0).typical
        for line in water_lines
        if not isinstance(line.amount, ToTarget) and (not isinstance(line.amount, Share) or line.amount.base == "food")
    )
    parts = {
        index: _part(line, find(line), _mass(line.amount, find(line), food_mass, water))
        for index, line in enumerate(lines)
        if not isinstance(line.amount, ToTarget)
    }
    for index, line in enumerate(lines):
        if isinstance(line.amount, ToTarget):
            if target is None:
                raise ValueError(f"{line.item}: an amount to target needs a target")
            others = MakeUp(parts=tuple(parts.values()))
            mass = salt_to_target(others, food, food_mass, target, find(line))
            parts[index] = _part(line, find(line), Range.exact(mass))
    return MakeUp(parts=tuple(parts[index] for index in sorted(parts)))


def salt_to_target(others: MakeUp, food: Food, food_mass: float, target: Share, salt: Ingredient) -> float:
    """Mass of a salt that brings food and brine to a target at equilibrium.

        base "all":         x = (S + p m) / (M + m)
        base "water phase": x = (S + p m) / (S + p m + W + w m)
        base "food":        x = c W_f / (M_f - S_f + c W_f),  c = (S + p m) / (W + w m)

    solved for m, with S, W, M the salt, water and mass of the food and the other ingredients, S_f, W_f, M_f those of the
    food alone (S_f is its own salt), p and w the salt's purity and water.

    Parameters
    ----------
    others : MakeUp [kg]
        All other ingredients.
    food : Food
    food_mass : float [kg]
        Green weight.
    target : Share [-]
        x and its base.
    salt : Ingredient

    Returns
    -------
    float [kg]

    Raises
    ------
    RangeError
        The other ingredients already reach the target, or the salt is too weak for it.

    Notes
    -----
    Source: mass balance (no empirical constant). Valid for a closed vessel at equilibrium; fat holds no salt.

    Examples
    --------
    >>> from handbook.catalogue.tables import engine_tables
    >>> tables = engine_tables()
    >>> cod, salt = tables.foods["cod, Atlantic"], tables.ingredients["salt, fine sea"]
    >>> round(salt_to_target(MakeUp(parts=()), cod, 1.0, Share(fraction=0.02, base="all", text="2 %"), salt), 4)
    0.0193
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


def mislabelled(salting: Salting, brine: MakeUp, food_mass: float) -> str:
    """Correction for a kind of salting that contradicts its amounts.

        bath: W > S;  no dry cure: W > S and W > 0.10 M_f

    with W, S the water and salt of the make-up and M_f the green weight.

    Parameters
    ----------
    salting : Salting
    brine : MakeUp [kg]
    food_mass : float [kg]
        Green weight.

    Returns
    -------
    str
        What the page may write instead; empty where kind and amounts agree.

    Notes
    -----
    Source: common practice, no source. Valid for any batch.

    Examples
    --------
    >>> cure = Salting(
    ...     kind="dry cure", name="cure", ingredients=(), target_salt=None, pump=None, temperature=None, container=None, line=1
    ... )
    >>> mislabelled(cure, MakeUp(parts=()), 1.0)
    ''
    """
    if salting.is_bath and not brine.is_liquid:
        return "more water than salt in a bath, or the kind dry cure"
    if salting.is_dry and brine.is_liquid and brine.total("water") > _BATH_WATER * food_mass:
        other = "ferment brine" if salting.kind == "dry-salted ferment" else "immersion or equilibrium"
        return f"water of at most 10 % of the food in a {salting.kind}, or the kind {other}"
    return ""


def _solids(part: IngredientMass) -> float:
    """Mass in kg of an ingredient without its water, salt and sugars."""
    each = part.ingredient
    return part.mass.typical * max(1 - each.water - each.salt - each.sugars, 0.0)


def _part(line: IngredientLine, ingredient: Ingredient, mass: Range) -> IngredientMass:
    return IngredientMass(
        ingredient=ingredient,
        mass=mass,
        written=line.amount.text,
        by_volume=isinstance(line.amount, Packed),
        note=line.note,
    )


def _mass(
    amount: Quantity | Packed | PieceCount | Share, ingredient: Ingredient, food_mass: float, water: float
) -> Range:
    if isinstance(amount, Share):
        return Range.exact(amount.fraction * (food_mass if amount.base == "food" else water))
    if isinstance(amount, PieceCount):
        if ingredient.piece_mass is None:
            raise UnitError(f"pieces of {ingredient.name}", "a mass: no weight of a piece is known")
        return Range(*(amount.count * each for each in ingredient.piece_mass))
    if isinstance(amount, Packed):
        return Range(*ingredient.mass_of_volume(amount.quantity.low))
    return Range.exact(amount.low)
