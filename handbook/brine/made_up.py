"""Masses of all ingredients of a brine, cure or glaze, from its list as written."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from handbook.base.errors import RangeError, UnitError
from handbook.base.ranges import Range
from handbook.base.units import Quantity
from handbook.brine.make_up import IngredientMass, MakeUp
from handbook.brine.nitrite import Process
from handbook.brine.solved_amounts import Cured, curing_salt_for_ppm, salt_for_reading, salt_to_target
from handbook.catalogue.foods import Food
from handbook.catalogue.ingredients import Ingredient
from handbook.page.amounts import CurePpm, Gauge, Packed, PieceCount, Share, Solved, ToTarget
from handbook.page.salting import IngredientLine

#: Amounts that depend on each other are computed in turn, until none changes by more than this share.
_ROUNDS, _SETTLED = 100, 1e-12


def make_up(
    lines: Sequence[IngredientLine],
    find: Callable[[IngredientLine], Ingredient],
    food: Food,
    food_mass: float,
    target: Share | None = None,
    *,
    process: Process = Process.IMMERSED,
    pump: float | None = None,
    meat: float | None = None,
) -> MakeUp:
    """Masses of all ingredients of a brine, cure or glaze.

        m = share x green weight,  m = share x meat block,  m = share x water,  m = density x volume,
        m = pieces x mass of a piece,  or m solved for a target, a reading or ingoing ppm: see solved_amounts.py

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
    process : Process
        How it gets into the food.
    pump : float [-]
        Brine injected per green weight; None where nothing is injected.
    meat : float [kg]
        Meat block; None: the green weight.

    Returns
    -------
    MakeUp [kg]

    Raises
    ------
    RangeError
        Adding salt cannot meet the target, or a solved amount depends on another one that has no solution.
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
    cured = Cured(food=food, mass=food_mass, process=process, pump=pump, meat=meat)
    bases = {"food": food_mass, "meat block": cured.meat_block, "water": 0.0}
    bases["water"] = sum(
        _mass(line.amount, find(line), bases).typical
        for line in lines
        if find(line).name.startswith("water") and not isinstance(line.amount, Solved) and not _is_of_water(line.amount)
    )
    solved = {index: line for index, line in enumerate(lines) if isinstance(line.amount, Solved)}
    parts = [
        _part(line, of, Range.exact(0.0) if isinstance(line.amount, Solved) else _mass(line.amount, of, bases))
        for line, of in ((line, find(line)) for line in lines)
    ]
    _solve(parts, solved, find, cured, target)
    return MakeUp(parts=tuple(parts))


def _solve(
    parts: list[IngredientMass],
    lines: dict[int, IngredientLine],
    find: Callable[[IngredientLine], Ingredient],
    cured: Cured,
    target: Share | None,
) -> None:
    """Solve the amounts that depend on the others, in turn. Curing salts come first, since they change the least."""
    order = sorted(lines, key=lambda index: not isinstance(lines[index].amount, CurePpm))
    for _ in range(_ROUNDS):
        moved = 0.0
        for index in order:
            others = MakeUp(parts=(*parts[:index], *parts[index + 1 :]))
            mass = _solved(lines[index], others, cured, find(lines[index]), target)
            moved = max(moved, abs(mass - parts[index].mass.typical) / mass)
            parts[index] = _part(lines[index], find(lines[index]), Range.exact(mass))
        if moved <= _SETTLED or len(order) == 1:
            return
    raise RangeError("ingredients", len(order), "amounts to be reached that can be reached together")


def _solved(line: IngredientLine, others: MakeUp, cured: Cured, salt: Ingredient, target: Share | None) -> float:
    amount = line.amount
    if isinstance(amount, CurePpm):
        return curing_salt_for_ppm(others, cured, amount, salt)
    if isinstance(amount, Gauge):
        return salt_for_reading(others, amount, salt)
    aim = amount.share if isinstance(amount, ToTarget) and amount.share else target
    if aim is None:
        raise ValueError(f"{line.item}: an amount to target needs a target")
    return salt_to_target(others, cured, aim, salt)


def _is_of_water(amount: object) -> bool:
    return isinstance(amount, Share) and amount.base == "water"


def _part(line: IngredientLine, ingredient: Ingredient, mass: Range) -> IngredientMass:
    return IngredientMass(
        ingredient=ingredient,
        mass=mass,
        written=line.amount.text,
        by_volume=isinstance(line.amount, Packed),
        note=line.note,
    )


def _mass(amount: Quantity | Packed | PieceCount | Share, ingredient: Ingredient, bases: dict[str, float]) -> Range:
    if isinstance(amount, Share):
        return Range.exact(amount.fraction * bases[amount.base])
    if isinstance(amount, PieceCount):
        if ingredient.piece_mass is None:
            raise UnitError(f"pieces of {ingredient.name}", "a mass: no weight of a piece is known")
        return Range(*(amount.count * each for each in ingredient.piece_mass))
    if isinstance(amount, Packed):
        return Range(*ingredient.mass_of_volume(amount.quantity.low))
    return Range.exact(amount.low)
