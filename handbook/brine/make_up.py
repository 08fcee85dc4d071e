"""Make-up of a brine, cure or glaze as a record: masses and fractions of its ingredients."""

from __future__ import annotations

from functools import reduce
from operator import add

from msgspec import Struct
from msgspec.structs import replace

from handbook.base.ranges import Range
from handbook.catalogue.ingredients import Ingredient
from handbook.page.salting import MIXED, Salting

#: Water on green weight above which a liquid make-up counts as a bath, whatever its kind (common practice, no source).
_BATH_WATER = 0.10


class IngredientMass(Struct, frozen=True, kw_only=True):
    """One ingredient of a make-up. ``mass`` in kg with the spread of a household measure; ``written`` is its amount as written."""

    ingredient: Ingredient
    mass: Range
    written: str
    by_volume: bool
    note: str

    def scaled(self, factor: float) -> IngredientMass:
        """The ingredient for a batch ``factor`` times as large."""
        return replace(self, mass=self.mass.times(factor))


class MakeUp(Struct, frozen=True, kw_only=True):
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
        """Mass in kg without the solids of spices, which do not dissolve."""
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
        The text that the page may write instead; empty where kind and amounts agree.

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
    if salting.kind != MIXED and salting.is_dry and brine.is_liquid and brine.total("water") > _BATH_WATER * food_mass:
        other = "ferment brine" if salting.kind == "dry-salted ferment" else "immersion or equilibrium"
        return f"water of at most 10 % of the food in a {salting.kind}, or the kind {other}"
    return ""


def _solids(part: IngredientMass) -> float:
    """Mass in kg of an ingredient without its water, salt and sugars."""
    each = part.ingredient
    return part.mass.typical * max(1 - each.water - each.salt - each.sugars, 0.0)
