"""The weighed mixtures of a method: its formula, saltings and glazes in every batch."""

from __future__ import annotations

from functools import partial

from msgspec import Struct

from handbook.base.errors import PageError, RangeError
from handbook.base.ranges import Range
from handbook.brine.equilibrium import Equilibrium, equilibrium
from handbook.brine.made_up import make_up
from handbook.brine.make_up import IngredientMass, MakeUp, mislabelled
from handbook.brine.nitrite import Process, cure_process
from handbook.brine.strength import Strength, strength
from handbook.catalogue.foods import Food
from handbook.catalogue.ingredients import Ingredient
from handbook.catalogue.tables import Tables
from handbook.page.container import VesselFill, choose
from handbook.page.formula import Formula
from handbook.page.house import House
from handbook.page.ingredient_lines import find_ingredient
from handbook.page.measures import Household, Weighed, household, weighed
from handbook.page.method import Method
from handbook.page.salting import Glaze, Salting
from handbook.report.end_target import is_for_end, made_for_end
from handbook.report.formula_foods import PageFood, formula_make_up


class BatchRow(Struct, frozen=True, kw_only=True):
    """One ingredient in one batch: its exact mass, the mass to weigh, and cups and spoons."""

    part: IngredientMass
    weighed: Weighed
    household: Household | None

    @property
    def filling_is_off(self) -> bool:
        """Whether the spread of a cup's filling alone exceeds the error that the house allows."""
        return self.household is not None and self.household.filling_is_off


class BatchColumn(Struct, frozen=True, kw_only=True):
    """One batch: its rows, their total and the vessel. Masses in kg, volumes in m3."""

    food_mass: float
    is_written: bool
    rows: tuple[BatchRow, ...]
    mass: float
    volume: float | None
    fill: VesselFill | None

    @property
    def to_food(self) -> float:
        """Brine mass / green weight."""
        return self.mass / self.food_mass


class Crystal(Struct, frozen=True, kw_only=True):
    """The same volume of another salt crystal: its mass in kg, and the ratio to the mass of the named salt."""

    ingredient: Ingredient
    mass: Range
    ratio: float


class MixtureReport(Struct, frozen=True, kw_only=True):
    """One salting or glaze in all batches.

    ``crystals`` are other salts in the volume of ``crystal_of``, the main salt. A glaze has no ``equilibrium``.
    """

    mixture: Salting | Glaze | Formula
    made: MakeUp
    strength: Strength | None = None
    columns: tuple[BatchColumn, ...]
    equilibrium: Equilibrium | None = None
    crystals: tuple[Crystal, ...] = ()
    crystal_of: IngredientMass | None = None


class SaltingReport(MixtureReport, frozen=True, kw_only=True):
    """One salting in all batches; ``equilibrium`` is that of the written batch, ``process`` the way in which the salt gets in."""

    mixture: Salting
    equilibrium: Equilibrium
    process: Process

    @property
    def is_mixed(self) -> bool:
        """Whether all of it is mixed into the food, so that it is even at once."""
        return self.process is Process.MIXED_IN


class GlazeReport(MixtureReport, frozen=True, kw_only=True):
    """One glaze in all batches."""

    mixture: Glaze


class FormulaReport(MixtureReport, frozen=True, kw_only=True):
    """The foods of a formula in all batches."""

    mixture: Formula


def batch_masses(method: Method, house: House) -> tuple[float, ...]:
    """Green weights in kg that the page shows, in rising order, including the written one."""
    shown = {each.low for each in (method.batches.show or house.batches)}
    return tuple(sorted(shown | {method.batches.written_for.low}))


def formula_report(whole: PageFood, method: Method, house: House) -> FormulaReport:
    """The foods of a formula in all batches."""
    made, mixture = formula_make_up(whole, method), Formula(ingredients=method.formula)
    columns = _columns(mixture, made, None, method, whole.food, house)
    return FormulaReport(mixture=mixture, made=made, columns=columns)


