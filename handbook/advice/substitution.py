"""Adapt a method to another salt crystal, sweetener or thickness, or to frozen food.

All figures are for the written batch and keep its salt and sweetness. Figures without a source are left out and
reported as unknown. Masses in kg, thickness in m, times in s.
"""

from __future__ import annotations

from functools import lru_cache

from msgspec import Struct

from handbook.advice.correction import main_part
from handbook.base import csv_rows as rows
from handbook.base.errors import RangeError
from handbook.base.ranges import Range
from handbook.brine.make_up import IngredientMass
from handbook.catalogue.food_families import FLESH
from handbook.catalogue.ingredients import Ingredient
from handbook.catalogue.tables import Tables
from handbook.page.house import House
from handbook.page.measures import Household, household
from handbook.report.heat_stages import is_frozen
from handbook.report.method_report import Report
from handbook.report.mixtures import MixtureReport
from handbook.salt.uptake_records import TimeRange

#: Sweeteners offered as substitutes: one of each kind, the most common first.
SWEETENERS = (
    "sugar, white granulated",
    "sugar, brown, packed",
    "honey",
    "syrup, maple",
    "syrup, birch",
    "syrup, golden (inverted cane)",
    "molasses",
    "syrup, malt",
    "dextrose (monohydrate powder)",
    "syrup, corn, light",
)
#: Salts that are not measured by the cup, or that mean any crystal.
_NO_SWAP = ("rock", "weighed, any crystal")
#: Powers of the thickness for the time to the core: limited by the surface, typical, limited by the inside.
CORE_POWERS = (1, 1.5, 2)
FASTER_WHEN_THAWED = 1.30  # salt diffusivity of frozen-thawed over fresh ham [thawed-ham-salt]
THAW_DRIP = Range(0.0015, 0.0041, 0.0116)  # of the frozen weight, pork thawed in five ways [thawed-pork-drip]
#: Safety rules that depend on the core or the centre: their verdict does not hold for another thickness.
BY_THICKNESS = ("lethality", "come-up-time", "core-temperature", "cooling-stages", "growth-range-time", "pack-salt")


class SaltSwap(Struct, frozen=True, kw_only=True):
    """Another crystal: mass and cups for the same salt; ``unadjusted``: its salt in the written volume / the target.

    ``unadjusted`` is None where the method weighs its salt.
    """

    salt: Ingredient
    mass: float
    measure: Household | None
    unadjusted: Range | None


class SaltLine(Struct, frozen=True, kw_only=True):
    """The main salt of one brine or cure, and the crystals that can replace it."""

    name: str
    part: IngredientMass
    swaps: tuple[SaltSwap, ...]


class Sweetness(Struct, frozen=True, kw_only=True):
    """Sweetness of one gram as sold, white sugar = 1; None where no source gives it. ``source`` "": by its sugars."""

    value: Range | None
    source: str
    note: str


class SweetAmount(Struct, frozen=True, kw_only=True):
    """One sweetener in one mixture: mass for the same sweetness, and the change in water (below 0: less)."""

    mass: Range
    more_water: Range


class SweetSwap(Struct, frozen=True, kw_only=True):
    """One sweetener in all sweetened mixtures, in their order; an amount is None where the page already uses it."""

    sweetener: Ingredient
    sweetness: Sweetness
    amounts: tuple[SweetAmount | None, ...]


class SweetLine(Struct, frozen=True, kw_only=True):
    """The main sweetener of one brine or glaze; ``has_water``: whether its water can be reduced."""

    name: str
    part: IngredientMass
    has_water: bool


class Frozen(Struct, frozen=True, kw_only=True):
    """Frozen in place of fresh: ``salting`` is the time for the same salt, None where unknown.

    ``is_flesh`` False: no source covers the food. ``parasites``: "needed" (this page's fish must be frozen), "in the
    page" (the page freezes it), "" (no rule on this page).
    """

    is_flesh: bool
    salting: Range | None
    drip: Range | None
    parasites: str