def salting_report(salting: Salting, method: Method, whole: PageFood, house: House, tables: Tables) -> SaltingReport:
    """One salting in all batches. Raises PageError where its make-up contradicts its kind."""
    written_for, food = method.batches.written_for.low, whole.food
    process = cure_process(salting.kind, method.pieces.worked_form)
    made = _salting_made(salting, method, whole, house, tables)
    if process is not Process.MIXED_IN and (allowed := mislabelled(salting, made, written_for)):
        grams = {what: f"{made.total(what) * 1000:.4g} g of {what}" for what in ("water", "salt")}
        read = f"{salting.kind} with {grams['water']}, {grams['salt']}"
        raise PageError(method.file, salting.line, "salting.kind", read, allowed)
    temperature = salting.temperature.middle if salting.temperature else house.fridge.middle
    is_brine = process in (Process.IMMERSED, Process.PUMPED)
    strong = strength(made, temperature) if is_brine else None
    pump = salting.pump.middle if salting.pump else None
    main = _main_salt(made)
    return SaltingReport(
        mixture=salting,
        made=made,
        strength=strong,
        columns=_columns(salting, made, strong, method, food, house),
        equilibrium=equilibrium(made, food, written_for, process, pump, whole.meat_share),
        process=process,
        crystals=_crystals(main, tables),
        crystal_of=main,
    )


def glaze_report(glaze: Glaze, method: Method, whole: PageFood, house: House, tables: Tables) -> GlazeReport:
    """One glaze in all batches."""
    made = _make_up(glaze, method, whole, tables)
    main = _main_salt(made)
    columns = _columns(glaze, made, None, method, whole.food, house)
    return GlazeReport(mixture=glaze, made=made, columns=columns, crystals=_crystals(main, tables), crystal_of=main)


def glaze_on_batch(report: GlazeReport, method: Method) -> float:
    """Mass in kg of a glaze that stays on the food of the written batch."""
    batch = method.batches.written_for.low
    stays = report.mixture.stays_on
    return min(stays.fraction * batch if stays else report.made.mass, report.made.mass)


def _salting_made(salting: Salting, method: Method, whole: PageFood, house: House, tables: Tables) -> MakeUp:
    """The make-up of a salting: to its target at equilibrium, or at the end of a brine of limited time."""

    make = partial(_make_up, method=method, whole=whole, tables=tables)
    if not is_for_end(salting, method):
        return make(salting)
    others = {each.name: make(each) for each in method.saltings if each.name != salting.name}
    return made_for_end(salting, method, whole.food, house, others, make)


def _make_up(mixture: Salting | Glaze, method: Method, whole: PageFood, tables: Tables) -> MakeUp:
    batch, process, target, pump = method.batches.written_for.low, Process.MIXED_IN, None, None
    if isinstance(mixture, Salting):
        process, target = cure_process(mixture.kind, method.pieces.worked_form), mixture.target_salt
        pump = mixture.pump.middle if mixture.pump else None
    try:
        return make_up(
            mixture.ingredients,
            lambda line: find_ingredient(line, tables),
            whole.food,
            batch,
            target,
            process=process,
            pump=pump,
            meat=whole.meat_share * batch,
        )
    except RangeError as error:
        raise PageError(method.file, mixture.line, error.name, f"{error.value:.4g}", error.allowed) from None


def _columns(
    mixture: Salting | Glaze | Formula, made: MakeUp, strong: Strength | None, method: Method, food: Food, house: House
) -> tuple[BatchColumn, ...]:
    written_for = method.batches.written_for.low
    return tuple(
        _column(mass, mass == written_for, made.scaled(mass / written_for), strong, mixture, food, house)
        for mass in batch_masses(method, house)
    )


def _column(
    mass: float, is_written: bool, made: MakeUp, strong: Strength | None, mixture: Salting | Glaze | Formula,
    food: Food, house: House,
) -> BatchColumn:  # fmt: skip
    rows = tuple(
        BatchRow(
            part=part,
            weighed=weighed(part.mass.typical, house),
            household=household(part.mass.typical, part.ingredient, house),
        )
        for part in made.parts
    )
    volume = made.mass / strong.density if strong and strong.density else None
    fill = None
    if volume and isinstance(mixture, Salting) and mixture.is_bath:
        fill = choose(house.containers, mixture.container, mass / food.density, volume)
    return BatchColumn(food_mass=mass, is_written=is_written, rows=rows, mass=made.mass, volume=volume, fill=fill)


def _main_salt(made: MakeUp) -> IngredientMass | None:
    salts = [part for part in made.parts if part.ingredient.kind == "salt" and part.ingredient.kg_per_m3]
    return max(salts, key=lambda part: part.mass.typical, default=None)


def _crystals(main: IngredientMass | None, tables: Tables) -> tuple[Crystal, ...]:
    if main is None or main.ingredient.kg_per_m3 is None:
        return ()
    density = main.ingredient.kg_per_m3[1]
    volume = main.mass.typical / density
    return tuple(
        Crystal(ingredient=salt, mass=Range(*salt.mass_of_volume(volume)), ratio=salt.kg_per_m3[1] / density)
        for salt in tables.salts
        if salt.kg_per_m3 is not None
    )