class ThicknessChange(Struct, frozen=True, kw_only=True):
    """A piece of another thickness: time in the brine (None without a bath) and factors on other times.

    ``evenness`` on the time for salt to equalise; ``heat`` on the time to the core, from surface-limited to
    core-limited.
    """

    thickness: float
    name: str
    hours: TimeRange | None
    evenness: float
    heat: Range


class Changes(Struct, frozen=True, kw_only=True):
    """All substitutions of a page. ``rules``: titles of safety rules whose verdict holds for the page's piece only."""

    salts: tuple[SaltLine, ...]
    sweet: tuple[SweetLine, ...]
    sweeteners: tuple[SweetSwap, ...]
    frozen: Frozen
    thicknesses: tuple[ThicknessChange, ...]
    rules: tuple[str, ...]


def changes(report: Report, house: House, tables: Tables) -> Changes:
    """The changes of this page's figures with another salt, sweetener, thickness, or frozen food."""
    mixtures: tuple[MixtureReport, ...] = (*report.saltings, *report.glazes)
    lines = tuple(
        SweetLine(name=each.mixture.name, part=part, has_water=each.made.total("water") > 0.3 * each.made.mass)
        for each in mixtures
        if (part := _sweetener(each)) is not None
    )
    return Changes(
        salts=tuple(
            SaltLine(name=each.mixture.name, part=part, swaps=salt_swaps(part, house, tables))
            for each, part in _salts(report)
        ),
        sweet=lines,
        sweeteners=_sweeteners(lines, tables),
        frozen=frozen_for_fresh(report),
        thicknesses=other_thicknesses(report, house),
        rules=tuple(
            dict.fromkeys(each.title for each in report.findings if each.rule in BY_THICKNESS and each.decides)
        ),
    )


def salt_swaps(part: IngredientMass, house: House, tables: Tables) -> tuple[SaltSwap, ...]:
    """The same salt as another crystal: m' = m p / p', p the salt in each.

    Notes
    -----
    Source: mass balance (no empirical constant); cups by the ingredient's g per cup. Curing salt is
    neither replaced nor offered.
    """
    salt = part.mass.typical * part.ingredient.salt
    found = []
    for each in tables.salts:
        if each.name == part.ingredient.name or any(word in f"{each.name} {each.pack_state}" for word in _NO_SWAP):
            continue
        mass = salt / each.salt
        unadjusted = None
        if part.by_volume and part.ingredient.kg_per_m3 and each.kg_per_m3:
            volume = part.mass.typical / part.ingredient.kg_per_m3[1]
            unadjusted = Range(*(kg * volume * each.salt / salt for kg in each.kg_per_m3))
        found.append(SaltSwap(salt=each, mass=mass, measure=household(mass, each, house), unadjusted=unadjusted))
    return tuple(found)


def sweetness(sweetener: Ingredient) -> Sweetness:
    """Relative sweetness of one gram. A sweetener of sucrose alone has the sweetness of its sugars, by definition.

    Raises RangeError for an ingredient that is no sweetener.
    """
    if sweetener.kind not in ("sugar", "syrup"):
        raise RangeError(f"sweetness of {sweetener.name}", sweetener.sugars, "a sugar or a syrup")
    row = _table().get(sweetener.name)
    if row is None:
        is_sucrose = sweetener.name.startswith("sugar, ") or sweetener.name == "syrup, maple"
        return Sweetness(value=Range.exact(sweetener.sugars) if is_sucrose else None, source="", note="")
    if not row["low"]:
        return Sweetness(value=None, source=row["source"], note=row["note"])
    low, high = float(row["low"]), float(row["high"])
    return Sweetness(value=Range(low, (low + high) / 2, high), source=row["source"], note=row["note"])


def sweet_amount(part: IngredientMass, other: Ingredient) -> SweetAmount | None:
    """Mass of ``other`` as sweet as ``part``, and the change in water; None where unknown.

    m' = m z / z';  more water = m' w' - m w, with z the sweetness and w the water of one gram
    """
    own, wanted = sweetness(part.ingredient).value, sweetness(other).value
    if own is None or wanted is None:
        return None
    mass = part.mass.typical
    low, typical, high = (
        mass * own.low / wanted.high,
        mass * own.typical / wanted.typical,
        mass * own.high / wanted.low,
    )
    water = mass * part.ingredient.water
    return SweetAmount(
        mass=Range(low, typical, high), more_water=Range(*(each * other.water - water for each in (low, typical, high)))
    )


def frozen_for_fresh(report: Report) -> Frozen:
    """Frozen and thawed food in place of fresh, as far as there are sources.

    Notes
    -----
    Salt moves 30 % faster in thawed ham [thawed-ham-salt], and time is inversely proportional to the diffusivity. Only
    pork in a strong brine gets a figure, from a fifth less to none. No figure was found for other foods.
    """
    is_flesh, is_pork = report.food.food_class in FLESH, report.food.food_class == "pork"
    salting = None
    if is_pork and report.salted is not None and report.salted.salted.stage.kind in ("soak", "dry cure"):
        stated = report.salted.salted.stage.duration
        salting = Range(stated.low / FASTER_WHEN_THAWED, stated.typical / (0.5 + FASTER_WHEN_THAWED / 2), stated.high)
    parasites = "needed" if any(each.rule == "parasite-freezing" for each in report.findings) else ""
    if parasites and any(is_frozen(step) for step in report.method.steps):
        parasites = "in the page"
    return Frozen(is_flesh=is_flesh, salting=salting, drip=THAW_DRIP if is_pork else None, parasites=parasites)


def other_thicknesses(report: Report, house: House) -> tuple[ThicknessChange, ...]:
    """The next thinner and the next thicker size of the kitchen and the page.

    Notes
    -----
    Time in the brine: from the uptake model's own table. Salt equalises with the square of the thickness [crank-1975].
    The core's time is between the first power (the surface limits the heat) and the second (the inside limits it), for
    one shape and one chamber.
    """
    own = report.method.pieces.thickness.middle
    names = {each.thickness.middle: each.name for each in report.method.pieces.sizes}
    known = {each.low for each in house.thicknesses} | set(names)
    times = {each.thickness: each.hours for each in report.salted.by_thickness} if report.salted else {}
    thinner = max((each for each in known if each < 0.95 * own), default=None)
    thicker = min((each for each in known if each > 1.05 * own), default=None)
    return tuple(
        ThicknessChange(
            thickness=each,
            name=names.get(each, ""),
            hours=times.get(each),
            evenness=(each / own) ** 2,
            heat=Range(*sorted((each / own) ** power for power in CORE_POWERS)),
        )
        for each in (thinner, thicker)
        if each is not None
    )


def _salts(report: Report) -> list[tuple[MixtureReport, IngredientMass]]:
    found = [(each, main_part(each.made, "salt")) for each in report.saltings]
    return [(each, part) for each, part in found if part is not None and part.ingredient.kg_per_m3]


def _sweetener(each: MixtureReport) -> IngredientMass | None:
    """The part with most of the sugar, where it is a sugar or a syrup."""
    part = main_part(each.made, "sugars")
    if part is None or part.mass.typical * part.ingredient.sugars < 0.5 * each.made.total("sugars"):
        return None
    return part


def _sweeteners(lines: tuple[SweetLine, ...], tables: Tables) -> tuple[SweetSwap, ...]:
    if not lines:
        return ()
    own = {line.part.ingredient.name for line in lines}
    offered = [tables.ingredients[name] for name in SWEETENERS if name in tables.ingredients and {name} != own]
    return tuple(
        SweetSwap(
            sweetener=each,
            sweetness=sweetness(each),
            amounts=tuple(
                None if each.name == line.part.ingredient.name else sweet_amount(line.part, each) for line in lines
            ),
        )
        for each in offered
    )


@lru_cache
def _table() -> dict[str, dict[str, str]]:
    return {row["name"]: row for row in rows.read_table("sweetness.csv")}
